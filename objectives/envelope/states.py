"""The states at which bodies are looked at, as charts of neighbouring states.

Bodies of one side depend on one wheel's travel and the rack: all travels that a wheel has, the rack sweep at static,
and full rack at both ends of the wheel's travel. What spans the car depends on both wheels: heave and roll together,
the rack sweep, and full rack at both ends of heave. Heave and roll go as far as both wheels can: each row of their
lattice ends where a wheel is at an end of its travel, and all states with one wheel there are a chart too. Lattices
have steps of their own, whatever the study's step: between them distances are followed by parabolas (see
`geometry.downhill`).
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from geometry.arrays import Array, Flags, Indices
from geometry.meetings import Charts
from geometry.side import Pairs, SideTree, pair_up
from geometry.travel import INSIDE, AxleStates, Range, Travel, rack_states, travel_points

STEP = 4.0
"""Step of the lattices of heave, roll and rack [mm]."""
FEW = 3
"""The first look is taken at states no more than this many steps apart."""
APART = 1e-6
"""An end of a row that is nearer to a state of it than this is no state of its own [mm]."""
ABOUT = FEW + 1
"""States of the first look no more rows and columns apart than this are about one another."""
OF_SIDE, OF_BOTH = 0, 1
"""Which bodies a chart is for."""


@dataclass(frozen=True)
class RoomStates:
    """`charts` over the side states of `tree`; `used` (U,), those that some state is made of.

    `state` (T, 3) [mm]: z_left, z_right and rack of each state; of one side's, its own travel twice, and its own rack.
    `chart` (T,): the chart that a state belongs to.
    """

    tree: SideTree
    charts: Charts
    used: Indices
    state: Array
    chart: Indices


@lru_cache(maxsize=32)
def room_states(travel: Travel) -> RoomStates:
    """The states of a travel."""
    h, r, inside = _lattice(travel)
    edges, columns = _edges(travel), len(travel_points(travel.roll, STEP))
    left, right = h + r, h - r
    grid = AxleStates(left[inside], right[inside], np.zeros(int(inside.sum())))
    of_wheel = [grid.z_left, grid.z_right, travel_points(travel.wheel, STEP)]
    z = np.unique(np.concatenate(of_wheel).round(9))
    groups = [grid, AxleStates(z, z, np.zeros(len(z)))]
    if travel.rack:
        far = max(abs(end) for end in travel.rack)
        own, sweep = travel_points((-far, far), STEP), travel_points(travel.rack, STEP)
        ends = np.array([-travel.rack[1], *travel.rack, -travel.rack[0]])
        groups += [rack_states(own), rack_states(sweep)]
        groups += [_full_rack(z[[0, -1]], ends), _full_rack(np.array(travel.heave), np.array(travel.rack))]
    tree, pairs = pair_up(*groups, *edges)
    nodes = pairs[1].left
    lattice = np.full(len(h), -1), np.full(len(h), -1)
    for side, found in zip(lattice, (pairs[0].left, pairs[0].right), strict=True):
        side[inside] = found
    state = np.stack([left, right, np.zeros_like(left)], axis=-1)
    parts = [
        _Chart(lattice[0], lattice[1], np.stack([h, r], axis=-1), state, columns, OF_BOTH),
        _line(nodes, nodes, z, np.stack([z, z, np.zeros_like(z)], axis=-1), OF_SIDE),
        *(_edge(pair, states) for pair, states in zip(pairs[len(groups) :], edges, strict=True)),
    ]
    if travel.rack:
        by_rack = np.array([0.0, 0.0, 1.0])
        parts.append(_line(pairs[2].left, pairs[2].left, own, np.outer(own, by_rack), OF_SIDE))
        parts.append(_line(pairs[3].left, pairs[3].right, sweep, np.outer(sweep, by_rack), OF_BOTH))
        parts += _alone(pairs[4].left, pairs[4].left, groups[4], OF_SIDE)
        parts += _alone(pairs[5].left, pairs[5].right, groups[5], OF_BOTH)
    return _joined(tree, parts, _is_alike(travel.roll) and _is_alike(travel.rack or (0.0, 0.0)))


def _lattice(travel: Travel) -> tuple[Array, Array, Flags]:
    """Heave and roll [mm], row by row, and which of them are states: of each row those inside and its ends."""
    heave, roll = travel_points(travel.heave, STEP), travel_points(travel.roll, STEP)
    h, r = np.meshgrid(heave, roll, indexing="ij")
    most = _most_roll(travel, h)
    inner = np.where(roll > 0.0, np.roll(np.abs(roll), 1), np.roll(np.abs(roll), -1))
    inside = (np.abs(r) <= most + INSIDE) | ((inner < most - APART) & (most > 0.0))
    return h.ravel(), np.clip(r, -most, most).ravel(), inside.ravel()


def _edges(travel: Travel) -> list[AxleStates]:
    """States with one wheel at an end of its travel, by heave: of each wheel and each of its ends that roll reaches."""
    ends = np.abs(np.repeat(travel.roll, 2))
    turns = np.where(np.arange(4) % 2, travel.wheel[1] - ends, travel.wheel[0] + ends)
    heave = np.unique(np.concatenate([travel_points(travel.heave, STEP), turns]).round(9))
    heave = heave[(heave >= travel.heave[0] - INSIDE) & (heave <= travel.heave[1] + INSIDE)]
    most, found = _most_roll(travel, heave), []
    for end, sign in zip(travel.roll, (-1.0, 1.0), strict=True):
        reached = (most >= 0.0) & (most <= abs(end) + INSIDE)
        for at_top in (False, True):
            on_it = reached & ((travel.wheel[1] - heave < heave - travel.wheel[0]) == at_top)
            h, r = heave[on_it], sign * most[on_it]
            found.append(AxleStates(h + r, h - r, np.zeros(len(h))))
    return [states for states in found if len(states)]


def _most_roll(travel: Travel, heave: Array) -> Array:
    """The largest roll to either side at which both wheels are inside their travel [mm]; negative where none is."""
    return np.asarray(np.minimum(travel.wheel[1] - heave, heave - travel.wheel[0]))


@dataclass(frozen=True)
class _Chart:
    """One chart, row by row, as in `geometry.nearest.Charts`: `columns` of it, and which bodies it is for."""

    left: Indices
    right: Indices
    place: Array
    state: Array
    columns: int
    bodies: int


def _line(left: Indices, right: Indices, along: Array, state: Array, bodies: int) -> _Chart:
    """A chart of one column."""
    return _Chart(left, right, np.stack([along, np.zeros_like(along)], axis=-1), state, 1, bodies)


def _edge(pair: Pairs, states: AxleStates) -> _Chart:
    rows = np.stack([states.z_left, states.z_right, states.rack], axis=-1)
    return _line(pair.left, pair.right, 0.5 * (states.z_left + states.z_right), rows, OF_BOTH)


def _is_alike(span: Range) -> bool:
    """Whether a range is as long to either side of static."""
    return abs(span[0] + span[1]) < INSIDE


def _full_rack(z: Array, rack: Array) -> AxleStates:
    z, rack = (values.ravel() for values in np.meshgrid(z, np.unique(rack), indexing="ij"))
    return AxleStates(z, z, rack)


def _alone(left: Indices, right: Indices, states: AxleStates, bodies: int) -> list[_Chart]:
    """Charts of one state each: they have no neighbours."""
    rows = np.stack([states.z_left, states.z_right, states.rack], axis=-1)
    spots = [slice(k, k + 1) for k in range(len(states))]
    return [_line(left[k], right[k], np.zeros(1), rows[k], bodies) for k in spots]


def _joined(tree: SideTree, parts: list[_Chart], alike: bool) -> RoomStates:
    counts = [len(part.left) for part in parts]
    first = np.concatenate([[0], np.cumsum(counts)[:-1]])
    size = [
        (count // part.columns, part.columns, at, part.bodies)
        for part, count, at in zip(parts, counts, first, strict=True)
    ]
    left = np.concatenate([part.left for part in parts]).astype(np.intp)
    right = np.concatenate([part.right for part in parts]).astype(np.intp)
    kinds = np.array([part.bodies for part in parts])
    spots = [at + _every_few(part) for part, at in zip(parts, first, strict=True)]
    rough, look, looks = _looks(spots, kinds)
    table = np.array(size, dtype=np.intp)
    charts = Charts(
        table,
        left,
        right,
        np.concatenate([part.place for part in parts]),
        rough,
        left[rough],
        right[rough],
        look,
        looks,
        _about(table, rough, look),
        alike,
    )
    nodes = np.concatenate([left, right])
    state = np.concatenate([part.state for part in parts])
    return RoomStates(tree, charts, np.unique(nodes[nodes >= 0]), state, np.repeat(np.arange(len(parts)), counts))


def _every_few(part: _Chart) -> Indices:
    """Every few states of a chart, its first and last rows and columns among them."""
    there = (part.left >= 0).reshape(-1, part.columns)
    rows, spots = _spread(np.flatnonzero(there.any(axis=1))), []
    for row in rows:
        spots.append(row * part.columns + _spread(np.flatnonzero(there[row])))
    return np.concatenate(spots)


def _spread(places: Indices) -> Indices:
    """Some of these places, the first and the last among them, no more than `FEW` apart."""
    count = -(-(len(places) - 1) // FEW) + 1
    return places[np.linspace(0, len(places) - 1, count).round().astype(np.intp)]


def _looks(spots: list[Indices], kinds: Indices) -> tuple[Indices, Indices, Indices]:
    """The states of the first look, as `rough`, `look` and `looks` of `geometry.meetings.Charts`."""
    looks, look = np.zeros(2, dtype=np.intp), []
    for places, kind in zip(spots, kinds, strict=True):
        look.append((looks[kind], looks[kind] + len(places)))
        looks[kind] += len(places)
    rough = np.zeros((2, looks.max()), dtype=np.intp)
    for places, kind, (start, end) in zip(spots, kinds, look, strict=True):
        rough[kind, start:end] = places
    return rough, np.array(look, dtype=np.intp), looks


def _about(size: Indices, rough: Indices, look: Indices) -> Indices:
    """Which states of the first look are about each one, as in `geometry.meetings.Charts`."""
    found: dict[tuple[int, int], Indices] = {}
    for (_, columns, first, kind), (start, end) in zip(size, look, strict=True):
        row, column = np.divmod(rough[kind, start:end] - first, columns)
        near = np.maximum(np.abs(row[:, None] - row), np.abs(column[:, None] - column)) <= ABOUT
        found |= {(kind, start + j): start + np.flatnonzero(near[j]) for j in range(end - start)}
    widest = max(len(some) for some in found.values())
    about = np.broadcast_to(np.arange(rough.shape[1])[:, None], (2, rough.shape[1], widest)).copy()
    for (kind, j), some in found.items():
        about[kind, j, : len(some)] = some
    return about
