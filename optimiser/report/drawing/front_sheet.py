"""The axle at static from the front, dimensioned, and under it every rod and strut laid out flat at its true length."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, norm
from geometry.axle import AntiRollBar, Axle
from geometry.hardpoints import place
from optimiser.report.analysis.record import Analysis
from optimiser.report.drawing.bodies import INKS, NAMES, bodies, kinds
from optimiser.report.drawing.border import BLOCK_TOP, LEFT, RIGHT, TOP, fitted
from optimiser.report.drawing.dimensions import NUMBER_SIZE, aligned, arrow, linear, text_along, text_width
from optimiser.report.drawing.inks import BLACK, CENTRE_LINE, THIN, WHITE
from optimiser.report.drawing.marks import Anchor, Disc, Ink, Mark, Path, Point, Sheet, Words
from optimiser.report.drawing.poses import Pose
from optimiser.report.drawing.projection import ACROSS, UP, View, largest_scale, scale_words

LENGTHS_TOP = 96.0
"""The lengths stand between the title block and here [mm]."""
TITLE = 3.2
STEP = 6.5
"""Between parallel dimension lines [mm]."""
STRUT_NAME_AT = 0.3
"""Where along it a strut's name stands: beside the middle, in which struts may cross."""
MOST_COLUMNS, BAR_STEP = 4, 10.5
"""Lengths side by side, and from one to the next below it [mm]."""


@dataclass(frozen=True)
class Bar:
    """A rod, strut or drop link by its eye lengths [mm]; shortest and longest None where it is rigid, or not known."""

    name: str
    kind: str
    static: float
    shortest: float | None = None
    longest: float | None = None


def front_sheet(axle: Axle, analysis: Analysis, pose: Pose) -> tuple[Sheet, str]:
    """The sheet and its scales in words. `pose`: the axle at static."""
    view = _view(pose)
    bars = eye_lengths(axle, analysis)
    scale, lengths = _lengths(bars)
    marks = (
        Words((LEFT + 4.0, TOP - 7.0), f"Front view at static, {scale_words(view.scale)}", TITLE, bold=True),
        *_axes_and_ground(view, pose),
        *bodies(pose, view),
        *_strut_names(view, pose),
        *_dimensions(axle, view, pose),
        *_key(pose),
        Words((LEFT + 4.0, LENGTHS_TOP - 6.0), f"Eye to eye, true lengths, {scale_words(scale)}", TITLE, bold=True),
        *lengths,
    )
    return Sheet("Front view and eye lengths", marks), f"{scale_words(view.scale)}; lengths {scale_words(scale)}"


def eye_lengths(axle: Axle, analysis: Analysis) -> tuple[Bar, ...]:
    """Rod, struts and drop links; a strut's extremes are those over all states but the rack's."""
    points = place(axle)
    bars = [Bar("rod", "rod", float(points.rod_length))]
    for name in axle.struts:
        static = analysis.figures[f"{name}.length_static"]
        if static is not None:
            extremes = (analysis.figures[f"{name}.length_{end}"] for end in ("min", "max"))
            bars.append(Bar(name, "strut", static, *extremes))
    for name, element in axle.elements.items():
        if isinstance(element, AntiRollBar):
            bars.append(Bar(name, "drop_link", float(norm(points.pickups[element.pickup] - element.end))))
    return tuple(bars)


def _view(pose: Pose) -> View:
    points = all_points(pose)
    width, height = 2.0 * float(np.abs(points[:, 1]).max()), float(np.ptp(points[:, 2]))
    scale = largest_scale(width, height, (RIGHT - LEFT - 50.0, TOP - LENGTHS_TOP - 48.0))
    ground = LENGTHS_TOP + 30.0
    origin = np.array([0.0, 0.0, min(0.0, float(points[:, 2].min()))])
    return View(origin, ACROSS, UP, (0.5 * (LEFT + RIGHT) - 8.0, ground), scale)


def all_points(pose: Pose) -> Array:
    """Every point that a pose draws (N, 3) [mm]."""
    ends = [point for line in pose.lines for point in (line.begin, line.end)]
    return np.concatenate([np.array(ends).reshape(-1, 3), *pose.rims])


def _axes_and_ground(view: View, pose: Pose) -> Iterator[Mark]:
    reach = float(np.abs(all_points(pose)[:, 1]).max())
    top = float(all_points(pose)[:, 2].max())
    ground = [view.place(np.array([0.0, side * (reach + 20.0), 0.0])) for side in (-1.0, 1.0)]
    yield Path(tuple(ground), THIN)
    yield Path((view.place(np.zeros(3)), view.place(np.array([0.0, 0.0, top + 40.0]))), CENTRE_LINE)
    corner = (LEFT + 8.0, LENGTHS_TOP + 8.0)
    yield from _axis(corner, (corner[0] + 9.0, corner[1]), "y")
    yield from _axis(corner, (corner[0], corner[1] + 9.0), "z")


