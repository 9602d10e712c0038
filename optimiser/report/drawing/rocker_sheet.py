"""The left rocker along its axis and from its side: arms, angles and offsets dimensioned, each arm's sweep shaded."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from geometry.axle import Arm, Axle
from geometry.hardpoints import Hardpoints, element_pickups, place
from geometry.motion import move
from geometry.travel import Travel, grid_states, one_wheel_states, rack_states
from optimiser.report.drawing.border import BLOCK_TOP, LEFT, RIGHT, TOP, fitted
from optimiser.report.drawing.dimensions import angular, arc, arrow, linear, radial
from optimiser.report.drawing.inks import BLACK, CENTRE_LINE, COLOURS, HAIR, OUTLINE, THIN, series_ink
from optimiser.report.drawing.marks import Anchor, Disc, Ink, Mark, Path, Point, Sheet, Words
from optimiser.report.drawing.projection import largest_scale, scale_words

ARC_GAP, ARC_STEP = 7.0, 7.5
"""From the longest arm to the first angle's arc, and from one arc to the next [mm]."""
FRONT_ROOM, SIDE_ROOM = 232.0, 62.0
"""Widths of the view along the axis and of the one from the side [mm]."""
LEAST_OFFSET = 5e-3
"""A smaller offset is printed as none, and gets no dimension [mm]."""
WORD = 2.6
LONGEST_NAME = 14
"""Letters of a name beside its arm; the table has more of it."""
NUMBERS_AT = (0.68, 0.42)
"""Where along its arm a radius stands, in turn, so that near arms' numbers do not meet."""
TINTS = ("#d6e8f5", "#fbe3d2", "#d5efe5", "#f6e6ef", "#fcefd0", "#e0f1fb")
"""The colours of `inks.COLOURS`, pale."""


@dataclass(frozen=True)
class Sweep:
    """Smallest and largest turn of either rocker from static over all states, and what is at the ends [deg]."""

    low: float
    high: float


def rocker_sheet(axle: Axle, travel: Travel) -> tuple[Sheet, str]:
    """The sheet and its scale in words."""
    points = place(axle)
    arms = {"rod": points.rod_arm} | {name: points.arms[name] for name in element_pickups(axle)}
    scale = _scale(arms)
    centre = (LEFT + 0.5 * FRONT_ROOM, _middle(arms))
    sweep = rocker_sweep(axle, travel)
    marks = (
        Words((LEFT + 4.0, TOP - 7.0), f"Left rocker along its axis, {scale_words(scale)}", 3.2, bold=True),
        Words((LEFT + 4.0, TOP - 11.5), "at static; the axis points at the reader, angles count from e0", WORD),
        *_sweeps(arms, sweep, centre, scale),
        *_axes(centre, scale * _longest(arms) + ARC_GAP),
        *_arms(arms, centre, scale),
        *_angles(arms, centre, scale),
        *_side_view(arms, (LEFT + FRONT_ROOM + 0.5 * SIDE_ROOM, 0.5 * (BLOCK_TOP + TOP))),
        *_table(arms, points, sweep),
    )
    return Sheet("Rocker", marks), scale_words(scale)


def rocker_sweep(axle: Axle, travel: Travel) -> Sweep | None:
    """How far the rockers turn over heave and roll together, one wheel's travel and the rack; None if never ok."""
    motion = move(axle, grid_states(travel))
    found = [motion.rocker_angle]
    ends = [one_wheel_states(np.array(travel.wheel))]
    ends += [rack_states(np.array(travel.rack))] if travel.rack else []
    found += [move(axle, states).rocker_angle for states in ends]
    angles = np.degrees(np.concatenate(found))
    angles = angles[np.isfinite(angles)]
    return Sweep(float(angles.min()), float(angles.max())) if len(angles) else None


def _longest(arms: Mapping[str, Arm]) -> float:
    return max(float(arm.length) for arm in arms.values())


def _stacks(arms: Mapping[str, Arm]) -> tuple[int, int]:
    """How many angles count upwards from e0, and how many downwards."""
    up = sum(float(arm.angle) >= 0.0 for arm in arms.values())
    return up, len(arms) - up


def _scale(arms: Mapping[str, Arm]) -> float:
    rings = ARC_GAP + ARC_STEP * max(_stacks(arms)) + 6.0
    room = (0.5 * FRONT_ROOM - rings, 0.5 * (TOP - BLOCK_TOP - 14.0) - rings)
    return largest_scale(_longest(arms), _longest(arms), (max(room[0], 10.0), max(room[1], 10.0)))


