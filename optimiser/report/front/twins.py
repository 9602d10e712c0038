"""Members that are one to whoever builds them: near-twins stand as one line, with a count. Plain lists, no numpy.

Two members are near-twins where none of their objectives differs by more than `ALIKE` of the goal's scale, or by more
than from one built axle to the next, and none of their variables by more than `NEAR` of its range. Held goals do not
tell them apart: what is met is met. The same figures from another place are no twin but a choice.
"""

from collections.abc import Mapping, Sequence
from itertools import product
from math import floor

from optimiser.report.front.frame import Frame

ALIKE = 0.25
"""Share of an objective's scale, the difference that counts as one, that is no difference."""
NEAR = 0.1
"""Share of a variable's range that is no other place."""
LOOKED_UP_BY = 3
"""Numbers of a member by which near-twins are looked up."""


def folded(front: Frame, rows: Sequence[int]) -> dict[int, int]:
    """The rows that get a line, in the order of `rows`, and how many other members of `rows` are near-twins of each.

    The knee and the best of every objective have lines of their own; any other member counts with the first line that
    it is a near-twin of, or begins a line. What is no member keeps its line and is no one's twin.
    """
    members = [row for row in rows if row < front.members]
    first = _first(front, members)
    points = _scaled(front, members)
    lines = _Lines(_most_telling(list(points.values())))
    like = {row: 0 for row in rows if row >= front.members}
    for row in [*first, *(row for row in members if row not in first)]:
        twin = None if row in first else lines.twin(row, points)
        if twin is None:
            lines.add(row, points[row])
            like[row] = 0
        else:
            like[twin] += 1
    return {row: like[row] for row in rows if row in like}


class _Lines:
    """The rows that have a line, by the cell that their points lie in at a few `places`; a cell is as wide as a twin
    may be away."""

    def __init__(self, places: Sequence[int]) -> None:
        self._places = places
        self._cells: dict[tuple[int, ...], list[int]] = {}
        self._order: dict[int, int] = {}

    def add(self, row: int, point: Sequence[float]) -> None:
        self._order[row] = len(self._order)
        self._cells.setdefault(self._cell(point), []).append(row)

    def twin(self, row: int, points: Mapping[int, Sequence[float]]) -> int | None:
        """The line that came first of those that a row is a near-twin of."""
        around = product(*((one - 1, one, one + 1) for one in self._cell(points[row])))
        near = [line for cell in around for line in self._cells.get(cell, ())]
        return next(
            (line for line in sorted(near, key=self._order.__getitem__) if _alike(points[row], points[line])), None
        )

    def _cell(self, point: Sequence[float]) -> tuple[int, ...]:
        return tuple(floor(point[place]) for place in self._places)


def _first(front: Frame, members: Sequence[int]) -> list[int]:
    named = [front.knee, *(column.index(min(column[: front.members])) for column in front.table.objectives.values())]
    return list(dict.fromkeys(row for row in named if row in members))


def _scaled(front: Frame, members: Sequence[int]) -> dict[int, tuple[float, ...]]:
    """The members' objectives and variables in units of what is no difference."""
    columns = [
        [value / max(ALIKE, front.spread(name)) for value in column] for name, column in front.table.objectives.items()
    ]
    for variable in front.store.manifest.variables:
        unit = NEAR * (variable.high - variable.low) or 1.0
        columns.append([value / unit for value in front.table.variables[variable.path]])
    points = list(zip(*columns, strict=True))
    return {row: points[row] for row in members}


def _most_telling(points: Sequence[Sequence[float]]) -> list[int]:
    """The places at which points spread most."""
    spreads = [max(column) - min(column) for column in zip(*points, strict=True)]
    return sorted(range(len(spreads)), key=spreads.__getitem__)[-LOOKED_UP_BY:]


def _alike(a: Sequence[float], b: Sequence[float]) -> bool:
    return all(abs(one - other) <= 1.0 for one, other in zip(a, b, strict=True))
