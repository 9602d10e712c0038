"""Goals compiled into a program: what a search evaluates, in one pass over memory.

A program lists the numbers that the goals' parts are made of (entries of `geometry.tabulate`) and how each part is made
of them. It gives what `objectives.parts.goal_parts` gives, which is its slow twin, for the goals whose figures it
knows; the others are left to that.

| symbol | meaning | shape |
|---|---|---|
| T | the table of numbers | (blocks, rows, LANES) |
| op, i, j, k, l | how a part is made: one of `Op`, of up to four rows of the table | (R, 5) |
| a, b | part = a op(T) + b | (R, 2) |
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property
from typing import TypeAlias

import numpy as np

from geometry.arrays import Array, Indices
from geometry.axle import Axle, CornerStrut, Link, Mode, Rod, Wheel
from geometry.compiled import compiled
from geometry.hardpoints import batch_shape, element_pickups
from geometry.lanes import KERNEL, LANES
from geometry.placing import carry_in_lanes, place_in_lanes
from geometry.tabulate import Kind, tabulate
from objectives.catalogue.catalogue import describe
from objectives.goals import Band, Best, Goal, Limit, Miss, scale_of
from objectives.readings import NOTHING
from objectives.survey import Plan, StateSet, UprightMemory


class Op(IntEnum):
    """How a number is made of rows of the table; NaN where what it is a ratio to is nothing."""

    ROW = 0
    """T_i"""
    CHANGE = 1
    """100 (T_i / T_j - 1)"""
    SHARE = 2
    """100 (T_j - T_i) / T_k, null where T_l is nothing"""
    SPLIT = 3
    """200 (c_i + c_j) / abs(c_i - c_j) with c = T_k - T, null where T_l is nothing"""
    EVEN = 4
    """((T_k - T_i) + (T_k - T_j)) / 2"""
    ODD = 5
    """((T_k - T_i) - (T_k - T_j)) / 2"""
    LESS = 6
    """T_i - T_j"""


_Made: TypeAlias = tuple[int, int, int, int, int]
"""op, i, j, k, l."""


@dataclass(frozen=True)
class _Numbers:
    """What a figure is made of: `value` itself, where one number says it; the parts of which it is the extreme."""

    value: _Made | None
    highest: tuple[_Made, ...] = ()
    """Numbers of which, with their negatives where `both`, the figure is the largest."""
    lowest: tuple[_Made, ...] = ()
    """Numbers of which the figure is the smallest."""
    both: bool = False


class Program:
    """The goals that can be compiled, for axles made like `axle`, at a plan's states.

    `known` are the positions among `goals` of those goals, in order; `sizes` the number of parts of each.
    """

    def __init__(self, goals: Sequence[Goal], axle: Axle, plan: Plan) -> None:
        self._memory = UprightMemory(KERNEL)
        self._table = _Table(axle, plan)
        rows = [_rows_of(goal, self._table) for goal in goals]
        self.known = tuple(place for place, made in enumerate(rows) if made)
        self.sizes = tuple(len(made) for made in rows if made)
        flat = [row for made in rows if made for row in made]
        self._made = np.array([made for made, _, _ in flat], dtype=np.intp).reshape(-1, 5)
        self._affine = np.array([[a, b] for _, a, b in flat]).reshape(-1, 2)

    def run(self, axle: Axle) -> Array:
        """The parts (blocks * LANES, R) of a batch laid out in lanes; NaN where an axle cannot be at a state."""
        blocks = next(iter(batch_shape(axle)), 1)
        table = self._table.fill(axle, self._memory, blocks)
        parts = np.empty((blocks * LANES, len(self._made)))
        _combine(table, self._made, self._affine, parts)
        return parts


class _Table:
    """Collects the numbers that figures ask for, each once, and fills them for a batch."""

    def __init__(self, axle: Axle, plan: Plan) -> None:
        self.axle, self._plan = axle, plan
        self._entries: list[tuple[int, int, int, int, int, int]] = []
        self._known: dict[tuple[object, ...], int] = {}
        self._levers = [*axle.rocker.pickups, None]
        self._struts = list(axle.struts)
        self._firsts: dict[StateSet, int] = {}
        self._left: list[Indices] = []
        self._right: list[Indices] = []
        self._sides = self._append(plan.all_sides, plan.all_sides)
        self._rows = 0
        self._outboard: tuple[Wheel | Link | Rod, ...] = ()
        self._eye = (np.zeros(0), np.zeros(0))

    def of_strut(self, kind: Kind, name: str, states: StateSet) -> range:
        """Rows of a strut's numbers over a set of states."""
        first, count = self._states(states), len(self._plan.pairs[states].left)
        return self._ask(kind, self._struts.index(name), first, count)

    def of_sides(self, kind: Kind) -> range:
        """Rows of the rod's or the rocker's numbers over all side states."""
        return self._ask(kind, 0, self._sides, len(self._plan.all_sides))

    def top(self, lever: str | None) -> int:
        """The row of the highest z of a pick-up, or of the rod's end."""
        return self._ask(Kind.TOP, self._levers.index(lever), self._sides, len(self._plan.all_sides), single=True)[0]

    def extreme(self, kind: Kind, rows: range, other: int = 0) -> int:
        """The row of an extreme of other rows."""
        return self._ask(kind, 0, rows.start, len(rows), other=other, single=True)[0]

    def arm_sum(self) -> int:
        """The row of the sum of all radii."""
        return self._ask(Kind.GIVEN, 0, 0, 1)[0]

    def fill(self, axle: Axle, memory: UprightMemory, blocks: int) -> Array:
        """The table of a batch of axles (blocks, LANES)."""
        placed = place_in_lanes(axle, self._levers, blocks)
        corners = [element.chassis for element in axle.struts.values() if isinstance(element, CornerStrut)]
        entries, struts, pairs, ends = self._asked
        return tabulate(
            entries,
            struts,
            pairs,
            (self._plan.tree.parent, self._plan.tree.step),
            self._eyes(axle, memory, blocks),
            placed.rod,
            placed.levers,
            np.stack([_columns(point, blocks) for point in corners]) if corners else np.zeros((0, blocks, 3, LANES)),
            placed.radii[ends].sum(axis=0, keepdims=True),
            self._rows,
        )

    @cached_property
    def _asked(self) -> tuple[Indices, Indices, tuple[Indices, Indices], list[int]]:
        """What does not change from batch to batch: entries, struts, pairs, and the ends whose radii are summed."""
        return (
            np.array(self._entries, dtype=np.intp).reshape(-1, 6),
            self._strut_columns(),
            (np.concatenate(self._left), np.concatenate(self._right)),
            [self._levers.index(name) for name in (None, *element_pickups(self.axle))],
        )

    def _eyes(self, axle: Axle, memory: UprightMemory, blocks: int) -> tuple[Array, Array]:
        """The rod's outboard eyes with their velocities, in lanes; kept while nothing outboard changes."""
        outboard: tuple[Wheel | Link | Rod, ...] = (axle.wheel, *axle.links.values(), axle.rod)
        if any(one is not other for one, other in zip(outboard, self._outboard, strict=False)) or not self._outboard:
            self._outboard, tree = outboard, self._plan.tree
            self._eye = carry_in_lanes(axle, memory.trace(axle, tree), tree, blocks)
        return self._eye

    def _strut_columns(self) -> Indices:
        rows, corners = [], 0
        for element in self.axle.struts.values():
            near = self._levers.index(element.left)
            if isinstance(element, CornerStrut):
                rows.append((near, -1, corners))
                corners += 1
            else:
                rows.append((near, self._levers.index(element.right), 0))
        return np.array(rows, dtype=np.intp).reshape(-1, 3)

    def _states(self, states: StateSet) -> int:
        if states not in self._firsts:
            pairs = self._plan.pairs[states]
            self._firsts[states] = self._append(pairs.left, pairs.right)
        return self._firsts[states]

    def _append(self, left: Indices, right: Indices) -> int:
        first = sum(len(part) for part in self._left)
        self._left.append(left)
        self._right.append(right)
        return first

    def _ask(self, kind: Kind, subject: int, first: int, count: int, *, other: int = 0, single: bool = False) -> range:
        key = (kind, subject, first, count, other)
        if key not in self._known:
            self._known[key] = self._rows
            self._entries.append((int(kind), subject, first, count, self._rows, other))
            self._rows += 1 if single else count
        row = self._known[key]
        return range(row, row + (1 if single else count))


