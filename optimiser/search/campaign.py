"""A campaign: epochs of islands, by a crew of any size, from its start or from where it stopped.

An island is seeded by the seed, the epoch and its own number, starts from what the epochs before have found, and has
a quota of evaluations (`plan`); what an epoch's islands find is put together in their order (`merging`). So a campaign
of so many evaluations has one end, however many workers it has and however often it was stopped, or killed, on the
way. A campaign that time ends stops within an epoch: that its islands go on from exactly where they stand.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from geometry.arrays import Array
from optimiser.search.crew import Crew, Report
from optimiser.search.island import LATEST, SHARE, SOONEST, Budget, Settings
from optimiser.search.merging import merged, timed
from optimiser.search.plan import next_epoch, task
from optimiser.search.share import ALONE, Share
from optimiser.search.snapshot import Snapshot


def campaign(
    crew: Crew,
    budget: Budget,
    settings: Settings,
    start: Snapshot,
    stop: Callable[[], bool] = lambda: False,
    share: Share = ALONE,
) -> Iterator[Snapshot]:
    """Explore, handing out the state now and then, and once more at the end, whatever ends it.

    Ends when the budget is used or, as soon as every island has ended its round, when `stop` says so.
    """
    run = _Run(crew, budget, settings, start, share)
    while not (run.over or stop()):
        run.advance()
        if run.due:
            yield run.state()
    run.halt()
    yield run.state()


class _Run:
    """One run of a campaign."""

    def __init__(self, crew: Crew, budget: Budget, settings: Settings, start: Snapshot, share: Share) -> None:
        self._crew, self._limit, self._settings, self._share = crew, budget.evaluations, settings, share
        self._began, self._before = settings.clock(), start.seconds
        self._epochs = np.inf if budget.epochs is None else budget.epochs
        self._deadline = np.inf if budget.seconds is None else self._before + budget.seconds
        self._growth = start.growth
        self._epoch = start.epoch or next_epoch(start, self._limit, settings.islands)
        self._busy: set[int] = set()
        self._taken = self._seconds

    @property
    def over(self) -> bool:
        spent = self._limit is not None and self._epoch.start.evaluations >= self._limit
        return spent or self._epoch.start.epochs >= self._epochs or self._seconds >= self._deadline

    @property
    def due(self) -> bool:
        return self._seconds - self._taken >= min(max(SOONEST, SHARE * self._seconds), LATEST)

    @property
    def _seconds(self) -> float:
        return self._before + self._settings.clock() - self._began

    def advance(self) -> None:
        """Keep the crew busy, and adopt what it reports."""
        for island in self._waiting():
            if not self._crew.free:
                break
            self._crew.begin(task(self._epoch, island, self._settings, self._share))
            self._busy.add(island)
        self._adopt(self._crew.reports())
        if not self._busy and all(self._epoch.finished):
            after = self._timed(merged(self._epoch, self._settings.capacity))
            self._growth = after.growth
            self._epoch = next_epoch(after, self._limit, self._settings.islands)

    def halt(self) -> None:
        """Have the crew stop, and wait until it has."""
        self._crew.halt()
        while self._busy:
            self._adopt(self._crew.reports())

    def state(self) -> Snapshot:
        """What has been found until now."""
        self._taken = self._seconds
        found = self._timed(merged(self._epoch, self._settings.capacity))
        self._growth = found.growth
        untouched = not any(self._epoch.islands)
        return replace(found, epoch=None) if untouched else found

    def _timed(self, found: Snapshot) -> Snapshot:
        """A merged state at this moment, with all growth until now."""
        return timed(replace(found, growth=(*self._growth, found.growth[-1])), self._seconds)

    def _waiting(self) -> list[int]:
        finished = self._epoch.finished
        return [island for island in range(len(finished)) if not finished[island] and island not in self._busy]

    def _adopt(self, reports: list[Report]) -> None:
        for report in reports:
            islands = list(self._epoch.islands)
            islands[report.island] = report.snapshot
            self._epoch = replace(self._epoch, islands=tuple(islands))
            if report.over:
                self._busy.discard(report.island)


def unbegun(variables: int, objectives: int, seeds: Array | None = None) -> Snapshot:
    """The state of a campaign that has not begun; `seeds` (K, V) are designs that it is to measure first."""
    none = np.zeros((0, variables))
    return Snapshot(
        ids=np.zeros(0, dtype=np.int64),
        x=none,
        objectives=np.zeros((0, objectives)),
        population=none if seeds is None else seeds,
        evaluations=0,
        seconds=0.0,
        next_id=0,
        growth=(),
        reference=None,
        closest=None,
        closest_violation=np.inf,
    )
