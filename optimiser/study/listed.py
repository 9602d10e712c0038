"""Variables of a study that take listed values alone: numbers of holes, and numbers `among` some."""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import Array, norm
from geometry.axle import Axle
from geometry.hardpoints import place
from objectives.adjustment.holes import with_hole
from objectives.adjustment.records import Adjustments
from optimiser.study.faults import shown, suggestion
from optimiser.study.forms import Number, expectation
from optimiser.study.keys import number_at
from optimiser.study.reading import Reading
from optimiser.study.study import Variable
from optimiser.study.variables import HOLE, PICKUPS, nearest, pickup_of
from optimiser.study.walk import Quantity, Record, Values


def hole_variable(reading: Reading, axle: Axle, adjust: Adjustments, path: str) -> Variable | None:
    """The variable of a path that chooses a hole; None where it has a fault, which is noted here or has been.

    Its own value is the hole listed that is nearest to the pick-up as written.
    """
    listed = reading.values.get(f"vary.{path}")
    pickup = pickup_of(path)
    if not isinstance(listed, Values) or pickup is None:
        return None
    count = len(adjust.holes[pickup])
    for number in _numbers(listed):
        if number >= count:
            expected = f"numbers of the {count} holes under adjust, from 0 to {count - 1}"
            reading.fault(f"vary.{path}", f"the hole {number:g}", expected, "delete it, or add the hole")
            return None
    choices = _once(reading, f"vary.{path}", listed)
    if choices is None:
        return None
    away = _distances(axle, adjust, pickup)[np.array(choices, dtype=np.intp)]
    return Variable(path, choices[0], choices[-1], choices[int(away.argmin())], choices)


def listed_variable(reading: Reading, path: str, own: float) -> Variable | None:
    """The variable of a number that takes values `among` some; None where it has a fault. `own` in the file's unit."""
    where = f"vary.{path}.among"
    listed = reading.values.get(where)
    choices = _once(reading, where, listed) if isinstance(listed, Values) else None
    if choices is None:
        return None
    form = number_at(path)
    if form and not all(allows(form, value) for value in choices):
        expected = f"values that are each {expectation(form)}"
        reading.fault(where, shown(", ".join(f"{value:g}" for value in choices)), expected, "correct the values")
        return None
    return Variable(path, choices[0], choices[-1], float(nearest(np.array(choices), np.array(own))), choices)


def is_listed(reading: Reading, path: str) -> bool:
    """Whether the number at a path is varied among listed values."""
    return isinstance(reading.values.get(f"vary.{path}"), Record)


def allows(form: Number, value: float) -> bool:
    """Whether a number of this form may have a value."""
    low, high = (-np.inf if form.low is None else form.low), (np.inf if form.high is None else form.high)
    return low <= value <= high and (form.above is None or value > form.above)


def no_holes(reading: Reading, path: str, adjust: Adjustments) -> None:
    """Note the fault of a path that chooses a hole where the pick-up has none."""
    pickup = pickup_of(path)
    if pickup is None or reading.has(f"adjust.{PICKUPS}{pickup}"):
        return  # its holes have a fault of their own
    known = [f"{PICKUPS}{name}{HOLE}" for name in adjust.holes]
    add = f"write its holes: adjust: {{{PICKUPS}{pickup}: {{holes: [{{length: 72}}, {{length: 76}}]}}}}"
    found, expected = f"{shown(path)}, a pick-up without holes", "a pick-up that has holes under adjust"
    reading.key_fault(f"vary.{path}", found, expected, suggestion(path, known, add) if known else add)


def varied_twice(reading: Reading, adjust: Adjustments, paths: Sequence[str]) -> None:
    """Note the fault of a number that is varied beside the hole that would replace it."""
    for path in paths:
        point, _, number = path.rpartition(".")
        holes = adjust.holes.get(point.removeprefix(PICKUPS), ())
        if f"{point}{HOLE}" in paths and any(number in hole for hole in holes):
            found = f"both {point}{HOLE}, whose holes give the {number}, and {path}"
            reading.key_fault(f"vary.{path}", found, "a number varied in one way", "delete one of the two")


def listed_notes(axle: Axle, adjust: Adjustments, variables: Sequence[Variable]) -> tuple[str, ...]:
    """What the user should know of own geometries that are none of the listed ones."""
    notes = []
    for one in variables:
        pickup = pickup_of(one.path)
        if pickup is not None and _distances(axle, adjust, pickup)[int(one.value)] > ALIKE:
            notes.append(
                f"{PICKUPS}{pickup} as written lies in none of the holes to choose from; the search takes hole "
                f"{one.value:g}, the nearest, for its own"
            )
    return tuple(notes)


ALIKE = 1e-6
"""A pick-up nearer to a hole than this is in it [mm]."""


def _distances(axle: Axle, adjust: Adjustments, pickup: str) -> Array:
    """From the pick-up as written to each of its holes (n,) [mm]."""
    holes = adjust.holes[pickup]
    bored = place(with_hole(axle, pickup, holes, np.arange(len(holes)))).pickups[pickup]
    return norm(bored - place(axle).pickups[pickup])


def _once(reading: Reading, where: str, listed: Values) -> tuple[float, ...] | None:
    """Listed values, rising; None where one is there twice."""
    values = _numbers(listed)
    twice = next((value for at, value in enumerate(values) if value in values[:at]), None)
    if twice is not None:
        reading.fault(where, f"{twice:g} twice", "each value once", "delete one of the two")
        return None
    return tuple(sorted(values))


def _numbers(listed: Values) -> list[float]:
    return [item.number for item in listed.items if isinstance(item, Quantity)]