def _middle(arms: Mapping[str, Arm]) -> float:
    """Height of the pivot on the paper, so that the rings above and below are equally far from the edges."""
    up, down = _stacks(arms)
    return 0.5 * (BLOCK_TOP + TOP - 12.0) + 0.5 * ARC_STEP * (down - up)


def _axes(centre: Point, reach: float) -> Iterator[Mark]:
    yield Path(((centre[0] - reach, centre[1]), (centre[0] + reach + 16.0, centre[1])), CENTRE_LINE)
    yield Path(((centre[0], centre[1] - reach), (centre[0], centre[1] + reach)), CENTRE_LINE)
    yield Words((centre[0] + reach + 17.0, centre[1] - 0.9), "e0", WORD)
    yield Disc(centre, 2.6, OUTLINE)
    yield Disc(centre, 0.6, Ink(BLACK, 0.1, fill=BLACK))


def _sweeps(arms: Mapping[str, Arm], sweep: Sweep | None, centre: Point, scale: float) -> Iterator[Mark]:
    """Sectors that the arms sweep, long ones first, with the ghosts of each arm at both ends."""
    if sweep is None:
        return
    order = sorted(enumerate(arms.values()), key=lambda item: -float(item[1].length))
    for number, arm in order:
        radius, angle = scale * float(arm.length), math.degrees(float(arm.angle))
        rim = arc(centre, radius, angle + sweep.low, angle + sweep.high)
        colour = COLOURS[number % len(COLOURS)]
        yield Path((centre, *rim), Ink(colour, 0.18, series_ink(number).dash, fill=TINTS[number % len(TINTS)]), True)
    for number, arm in order:
        radius, angle = scale * float(arm.length), math.degrees(float(arm.angle))
        for turned in (sweep.low, sweep.high):
            yield Disc(
                arc(centre, radius, angle, angle + turned)[-1],
                1.6,
                Ink(COLOURS[number % len(COLOURS)], 0.18, (0.8, 0.6)),
            )


def _arms(arms: Mapping[str, Arm], centre: Point, scale: float) -> Iterator[Mark]:
    every = list(arms.values())
    turns = sorted(range(len(every)), key=lambda number: float(every[number].angle))
    for number, arm in enumerate(every):
        yield Path((centre, _end(arm, centre, scale)), series_ink(number, 0.7))
    for number, (name, arm) in enumerate(arms.items()):
        end = _end(arm, centre, scale)
        yield radial(centre, end, scale, share=NUMBERS_AT[turns.index(number) % 2])
        yield Disc(end, 1.8, Ink(BLACK, 0.35, fill="#ffffff"))
        yield Disc(end, 0.4, Ink(BLACK, 0.1, fill=BLACK))
        yield _name(name, arm, end)


def _name(name: str, arm: Arm, end: Point) -> Words:
    """Beside an arm's end, out of the way of the line on to its angle's arc."""
    right, flat = math.cos(float(arm.angle)) >= 0.0, abs(math.cos(float(arm.angle))) > 0.7
    at = (end[0] + math.copysign(2.8, 1.0 if right else -1.0), end[1] + (2.2 if flat else -0.35 * WORD))
    told = name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"
    return Words(at, told, WORD, Anchor.LEFT if right else Anchor.RIGHT, bold=True)


def _angles(arms: Mapping[str, Arm], centre: Point, scale: float) -> Iterator[Mark]:
    """Arcs from e0 to each arm, small angles inside, with a thin line from the arm's end to its arc."""
    first = scale * _longest(arms) + ARC_GAP
    for sign in (1.0, -1.0):
        chosen = [arm for arm in arms.values() if (float(arm.angle) >= 0.0) == (sign > 0.0)]
        for row, arm in enumerate(sorted(chosen, key=lambda arm: abs(float(arm.angle)))):
            radius, angle = first + ARC_STEP * row, math.degrees(float(arm.angle))
            way = (math.cos(float(arm.angle)), math.sin(float(arm.angle)))
            start = scale * float(arm.length) + 2.5
            ends = [(centre[0] + r * way[0], centre[1] + r * way[1]) for r in (start, radius + 1.5)]
            yield Path((ends[0], ends[1]), HAIR)
            yield angular(centre, radius, 0.0, angle)


