"""The states of one side of an axle, ordered so that each is reached from a neighbour nearer to static.

The left side depends on its own wheel travel z and on the rack s alone, and the right side at (z, s) is the mirrored
left at (z, -s): every state of an axle is a pair of left-side states. They form a tree that grows from static, first
along z at rack 0, then along s: linkages are followed along it, so that no toggle is stepped over.
"""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Indices
from geometry.travel import AxleStates

LARGEST_STEP = 4.0
"""Longest step between neighbours [mm]; longer ones get states in between. A rod's reserve between two neighbours is
read from a cubic, whose error at this step is far below what separates an open loop from a closed one."""
LEAP = 8
"""Neighbours along a chain that the upright leaps over in one go; those in between start where the leap starts."""
SAME = 9
"""States are the same when they agree to this many decimals of a mm."""


@dataclass(frozen=True)
class SideTree:
    """States of the left side: `travel`, `rack` (K,) [mm]; `parent` (K,), the neighbour towards static.

    State 0 is static and its own parent. `generations` are the states by their distance from static in neighbours.
    `seed` (K,) is the state that each is solved from, a few neighbours towards static; `seed_generations` are the
    states by their distance in seeds.
    """

    travel: Array
    rack: Array
    parent: Indices
    generations: tuple[Indices, ...]
    seed: Indices
    seed_generations: tuple[Indices, ...]

    def __len__(self) -> int:
        return len(self.travel)

    @property
    def state(self) -> Array:
        """(K, 2) [mm]: travel and rack."""
        return np.stack([self.travel, self.rack], axis=-1)

    @property
    def step(self) -> Array:
        """(K, 2) [mm]: travel and rack of each state less its parent's."""
        return self.state - self.state[self.parent]


def untied_states(count: int) -> SideTree:
    """`count` states that have no travel of their own and no neighbours, at rack 0: they differ between candidates."""
    none = np.zeros(count, dtype=np.intp)
    return SideTree(np.full(count, np.nan), np.zeros(count), none, (), none, ())


@dataclass(frozen=True)
class Pairs:
    """States of an axle as pairs of left-side states: positions `left`, `right` (S,) in a `SideTree`."""

    left: Indices
    right: Indices


def pair_up(*groups: AxleStates) -> tuple[SideTree, tuple[Pairs, ...]]:
    """One tree that holds every side of every state of every group, and each group's states as pairs in it."""
    builder = _Builder()
    wanted = [
        [builder.ask(z, s) for z, s in zip(zs, ss, strict=True)]
        for group in groups
        for zs, ss in ((group.z_left, group.rack), (group.z_right, -group.rack))
    ]
    tree = builder.grow()
    found = [np.array([builder.place[key] for key in keys], dtype=np.intp) for keys in wanted]
    return tree, tuple(Pairs(left, right) for left, right in zip(found[::2], found[1::2], strict=True))


_Key = tuple[float, float]


class _Builder:
    """Collects the side states asked for and grows the tree that reaches them."""

    def __init__(self) -> None:
        self.asked: dict[_Key, _Key] = {}
        self.place: dict[_Key, int] = {}
        self._nodes: list[_Key] = []
        self._parent: list[int] = []
        self._seed: list[int] = []

    def ask(self, travel: float, rack: float) -> _Key:
        key = (round(float(travel), SAME) + 0.0, round(float(rack), SAME) + 0.0)
        self.asked.setdefault(key, (float(travel), float(rack)))
        return key

    def grow(self) -> SideTree:
        root = self._add((0.0, 0.0), (0.0, 0.0), 0, 0)
        racks_at: dict[float, list[float]] = defaultdict(list)
        for travel, rack in self.asked:
            racks_at[travel].append(rack)
        for sign in (1.0, -1.0):
            self._chain(root, [(z, 0.0) for z in sorted(racks_at, key=abs) if z * sign > 0.0])
        for travel, racks in racks_at.items():
            base = self.place[travel, 0.0]
            for sign in (1.0, -1.0):
                self._chain(base, [(travel, s) for s in sorted(racks, key=abs) if s * sign > 0.0])
        return self._tree()

    def _chain(self, start: int, keys: list[_Key]) -> None:
        """Append states outward from `start`, with others in between where the step is long."""
        seed, last, hops = start, start, 0
        for key in keys:
            target = np.array(self.asked.get(key, key))
            origin = np.array(self._nodes[last])
            pieces = max(1, int(np.ceil(np.abs(target - origin).max() / LARGEST_STEP - 1e-9)))
            for piece in range(1, pieces + 1):
                x, y = target if piece == pieces else origin + (target - origin) * piece / pieces
                last = self._add(key if piece == pieces else None, (float(x), float(y)), last, seed)
                hops += 1
                if hops % LEAP == 0:
                    seed = last

    def _add(self, key: _Key | None, node: _Key, parent: int, seed: int) -> int:
        position = len(self._nodes)
        self._nodes.append(node)
        self._parent.append(parent)
        self._seed.append(seed)
        if key is not None:
            self.place[key] = position
        return position

    def _tree(self) -> SideTree:
        nodes = np.array(self._nodes)
        return SideTree(
            nodes[:, 0],
            nodes[:, 1],
            np.array(self._parent, dtype=np.intp),
            _generations(self._parent),
            np.array(self._seed, dtype=np.intp),
            _generations(self._seed),
        )


def _generations(ancestor: list[int]) -> tuple[Indices, ...]:
    """States by how many ancestors they have; each stands behind its ancestor."""
    depth = [0]
    for one in ancestor[1:]:
        depth.append(depth[one] + 1)
    depths = np.array(depth)
    return tuple(np.flatnonzero(depths == level) for level in range(int(depths.max()) + 1))
