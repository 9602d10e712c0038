"""The states that figures and tables speak of: travel points, sweeps, the grid of heave and roll."""

import math

from optimiser.report.handoff.second_reading.plain import PlainTravel
from optimiser.report.handoff.second_reading.struts import State

EDGE = 1e-9
"""A point oversteps a range when it lies further than this outside [mm]."""

Sweep = list[tuple[float, State]]
"""Travel [mm] and state of each point of a sweep, rising."""

DIRECTIONS: dict[str, State] = {
    "heave": (1.0, 1.0, 0.0),
    "roll": (1.0, -1.0, 0.0),
    "one_wheel": (1.0, 0.0, 0.0),
    "rack": (0.0, 0.0, 1.0),
}
"""Each sweep's change of (z_left, z_right, rack) per mm of its travel."""


def travel_points(low: float, high: float, step: float) -> list[float]:
    """Both ends of a range and every whole multiple of `step` between them [mm]."""
    multiples = [k * step for k in range(math.ceil(low / step), math.floor(high / step) + 1)]
    inner = [point for point in multiples if low + EDGE < point < high - EDGE]
    return sorted({low, high} | set(inner))


def sweeps(travel: PlainTravel) -> dict[str, Sweep]:
    """The sweeps of an axle by name: heave, roll, one_wheel and, with a rack, rack."""
    ranges = {"heave": travel.heave, "roll": travel.roll, "one_wheel": travel.wheel, "rack": travel.rack}
    return {name: sweep(name, *span, travel.step) for name, span in ranges.items() if span is not None}


def sweep(name: str, low: float, high: float, step: float) -> Sweep:
    """The travel points of [low, high] with their states, in one of the four sweeps."""
    a, b, c = DIRECTIONS[name]
    return [(t, (a * t, b * t, c * t)) for t in travel_points(low, high, step)]


def grid(travel: PlainTravel) -> list[State]:
    """Every pair of a heave and a roll point with both wheels inside `wheel`, at rack 0."""
    low, high = travel.wheel[0] - EDGE, travel.wheel[1] + EDGE
    pairs = [
        (h + r, h - r)
        for h in travel_points(*travel.heave, travel.step)
        for r in travel_points(*travel.roll, travel.step)
    ]
    return [(left, right, 0.0) for left, right in pairs if low <= left <= high and low <= right <= high]