def _end(arm: Arm, centre: Point, scale: float) -> Point:
    radius, angle = scale * float(arm.length), float(arm.angle)
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)


def _side_view(arms: Mapping[str, Arm], at: Point) -> Iterator[Mark]:
    """Seen against e0, to a scale of its own: the axis runs to the left."""
    offsets = [float(arm.offset) for arm in arms.values()]
    reach = _longest(arms)
    scale = largest_scale(max(offsets) - min(offsets), reach, (SIDE_ROOM - 24.0, 0.3 * (TOP - BLOCK_TOP)))
    pivot = (at[0] + scale * 0.5 * (max(offsets) + min(offsets)), at[1])
    left, right = at[0] - 0.5 * SIDE_ROOM + 3.0, at[0] + 0.5 * SIDE_ROOM - 3.0
    yield Words((left, TOP - 7.0), f"Against e0, {scale_words(scale)}", 3.2, bold=True)
    yield Path(((right, at[1]), (left, at[1])), CENTRE_LINE)
    yield arrow((right, at[1]), (left, at[1]))
    yield Words((left, at[1] + 1.2), "axis", WORD)
    yield Path(tuple((pivot[0], at[1] + side * (scale * reach + 4.0)) for side in (-1.0, 1.0)), CENTRE_LINE)
    for number, arm in enumerate(arms.values()):
        foot = (pivot[0] - scale * float(arm.offset), at[1])
        end = (foot[0], at[1] + scale * float(arm.length) * math.sin(float(arm.angle)))
        yield Path((foot, end), series_ink(number, 0.7))
        yield Disc(end, 1.4, Ink(BLACK, 0.3, fill="#ffffff"))
    yield Disc(pivot, 1.2, Ink(BLACK, 0.3, fill=BLACK))
    top = (pivot[0], at[1] + scale * reach + 2.0)
    for row, offset in enumerate(sorted({round(value, 4) for value in offsets if abs(value) > LEAST_OFFSET})):
        yield linear(top, (pivot[0] - scale * offset, top[1]), 0.0, 6.0 + 6.5 * row, scale)


def _table(arms: Mapping[str, Arm], points: Hardpoints, sweep: Sweep | None) -> Iterator[Mark]:
    """Numbers of the arms beside their colours and dashes, and of pivot and axis."""
    x, y = LEFT + FRONT_ROOM + SIDE_ROOM + 2.0, TOP - 7.0
    columns = (x + 53.0, x + 71.0, x + 89.0)
    yield Words((x, y), "Arms", 3.2, bold=True)
    for at, head in zip(columns, ("radius", "angle", "offset"), strict=True):
        yield Words((at, y), head, WORD, Anchor.RIGHT)
    for number, (name, arm) in enumerate(arms.items()):
        y -= 6.0
        yield Path(((x, y + 0.9), (x + 8.0, y + 0.9)), series_ink(number, 0.7))
        yield fitted(x + 9.5, y, name, WORD, 27.0)
        numbers = (float(arm.length), math.degrees(float(arm.angle)), float(arm.offset))
        for at, value in zip(columns, numbers, strict=True):
            yield Words((at, y), f"{value + 0.0:.2f}", WORD, Anchor.RIGHT)
    yield Path(((x, y - 2.5), (RIGHT - 4.0, y - 2.5)), THIN)
    for row, line in enumerate(_told(points, sweep)):
        yield Words((x, y - 8.0 - 5.0 * row), line, WORD)


def _told(points: Hardpoints, sweep: Sweep | None) -> Iterator[str]:
    x, y, z = (float(value) + 0.0 for value in points.pivot)
    yield f"pivot  x {x:.2f}  y {y:.2f}  z {z:.2f}"
    yield "axis   " + "  ".join(f"{_plain(value):+.6f}" for value in points.axis)
    yield "e0     " + "  ".join(f"{_plain(value):+.6f}" for value in points.e0)
    yield f"rod, eye to eye {float(points.rod_length):.2f}"
    if sweep is None:
        yield "sweep: no state of the travel is reached"
        return
    yield f"turns {sweep.low:+.2f}° to {sweep.high:+.2f}° from static over heave,"
    yield "roll, one wheel and rack; shaded: what each arm sweeps"


def _plain(value: float) -> float:
    """A part of a unit vector to the decimals printed, without a negative zero."""
    return round(float(value), 6) + 0.0
