"""What a hand-off file says against what was recomputed: every entry, with a tolerance that suits its unit."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from optimiser.report.handoff.second_reading.units import unit_of

RELATIVE = 1e-7
"""Largest relative difference of two readings of one number: a tenth of its sixth significant digit's least change."""
FLOORS = {"mm": 1e-10, "deg": 1e-10, "mm/mm": 1e-11, "deg/mm": 1e-9, "%": 2e-9}
FLOORS |= {"N": 1e-6, "N.m": 1e-6, "N/mm": 1e-7, "N.m/deg": 1e-6, "N.s/m": 1e-6}
"""Absolute differences that are rounding, whatever the size of the number, by its unit. Both readings give lengths to
about 1e-12 mm and angles to 1e-12 deg; ratios by differences are good to about 1e-12, and a percentage that compares
two of them is a hundred times that. Forces of thousands of N follow from ratios, and rates from second derivatives,
which differences give to about 1e-12 per mm."""
TOGGLE_FLOOR = 1e-7
"""The same for `rocker.toggle_margin` [mm], which both readings find by halving an interval."""
SMALLEST_FLOOR = 1e-11
"""For a number without a unit of its own."""
BUILT, BUILT_FLOOR = ("sensitivity", "rss", "worst"), 1e3
"""Figures that follow from differences over 0.02 mm of error, and how many times their units' floors are rounding."""
TOGGLE = "rocker.toggle_margin"
MET = ("slack_travel", "knee_travel")
MET_FLOOR = 1e-3
"""The same for a travel at which a spring goes slack or lets go [mm]: the first reading finds it by a cubic between two
travel points, good to 3e-6 mm at a step of 10 mm, and to some 1e-3 mm at one of 40 mm."""
CLEARANCE = "clearance."
CLEARANCE_FLOOR = 0.05
"""The same for a clearance [mm]: where two states are as near, either reading may follow the dip beside either."""
STEERED = ("castor", "inclination", "castor_offset", "axis_offset", "roll_centre")
STEERED_FLOOR = 1e-8
"""The same for figures of the steering axis and the roll centre [mm, deg]: a slope's error counts by how far off they
are, and by how little the wheel turns per mm of rack, a hundred mm and more."""
COLUMN_UNITS = {"length": "mm", "motion_ratio": "mm/mm", "rocker_angle": "deg", "travel": "mm", "twist": "deg"}
"""Units of the columns of the tables."""
ROW_UNITS = {"load_across": "N", "camber": "deg", "toe": "deg"}
"""Units of what the rows of an adjustment tell beside figures, where it is not mm."""

Path = tuple[str, ...]


@dataclass(frozen=True)
class Difference:
    """One entry that differs; a column of a table is one entry, shown where it differs most."""

    path: str
    says: str
    recomputed: str


@dataclass(frozen=True)
class Comparison:
    """All entries of some branch: how many were compared, those that differ, and the largest difference of the rest."""

    entries: int = 0
    differences: tuple[Difference, ...] = ()
    largest: float = 0.0
    """As `gap` measures it."""

    def __add__(self, other: "Comparison") -> "Comparison":
        return Comparison(
            self.entries + other.entries,
            self.differences + other.differences,
            max(self.largest, other.largest),
        )


def compare(recomputed: object, says: object, path: Path) -> Comparison:
    """Compare a branch of the file, `says`, with its recomputation; `path` is the branch's place in the file."""
    if isinstance(recomputed, Mapping):
        return _branches(recomputed, says, path)
    if isinstance(recomputed, list) and isinstance(says, list) and len(recomputed) == len(says):
        if any(isinstance(row, Mapping) for row in recomputed):
            rows = enumerate(zip(recomputed, says, strict=True))
            return sum((compare(a, b, (*path, str(place))) for place, (a, b) in rows), Comparison())
        return _columns(recomputed, says, path)
    return _entry(recomputed, says, path)