def _axis(begin: Point, end: Point, name: str) -> Iterator[Mark]:
    yield Path((begin, end), THIN)
    yield arrow(begin, end)
    yield Words((end[0] + 1.0, end[1] - 0.8), name, 2.8)


def _dimensions(axle: Axle, view: View, pose: Pose) -> Iterator[Mark]:
    """Where pivot, rod and wheel are, from the car's middle and from the ground, on the left side."""
    points = place(axle)
    marked = {"pivot": points.pivot, "rod eye": points.rod_outboard, "wheel centre": axle.wheel.centre}
    below = view.place(np.zeros(3))[1]
    beyond = view.place(np.array([0.0, float(np.abs(all_points(pose)[:, 1]).max()), 0.0]))[0]
    ground = view.place(np.zeros(3))
    across = sorted(marked.items(), key=lambda item: abs(float(item[1][1])))
    for row, (name, point) in enumerate(across):
        at = view.place(point)
        yield linear((ground[0], below), (at[0], at[1]), 0.0, -STEP * (row + 1), view.scale, name)
    for row, (name, point) in enumerate(sorted(marked.items(), key=lambda item: float(item[1][2]))):
        at = view.place(point)
        foot = (beyond, ground[1])
        yield linear(foot, at, 90.0, -STEP * (row + 1) - 2.0, view.scale, name)
    yield from _sides(view, pose)


def _sides(view: View, pose: Pose) -> Iterator[Mark]:
    height = view.place(np.array([0.0, 0.0, float(all_points(pose)[:, 2].max())]))[1] + 6.0
    reach = 0.75 * float(np.abs(all_points(pose)[:, 1]).max())
    for side, name in ((-1.0, "right side"), (1.0, "left side")):
        yield Words((view.place(np.array([0.0, side * reach, 0.0]))[0], height), name, 2.8, Anchor.CENTRE)


def _strut_names(view: View, pose: Pose) -> Iterator[Mark]:
    """Each strut by its name, once: the left one where there are two."""
    for line in {line.name: line for line in reversed(pose.lines) if line.kind == "strut"}.values():
        begin, end = view.place(line.begin), view.place(line.end)
        most = max(3, int(math.dist(begin, end) * 2.0 * STRUT_NAME_AT / text_width("n", NUMBER_SIZE)))
        told = line.name if len(line.name) <= most else f"{line.name[: most - 1]}…"
        yield text_along(begin, end, told, STRUT_NAME_AT)


def _key(pose: Pose) -> Iterator[Mark]:
    """Kinds of parts by their lines."""
    x = LEFT + 110.0
    for kind in kinds(pose):
        if kind == "upright":
            continue
        yield Path(((x, TOP - 6.0), (x + 10.0, TOP - 6.0)), INKS[kind])
        yield Words((x + 12.0, TOP - 7.0), NAMES[kind], 2.5)
        x += 16.0 + text_width(NAMES[kind], 2.5)


def _lengths(bars: Sequence[Bar]) -> tuple[float, list[Mark]]:
    """Each bar flat, at static, with its shortest and longest below where there is room for them; in columns."""
    columns = min(MOST_COLUMNS, len(bars))
    rows = -(-len(bars) // columns)
    width, height = (RIGHT - LEFT) / columns, (LENGTHS_TOP - 11.0 - BLOCK_TOP) / rows
    longest = max(max(bar.static, bar.longest or 0.0) for bar in bars)
    scale = largest_scale(longest, 0.0, (width - 12.0, 1.0))
    marks: list[Mark] = []
    for number, bar in enumerate(bars):
        at = (LEFT + 6.0 + (number % columns) * width, LENGTHS_TOP - 13.0 - (number // columns) * height)
        marks += _bar(bar, at, width - 10.0, scale, extremes=rows == 1)
    return scale, marks


def _bar(bar: Bar, at: Point, room: float, scale: float, extremes: bool) -> Iterator[Mark]:
    told = {"static": bar.static, "shortest": bar.shortest, "longest": bar.longest}
    known = {word: length for word, length in told.items() if length is not None}
    name = NAMES[bar.kind] if bar.name == bar.kind else f"{NAMES[bar.kind]} {bar.name}"
    if not extremes and len(known) > 1:
        name += f": {bar.shortest:.2f} to {bar.longest:.2f}"
    yield fitted(at[0], at[1], name, 2.6, room)
    for row, (word, length) in enumerate(known.items() if extremes else [("static", bar.static)]):
        y = at[1] - 8.0 - row * BAR_STEP
        begin, end = (at[0] + 2.0, y), (at[0] + 2.0 + scale * length, y)
        ink = INKS[bar.kind]
        yield Path((begin, end), ink if word == "static" else Ink(ink.colour, 0.3, ink.dash))
        yield from (Disc(eye, 1.0, Ink(BLACK, 0.25, fill=WHITE)) for eye in (begin, end))
        yield aligned(begin, end, 3.4, scale, word)
