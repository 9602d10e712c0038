"""A file's values by their paths, with the place of each: what the later steps of reading look things up in.

What is missing or has a fault reads as NaN or None, so that every step can judge the rest.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from geometry.travel import Range
from optimiser.study.faults import Collector, Place
from optimiser.study.nodes import joined
from optimiser.study.walk import Quantity, Record, Value, Values, Word

XYZ = ("x", "y", "z")


@dataclass(frozen=True)
class Reading:
    """Values and places of a file by path (`axle.rod.outboard`, `axle.rod.outboard.z`), and its faults so far."""

    values: Mapping[str, Value]
    places: Mapping[str, Place]
    key_places: Mapping[str, Place]
    faults: Collector

    def has(self, path: str) -> bool:
        """Whether the key is written at all, be its value sound or not."""
        return path in self.places

    def number(self, path: str) -> float:
        """The number at a path; NaN where there is no sound one."""
        value = self.values.get(path)
        return value.number if isinstance(value, Quantity) else math.nan

    def numbers(self, path: str, count: int) -> Array:
        """The list of numbers at a path (count,); NaN where there is no sound one."""
        value = self.values.get(path)
        items = value.items if isinstance(value, Values) else ()
        found = [item.number for item in items if isinstance(item, Quantity)]
        return np.array(found if len(found) == count else [math.nan] * count)

    def point(self, path: str) -> Array:
        """The point or vector at a path (3,) [mm]; NaN where there is no sound one."""
        return self.numbers(path, 3)

    def span(self, path: str) -> Range:
        """The pair of numbers at a path; NaN where there is no sound one."""
        low, high = self.numbers(path, 2)
        return float(low), float(high)

    def text(self, path: str) -> str | None:
        """The word at a path."""
        value = self.values.get(path)
        return value.text if isinstance(value, Word) else None

    def flag(self, path: str) -> bool:
        """Whether the word at a path is true; False too where there is none."""
        return self.text(path) == "true"

    def rows(self, path: str) -> tuple[Values, ...]:
        """The lists that the list at a path is made of."""
        value = self.values.get(path)
        items = value.items if isinstance(value, Values) else ()
        return tuple(item for item in items if isinstance(item, Values))

    def texts(self, path: str) -> tuple[str, ...]:
        """The words of the list at a path, or the one word there."""
        value = self.values.get(path)
        items = value.items if isinstance(value, Values) else (value,)
        return tuple(item.text for item in items if isinstance(item, Word))

    def names(self, path: str) -> tuple[str, ...]:
        """The keys of the mapping at a path whose values are sound enough to go on with."""
        value = self.values.get(path)
        return tuple(value.entries) if isinstance(value, Record) else ()

    def keys(self, path: str) -> tuple[str, ...]:
        """All keys of the mapping at a path, as written."""
        value = self.values.get(path)
        return tuple(value.places) if isinstance(value, Record) else ()

    def record(self, path: str) -> Record | None:
        """The mapping at a path."""
        value = self.values.get(path)
        return value if isinstance(value, Record) else None

    def fault(self, path: str, found: str, expected: str, hint: str) -> None:
        """Note a fault of the value at a path, or of the nearest one above it that is written."""
        self._note(self.places, path, found, expected, hint)

    def key_fault(self, path: str, found: str, expected: str, hint: str) -> None:
        """Note a fault of the key at a path."""
        self._note(self.key_places, path, found, expected, hint)

    def _note(self, places: Mapping[str, Place], path: str, found: str, expected: str, hint: str) -> None:
        here = path
        while here and here not in places:
            here = here.rpartition(".")[0]
        self.faults.add(places.get(here, Place(1, 1)), path, found, expected, hint)


def index(root: Value | None, faults: Collector) -> Reading:
    """All values of a file by their paths. A scalar's or a list's place is its own, a mapping's that of its key."""
    values: dict[str, Value] = {}
    places: dict[str, Place] = {}
    key_places: dict[str, Place] = {}
    for path, place, value in _below(root, "") if root else ():
        places[path] = place
        if value is not None:
            values[path] = value
        if isinstance(value, Record):
            key_places.update({joined(path, name): one for name, one in value.places.items()})
    return Reading(values, places, key_places, faults)


def _below(value: Value, path: str) -> Iterator[tuple[str, Place, Value | None]]:
    yield path, value.place, value
    if isinstance(value, Values) and len(value.items) == len(XYZ):
        for name, item in zip(XYZ, value.items, strict=True):
            yield from _below(item, joined(path, name))
    if isinstance(value, Record):
        for name, place in value.places.items():
            child = value.entries.get(name)
            if child is None:
                yield joined(path, name), place, None
            else:
                yield from _below(child, joined(path, name))
