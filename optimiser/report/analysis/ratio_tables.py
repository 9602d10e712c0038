"""Motion ratios through heave and through roll, as tables.

Motion ratio = element compression / wheel travel. "wheel/spring" is its inverse, printed beside it because half the
trade uses it; the two are never mixed. `transm.` is the angle between a rocker's arm and the rod's or strut's line,
90 deg at best.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from geometry.arrays import Array, Indices
from geometry.status import Status
from optimiser.report.analysis.record import OK, Analysis, ElementSweep, Sweep
from optimiser.report.tables.blocks import Block, Column, heading, prose, short, tables
from optimiser.report.tables.cells import SMALLEST_RATIO, View, inverse, number, place, thinned

BEYOND = Status.OVER_CENTRE.word
"""Marks a state in which a strut is over centre."""
ABSENT = -1
"""Row of a sweep that has no state at this roll; in Python the last of a list."""


def heave_ratios(analysis: Analysis, view: View) -> Iterator[str]:
    """Ratio, wheel/spring and transmission of every element at the points of the heave sweep."""
    sweep = analysis.sweeps["heave"]
    rows = thinned(sweep.travel, _states(sweep), analysis.travel.step, view.every_step)
    yield heading("Motion ratios through heave", "strut compression per mm of both wheels")
    key = Block("heave", [Column("\n[mm]", [place(sweep.travel[row], signed=True) for row in rows])])
    elements = [_heaved(name, moved, rows) for name, moved in sweep.elements.items()]
    yield from tables(key, [_heaved_rocker(sweep, rows), *elements], view.width)
    yield from prose(
        "wheel/spring: the inverse of the ratio. transm.: angle between a rocker arm and its rod or strut, at the "
        "worse end; best at 90.",
        view.width,
    )


def roll_ratios(analysis: Analysis, view: View) -> Iterator[str]:
    """The same for the roll sweep, +r and -r side by side."""
    sweep = analysis.sweeps["roll"]
    sizes, plus, minus = _sides(sweep, analysis.travel.step, view.every_step)
    yield heading("Motion ratios through roll", "strut compression per mm of each wheel; +r: left wheel up, right down")
    key = Block("roll", [Column("r\n[mm]", [place(size) for size in sizes])])
    elements = [_rolled(name, moved, plus, minus) for name, moved in sweep.elements.items()]
    yield from tables(key, [_rolled_rocker(sweep, plus, minus), *elements], view.width)
    yield "A positive body roll of ISO 8855 lifts the left side: that is the state r < 0, left wheel down."


def _states(sweep: Sweep) -> list[str]:
    """The word of each state, and the struts that are over centre there."""
    beyond = {name: moved.over_centre for name, moved in sweep.elements.items()}
    return [
        " ".join([word, *(name for name, flags in beyond.items() if flags[row])])
        for row, word in enumerate(sweep.status)
    ]


def _heaved_rocker(sweep: Sweep, rows: Sequence[int]) -> Block:
    return Block(
        "left rocker",
        [
            Column("angle\n[deg]", [number(sweep.rocker_angle[row], 2, signed=True) for row in rows]),
            Column("transm.\n[deg]", [number(sweep.transmission[row], 1) for row in rows]),
            Column("\nstatus", [sweep.status[row] for row in rows], left=True),
        ],
    )


def _heaved(name: str, moved: ElementSweep, rows: Sequence[int]) -> Block:
    ratios = moved.motion_ratio[rows]
    columns = [Column("\nratio", [number(ratio, 4) for ratio in ratios])]
    if _tells(ratios):
        columns.append(Column("wheel/\nspring", [inverse(ratio, 4) for ratio in ratios]))
    columns.append(Column("transm.\n[deg]", [number(moved.transmission[row], 1) for row in rows]))
    return Block(short(name), [*columns, *_beyond([moved.over_centre[row] for row in rows])])


def _beyond(flags: Sequence[bool]) -> list[Column]:
    """A column that marks the states in which a strut is over centre, where there are any."""
    return [Column("", [BEYOND if flag else "" for flag in flags], left=True)] if any(flags) else []


def _tells(ratios: Array) -> bool:
    """Whether the inverse of these ratios is worth a column."""
    return bool(np.any(np.abs(ratios) >= SMALLEST_RATIO))


def _sides(sweep: Sweep, step: float, every_step: bool) -> tuple[Array, Indices, Indices]:
    """Sizes of roll to show, from 0, and the row of the sweep at +r and at -r of each, or `ABSENT`."""
    sizes = np.array(sorted(set(np.abs(sweep.travel).tolist())))
    plus, minus = _find(sweep.travel, sizes), _find(sweep.travel, -sizes)
    states = [*_states(sweep), "absent"]
    both = [f"{states[up]}, {states[down]}" for up, down in zip(plus, minus, strict=True)]
    rows = thinned(sizes, both, step, every_step)
    return sizes[rows], plus[rows], minus[rows]


def _either(flags: Sequence[bool], plus: Indices, minus: Indices) -> list[bool]:
    """Whether the flag of the row at +r or of that at -r is set."""
    return [any(flags[row] for row in pair if row != ABSENT) for pair in zip(plus, minus, strict=True)]


def _find(points: Array, wanted: Array) -> Indices:
    """Where each of `wanted` stands in `points`, or `ABSENT`."""
    same = wanted[:, None] == points[None, :]
    return np.where(same.any(axis=1), same.argmax(axis=1), ABSENT)


def _pick(values: Array, rows: Indices) -> Array:
    """The values of these rows, NaN for an absent one."""
    return np.where(rows == ABSENT, np.nan, values[rows])


def _rolled_rocker(sweep: Sweep, plus: Indices, minus: Indices) -> Block:
    return Block(
        "left rocker",
        [
            Column("angle\n+r", [number(angle, 2, signed=True) for angle in _pick(sweep.rocker_angle, plus)]),
            Column("[deg]\n-r", [number(angle, 2, signed=True) for angle in _pick(sweep.rocker_angle, minus)]),
            _worse(sweep.transmission, plus, minus),
            Column("\nstatus", [_words(sweep, pair) for pair in zip(plus, minus, strict=True)], left=True),
        ],
    )


def _words(sweep: Sweep, rows: tuple[int, int]) -> str:
    """The words of the states at +r and -r that are not ok, each once."""
    words = [sweep.status[row] for row in rows if row != ABSENT]
    return ", ".join(dict.fromkeys(word for word in words if word != OK)) or OK


def _rolled(name: str, moved: ElementSweep, plus: Indices, minus: Indices) -> Block:
    sides = {"+r": _pick(moved.motion_ratio, plus), "-r": _pick(moved.motion_ratio, minus)}
    columns = [Column(f"ratio\n{sign}", [number(ratio, 3) for ratio in ratios]) for sign, ratios in sides.items()]
    if _tells(moved.motion_ratio):
        columns += [
            Column(f"{word}\n{sign}", [inverse(ratio, 3) for ratio in sides[sign]])
            for word, sign in (("wheel/", "+r"), ("spring", "-r"))
        ]
    columns.append(_worse(moved.transmission, plus, minus))
    return Block(short(name), [*columns, *_beyond(_either(moved.over_centre, plus, minus))])


def _worse(transmission: Array, plus: Indices, minus: Indices) -> Column:
    """The smaller transmission of the two sides."""
    smaller = np.fmin(_pick(transmission, plus), _pick(transmission, minus))
    return Column("transm.\n[deg]", [number(angle, 1) for angle in smaller])