def _rows_of(goal: Goal, table: _Table) -> list[tuple[_Made, float, float]]:
    """The goal's parts as (how it is made, a, b); none where the program does not know the figure, or not this way."""
    numbers = _numbers(goal.figure, table)
    if numbers is None:
        return []
    own = [numbers.value] if numbers.value else []
    high, low = list(numbers.highest) or own, list(numbers.lowest) or own
    above = [(made, sign) for sign in ((1.0, -1.0) if numbers.both else (1.0,)) for made in high]
    below = [(made, 1.0) for made in low]
    scale = scale_of(goal)
    match goal:
        case Band(aim=aim, within=within):
            wanted = [(above, 1.0, -aim - within), (below, -1.0, aim - within)]
        case Limit(at_most=most, at_least=least):
            wanted = [] if most is None else [(above, 1.0, -most)]
            wanted += [] if least is None else [(below, -1.0, least)]
        case Miss(aim=aim):
            wanted = [(above, 1.0, -aim), (below, -1.0, aim)]
        case Best(direction="minimise"):
            wanted = [(above, 1.0, 0.0)]
        case Best():
            wanted = [(below, -1.0, 0.0)]
    if any(not makings for makings, _, _ in wanted):
        return []
    return [
        (made, factor * sign / scale, offset / scale) for makings, factor, offset in wanted for made, sign in makings
    ]


