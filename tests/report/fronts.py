"""Small fronts of round numbers, built without a folder, for the tests of what is shown."""

import math
from collections.abc import Mapping, Sequence
from pathlib import Path

from optimiser.report.front.frame import Frame, frame
from optimiser.report.results.manifest import FigureEntry, GoalEntry, Manifest, VariableEntry
from optimiser.report.results.store import Store, Table

VARIABLES = (
    VariableEntry("rocker.pivot.y", 180.0, 230.0, 205.0),
    VariableEntry("rocker.pickups.roll_lower.angle", -135.0, -90.0, -110.0),
)
WISHES = (
    GoalEntry("heave.progressivity", False, 1.0, {"direction": "maximise"}),
    GoalEntry("heave.crosstalk", False, 1.0, {"direction": "minimise"}),
    GoalEntry("rocker.arm_sum", False, 10.0, {"direction": "minimise"}),
)
HELD = (
    GoalEntry("heave.motion_ratio", True, 0.01, {"aim": 1.1, "within": 0.01}),
    GoalEntry("roll.crosstalk", True, 1.0, {"at_most": 1.0}),
)
FIGURES = {
    "heave.motion_ratio": FigureEntry("mm/mm", 4),
    "heave.progressivity": FigureEntry("%", 2),
    "heave.crosstalk": FigureEntry("%", 3),
    "roll.crosstalk": FigureEntry("%", 3),
    "rocker.arm_sum": FigureEntry("mm", 1),
    "rocker.sweep": FigureEntry("deg", 2),
}


def table(ids: Sequence[int], rows: Sequence[Sequence[float]]) -> Table:
    """Rows of pivot y, lower angle, heave ratio, progressivity, heave crosstalk, roll crosstalk, arm sum, sweep."""
    columns = [list(column) for column in zip(*rows, strict=True)] or [[] for _ in range(8)]
    y, angle, ratio, progressivity, crosstalk, roll, arms, sweep = columns
    figures = dict(zip(FIGURES, (ratio, progressivity, crosstalk, roll, arms, sweep), strict=True))
    objectives = {
        "heave.progressivity": [-value for value in progressivity],
        "heave.crosstalk": crosstalk,
        "rocker.arm_sum": [value / 10.0 for value in arms],
    }
    left = {
        "heave.motion_ratio": [0.01 - abs(value - 1.1) for value in ratio],
        "roll.crosstalk": [1.0 - value for value in roll],
    }
    return Table(list(ids), dict(zip([v.path for v in VARIABLES], (y, angle), strict=True)), objectives, figures, left)


def store(
    front: Table,
    base: Table | None = None,
    closest: Table | None = None,
    growth: Mapping[str, Sequence[float]] | None = None,
) -> Store:
    """A results folder's contents."""
    manifest = Manifest(
        study="An invented axle",
        fingerprint="0" * 64,
        seed=1,
        variables=VARIABLES,
        goals=WISHES + HELD,
        save=3,
        files={},
        figures=FIGURES,
        evaluations=4000,
        seconds=2.5,
        reference=(0.0, 5.0, 40.0),
    )
    told = growth or {
        "evaluations": [1000.0, 3000.0, 4000.0],
        "seconds": [0.5, 1.5, 2.5],
        "feasible": [10.0, 60.0, 90.0],
        "members": [1.0, 3.0, 4.0],
        "hypervolume": [1.0, 6.0, 8.0],
        "taken_out": [0.0, 2.0, 2.0],
    }
    columns = {name: list(column) for name, column in told.items()}
    return Store(Path("results/invented"), manifest, front, base, closest, {}, columns)


FOUR = [
    (180.0, -110.0, 1.1000, 20.0, 4.0, 0.50, 300.0, 40.0),
    (230.0, -135.0, 1.1030, 12.0, 2.4, 0.20, 280.0, math.nan),
    (205.0, -111.0, 1.0910, 11.0, 2.5, 0.40, 270.0, 43.0),
    (230.0, -112.0, 1.1085, 2.0, 0.5, 0.98, 330.0, 39.0),
]
"""Four members; the second is the knee."""
BASE = (205.0, -110.0, 1.1200, 9.0, 2.0, 1.50, 282.0, 41.0)
"""The study's own geometry, which misses both held goals."""


def four() -> Frame:
    """The four members, named 3, 5, 8 and 13, and the base beside them."""
    return frame(store(table([3, 5, 8, 13], FOUR), table([0], [BASE])))
