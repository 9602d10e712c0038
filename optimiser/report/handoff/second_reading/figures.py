"""Every figure of the catalogue, from its definition.

A figure over states of which one is not ok is null (NaN here) and takes the worst of their statuses.
"""

import math
from collections.abc import Callable

import numpy as np

from optimiser.report.handoff.second_reading.plain import MIRROR, PlainAxle, Vector, skew
from optimiser.report.handoff.second_reading.reading import Reading, Reckoned, ground_angle, worst
from optimiser.report.handoff.second_reading.side import OK
from optimiser.report.handoff.second_reading.states import sweep, travel_points
from optimiser.report.handoff.second_reading.struts import State, StrutEnd
from optimiser.report.handoff.second_reading.wheels import wheel_figures

STATIC: State = (0.0, 0.0, 0.0)
IDLE = 1e-9
"""A motion ratio at static [mm/mm] or a stroke [mm] below this counts as none: ratios to it are null."""


def all_figures(reading: Reading) -> dict[str, Reckoned]:
    """Every figure of an axle by its full name."""
    figures: dict[str, Reckoned] = {}
    for name, element in reading.axle.elements.items():
        strut = _Corner(reading, name) if element.serves is None else _CrossCar(reading, name, element.serves)
        figures |= {f"{name}.{key}": value for key, value in strut.figures().items()}
    return figures | wheel_figures(reading) | _rocker_figures(reading)


class _Strut:
    """A strut's figures that do not depend on what it serves."""

    def __init__(self, reading: Reading, name: str, mode: str) -> None:
        self.reading, self.name, self.mode = reading, name, mode
        low, high = _span(reading, mode)
        self.low, self.high = low, high
        self.points = [state for _, state in sweep(mode, low, high, reading.travel.step)]

    def ratio(self, state: State) -> float:
        return self.reading.motion_ratio(self.name, state, self.mode)

    def null(self, states: list[State]) -> str:
        """Status of a figure over these states and static."""
        return worst(self.reading.strut_status(self.name, state) for state in [*states, STATIC])

    def over(self, states: list[State], reckon: Callable[[], float]) -> Reckoned:
        status = self.null(states)
        return (reckon(), OK) if status == OK else (math.nan, status)

    def climb(self, end: float) -> Reckoned:
        state = _at(self.mode, end)
        return self.against_static([state], lambda at_static: 100.0 * (self.ratio(state) / at_static - 1.0))

    def against_static(self, states: list[State], reckon: Callable[[float], float]) -> Reckoned:
        """A figure that divides by the ratio at static, or by a stroke that follows from it."""
        status = self.null(states)
        if status != OK:
            return math.nan, status
        static = self.ratio(STATIC)
        value = reckon(static) if abs(static) >= IDLE else math.nan
        return (value, OK) if math.isfinite(value) else (math.nan, "no_motion")

    def shared(self) -> dict[str, Reckoned]:
        figures = {
            "motion_ratio": self.over([], lambda: self.ratio(STATIC)),
            "progressivity": self.climb(self.high),
            "progressivity_droop": self.climb(self.low),
            "ratio_spread": self.against_static(self.points, lambda at0: self.drift(self.points, at0)),
        }
        return figures | self.lengths() | self.angles() | self.steer()

    def drift(self, states: list[State], at_static: float) -> float:
        return max(100.0 * abs(self.ratio(state) / at_static - 1.0) for state in states)

    def lengths(self) -> dict[str, Reckoned]:
        states, static = self.reading.unsteered, self.length(STATIC)

        def shortest() -> float:
            return min(self.length(state) for state in states)

        def longest() -> float:
            return max(self.length(state) for state in states)

        return {
            "length_static": self.over([], lambda: static),
            "length_min": self.over(states, shortest),
            "length_max": self.over(states, longest),
            "compression_stroke": self.over(states, lambda: static - shortest()),
            "extension_stroke": self.over(states, lambda: longest() - static),
        }

    def length(self, state: State) -> float:
        return self.reading.strut(self.name, state).length

    def angles(self) -> dict[str, Reckoned]:
        reading, states = self.reading, self.reading.every

        def ends() -> list[StrutEnd]:
            return [end for state in states for end in reading.strut(self.name, state).ends]

        return {
            "transmission_min": self.over(states, lambda: min(end.transmission for end in ends())),
            "tilt_max": self.over(states, lambda: max(end.tilt for end in ends())),
            "angle_static": self.over([], self.static_angle),
        }

    def static_angle(self) -> float:
        axle = self.reading.axle
        return ground_angle(_line(axle, self.name))

    def steer(self) -> dict[str, Reckoned]:
        if self.reading.travel.rack is None:
            return {}
        end = _smaller(self.reading.travel.rack)
        points = travel_points(-end, end, self.reading.travel.step)
        states = [_at("rack", s) for s in points]

        def largest(sign: float) -> float:
            return max(abs(self.squeeze("rack", s) + sign * self.squeeze("rack", -s)) / 2.0 for s in points)

        return {
            "steer_even": self.over(states, lambda: largest(1.0)),
            "steer_odd": self.over(states, lambda: largest(-1.0)),
        }

    def squeeze(self, mode: str, travel: float) -> float:
        return self.reading.compression(self.name, _at(mode, travel))


