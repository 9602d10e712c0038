"""The members that a search keeps: feasible, none dominated by another, no two alike, not too many.

An archive is a value: what goes in gives a new one. A member keeps its id for good, and no id is given twice.

Symbols: N members, V variables, M objectives, K newcomers.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import Array, Indices
from optimiser.search.volume import nondominated, reference_of, volume

CAPACITY = 4000
"""Members kept at most."""
FINEST = 1 << 12
"""Boxes to a side of the finest grid that thinning looks at."""
MIX = 0x9E3779B97F4A7C15
"""An odd number near 2^64 over the golden ratio: its powers, modulo 2^64, turn a box's places into one number."""


@dataclass(frozen=True)
class Archive:
    """`ids` (N,), variables `x` (N, V) and `objectives` (N, M) of the members, in the order of their ids.

    `reference` (M,) is fixed at the first front; `next_id` is the next newcomer's name, and the names of those after it
    follow by `stride`; `capacity` bounds N.
    """

    ids: NDArray[np.int64]
    x: Array
    objectives: Array
    next_id: int = 0
    reference: Array | None = None
    capacity: int = CAPACITY
    stride: int = 1

    def __len__(self) -> int:
        return len(self.ids)

    @cached_property
    def volume(self) -> float:
        """The hypervolume against `reference`; 0 before there is one."""
        return 0.0 if self.reference is None else volume(self.objectives, self.reference)

    def take(self, rows: Indices | NDArray[np.bool_]) -> "Archive":
        """The archive of some members."""
        return replace(self, ids=self.ids[rows], x=self.x[rows], objectives=self.objectives[rows])


def empty(variables: int, objectives: int, capacity: int = CAPACITY) -> Archive:
    """An archive without members."""
    none = np.zeros(0, dtype=np.int64)
    return Archive(none, np.zeros((0, variables)), np.zeros((0, objectives)), capacity=capacity)


def insert(archive: Archive, x: Array, objectives: Array) -> Archive:
    """The archive with feasible newcomers `x` (K, V), `objectives` (K, M) let in, as far as none dominates them.

    Of equal objectives the older member stays. Every newcomer that gets in takes the next id, in order. Where more
    than `capacity` would be left, the most crowded go (`_thinned`), but the hypervolume never falls by it.
    """
    return _within_capacity(archive, _merged(archive, x, objectives))


def absorb(archive: Archive, ids: NDArray[np.int64], x: Array, objectives: Array) -> Archive:
    """The archive with members of others, who keep their ids (K,): as `insert`, of equal objectives the first stays.

    An id that the archive has is the same member, and comes in once.
    """
    new = ~np.isin(ids, archive.ids)
    both = np.concatenate([archive.objectives, objectives[new]])
    kept = nondominated(both)
    joined = replace(
        archive,
        ids=np.concatenate([archive.ids, ids[new]])[kept],
        x=np.concatenate([archive.x, x[new]])[kept],
        objectives=both[kept],
    )
    return _within_capacity(archive, joined.take(np.argsort(joined.ids)))


def with_reference(archive: Archive) -> Archive:
    """The archive with its reference fixed at what it holds now, if it has none yet and holds anything."""
    if archive.reference is not None or not len(archive):
        return archive
    return replace(archive, reference=reference_of(archive.objectives))


def knee(objectives: Array) -> int:
    """The row of (N, M), N > 0, whose largest distance from an objective's best is the smallest.

    Distances are shares of each objective's range; equal ones are settled by their sum.
    """
    share = _shares(objectives)
    return int(np.lexsort((share.sum(axis=1), share.max(axis=1)))[0])


def _within_capacity(archive: Archive, merged: Archive) -> Archive:
    if len(merged) <= archive.capacity:
        return merged
    thinned = _thinned(merged)
    return thinned if thinned.volume >= archive.volume else _replaced(archive, merged)


def _merged(archive: Archive, x: Array, objectives: Array) -> Archive:
    """Members and newcomers that nothing dominates; only newcomers that get in take ids."""
    both = np.concatenate([archive.objectives, objectives])
    kept = nondominated(both)
    new = kept[len(archive) :]
    ids = archive.next_id + archive.stride * np.arange(new.sum())
    stay = archive.take(kept[: len(archive)])
    return replace(
        stay,
        ids=np.concatenate([stay.ids, ids]),
        x=np.concatenate([stay.x, x[new]]),
        objectives=np.concatenate([stay.objectives, objectives[new]]),
        next_id=archive.next_id + archive.stride * len(ids),
    )


def _thinned(archive: Archive) -> Archive:
    """As many members as `capacity` allows: the most crowded go, never an extreme or the knee.

    Members share boxes of a grid over the objectives' ranges, the coarsest that has half as many occupied as members
    may stay; box by box the last in line go first, from the longest lines: the fullest boxes are levelled.
    """
    share = _shares(archive.objectives)
    first = np.ones(len(archive), dtype=np.bool_)
    first[np.append(archive.objectives.argmin(axis=0), knee(archive.objectives))] = False
    place = _place_in_line(_boxes(share, archive.capacity // 2), np.lexsort((share.sum(axis=1), first)))
    place[~first] = -1
    kept = np.argsort(place, kind="stable")[: archive.capacity]
    return archive.take(np.sort(kept))


def _replaced(archive: Archive, merged: Archive) -> Archive:
    """The old members, each one that a newcomer dominates giving its place to one such newcomer."""
    old = np.isin(merged.ids, archive.ids)
    gone = archive.objectives[~np.isin(archive.ids, merged.ids)]
    newcomers = np.flatnonzero(~old)
    better = (merged.objectives[newcomers][None] <= gone[:, None]).all(axis=2)
    heirs = np.unique(newcomers[better.argmax(axis=1)])
    return merged.take(np.sort(np.concatenate([np.flatnonzero(old), heirs])))


def _shares(objectives: Array) -> Array:
    """Each objective as its share of the range over the rows, 0 the best."""
    span = np.ptp(objectives, axis=0)
    return np.asarray((objectives - objectives.min(axis=0)) / np.where(span > 0.0, span, 1.0))


def _boxes(share: Array, wanted: int) -> Indices:
    """(N,) the number of each member's box, of the coarsest grid with at least `wanted` occupied ones."""
    sides, boxes = 2, np.zeros(len(share), dtype=np.intp)
    weights = np.cumprod(np.full(share.shape[1], MIX, dtype=np.uint64))
    while sides <= FINEST:
        cells = np.minimum((share * sides).astype(np.uint64), np.uint64(sides - 1))
        numbers, boxes = np.unique((cells * weights).sum(axis=1, dtype=np.uint64), return_inverse=True)
        if len(numbers) >= wanted:
            break
        sides *= 2
    return boxes


def _place_in_line(boxes: Indices, order: Indices) -> Indices:
    """(N,) each member's place, from 0, among those of its box, lined up in `order` (N,)."""
    lined = order[np.argsort(boxes[order], kind="stable")]
    sorted_boxes = boxes[lined]
    starts = np.flatnonzero(np.append(True, sorted_boxes[1:] != sorted_boxes[:-1]))
    lengths = np.diff(np.append(starts, len(lined)))
    place = np.empty(len(boxes), dtype=np.intp)
    place[lined] = np.arange(len(lined)) - np.repeat(starts, lengths)
    return place
