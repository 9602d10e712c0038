"""Figures of springs, dampers and bars, and of the axle on them, from their definitions."""

import math
from collections.abc import Callable
from itertools import pairwise

from scipy.optimize import brentq

from optimiser.report.handoff.second_reading.dampers import damper_force, plain_dampers
from optimiser.report.handoff.second_reading.laws import MILLI, force, slack_at, solid_at
from optimiser.report.handoff.second_reading.plain import Tree
from optimiser.report.handoff.second_reading.reading import Reckoned, worst
from optimiser.report.handoff.second_reading.side import OK
from optimiser.report.handoff.second_reading.sprung import HEAVE, LEFT, NOTHING, RIGHT, ROLL, STATIC, Sprung
from optimiser.report.handoff.second_reading.states import sweep
from optimiser.report.handoff.second_reading.struts import State

SLOW, FAST = 0.05, 0.25
"""Wheel speeds at which a damper's force is told [m/s]."""


def sprung_figures(sprung: Sprung, tree: Tree) -> dict[str, Reckoned]:
    """Every figure of bars, springs, dampers and the axle on them, by its full name."""
    figures: dict[str, Reckoned] = {}
    for name in sprung.reading.axle.bars:
        figures |= {f"{name}.{key}": value for key, value in _bar(sprung, name).items()}
    for name in sprung.reading.axle.elements:
        if sprung.on(name):
            figures |= {f"{name}.{key}": value for key, value in _strut(sprung, name).items()}
    for name, points in plain_dampers(tree).items():
        figures |= {f"{name}.{key}": value for key, value in _damper(sprung, name, points).items()}
    return figures | (_axle(sprung) if sprung.springs else {})


def _bar(sprung: Sprung, name: str) -> dict[str, Reckoned]:
    direction = LEFT if sprung.reading.axle.bars[name].pickup is None else ROLL
    states = sprung.reading.every

    def ratio() -> float:
        return math.degrees(sprung.slope_of(name, STATIC, direction))

    figures = {
        "twist_ratio": _over(sprung, name, [STATIC], ratio),
        "twist_max": _over(sprung, name, states, lambda: max(abs(sprung.reading.twist(name, s)) for s in states)),
    }
    if not sprung.on(name):
        return figures
    return figures | {
        "moment_static": _forced(sprung, name, [STATIC], lambda: sprung.force(name, STATIC) / MILLI),
        "moment_max": _forced(sprung, name, states, lambda: _largest(sprung, name, states) / MILLI),
    }


def _strut(sprung: Sprung, name: str) -> dict[str, Reckoned]:
    states, on = sprung.reading.every, sprung.on(name)
    figures = {
        "force_static": _forced(sprung, name, [STATIC], lambda: sprung.force(name, STATIC)),
        "force_max": _forced(sprung, name, states, lambda: _largest(sprung, name, states)),
    }
    if any(spring.is_pushing for spring in on):
        level = max(slack_at(spring, sprung.carried) for spring in on if spring.is_pushing)
        figures["slack_travel"] = _slack(sprung, name, level)
    if any(spring.kind == "opposed" for spring in on):
        pairs = [spring.numbers for spring in on if spring.kind == "opposed"]
        figures["knee_travel"] = _knee(sprung, name, min(abs(n["preload"]) / n["rate"] for n in pairs))
    if any(spring.has_solid_length for spring in on):
        limit = min(solid_at(spring, sprung.carried) for spring in on if spring.has_solid_length)
        figures["solid_reserve"] = _forced(
            sprung, name, states, lambda: limit - max(sprung.squeezed(name, state) for state in states)
        )
    return figures


def _largest(sprung: Sprung, name: str, states: list[State]) -> float:
    return max(abs(sprung.force(name, state)) for state in states)


def _slack(sprung: Sprung, name: str, level: float) -> Reckoned:
    """Where along its mode the element is first drawn out to `level`; else the end towards which it is drawn out."""
    points = _mode_points(sprung, name)

    def reckon() -> Reckoned:
        ways = {way: _first(sprung, name, points, lambda c: c - level, way) for way in (1.0, -1.0)}
        met = [found for found in ways.values() if found is not None]
        if met:
            return min(met), OK
        low, high = (sprung.squeezed(name, points[end][1]) for end in (0, -1))
        return abs(points[0 if low < high else -1][0]), "beyond_travel"

    return _along_mode(sprung, name, reckon)


def _knee(sprung: Sprung, name: str, reach: float) -> Reckoned:
    """Where along its mode, either way, the element is first squeezed or drawn out by `reach`."""
    points = _mode_points(sprung, name)

    def reckon() -> Reckoned:
        found = [_first(sprung, name, points, lambda c: reach - abs(c), way) for way in (1.0, -1.0)]
        met = [one for one in found if one is not None]
        return (min(met), OK) if met else (min(abs(points[end][0]) for end in (0, -1)), "beyond_travel")

    return _along_mode(sprung, name, reckon)


def _along_mode(sprung: Sprung, name: str, reckon: Callable[[], Reckoned]) -> Reckoned:
    status = _status(sprung, name, [state for _, state in _mode_points(sprung, name)])
    return reckon() if status == OK else (math.nan, status)


def _mode_points(sprung: Sprung, name: str) -> list[tuple[float, State]]:
    travel, serves = sprung.reading.travel, sprung.reading.axle.elements[name].serves
    low, high = travel.roll if serves == "roll" else travel.heave
    return sweep(serves or "heave", low, high, travel.step)