def _numbers(name: str, table: _Table) -> _Numbers | None:
    """What a figure is made of, by its full name; None where the program does not know it."""
    element, _, word = name.rpartition(".")
    if describe(name).of_element:
        return _of_strut(word, element, table)
    return _of_axle(name, table)


def _of_strut(word: str, name: str, table: _Table) -> _Numbers | None:
    if name not in table.axle.struts:
        return None
    element = table.axle.struts[name]
    corner = isinstance(element, CornerStrut)
    mode = Mode.HEAVE if isinstance(element, CornerStrut) else element.serves
    if word in ("motion_ratio", "progressivity", "progressivity_droop", "ratio_spread"):
        return _of_ratio(word, name, mode, table)
    if word in ("transmission_min", "tilt_max"):
        kind = Kind.TRANSMISSION if word == "transmission_min" else Kind.TILT
        rows = tuple(_row(row) for row in table.of_strut(kind, name, StateSet.ALL))
        return _Numbers(None, lowest=rows) if kind is Kind.TRANSMISSION else _Numbers(None, highest=rows)
    if word in ("coupling", "ratio_drift", "crosstalk", "left_right_split") and not corner:
        return _of_decoupling(word, name, mode, table)
    return _of_length(word, name, table)


def _of_ratio(word: str, name: str, mode: Mode, table: _Table) -> _Numbers:
    static = table.of_strut(_ratio(mode), name, StateSet.STATIC)[0]
    if word == "motion_ratio":
        return _Numbers(_row(static))
    along = table.of_strut(_ratio(mode), name, StateSet.of(mode))
    if word == "ratio_spread":
        return _Numbers(None, highest=tuple(_change(row, static) for row in along), both=True)
    return _Numbers(_change(along[-1 if word == "progressivity" else 0], static))


def _of_decoupling(word: str, name: str, mode: Mode, table: _Table) -> _Numbers | None:
    static = table.of_strut(_ratio(mode), name, StateSet.STATIC)[0]
    if word == "coupling":
        return _Numbers(_row(table.of_strut(_ratio(mode.other), name, StateSet.STATIC)[0]))
    if word == "ratio_drift":
        along = table.of_strut(_ratio(mode), name, StateSet.of(mode.other))
        return _Numbers(None, highest=tuple(_change(row, static) for row in along), both=True)
    length = table.of_strut(Kind.LENGTH, name, StateSet.STATIC)[0]
    if word == "crosstalk":
        stroke = table.extreme(Kind.STROKE, table.of_strut(Kind.LENGTH, name, StateSet.of(mode)), length)
        leak = table.of_strut(Kind.LENGTH, name, StateSet.of(mode.other))
        return _Numbers(None, highest=tuple((int(Op.SHARE), row, length, stroke, static) for row in leak), both=True)
    if mode is not Mode.ROLL:
        return None
    plus, minus = table.of_strut(Kind.LENGTH, name, StateSet.EVEN_ROLL)
    return _Numbers(None, highest=((int(Op.SPLIT), plus, minus, length, static),), both=True)


