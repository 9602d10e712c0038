"""Curves by their points, both coordinates rising: a rubber's force, a damper's."""

from itertools import pairwise

import numpy as np

from geometry.arrays import Array
from optimiser.study.reading import Reading
from optimiser.study.walk import Quantity, Values

START = (0.0, 0.0)


def read_rising(reading: Reading, path: str, *, from_start: bool = True) -> Array:
    """The points at a path (n, 2); a fault for each that does not rise above the last, and where (0, 0) is missing.

    `from_start`: (0, 0) must be the first point, else any one. None at all where the list has a fault.
    """
    rows = reading.rows(path)
    points = [_pair(row) for row in rows]
    for count, (before, after) in enumerate(pairwise(points), start=1):
        if not (after[0] > before[0] and after[1] > before[1]):
            found = f"[{after[0]:g}, {after[1]:g}] after [{before[0]:g}, {before[1]:g}]"
            expected = "a point above the last in both numbers"
            reading.faults.add(rows[count].place, f"{path}[{count}]", found, expected, "sort or correct the points")
    if points and START not in (points[:1] if from_start else points):
        where = "the first point" if from_start else "one of the points"
        found = f"no point [0, 0]{' at first' if from_start else ''}"
        reading.fault(path, found, f"[0, 0] as {where}", "add it: without motion there is no force")
    return np.array(points).reshape(-1, 2)


def _pair(row: Values) -> tuple[float, float]:
    first, second = (item.number if isinstance(item, Quantity) else np.nan for item in row.items)
    return first, second