def _first(
    sprung: Sprung, name: str, points: list[tuple[float, State]], over: Callable[[float], float], way: float
) -> float | None:
    """The first travel from static, going one way, at which `over` of the compression is no longer above 0."""
    (a, b, _) = next(state for travel, state in points if travel != 0.0)
    unit = (1.0, math.copysign(1.0, a * b))

    def left(distance: float) -> float:
        return over(sprung.squeezed(name, (way * distance * unit[0], way * distance * unit[1], 0.0)))

    stations = sorted({0.0, *(abs(travel) for travel, _ in points if way * travel > 0.0)})
    if left(0.0) <= 0.0:
        return 0.0
    for near, far in pairwise(stations):
        if left(far) <= 0.0:
            return float(brentq(left, near, far, xtol=1e-12, rtol=1e-14))
    return None


def _damper(sprung: Sprung, name: str, points: tuple[tuple[float, float], ...]) -> dict[str, Reckoned]:
    element = sprung.reading.axle.elements[name]
    wheels = 1.0 if element.right is None else 2.0
    direction = LEFT if element.right is None else (ROLL if element.serves == "roll" else HEAVE)

    def at_wheel(speed: float) -> float:
        ratio = abs(sprung.slope_of(name, STATIC, direction))
        return damper_force(points, ratio * speed) * ratio / wheels

    told = {
        "wheel_damping": lambda: (at_wheel(SLOW) - at_wheel(-SLOW)) / (2.0 * SLOW),
        "bump_force_slow": lambda: at_wheel(SLOW),
        "rebound_force_slow": lambda: -at_wheel(-SLOW),
        "bump_force_fast": lambda: at_wheel(FAST),
        "rebound_force_fast": lambda: -at_wheel(-FAST),
    }
    return {key: _over(sprung, name, [STATIC], reckon) for key, reckon in told.items()}


def _axle(sprung: Sprung) -> dict[str, Reckoned]:
    bump: State = (sprung.reading.travel.heave[1], sprung.reading.travel.heave[1], 0.0)

    def rate(state: State, direction: State, *parts: str) -> float:
        spring = sprung.stiffness(state, direction, "spring") if "spring" in parts else 0.0
        return spring + (sprung.stiffness(state, direction, "geometric") if "geometric" in parts else 0.0)

    def whole(state: State, direction: State) -> float:
        return rate(state, direction, "spring", "geometric")

    def rise() -> float:
        static = whole(STATIC, HEAVE)
        return 100.0 * (whole(bump, HEAVE) / static - 1.0) if abs(static) >= NOTHING else math.nan

    track = 2.0 * float(sprung.reading.axle.wheel_centre[1])
    at_static = {
        "heave_rate": lambda: whole(STATIC, HEAVE) / 2.0,
        "heave_rate_spring": lambda: rate(STATIC, HEAVE, "spring") / 2.0,
        "heave_rate_geometric": lambda: rate(STATIC, HEAVE, "geometric") / 2.0,
        "roll_rate": lambda: whole(STATIC, ROLL) / 2.0,
        "roll_rate_spring": lambda: rate(STATIC, ROLL, "spring") / 2.0,
        "roll_rate_geometric": lambda: rate(STATIC, ROLL, "geometric") / 2.0,
        "one_wheel_rate": lambda: whole(STATIC, LEFT),
        "cross_rate": lambda: (whole(STATIC, LEFT) - whole(STATIC, RIGHT)) / 2.0,
        "roll_stiffness": lambda: whole(STATIC, ROLL) * track**2 / 4.0 * math.radians(1.0) / MILLI,
        "static_lean": lambda: sprung.push(STATIC, ROLL) / 2.0,
    }
    at_bump = {"roll_rate_at_bump": lambda: whole(bump, ROLL) / 2.0, "heave_rate_rise": rise}
    weight = sprung.weight
    if weight is not None:
        at_static["static_miss"] = lambda: sprung.push(STATIC, HEAVE) / 2.0 - weight
    figures = {key: _on_springs(sprung, [STATIC], reckon) for key, reckon in at_static.items()}
    figures |= {key: _on_springs(sprung, [STATIC, bump], reckon) for key, reckon in at_bump.items()}
    return {f"axle.{key}": value for key, value in figures.items()}


def _over(sprung: Sprung, name: str, states: list[State], reckon: Callable[[], float]) -> Reckoned:
    status = worst(sprung.status(name, state) for state in states)
    return (reckon(), OK) if status == OK else (math.nan, status)


def _forced(sprung: Sprung, name: str, states: list[State], reckon: Callable[[], float]) -> Reckoned:
    """A figure that the element's forces are in."""
    status = _status(sprung, name, states)
    return (reckon(), OK) if status == OK else (math.nan, status)


def _on_springs(sprung: Sprung, states: list[State], reckon: Callable[[], float]) -> Reckoned:
    status = worst(_status(sprung, name, states, bare=True) for name in sprung.elements)
    lost = any(math.isnan(sprung.force(name, STATIC)) for name in sprung.elements)
    if status != OK or lost:
        return math.nan, status if status != OK else "no_motion"
    value = reckon()
    return (value, OK) if math.isfinite(value) else (math.nan, "no_motion")


def _status(sprung: Sprung, name: str, states: list[State], *, bare: bool = False) -> str:
    status = worst(sprung.status(name, state) for state in states)
    if status == OK and not bare and any(math.isnan(force(s, sprung.carried, 0.0)) for s in sprung.on(name)):
        return "no_motion"
    return status
