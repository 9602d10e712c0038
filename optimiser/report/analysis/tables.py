"""An analysis as terminal tables of at most 100 columns that read without colour."""

from collections.abc import Iterator, Sequence

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, CornerStrut, CrossStrut, Element, TorsionBar
from optimiser.report.analysis.adjust_tables import adjust_tables
from optimiser.report.analysis.built_tables import built_tables
from optimiser.report.analysis.case_tables import case_tables
from optimiser.report.analysis.hints import hints
from optimiser.report.analysis.joint_tables import joint_tables
from optimiser.report.analysis.margin_tables import margin_tables
from optimiser.report.analysis.ratio_tables import heave_ratios, roll_ratios
from optimiser.report.analysis.record import OK, Analysis, WheelSweep, own_mode, share, word_over
from optimiser.report.analysis.room_tables import room_tables
from optimiser.report.analysis.spring_tables import spring_tables
from optimiser.report.analysis.wheel_tables import wheel_tables
from optimiser.report.tables.blocks import Block, Column, heading, prose, short, tables
from optimiser.report.tables.cells import View, number, place, span, thinned
from optimiser.report.tables.screen import NULL, bold

IDLE_BELOW = 1.0
"""An element is idle in a motion that gives it less than this share [%] of its own-mode stroke. Common practice, no
source: 1-2 % is the usual target for what a decoupled strut still moves in the other mode."""
WORKING_FROM = 10.0
"""An element works in a motion that gives it at least this share [%]; between the two it leaks. Common practice, no
source."""
MOTIONS = {"heave": "heave", "roll": "roll", "one_wheel": "one wheel", "rack": "rack"}
"""The sweeps, as they are called in tables."""


def analysis_tables(analysis: Analysis, view: View) -> Iterator[str]:
    """Everything `analyse` prints, in the order of an engineer's questions: who works when, ratios, springs, margins.

    Long tables are thinned to what reads at a glance, unless the view asks for every step.
    """
    yield from _header(analysis, view)
    yield from _who_works(analysis, view)
    yield from heave_ratios(analysis, view)
    yield from roll_ratios(analysis, view)
    yield from spring_tables(analysis, view)
    yield from case_tables(analysis.cases, view)
    yield from room_tables(analysis.near, view)
    yield from joint_tables(analysis.joints, view)
    yield from adjust_tables(analysis.adjustment, view)
    yield from _attitude(analysis, view)
    yield from wheel_tables(analysis.ways, view)
    yield from margin_tables(analysis.verdicts, analysis.wishes, view)
    yield from built_tables(analysis.built, analysis.build, view)
    yield from _worth_knowing(analysis, view)
    if not view.every_step:
        yield "\nTables are thinned to every few steps; --all shows each."


def _header(analysis: Analysis, view: View) -> Iterator[str]:
    yield from (bold(line) for line in prose(analysis.name, view.width))
    for name, element in {**analysis.elements, **analysis.bars}.items():
        yield from prose(f"{name}: {_said(element)}", view.width, others="  ")
    for note in analysis.notes:
        yield from prose(f"note: {note}", view.width, others="  ")


def _said(element: Element) -> str:
    match element:
        case CrossStrut(left=left, right=right, serves=serves):
            return f"cross-car strut from {left} (left) to {right} (right), serves {serves}"
        case CornerStrut(left=left):
            return f"corner strut from {left} to the chassis, one on each side; shown is the left one"
        case TorsionBar():
            return "torsion bar on the rocker's axis, one on each side; shown is the left one"
        case AntiRollBar(pickup=pickup):
            return f"anti-roll bar, its drop links from {pickup}"


def _who_works(analysis: Analysis, view: View) -> Iterator[str]:
    yield heading("Who works when", "stroke in (squeezed) and out [mm]; share of the strut's stroke in its own mode")
    motions = [name for name in MOTIONS if name in analysis.sweeps]
    labels = [f"{MOTIONS[name]} {span(_ends(analysis.sweeps[name].travel))}" for name in motions]
    key = Block("", [Column("motion [mm]", labels, left=True)])
    yield from tables(key, [_work(analysis, motions, element) for element in analysis.elements], view.width)
    yield from prose(
        f"idle: below {IDLE_BELOW:g} % of own stroke; leaking: {IDLE_BELOW:g} to {WORKING_FROM:g} %; "
        f"working: from {WORKING_FROM:g} % (common practice, no source)",
        view.width,
    )


def _ends(points: Array) -> tuple[float, float]:
    return float(points[0]), float(points[-1])


def _work(analysis: Analysis, motions: Sequence[str], element: str) -> Block:
    moved = [analysis.sweeps[motion].elements[element].compression for motion in motions]
    shares = [share(analysis, motion, element) for motion in motions]
    return Block(
        f"{short(element)} (own mode {own_mode(analysis.elements[element])})",
        [
            Column("in", [number(_most(compression), 2) for compression in moved]),
            Column("out", [number(_most(-compression), 2) for compression in moved]),
            Column("share", [number(part, 2, " %") for part in shares]),
            Column("", [_role(analysis, motion, element) for motion in motions], left=True),
        ],
    )


def _most(values: Array) -> float | None:
    """Largest of the values that are numbers, at least 0; None where there is none."""
    finite = values[np.isfinite(values)]
    return max(0.0, float(finite.max())) if finite.size else None


def _role(analysis: Analysis, motion: str, element: str) -> str:
    """What the element does in a motion, or the word that says why nobody knows."""
    part = share(analysis, motion, element)
    if part is None:
        own = own_mode(analysis.elements[element])
        words = [word_over(analysis.sweeps[sweep], element) for sweep in (motion, own)]
        return next((word for word in words if word != OK), NULL)
    if part < IDLE_BELOW:
        return "idle"
    return "leaking" if part < WORKING_FROM else "working"


def _attitude(analysis: Analysis, view: View) -> Iterator[str]:
    yield heading("Wheel attitude", "left wheel; camber: top outward positive; toe-in positive")
    blocks = [
        _wheel(
            motion,
            wheel,
            thinned(
                wheel.travel, [str(lost) for lost in np.isnan(wheel.camber)], analysis.travel.step, view.every_step
            ),
        )
        for motion, wheel in analysis.wheel.items()
    ]
    yield from tables(blocks[0], blocks[1:], view.width)


def _wheel(motion: str, wheel: WheelSweep, rows: Sequence[int]) -> Block:
    return Block(
        motion,
        [
            Column("travel\n[mm]", [place(wheel.travel[row], signed=True) for row in rows]),
            Column("camber\n[deg]", [number(wheel.camber[row], 3, signed=True) for row in rows]),
            Column("toe\n[deg]", [number(wheel.toe[row], 3, signed=True) for row in rows]),
        ],
    )


def _worth_knowing(analysis: Analysis, view: View) -> Iterator[str]:
    found = hints(analysis)
    if found:
        yield heading("Worth knowing")
    for hint in found:
        yield from prose(hint, view.width, first="- ", others="  ")
