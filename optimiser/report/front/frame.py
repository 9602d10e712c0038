"""The rows of a front: its members and the study's own geometry, and how each stands against the goals.

A row is a place in the columns: first the members, then the study's own geometry ("base") unless it is one of them.
Plain lists, no numpy: showing a front starts quickly.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from optimiser.errors import RockwrightError
from optimiser.report.front.columns import Columns
from optimiser.report.front.nearest import TOUCHING, Near, nearest
from optimiser.report.results.store import Store, Table

BASE_ID = 0
"""The study's own geometry."""
AT_BOUND = 0.001
"""A variable this near to a bound, as a share of its range, sits on it."""


class NothingFoundError(RockwrightError):
    """A results folder without a member: the honest answer is no."""

    exit_code = 1


class UnknownMemberError(RockwrightError):
    """An id that is no member's."""


@dataclass(frozen=True)
class Margin:
    """The held goal of which the smallest share is left: `left` in its figure's unit, NaN where the figure is null.

    `pair`: the two bodies that are nearest where the goal is on the clearance of all; else empty.
    """

    figure: str
    left: float
    pair: str = ""


@dataclass(frozen=True)
class Bound:
    """A variable that sits on a bound: its path, and `low` or `high`."""

    path: str
    end: str


@dataclass(frozen=True)
class Frame:
    """The rows of a front: `table` holds them, the first `members` of them being the front's members.

    `origins`: by its id, the number of the folder that a member of several folders' union comes from.
    """

    store: Store
    table: Table
    members: int
    origins: Mapping[int, int] = field(default_factory=dict)

    @cached_property
    def columns(self) -> Columns:
        """Every column that can be sorted by or asked for: variables by their paths, figures by their names."""
        return self.table.variables | self.table.figures

    @cached_property
    def knee(self) -> int:
        """The row of the knee: the member whose largest distance from any objective's best is the smallest.

        Distances are shares of each objective's range over the members; equal ones are settled by their sum.
        """
        shares = [_shares(column[: self.members]) for column in self.table.objectives.values()]
        distances = [(max(row), math.fsum(row)) for row in zip(*shares, strict=True)]
        return distances.index(min(distances)) if distances else 0

    @cached_property
    def base(self) -> int | None:
        """The row of the study's own geometry; None where it was never saved."""
        return self.table.ids.index(BASE_ID) if BASE_ID in self.table.ids else None

    def is_best(self, row: int, objective: str) -> bool:
        """Whether a row is a member and the best of an objective."""
        column = self.table.objectives[objective]
        return row < self.members and column[row] == min(column[: self.members])

    def margin(self, row: int) -> Margin | None:
        """The smallest margin of a row, compared in units of the goals' scales; None without held goals."""
        found = [(self.table.left[goal.figure][row], goal) for goal in self.store.manifest.held]
        shares = [-math.inf if math.isnan(left) else left / goal.scale for left, goal in found]
        if not shares:
            return None
        left, goal = found[shares.index(min(shares))]
        near = nearest(self.store.manifest, self.table.figures, goal.figure, row)
        return Margin(goal.figure, left, near[0].pair if near else "")

    def touching(self, row: int) -> tuple[Near, ...]:
        """The pairs of bodies whose held clearance has no more left than `TOUCHING`, or is missed, by what is left."""
        manifest, figures = self.store.manifest, self.table.figures
        found = {
            near.pair: near
            for goal in manifest.held
            for near in nearest(manifest, figures, goal.figure, row)
            if near.left <= TOUCHING
        }
        return tuple(sorted(found.values(), key=lambda near: near.left))

    def bounds(self, row: int) -> tuple[Bound, ...]:
        """The variables of a row that sit on a bound; one of listed values has none."""
        found = []
        for variable in self.store.manifest.variables:
            if variable.choices:
                continue
            value, near = self.table.variables[variable.path][row], AT_BOUND * (variable.high - variable.low)
            if value <= variable.low + near:
                found.append(Bound(variable.path, "low"))
            elif value >= variable.high - near:
                found.append(Bound(variable.path, "high"))
        return tuple(found)

    def spread(self, objective: str) -> float:
        """An objective's deviation from one built axle to the next, in units of the goal's scale; 0 if not known."""
        goals = {goal.figure: goal.scale for goal in self.store.manifest.objectives}
        return self.store.manifest.figures[objective].spread / goals[objective]

    def label(self, row: int) -> str:
        """A row's id, and what it is known as."""
        names = [name for name, named in (("base", self.base), ("knee", self.knee)) if row == named]
        return f"{self.table.ids[row]} {', '.join(names)}".rstrip()

    def x(self, row: int) -> list[float]:
        """A row's variables, in the study file's units."""
        return [column[row] for column in self.table.variables.values()]

    def row(self, name: str) -> int:
        """The row of a member by its id, of `base` or of `knee`. Raises UnknownMemberError."""
        if name == "knee":
            return self.knee
        wanted = str(BASE_ID) if name == "base" else name
        ids = [str(number) for number in self.table.ids]
        if wanted not in ids:
            raise UnknownMemberError(
                f"{self.store.folder}: no member {name!r}; a member's id, base or knee is expected: "
                f"`rockwright front {self.store.folder}` lists them"
            )
        return ids.index(wanted)


def frame(store: Store) -> Frame:
    """The rows of a front. Raises NothingFoundError where it has no member."""
    front, base = store.front, store.base
    if not front.ids:
        count = f"{store.manifest.evaluations:,} candidates"
        if store.manifest.is_exhausted:
            told = (
                f"nothing is feasible of all {count} that the listed values allow; loosen a goal, or list more values"
            )
        else:
            told = f"nothing feasible found yet in {count}; search on with --resume, or loosen a goal"
        raise NothingFoundError(f"{store.folder}: {told}")
    rows = front if base is None or BASE_ID in front.ids else _joined(front, base)
    return Frame(store, rows, len(front.ids))


def _joined(front: Table, base: Table) -> Table:
    return Table(
        front.ids + base.ids,
        _below(front.variables, base.variables),
        _below(front.objectives, base.objectives),
        _below(front.figures, base.figures),
        _below(front.left, base.left),
    )


def _below(first: Columns, second: Columns) -> Columns:
    return {name: column + second[name] for name, column in first.items()}


def _shares(column: list[float]) -> list[float]:
    """Distances from a column's smallest value as shares of its range; 0 where it has none."""
    low, high = min(column), max(column)
    return [(value - low) / (high - low) if high > low else 0.0 for value in column]
