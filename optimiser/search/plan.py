"""The plan of a campaign: what each island of each epoch is to do.

The opening, epoch 0, is one island: it brings a first front for the others to start from. Every later epoch has
several, each from the same start, with a quota that grows from epoch to epoch. Nothing here depends on how
many workers there are, on time or on chance, and so any number of workers finds the same.

Islands differ on purpose. Each starts from its own part of the front, the members lined up along a direction that
changes with the epoch; and each has a manner. How many islands have which manner follows from what islands of that
manner have gained.

A campaign may be one share of several that know nothing of each other (an array job): shares differ in their seeds,
and no two shares give one name twice.
"""

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np

from optimiser.search.island import Budget, Settings
from optimiser.search.rounds import EVEN, LEAST, STARTS, Temper
from optimiser.search.share import ALONE, Share
from optimiser.search.snapshot import Epoch, Snapshot
from optimiser.study.study import DEFAULT_ISLANDS

OPENING = 32_000
"""Evaluations of the opening."""
SMALLEST, LARGEST = 32_000, 1_024_000
"""Evaluations of an island in the first epoch after the opening, and at most; they double in between."""
TOO_FEW = 16_000
"""An island is not worth beginning for fewer evaluations, where others can have them."""
ENOUGH = 0.9
"""Share of its quota after which an island ends: the next epoch has the rest. Where that is too little for another
island, all of it is used."""


class Manner(IntEnum):
    """How an island goes about it."""

    WIDE = 0
    """As a search of one island would, but from its own part of the front."""
    NEAR = 1
    """Shorter steps along the front, which fill it."""
    BOLD = 2
    """More fresh starts, which find other basins."""


TEMPERS = {
    Manner.WIDE: Temper(starts=STARTS // 2),
    Manner.NEAR: Temper(starts=STARTS // 2, stride=0.05),
    Manner.BOLD: Temper(starts=STARTS // 2, least=(LEAST, 0.35, LEAST)),
}
HOPE = 1.0
"""What a manner is thought to gain until it is tried: alike."""
MEMORY = 0.5
"""Share that what was learned of a manner keeps when it is tried again."""


@dataclass(frozen=True)
class Task:
    """All that an island needs, beside its problem: to go from `start` by `settings` to the end of `budget`."""

    island: int
    start: Snapshot
    budget: Budget
    settings: Settings


def next_epoch(start: Snapshot, limit: int | None, islands: int = DEFAULT_ISLANDS) -> Epoch:
    """The epoch that follows a state between two epochs, of a campaign that ends at `limit` evaluations; none begun."""
    number = start.epochs
    left = islands * LARGEST if limit is None else max(0, limit - start.evaluations)
    if number == 0:
        return _epoch(start, (min(OPENING, left),), (int(Manner.WIDE),))
    count = min(max(left // TOO_FEW, 1), islands)
    each = min(LARGEST, SMALLEST * 2 ** min(number - 1, 30))
    total = min(left, count * each)
    quotas = tuple(total // count + (place < total % count) for place in range(count))
    return _epoch(start, quotas, _manners(start.gains, count))


def task(epoch: Epoch, island: int, settings: Settings, share: Share = ALONE) -> Task:
    """What an island of an epoch is to do from where it stands; `settings` are the campaign's."""
    number, count = epoch.start.epochs, len(epoch.quotas)
    stride = share.of if number == 0 else share.of * settings.islands
    place = share.number + share.of * island
    start = epoch.islands[island] or _begun(epoch.start, 1 + place, stride)
    own = Settings(
        seed=settings.seed,
        population=settings.population,
        capacity=settings.capacity,
        islands=settings.islands,
        clock=settings.clock,
        key=(number, place),
        stride=stride,
        temper=EVEN if number == 0 else _temper(epoch, island, count, settings.seed),
    )
    before, quota, enough = epoch.start.evaluations, epoch.quotas[island], epoch.enough[island]
    return Task(island, start, Budget(before + quota, spare=quota - enough), own)


def learned(gains: tuple[float, ...], manners: tuple[int, ...], gained: tuple[float, ...]) -> tuple[float, ...]:
    """What manners have gained, after islands of `manners` gained so much, each per evaluation, in any one unit."""
    now = list(gains or (HOPE,) * len(Manner))
    mean = float(np.mean(gained)) if gained else 0.0
    for manner in Manner:
        own = [gain / mean for gain, of in zip(gained, manners, strict=True) if of == manner and mean > 0.0]
        if own:
            now[manner] = MEMORY * now[manner] + (1.0 - MEMORY) * float(np.mean(own))
    return tuple(now)


def _epoch(start: Snapshot, quotas: tuple[int, ...], manners: tuple[int, ...]) -> Epoch:
    enough = tuple(int(ENOUGH * quota) if quota > TOO_FEW else quota for quota in quotas)
    return Epoch(start, quotas, enough, manners, (None,) * len(quotas))


def _begun(start: Snapshot, first: int, stride: int) -> Snapshot:
    """The start of an island whose names are those `first` + n `stride` that nobody has."""
    free = first + stride * max(0, -(-(start.next_id - first) // stride))
    return replace(start, next_id=free, growth=start.growth[-1:])


def _manners(gains: tuple[float, ...], count: int) -> tuple[int, ...]:
    """A manner for each island: one of each as far as they go round, the rest by what each gained."""
    worth = np.array(gains or (HOPE,) * len(Manner))
    given = np.array([1 if place < count else 0 for place in range(len(Manner))])
    while given.sum() < count:
        given[int(np.argmax(worth / (given + 1)))] += 1
    return tuple(int(manner) for manner in np.repeat(np.arange(len(Manner)), given))


def _temper(epoch: Epoch, island: int, count: int, seed: int) -> Temper:
    rng = np.random.default_rng(np.random.SeedSequence([seed, epoch.start.epochs]))
    along: list[float] = rng.standard_normal((1, epoch.start.objectives.shape[1]))[0].tolist()
    turn = (island + epoch.start.epochs) % count
    return replace(TEMPERS[Manner(epoch.manners[island])], part=turn, parts=count, along=tuple(along))
