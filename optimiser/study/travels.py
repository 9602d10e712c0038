"""From the values of a file to the travel of its axle, and whether the axle can go through it."""

import math

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, Axle
from geometry.motion import Motion, move
from geometry.status import Status
from geometry.travel import INSIDE, Range, Travel, heave_states, travel_points
from optimiser.study.reading import Reading

MOST_POINTS = 2_000
"""Most travel points of a range: a finer step shows nothing more, and takes for ever."""

MOST_STATES = 100_000
"""Most pairs of a heave and a roll point."""

RANGES = ("wheel", "heave", "roll", "rack")


def build_travel(reading: Reading, axle: Axle) -> Travel | None:
    """The travel of a file; None where it has a fault, which is noted."""
    before = len(reading.faults)
    spans = {name: reading.span(f"travel.{name}") for name in RANGES}
    step = reading.number("travel.step")
    for name in RANGES:
        _around_static(reading, f"travel.{name}", spans[name])
    _inside_wheel(reading, spans)
    _few_enough(reading, spans, step)
    _rack_if_followed(reading, axle)
    if len(reading.faults) > before or not np.all(
        np.isfinite([*spans["wheel"], *spans["heave"], *spans["roll"], step])
    ):
        return None
    rack = spans["rack"] if reading.has("travel.rack") else None
    return Travel(spans["wheel"], spans["heave"], spans["roll"], rack, step)


def check_reach(reading: Reading, axle: Axle, travel: Travel) -> None:
    """Note a fault where the axle's own geometry cannot go through the wheel's travel."""
    points = travel_points(travel.wheel, travel.step)
    motion = move(axle, heave_states(points))
    for code, (path, what, hint) in _CANNOT.items():
        _unless_reached(reading, path, (what, code.word, hint), points, points[motion.status == code])
    for name, element in axle.elements.items():
        if isinstance(element, AntiRollBar):
            _bar_reach(reading, name, motion, points)


def _bar_reach(reading: Reading, name: str, motion: Motion, points: Array) -> None:
    own = np.where(motion.status == Status.OK, motion.squeeze(name).status, Status.OK)
    words = {
        Status.UNREACHABLE: "the drop link cannot reach its arm",
        Status.OVER_CENTRE: "the drop link's arm has gone over centre",
    }
    hint = "lengthen the arm, turn it more square to the link, or shorten travel.wheel"
    for code, what in words.items():
        path = f"axle.elements.{name}.arm"
        _unless_reached(reading, path, (what, code.word, hint), points, points[own == code])


def _unless_reached(reading: Reading, path: str, told: tuple[str, str, str], points: Array, lost: Array) -> None:
    """Note a fault where there are points (N,) at which something cannot be; `told`: what, its status, what to do."""
    if lost.size:
        what, word, hint = told
        count = f"{lost.size} of {points.size} wheel travels"
        expected = f"an axle that goes through travel.wheel [{points[0]:g}, {points[-1]:g}] mm"
        reading.fault(path, f"{what} at {count}, {_extent(lost)} (status {word})", expected, hint)


_CANNOT = {
    Status.WHEEL_LOCKED: (
        "axle.links",
        "the links cannot reach",
        "check the links' points, or shorten travel.wheel",
    ),
    Status.UNREACHABLE: (
        "axle.rod",
        "the rod cannot reach its rocker arm",
        "lengthen the rocker's rod arm, move its pivot, or shorten travel.wheel",
    ),
    Status.OVER_CENTRE: (
        "axle.rocker.rod",
        "the rocker has gone over centre",
        "turn the rod arm more square to the rod, or shorten travel.wheel",
    ),
}
"""Where a state's status is told, and in which words."""


def _extent(travels: Array) -> str:
    nearest = float(travels[np.argmin(np.abs(travels))])
    farthest = float(travels[np.argmax(np.abs(travels))])
    return f"from {nearest:g} mm" + (f" to {farthest:g} mm" if nearest != farthest else "")


def _around_static(reading: Reading, path: str, span: Range) -> None:
    low, high = span
    found = f"[{low:g}, {high:g}]"
    if low >= high:
        reading.fault(path, found, "the lowest first, then a higher highest", "swap or correct the two")
    elif low > 0.0 or high < 0.0:
        reading.fault(
            path, found, "lowest at most 0 and highest at least 0", "travel counts from static, bump positive"
        )


def _inside_wheel(reading: Reading, spans: dict[str, Range]) -> None:
    low, high = spans["wheel"]
    heave_low, heave_high = spans["heave"]
    if heave_low < low - INSIDE or heave_high > high + INSIDE:
        found, expected = f"[{heave_low:g}, {heave_high:g}]", f"a range inside travel.wheel [{low:g}, {high:g}]"
        reading.fault("travel.heave", found, expected, "shorten heave or lengthen wheel")
    roll_low, roll_high = spans["roll"]
    reach = max(-roll_low, roll_high)
    if reach > min(-low, high) + INSIDE:
        expected = f"roll and -roll inside travel.wheel [{low:g}, {high:g}]: the right wheel goes the other way"
        reading.fault("travel.roll", f"[{roll_low:g}, {roll_high:g}]", expected, "shorten roll or lengthen wheel")


def _few_enough(reading: Reading, spans: dict[str, Range], step: float) -> None:
    if not step > 0.0:
        return
    lengths = {name: high - low for name, (low, high) in spans.items() if high > low}
    longest = max(lengths.values(), default=math.nan)
    if longest / step > MOST_POINTS:
        expected = f"at most {MOST_POINTS} steps in a range: at least {longest / MOST_POINTS:.4g} mm"
        reading.fault("travel.step", f"{step:g}", expected, "write a longer step: 1 or 2 mm is common")
    elif lengths.get("heave", 0.0) * lengths.get("roll", 0.0) / step**2 > MOST_STATES:
        least = math.sqrt(lengths["heave"] * lengths["roll"] / MOST_STATES)
        expected = f"at most {MOST_STATES} states of heave and roll: at least {least:.4g} mm"
        reading.fault("travel.step", f"{step:g}", expected, "write a longer step: 1 or 2 mm is common")


def _rack_if_followed(reading: Reading, axle: Axle) -> None:
    unsure = any(fault.path.startswith("axle.links") for fault in reading.faults.faults)
    if unsure or reading.record("travel") is None or reading.record("axle.links") is None:
        return
    if axle.has_rack and not reading.has("travel.rack"):
        hint = "add rack: [lowest, highest], or delete inboard_moves_with"
        reading.fault("travel.rack", "no key rack, while a link moves with the rack", "a range of rack travel", hint)
    if not axle.has_rack and reading.has("travel.rack"):
        hint = "delete rack, or write inboard_moves_with: rack in the steering link"
        reading.fault("travel.rack", "a rack range, while no link moves with the rack", "no key rack", hint)