class _CrossCar(_Strut):
    """A strut between the two rockers, there to serve one mode."""

    def figures(self) -> dict[str, Reckoned]:
        reading, other = self.reading, "roll" if self.mode == "heave" else "heave"
        others = [state for _, state in sweep(other, *_span(reading, other), reading.travel.step)]

        def crosstalk(_: float) -> float:
            own, foreign = (
                max(abs(reading.compression(self.name, state)) for state in states) for states in (self.points, others)
            )
            return 100.0 * foreign / own if own >= IDLE else math.nan

        return self.shared() | {
            "coupling": self.over([], lambda: reading.motion_ratio(self.name, STATIC, other)),
            "crosstalk": self.against_static(self.points + others, crosstalk),
            "ratio_drift": self.against_static(others, lambda at0: self.drift(others, at0)),
            "left_right_split": self.split(),
        }

    def split(self) -> Reckoned:
        if self.mode != "roll":
            return math.nan, "roll_only"
        end = _smaller(self.reading.travel.roll)

        def share(_: float) -> float:
            right, left = self.squeeze("roll", end), self.squeeze("roll", -end)
            return 200.0 * abs(right + left) / abs(right - left) if abs(right - left) >= IDLE else math.nan

        return self.against_static([_at("roll", end), _at("roll", -end)], share)


class _Corner(_Strut):
    """The left one of a pair of struts between rocker and chassis: it serves no mode."""

    def __init__(self, reading: Reading, name: str) -> None:
        super().__init__(reading, name, "heave")

    def figures(self) -> dict[str, Reckoned]:
        nothing = (math.nan, "not_decoupled")
        return self.shared() | dict.fromkeys(("coupling", "crosstalk", "ratio_drift", "left_right_split"), nothing)


def _rocker_figures(reading: Reading) -> dict[str, Reckoned]:
    axle, states = reading.axle, reading.every
    status = worst(reading.status(state) for state in states)

    def over(reckon: Callable[[], float]) -> Reckoned:
        return (reckon(), OK) if status == OK else (math.nan, status)

    def angles() -> list[float]:
        return [math.degrees(side.angle) for state in states for side in reading.rockers(state)]

    def rods() -> list[tuple[float, float]]:
        ends = [reading.rod_end(side) for state in states for side in reading.rockers(state)]
        return [(end.transmission, end.tilt) for end in ends]

    return {
        "rocker.sweep": over(lambda: max(angles()) - min(angles())),
        "rocker.transmission_min": over(lambda: min(transmission for transmission, _ in rods())),
        "rod.tilt_max": over(lambda: max(tilt for _, tilt in rods())),
        "rocker.toggle_margin": reading.toggle_margin(),
        "rod.angle_static": (ground_angle(axle.rod_outboard - axle.rod_inboard), OK),
        "rocker.arm_sum": (sum(_radius(axle, point) for point in axle.arm_points), OK),
        "rocker.top_height": over(lambda: max(reading.top(state) for state in states)),
    }


def _line(axle: PlainAxle, name: str) -> Vector:
    element = axle.elements[name]
    start = axle.pickups[element.left]
    if element.right is None:
        return start if element.chassis is None else element.chassis - start
    line: Vector = axle.pickups[element.right] * MIRROR - start
    return line


def _radius(axle: PlainAxle, point: Vector) -> float:
    return float(np.linalg.norm(skew(axle.axis) @ (point - axle.pivot)))


def _span(reading: Reading, mode: str) -> tuple[float, float]:
    return reading.travel.heave if mode == "heave" else reading.travel.roll


def _at(mode: str, travel: float) -> State:
    return {
        "heave": (travel, travel, 0.0),
        "roll": (travel, -travel, 0.0),
        "rack": (0.0, 0.0, travel),
    }[mode]


def _smaller(span: tuple[float, float]) -> float:
    return min(abs(span[0]), abs(span[1]))
