"""What errors of a build do to figures of struts, read again: each error put into the points, and the axle solved anew.

Both sides have errors of their own, those of the right side given on the mirrored left; struts rest at the length that
they then have.

| symbol | meaning | shape |
|---|---|---|
| numbers | what a figure is the largest of, or minus what it is the smallest of | (P,) |
| slopes | what each number changes by per mm of each error | (P, E) |
"""

import numpy as np

from optimiser.report.handoff.second_reading.built_points import PIVOT, ROD, ROD_END, ROD_EYE, Error, with_error
from optimiser.report.handoff.second_reading.built_struts import NUMBERS, BuiltStrut, Floats
from optimiser.report.handoff.second_reading.plain import (
    PlainAxle,
    PlainElement,
    PlainTravel,
    Tree,
    number,
    plain_axle,
    plain_travel,
    section,
)
from optimiser.report.handoff.second_reading.side import Side, SidePoint

FORMS = ("sensitivity", "rss", "worst")
"""The last words of the names of the figures that are read here."""
STEP = 1e-2
"""Half the width of a difference [mm]."""


def built_figures(tree: Tree, names: list[str]) -> dict[str, float]:
    """Those of the figures `names` of the built axle that are read here, NaN where null: linear ones of struts.

    The figure that each is of must not be null on the axle as drawn. Raises UnreadableError, naming the entry, where
    axle, travel or build are not there.
    """
    wanted = {name: _split(name) for name in names}
    found: dict[str, float] = {}
    if not any(strut[2] in FORMS and strut[1] in NUMBERS for strut in wanted.values()):
        return found
    axle, travel = plain_axle(section(tree, "axle", "")), plain_travel(section(tree, "travel", ""))
    build, side = _Build(section(tree, "build", "")), Side(axle, 0.0, 0.0)
    linear: dict[tuple[str, str], tuple[Floats, Floats, Floats]] = {}
    for name, (strut, word, form) in wanted.items():
        if strut in axle.elements and word in NUMBERS and form in FORMS:
            if (strut, word) not in linear:
                linear[strut, word] = _linear(axle, side, travel, build, strut, word)
            found[name] = _form(form, *linear[strut, word])
    return found


def _split(name: str) -> tuple[str, str, str]:
    """Strut, figure and form in a name such as `heave.crosstalk.rss`; empty words where it has fewer parts."""
    base, _, form = name.rpartition(".")
    strut, _, word = base.rpartition(".")
    return strut, word, form


class _Build:
    """Tolerances as the file writes them."""

    def __init__(self, tree: Tree) -> None:
        self._tree = tree
        self._points = section(tree, "points", "build") if "points" in tree else {}

    def of(self, path: str, group: str) -> float:
        """The tolerance [mm] of a point, or of the rod's length."""
        if path in self._points:
            return number(self._points, path, "build.points")
        return number(self._tree, group, "build") if group in self._tree else 0.0

    def listed(self, start: str) -> list[str]:
        """Points that are named by their paths, of those that begin with `start`."""
        return [path for path in self._points if path.startswith(start)]


def _errors(build: _Build, element: PlainElement, name: str) -> list[Error]:
    """The errors that a strut knows of; all others leave it as it is."""
    sides = (False,) if element.right is None else (False, True)
    found = []
    for right in sides:
        pickup = element.right if right and element.right else element.left
        points = {PIVOT: "pivots", ROD_END: "pickups", f"rocker.pickups.{pickup}": "pickups"}
        if element.chassis is not None:
            points[f"elements.{name}.chassis"] = "pivots"
        points |= dict.fromkeys((*build.listed(ROD_EYE), *build.listed("links.")), "")
        found += [Error(right, path, k, build.of(path, group)) for path, group in points.items() for k in range(3)]
        found.append(Error(right, ROD, 0, build.of("", "rod_length")))
    return [error for error in found if error.size > 0.0]


def _linear(
    axle: PlainAxle, side: Side, travel: PlainTravel, build: _Build, name: str, word: str
) -> tuple[Floats, Floats, Floats]:
    """Numbers (P,) of a figure, all signed so that the largest counts, their slopes (P, E), and tolerances (E,)."""
    element, (numbers, sign) = axle.elements[name], NUMBERS[word]
    errors = _errors(build, element, name)

    def off(error: Error, size: float) -> Floats:
        built = with_error(axle, error, size)
        theirs = built, Side(built, 0.0, 0.0) if error.path.startswith("links.") else _SameUpright(built, side)
        both = ((axle, side), theirs) if error.right else (theirs, (axle, side))
        return numbers(BuiltStrut(*both, travel, name))

    drawn = numbers(BuiltStrut((axle, side), (axle, side), travel, name))
    slopes = [(off(error, STEP) - off(error, -STEP)) / (2.0 * STEP) for error in errors]
    changes = np.stack(slopes, axis=-1) if slopes else np.zeros((len(drawn), 0))
    return sign * drawn, sign * changes, np.array([error.size for error in errors])


def _form(form: str, numbers: Floats, slopes: Floats, sizes: Floats) -> float:
    stacked = np.abs(slopes) @ sizes
    if form == "sensitivity":
        return float(np.abs(slopes[(numbers + stacked).argmax()]).max(initial=0.0))
    reach = stacked if form == "worst" else np.sqrt(slopes**2 @ sizes**2)
    return float((numbers + reach).max() - numbers.max())


class _SameUpright(Side):
    """The left side of an axle whose upright moves as that of the one as drawn."""

    def __init__(self, axle: PlainAxle, drawn: Side) -> None:
        super().__init__(axle, 0.0, 0.0)
        self._drawn = drawn

    def _solve(self, z: float, rack: float) -> SidePoint | None:
        there = self._drawn.at(z, rack)
        return None if there is None else self._point(there.pose, rack)
