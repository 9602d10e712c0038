"""Figures of rates and load cases from the numbers of one compiled pass; the slow twin reads them from a survey."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from geometry.travel import Range
from objectives.catalogue.catalogue import describe
from objectives.figure_parts import Parts
from objectives.fittings.fitted import Fittings
from objectives.fittings.forces import NEWTON_MM
from objectives.fittings.loads import RodTube
from objectives.load_figures import NOT_PRESSED, factors_of
from objectives.loads.buckling import buckling_load
from objectives.readings import NOTHING
from objectives.strain import Curvature

PER_DEGREE = 1e-3 * np.pi / 180.0
"""N.m/deg in a N.mm/rad."""


@dataclass(frozen=True)
class Numbers:
    """What one pass gives for N candidates.

    `spring`, `geometric`: both parts of d2U at static and at the heave range's bump end, (N, 2) each. `travel` [mm],
    `rod`, `pivot` [N] (N, 2 M): at rest in M cases, case by case, left and right. `tension` (N, 2 M, 5, 2) [N], at both
    ends, and `bending` (N, 2 M, 5) [N.mm] of the links, or None where no goal asks for them. `rod_length` (N,) [mm],
    `track` [mm]. `wheel`: the range of wheel travel; `links`: their names.
    """

    spring: Curvature
    geometric: Curvature
    travel: Array
    rod: Array
    pivot: Array
    tension: Array | None
    bending: Array | None
    rod_length: Array
    track: Array
    wheel: Range
    tube: RodTube | None
    links: tuple[str, ...]

    @property
    def whole(self) -> Curvature:
        """d2U itself."""
        return self.spring + self.geometric


Measured = tuple[Array, Parts | None]
"""A figure (N,) and its parts, where it has any."""


def is_known(name: str, fittings: Fittings) -> bool:
    """Whether a figure can be read from `Numbers`, and what it tells of is fitted."""
    pattern = describe(name).name
    if pattern in _OF_RATES:
        return bool(fittings.springs)
    tube_is_there = fittings.loads.rod_tube is not None or pattern != "rod.buckling_factor"
    return (pattern in _OF_CASES or pattern in _OF_LINKS) and bool(fittings.loads.cases) and tube_is_there


def needs_cases(name: str) -> bool:
    """Whether a figure that is known tells of load cases."""
    return describe(name).name not in _OF_RATES


def needs_links(name: str) -> bool:
    """Whether a figure that is known tells of links."""
    return describe(name).name in _OF_LINKS


def read_figure(name: str, numbers: Numbers) -> Measured:
    """A figure that is known, by its full name; NaN where null."""
    figure = describe(name)
    if figure.name in _OF_LINKS:
        return _OF_LINKS[figure.name](numbers, numbers.links.index(figure.subject_of(name) or ""))
    return (_OF_RATES if figure.name in _OF_RATES else _OF_CASES)[figure.name](numbers)


def _largest(values: Array) -> Measured:
    return values.max(axis=-1), Parts(values, "largest")


def _smallest(values: Array) -> Measured:
    return values.min(axis=-1), Parts(values, "smallest")


def _buckling(numbers: Numbers) -> Measured:
    assert numbers.tube is not None
    factors = factors_of(buckling_load(numbers.tube, numbers.rod_length), numbers.rod)
    smallest = factors.min(axis=-1)
    return np.where(smallest == NOT_PRESSED, np.nan, smallest), Parts(factors, "smallest")


def _link_force(numbers: Numbers, place: int) -> Measured:
    assert numbers.tension is not None
    forces = numbers.tension[:, :, place].reshape(len(numbers.tension), -1)
    biggest = np.abs(forces).argmax(axis=-1)[:, None]
    return np.take_along_axis(forces, biggest, axis=-1)[:, 0], None


def _link_bending(numbers: Numbers, place: int) -> Measured:
    assert numbers.bending is not None
    return _largest(numbers.bending[..., place] / NEWTON_MM)


def _heave_rate_rise(numbers: Numbers) -> Measured:
    static, bump = np.moveaxis(numbers.whole.heave, -1, 0)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(np.abs(static) < NOTHING, np.nan, 100.0 * (bump - static) / static), None


def _roll_stiffness(numbers: Numbers) -> Measured:
    return numbers.whole.roll[:, 0] * numbers.track**2 / 2.0 * PER_DEGREE, None


_OF_RATES: Mapping[str, Callable[[Numbers], Measured]] = {
    "axle.heave_rate": lambda numbers: (numbers.whole.heave[:, 0], None),
    "axle.heave_rate_spring": lambda numbers: (numbers.spring.heave[:, 0], None),
    "axle.heave_rate_geometric": lambda numbers: (numbers.geometric.heave[:, 0], None),
    "axle.roll_rate": lambda numbers: (numbers.whole.roll[:, 0], None),
    "axle.roll_rate_spring": lambda numbers: (numbers.spring.roll[:, 0], None),
    "axle.roll_rate_geometric": lambda numbers: (numbers.geometric.roll[:, 0], None),
    "axle.one_wheel_rate": lambda numbers: (numbers.whole.one_wheel[:, 0], None),
    "axle.cross_rate": lambda numbers: (numbers.whole.cross[:, 0], None),
    "axle.roll_stiffness": _roll_stiffness,
    "axle.heave_rate_rise": _heave_rate_rise,
    "axle.roll_rate_at_bump": lambda numbers: (numbers.whole.roll[:, 1], None),
}
_OF_CASES: Mapping[str, Callable[[Numbers], Measured]] = {
    "axle.travel_reserve": lambda numbers: _smallest(
        np.minimum(numbers.wheel[1] - numbers.travel, numbers.travel - numbers.wheel[0])
    ),
    "rod.force_max": lambda numbers: _largest(numbers.rod),
    "rod.tension_max": lambda numbers: _largest(-numbers.rod),
    "rod.buckling_factor": _buckling,
    "rocker.pivot_force_max": lambda numbers: _largest(numbers.pivot),
}
_OF_LINKS: Mapping[str, Callable[[Numbers, int], Measured]] = {
    "link.NAME.force": _link_force,
    "link.NAME.bending": _link_bending,
}