def _of_length(word: str, name: str, table: _Table) -> _Numbers | None:
    static = table.of_strut(Kind.LENGTH, name, StateSet.STATIC)[0]
    if word == "length_static":
        return _Numbers(_row(static))
    if word in ("steer_even", "steer_odd") and table.axle.has_rack:
        along = table.of_strut(Kind.LENGTH, name, StateSet.EVEN_RACK)
        op = int(Op.EVEN if word == "steer_even" else Op.ODD)
        pairs = zip(along, reversed(along), strict=True)
        return _Numbers(None, highest=tuple((op, row, other, static, 0) for row, other in pairs), both=True)
    if word not in ("length_min", "length_max", "compression_stroke", "extension_stroke"):
        return None
    along = table.of_strut(Kind.LENGTH, name, StateSet.GRID)
    if word == "length_min":
        return _Numbers(_row(table.extreme(Kind.SMALLEST, along)), lowest=tuple(_row(row) for row in along))
    if word == "length_max":
        return _Numbers(_row(table.extreme(Kind.LARGEST, along)), highest=tuple(_row(row) for row in along))
    squeezed = word == "compression_stroke"
    least = table.extreme(Kind.SMALLEST if squeezed else Kind.LARGEST, along)
    return _Numbers(
        _less(static, least) if squeezed else _less(least, static),
        highest=tuple(_less(static, row) if squeezed else _less(row, static) for row in along),
    )


def _of_axle(name: str, table: _Table) -> _Numbers | None:
    if name == "rocker.transmission_min":
        rows = table.of_sides(Kind.ROD_TRANSMISSION)
        return _Numbers(_row(table.extreme(Kind.SMALLEST, rows)), lowest=tuple(_row(row) for row in rows))
    if name == "rocker.arm_sum":
        return _Numbers(_row(table.arm_sum()))
    if name == "rocker.top_height":
        tops = [table.top(end) for end in (None, *element_pickups(table.axle))]
        return _Numbers(None, highest=tuple(_row(row) for row in tops))
    if name == "rocker.sweep":
        turns = table.of_sides(Kind.TURN)
        return _Numbers(_less(table.extreme(Kind.LARGEST, turns), table.extreme(Kind.SMALLEST, turns)))
    return None


def _row(row: int) -> _Made:
    return int(Op.ROW), row, 0, 0, 0


def _change(row: int, static: int) -> _Made:
    return int(Op.CHANGE), row, static, 0, 0


def _less(row: int, other: int) -> _Made:
    return int(Op.LESS), row, other, 0, 0


def _ratio(mode: Mode) -> Kind:
    return Kind.HEAVE_RATIO if mode is Mode.HEAVE else Kind.ROLL_RATIO


def _columns(vector: Array, blocks: int) -> Array:
    """A vector (..., 3) as (blocks, 3, LANES)."""
    return np.ascontiguousarray(np.swapaxes(np.broadcast_to(vector, (blocks, LANES, 3)), 1, 2))


@compiled
def _combine(table: Array, made: Indices, affine: Array, parts: Array) -> None:
    """Make every part of its numbers, for all candidates: `parts` (blocks * LANES, R)."""
    blocks, _, lanes = table.shape
    for b in range(blocks):
        for r in range(len(made)):
            op, i, j, k, l = made[r, 0], made[r, 1], made[r, 2], made[r, 3], made[r, 4]  # noqa: E741
            for lane in range(lanes):
                x, y, z = table[b, i, lane], table[b, j, lane], table[b, k, lane]
                value = x
                if op == 1:
                    value = 100.0 * (x / y - 1.0) if abs(y) >= NOTHING else math.nan
                elif op == 2:
                    null = abs(table[b, l, lane]) < NOTHING or z < NOTHING
                    value = math.nan if null else 100.0 * (y - x) / z
                elif op == 3:
                    null = abs(table[b, l, lane]) < NOTHING or abs(x - y) < NOTHING
                    value = math.nan if null else 200.0 * (2.0 * z - x - y) / abs(x - y)
                elif op == 4:
                    value = z - 0.5 * (x + y)
                elif op == 5:
                    value = 0.5 * (y - x)
                elif op == 6:
                    value = x - y
                parts[b * lanes + lane, r] = affine[r, 0] * value + affine[r, 1]
