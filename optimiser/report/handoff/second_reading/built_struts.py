"""One strut of an axle whose sides differ, and the numbers that each of its figures is the largest or smallest of."""

import math
from collections.abc import Callable, Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from optimiser.report.handoff.second_reading.plain import MIRROR, PlainAxle, PlainTravel, Vector
from optimiser.report.handoff.second_reading.side import Side
from optimiser.report.handoff.second_reading.slopes import slope
from optimiser.report.handoff.second_reading.states import DIRECTIONS, grid, sweep, travel_points
from optimiser.report.handoff.second_reading.struts import State

Floats = NDArray[np.float64]
STATIC: State = (0.0, 0.0, 0.0)


class BuiltStrut:
    """One strut of an axle whose sides differ, each an axle and its left side."""

    def __init__(
        self, left: tuple[PlainAxle, Side], right: tuple[PlainAxle, Side], travel: PlainTravel, name: str
    ) -> None:
        self.travel = travel
        self._left, self._right, self._name = left, right, name
        self._element = left[0].elements[name]
        self.mode = self._element.serves or "heave"
        self.other = "roll" if self.mode == "heave" else "heave"
        self.rest = self.length(STATIC)

    def length(self, state: State) -> float:
        """Eye to eye [mm]; NaN where a side is not there."""
        z_left, z_right, rack = state
        element = self._element
        start = _pickup(*self._left, element.left, z_left, rack)
        if element.chassis is not None:
            return float(np.linalg.norm(element.chassis - start))
        return float(np.linalg.norm(MIRROR * _pickup(*self._right, element.right or "", z_right, -rack) - start))

    def squeeze(self, state: State) -> float:
        """Length at rest less length [mm]."""
        return self.rest - self.length(state)

    def ratio(self, state: State, mode: str) -> float:
        """Compression per mm of travel at a state [mm/mm]."""

        def along(travel: float) -> float:
            a, b, c = (s + travel * d for s, d in zip(state, DIRECTIONS[mode], strict=True))
            return self.length((a, b, c))

        return -slope(along)

    def span(self, mode: str) -> tuple[float, float]:
        return self.travel.heave if mode == "heave" else self.travel.roll

    def states(self, mode: str) -> list[State]:
        return [state for _, state in sweep(mode, *self.span(mode), self.travel.step)]

    def at(self, mode: str, travel: float) -> State:
        a, b, c = (travel * d for d in DIRECTIONS[mode])
        return a, b, c


def _pickup(axle: PlainAxle, side: Side, name: str, z: float, rack: float) -> Vector:
    point = side.at(z, rack)
    if point is None or math.isnan(point.angle):
        return np.full(3, math.nan)
    return side.rocker.turned(axle.pickups[name], point.angle)


def _both_signs(values: list[float]) -> Floats:
    return np.array([*values, *(-value for value in values)])


def _changes(strut: BuiltStrut, mode: str) -> list[float]:
    """Percent by which the ratio differs from static over a sweep."""
    at_static = strut.ratio(STATIC, strut.mode)
    return [100.0 * (strut.ratio(state, strut.mode) / at_static - 1.0) for state in strut.states(mode)]


def _climb(end: int) -> Callable[[BuiltStrut], Floats]:
    def numbers(strut: BuiltStrut) -> Floats:
        state = strut.at(strut.mode, strut.span(strut.mode)[end])
        return np.array([100.0 * (strut.ratio(state, strut.mode) / strut.ratio(STATIC, strut.mode) - 1.0)])

    return numbers


def _crosstalk(strut: BuiltStrut) -> Floats:
    stroke = max(abs(strut.squeeze(state)) for state in strut.states(strut.mode))
    return _both_signs([100.0 * strut.squeeze(state) / stroke for state in strut.states(strut.other)])


def _split_of_sides(strut: BuiltStrut) -> Floats:
    end = min(abs(limit) for limit in strut.span("roll"))
    one, other = (strut.squeeze(strut.at("roll", sign * end)) for sign in (1.0, -1.0))
    return _both_signs([200.0 * (one + other) / abs(one - other)])


def _steer(sign: float) -> Callable[[BuiltStrut], Floats]:
    def numbers(strut: BuiltStrut) -> Floats:
        end = min(abs(limit) for limit in strut.travel.rack or (0.0, 0.0))
        points = travel_points(-end, end, strut.travel.step)
        squeezes = [[strut.squeeze(strut.at("rack", side * s)) for s in points] for side in (1.0, -1.0)]
        return _both_signs([(a + sign * b) / 2.0 for a, b in zip(*squeezes, strict=True)])

    return numbers


def _over_grid(strut: BuiltStrut) -> Iterator[float]:
    return (strut.length(state) for state in grid(strut.travel))


NUMBERS: Mapping[str, tuple[Callable[[BuiltStrut], Floats], float]] = {
    "motion_ratio": (lambda strut: np.array([strut.ratio(STATIC, strut.mode)]), 1.0),
    "coupling": (lambda strut: np.array([strut.ratio(STATIC, strut.other)]), 1.0),
    "progressivity": (_climb(1), 1.0),
    "progressivity_droop": (_climb(0), 1.0),
    "ratio_spread": (lambda strut: _both_signs(_changes(strut, strut.mode)), 1.0),
    "ratio_drift": (lambda strut: _both_signs(_changes(strut, strut.other)), 1.0),
    "crosstalk": (_crosstalk, 1.0),
    "left_right_split": (_split_of_sides, 1.0),
    "steer_even": (_steer(1.0), 1.0),
    "steer_odd": (_steer(-1.0), 1.0),
    "length_static": (lambda strut: np.array([strut.rest]), 1.0),
    "length_min": (lambda strut: np.array(list(_over_grid(strut))), -1.0),
    "length_max": (lambda strut: np.array(list(_over_grid(strut))), 1.0),
    "compression_stroke": (lambda strut: np.array([strut.rest - length for length in _over_grid(strut)]), 1.0),
    "extension_stroke": (lambda strut: np.array([length - strut.rest for length in _over_grid(strut)]), 1.0),
}
"""The numbers of each figure, and 1 where it is the largest of them, -1 the smallest."""
