"""What can be set on the built car, of a file: the thread of the rods and the holes of pick-ups."""

from collections.abc import Mapping, Sequence

import numpy as np

from geometry.axle import Arm, Axle, RockerPoint
from objectives.adjustment.holes import completed
from objectives.adjustment.records import COORDINATES, POLAR, Adjustments, Hole, RodThread
from optimiser.study.faults import shown, suggestion
from optimiser.study.reading import Reading
from optimiser.study.variables import PICKUPS
from optimiser.study.walk import Quantity, Record, Value, Values

ROD = "rod"
"""The name under `adjust` of the rods' thread."""


def read_adjust(reading: Reading, axle: Axle) -> Adjustments:
    """The adjustments of a file; those with a fault are left out, and their faults noted."""
    parts = reading.keys("adjust")
    found = {path: _holes(reading, axle, path) for path in parts if path != ROD}
    holes = {path.removeprefix(PICKUPS): each for path, each in found.items() if each}
    return Adjustments(_thread(reading) if ROD in parts else None, holes)


def _thread(reading: Reading) -> RodThread | None:
    thread, (low, high) = reading.number("adjust.rod.thread"), reading.span("adjust.rod.turns")
    if low > 0.0 or high < 0.0 or low == high:
        expected = "turns that shorten first, then turns that lengthen, with 0 (as drawn) among them"
        reading.fault("adjust.rod.turns", f"[{low:g}, {high:g}]", expected, "write it like [-2, 2]")
        return None
    return RodThread(thread, (low, high)) if np.isfinite([thread, low, high]).all() else None


def _holes(reading: Reading, axle: Axle, path: str) -> tuple[Hole, ...]:
    """The holes of one pick-up; none where there is a fault."""
    where = f"adjust.{path}"
    name = path.removeprefix(PICKUPS)
    if not path.startswith(PICKUPS) or name not in axle.rocker.pickups:
        known = [ROD, *(f"{PICKUPS}{one}" for one in axle.rocker.pickups)]
        if not path.startswith(PICKUPS) or name not in reading.keys("axle.rocker.pickups"):
            hint = suggestion(path, known, f"name {known[-1]}, for one")
            reading.key_fault(where, f"the unknown part {shown(path)}", f"{ROD}, or a pick-up of the rocker", hint)
        return ()
    listed = reading.values.get(f"{where}.holes")
    items = listed.items if isinstance(listed, Values) else ()
    before = len(reading.faults)
    holes = tuple(_numbers(item) for item in items)
    for at, (item, hole) in enumerate(zip(items, holes, strict=True)):
        trouble = _trouble(hole, holes[:at], axle.rocker.pickups[name])
        if trouble:
            reading.faults.add(item.place, f"{where}.holes[{at}]", *trouble)
    if len(reading.faults) > before:
        return ()
    return completed(axle, name, [_inside(hole) for hole in holes])


def _numbers(item: Value) -> Hole:
    """One hole's numbers as the file has them; those with a fault are left out."""
    if isinstance(item, Values):
        entries: Mapping[str, Value] = dict(zip(COORDINATES, item.items, strict=True))
    else:
        entries = item.entries if isinstance(item, Record) else {}
    return {name: one.number for name, one in entries.items() if isinstance(one, Quantity)}


def _trouble(hole: Hole, others: Sequence[Hole], pickup: RockerPoint) -> tuple[str, str, str] | None:
    """What a fault says of a hole: found, expected and hint; None for a sound one."""
    names = f"a hole by {' and '.join(hole)}"
    kinds = [{name in POLAR for name in one} for one in (hole, *others[:1])]
    if not hole:
        return "a hole without a number", "what it changes of the pick-up", "write it like {length: 72}"
    if len(set.union(*kinds)) > 1:
        return names, "an arm's numbers in every hole, or coordinates in every hole", "write all holes in one way"
    if isinstance(pickup, Arm) and not kinds[0] & {True}:
        hint = "give its holes by length, angle and offset, or write the pick-up as coordinates"
        return names, "an arm's numbers, for the pick-up is written as an arm", hint
    if hole in others:
        return f"the hole {others.index(hole)} again", "holes that differ", "delete one of the two"
    return None


def _inside(hole: Hole) -> Hole:
    return {name: float(np.deg2rad(value)) if name == "angle" else value for name, value in hole.items()}