def _branches(recomputed: Mapping[str, object], says: object, path: Path) -> Comparison:
    if not isinstance(says, Mapping):
        return Comparison(1, (Difference(_shown_path(path), shown(says), "a mapping"),))
    total = Comparison()
    for key in [*recomputed, *(key for key in says if key not in recomputed)]:
        below = (*path, str(key))
        if key not in says:
            total += Comparison(1, (Difference(_shown_path(below), "nothing", shown(recomputed[key])),))
        elif key not in recomputed:
            total += Comparison(1, (Difference(_shown_path(below), shown(says[key]), "no such entry"),))
        else:
            total += compare(recomputed[key], says[key], below)
    return total


def _columns(recomputed: list[object], says: list[object], path: Path) -> Comparison:
    """A list of entries of one kind: what differs in it is one difference, at its worst place."""
    pairs = list(zip(recomputed, says, strict=True))
    gaps = [gap(a, b, path) for a, b in pairs]
    wrong = [i for i, size in enumerate(gaps) if size > RELATIVE]
    if not wrong:
        return Comparison(len(gaps), (), max(gaps, default=0.0))
    worst = max(wrong, key=lambda i: gaps[i])
    more = f" (and {len(wrong) - 1} more of {len(gaps)})" if len(wrong) > 1 else ""
    found = Difference(f"{_shown_path(path)}[{worst}]{more}", shown(says[worst]), shown(recomputed[worst]))
    return Comparison(len(gaps), (found,), 0.0)


def _entry(recomputed: object, says: object, path: Path) -> Comparison:
    size = gap(recomputed, says, path)
    if size <= RELATIVE:
        return Comparison(1, (), size)
    return Comparison(1, (Difference(_shown_path(path), shown(says), shown(recomputed)),))


def gap(recomputed: object, says: object, path: Path) -> float:
    """How far two entries are apart: they agree up to `RELATIVE`; infinite where they are not alike.

    For numbers, relative to the larger of them, or, where both are nearly nothing, so that the floor of their unit
    counts as `RELATIVE`.
    """
    if isinstance(recomputed, bool) or isinstance(says, bool) or not _numbers(recomputed, says):
        return 0.0 if recomputed == says and type(recomputed) is type(says) else math.inf
    a, b = _number(recomputed), _number(says)
    return abs(a - b) / max(abs(a), abs(b), floor(path) / RELATIVE)


def floor(path: Path) -> float:
    """The absolute difference that counts as none at a place of the file."""
    if path[-1] == TOGGLE:
        return TOGGLE_FLOOR
    if path[0] in ("figures", "goals") and len(path) > 1:
        return _figure_floor(path[1])
    if path[0] == "adjustment":
        return FLOORS.get(ROW_UNITS.get(path[-1]) or unit_of(path[-1]) or "mm", SMALLEST_FLOOR)
    return FLOORS.get(COLUMN_UNITS.get(path[-1], "mm"), SMALLEST_FLOOR)


def _figure_floor(name: str) -> float:
    base, _, word = name.rpartition(".")
    if name.startswith(CLEARANCE):
        return CLEARANCE_FLOOR
    if name.startswith("wheel.") and any(steered in word for steered in STEERED):
        return STEERED_FLOOR
    if word in MET:
        return MET_FLOOR
    if word in BUILT:
        return BUILT_FLOOR * FLOORS.get(unit_of(base), SMALLEST_FLOOR)
    return FLOORS.get(unit_of(name), SMALLEST_FLOOR)


def shown(value: object) -> str:
    """An entry in one line; numbers at full precision, long lists and texts cut."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    text = repr(value) if isinstance(value, int | float) else " ".join(str(value).split())
    return text if len(text) <= 60 else text[:59] + "…"


def _shown_path(path: Path) -> str:
    return ".".join(path)


def _numbers(*values: object) -> bool:
    return all(isinstance(value, int | float) and math.isfinite(value) for value in values)


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else math.nan
