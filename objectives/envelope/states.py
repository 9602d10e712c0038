"""The states at which bodies are looked at, as charts of neighbouring states.

Bodies of one side depend on one wheel's travel and the rack: all travels that a wheel has, the rack sweep at static,
and full rack at both ends of the wheel's travel. What spans the car depends on both wheels: heave and roll together,
the rack sweep, and full rack at both ends of heave. Lattices have steps of their own, whatever the study's step:
between them distances are followed by parabolas (see `geometry.nearest`).
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from geometry.arrays import Array, Indices
from geometry.meetings import Charts
from geometry.side import SideTree, pair_up
from geometry.travel import INSIDE, AxleStates, Travel, rack_states, travel_points

STEP = 4.0
"""Step of the lattices of heave, roll and rack [mm]."""
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
    heave, roll = travel_points(travel.heave, STEP), travel_points(travel.roll, STEP)
    h, r = (values.ravel() for values in np.meshgrid(heave, roll, indexing="ij"))
    left, right = h + r, h - r
    low, high = travel.wheel[0] - INSIDE, travel.wheel[1] + INSIDE
    inside = (left >= low) & (left <= high) & (right >= low) & (right <= high)
    grid = AxleStates(left[inside], right[inside], np.zeros(int(inside.sum())))
    z = np.unique(np.concatenate([grid.z_left, grid.z_right]).round(9))
    groups = [grid, AxleStates(z, z, np.zeros(len(z)))]
    if travel.rack:
        far = max(abs(end) for end in travel.rack)
        own, sweep = travel_points((-far, far), STEP), travel_points(travel.rack, STEP)
        ends = np.array([-travel.rack[1], *travel.rack, -travel.rack[0]])
        groups += [rack_states(own), rack_states(sweep)]
        groups += [_full_rack(z[[0, -1]], ends), _full_rack(np.array(travel.heave), np.array(travel.rack))]
    tree, pairs = pair_up(*groups)
    nodes = pairs[1].left
    lattice = np.full(len(h), -1), np.full(len(h), -1)
    for side, found in zip(lattice, (pairs[0].left, pairs[0].right), strict=True):
        side[inside] = found
    least = np.stack([nodes[_floor(z, travels)] for travels in (left, right)], axis=-1)
    most = np.stack([nodes[_ceiling(z, travels)] for travels in (left, right)], axis=-1)
    state = np.stack([left, right, np.zeros_like(left)], axis=-1)
    parts = [
        _Chart(lattice[0], lattice[1], np.stack([h, r], axis=-1), state, least, most, len(roll), OF_BOTH),
        _line(nodes, nodes, z, np.stack([z, z, np.zeros_like(z)], axis=-1), OF_SIDE),
    ]
    if travel.rack:
        by_rack = np.array([0.0, 0.0, 1.0])
        parts.append(_line(pairs[2].left, pairs[2].left, own, np.outer(own, by_rack), OF_SIDE))
        parts.append(_line(pairs[3].left, pairs[3].right, sweep, np.outer(sweep, by_rack), OF_BOTH))
        parts += _alone(pairs[4].left, pairs[4].left, groups[4], OF_SIDE)
        parts += _alone(pairs[5].left, pairs[5].right, groups[5], OF_BOTH)
    return _joined(tree, parts, [pairs[1].left] + ([pairs[2].left] if travel.rack else []))


@dataclass(frozen=True)
class _Chart:
    """One chart, row by row, as in `geometry.nearest.Charts`: `columns` of it, and which bodies it is for."""

    left: Indices
    right: Indices
    place: Array
    state: Array
    least: Indices
    most: Indices
    columns: int
    bodies: int


def _line(left: Indices, right: Indices, along: Array, state: Array, bodies: int) -> _Chart:
    """A chart of one column."""
    both = np.stack([left, right], axis=-1)
    return _Chart(left, right, np.stack([along, np.zeros_like(along)], axis=-1), state, both, both, 1, bodies)


def _floor(z: Array, values: Array) -> Indices:
    """The place in rising `z` of the last one that is no higher than each value, or the first."""
    return np.maximum(np.searchsorted(z, values + INSIDE, side="right") - 1, 0)


def _ceiling(z: Array, values: Array) -> Indices:
    """The place in rising `z` of the first one that is no lower than each value, or the last."""
    return np.minimum(np.searchsorted(z, values - INSIDE, side="left"), len(z) - 1)


def _full_rack(z: Array, rack: Array) -> AxleStates:
    z, rack = (values.ravel() for values in np.meshgrid(z, np.unique(rack), indexing="ij"))
    return AxleStates(z, z, rack)


def _alone(left: Indices, right: Indices, states: AxleStates, bodies: int) -> list[_Chart]:
    """Charts of one state each: they have no neighbours."""
    rows = np.stack([states.z_left, states.z_right, states.rack], axis=-1)
    spots = [slice(k, k + 1) for k in range(len(states))]
    return [_line(left[k], right[k], np.zeros(1), rows[k], bodies) for k in spots]


def _joined(tree: SideTree, parts: list[_Chart], lines: list[Indices]) -> RoomStates:
    counts = [len(part.left) for part in parts]
    first = np.concatenate([[0], np.cumsum(counts)[:-1]])
    size = [
        (count // part.columns, part.columns, at, part.bodies)
        for part, count, at in zip(parts, counts, first, strict=True)
    ]
    left = np.concatenate([part.left for part in parts]).astype(np.intp)
    right = np.concatenate([part.right for part in parts]).astype(np.intp)
    chain = np.concatenate([np.stack([line[:-2], line[1:-1], line[2:]], axis=-1) for line in lines])
    way = tree.state[chain[:, 1:]] - tree.state[chain[:, :-1]]
    charts = Charts(
        np.array(size, dtype=np.intp),
        left,
        right,
        np.concatenate([part.place for part in parts]),
        np.concatenate([part.least for part in parts]),
        np.concatenate([part.most for part in parts]),
        chain,
        np.abs(way).max(axis=-1),
    )
    nodes = np.concatenate([left, right])
    state = np.concatenate([part.state for part in parts])
    return RoomStates(tree, charts, np.unique(nodes[nodes >= 0]), state, np.repeat(np.arange(len(parts)), counts))
