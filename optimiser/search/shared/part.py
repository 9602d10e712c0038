"""The part that one machine takes in a campaign that many share through a storage.

Each machine has workers of its own and watches the storage: it claims islands that wait, delivers what they found, and
reads what others delivered. When all islands of an epoch are there, the machine that sees it first decides the next
epoch, for all. So a campaign finds what one machine alone finds by the same seed and `--evaluations`.

A machine that stops gives its islands back, to be gone on with from where they stand; those of one that disappears are
given away after a while, to be begun again.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import TypeVar

import numpy as np

from optimiser.errors import RockwrightError
from optimiser.search.crew import Crew, Report
from optimiser.search.island import LATEST, SHARE, SOONEST, Budget, Settings
from optimiser.search.merging import merged, timed
from optimiser.search.plan import next_epoch, task
from optimiser.search.shared.board import Board, StorageError, Waiting
from optimiser.search.shared.patience import AwayError, Patience, StorageLostError
from optimiser.search.shared.text import Plan, StrangeTextError, found_of, found_text, plan_of, plan_text
from optimiser.search.snapshot import Epoch, Snapshot

T = TypeVar("T")

LOOK = 1.0
"""The storage is looked at every so many seconds, and whenever an island is delivered."""


class OtherVersionsError(RockwrightError):
    """A machine whose programs are not those that the campaign's numbers come from."""


def part_taken(
    board: Board,
    crew: Crew,
    budget: Budget,
    settings: Settings,
    begin: Snapshot,
    versions: Mapping[str, str],
    patience: Patience,
    stop: Callable[[], bool] = lambda: False,
) -> Iterator[Snapshot]:
    """Take part, handing out the campaign's state now and then, and once more at the end, whatever ends it.

    `begin` is how the campaign begins where no machine has begun it; `budget.seconds` and `stop` end this machine's
    part, and `patience` is for a storage that is away. Raises OtherVersionsError where the campaign's `versions` are
    others, StorageLostError where the storage stays away: then too the state is handed out first.
    """
    run = _Part(board, crew, budget, settings, begin, versions, patience)
    try:
        lost: StorageLostError | None = None
        try:
            while not (run.over or stop()):
                run.advance()
                if run.due:
                    yield run.state()
        except StorageLostError as error:
            lost = error
        run.halt()
        yield run.state()
        if lost is not None and not stop():
            raise lost
    finally:
        run.leave()


class _Part:
    """One machine's part."""

    def __init__(
        self,
        board: Board,
        crew: Crew,
        budget: Budget,
        settings: Settings,
        begin: Snapshot,
        versions: Mapping[str, str],
        patience: Patience,
    ) -> None:
        self._board, self._crew, self._limit, self._settings = board, crew, budget.evaluations, settings
        self._versions, self._patience = versions, patience
        self._deadline = settings.clock() + (np.inf if budget.seconds is None else budget.seconds)
        self._claims: dict[int, Waiting] = {}
        self._waiting: tuple[Waiting, ...] = ()
        latest = patience.call(board.latest)
        text = patience.call(lambda: board.plan(latest))
        self._adopt(text or self._proposed(next_epoch(begin, self._limit, self._settings.islands)))
        self._taken = self._beaten = settings.clock()

    @property
    def over(self) -> bool:
        spent = self._limit is not None and self._epoch.start.evaluations >= self._limit
        return spent or self._settings.clock() >= self._deadline

    @property
    def due(self) -> bool:
        now = self._settings.clock()
        return now - self._taken >= min(max(SOONEST, SHARE * self._seconds), LATEST)

    @property
    def _number(self) -> int:
        return self._epoch.start.epochs

    @property
    def _seconds(self) -> float:
        return self._epoch.start.seconds + self._settings.clock() - self._since

    def advance(self) -> None:
        """Keep the crew busy, hear from it and from the storage, and go on to the next epoch when all is there."""
        if self._settings.clock() - self._beaten >= self._board.beats:
            self._patience.call(lambda: self._board.beat(self._number, tuple(self._claims.values())))
            self._beaten = self._settings.clock()
        for report in self._crew.reports():
            self._hear(report)
        if self._settings.clock() - self._looked >= LOOK:
            self._look()
        self._claim()
        if len(self._found) == len(self._epoch.quotas):
            self._finish()

    def halt(self) -> None:
        """Have the crew stop, and wait until it has; what it has finished meanwhile is delivered."""
        self._crew.halt()
        while self._claims:
            for report in self._crew.reports():
                with suppress(StorageLostError):
                    self._hear(report)

    def leave(self) -> None:
        """Give back what is not finished."""
        for island, claim in self._claims.items():
            with suppress(AwayError):
                self._give_back(claim, self._own.get(island))
        self._claims = {}

    def state(self) -> Snapshot:
        """What the campaign has found until now, with what this machine's own islands have."""
        self._taken = self._settings.clock()
        places = range(len(self._epoch.quotas))
        islands = tuple(self._found.get(island) or self._own.get(island) for island in places)
        if not any(islands):
            return self._timed(replace(self._epoch.start, growth=(*self._growth, *self._epoch.start.growth[-1:])))
        found = merged(replace(self._epoch, islands=islands), self._settings.capacity)
        return self._timed(replace(found, growth=(*self._growth, found.growth[-1])))

    def _timed(self, found: Snapshot) -> Snapshot:
        if not found.growth:
            return found
        state = timed(found, self._seconds)
        self._growth = state.growth
        return state

    def _look(self) -> None:
        standing = self._patience.call(lambda: self._board.look(self._number, len(self._epoch.quotas)))
        self._looked, self._waiting = self._settings.clock(), standing.waiting
        for island in standing.found.keys() - self._found.keys():
            self._found[island] = _read(self._found_of, standing.found[island])

    def _claim(self) -> None:
        """Begin islands that wait, as many as the crew is free for."""
        while self._waiting and self._crew.free:
            one, *rest = self._waiting
            self._waiting = tuple(rest)
            if one.island not in self._claims and self._patience.call(partial(self._board.claim, self._number, one)):
                self._claims[one.island] = one
                self._begin(one)

    def _begin(self, claim: Waiting) -> None:
        """Have the crew work on an island, from where another machine left it."""
        islands = list(self._epoch.islands)
        islands[claim.island] = None if claim.begun is None else _read(self._found_of, claim.begun)
        self._crew.begin(task(replace(self._epoch, islands=tuple(islands)), claim.island, self._settings))

    def _found_of(self, text: str) -> Snapshot:
        return found_of(self._epoch.start, text)

    def _hear(self, report: Report) -> None:
        self._own[report.island] = report.snapshot
        if report.over:
            claim = self._claims.pop(report.island)
            if not self._patience.call(lambda: self._delivered(claim, report.snapshot)):
                self._own.pop(report.island)
            self._looked = -np.inf

    def _delivered(self, claim: Waiting, snapshot: Snapshot) -> bool:
        """Whether what an island found is the campaign's; one that is not at its end is given back."""
        start = self._epoch.start
        if snapshot.evaluations - start.evaluations < self._epoch.enough[claim.island]:
            self._give_back(claim, snapshot)
            return True
        worth = snapshot.growth[-1].hypervolume
        return self._board.deliver(self._number, claim, found_text(start, snapshot), worth)

    def _give_back(self, claim: Waiting, snapshot: Snapshot | None) -> None:
        text = claim.begun if snapshot is None else found_text(self._epoch.start, snapshot)
        self._board.give_back(self._number, claim, text)

    def _finish(self) -> None:
        """Go on to the next epoch; islands that others have finished meanwhile are given up."""
        if self._claims:
            self._crew.halt()
            while self._claims:
                for report in self._crew.reports():
                    if report.over:
                        del self._claims[report.island]
        after, number = self.state(), self._number + 1
        text = self._patience.call(lambda: self._board.plan(number))
        spent = self._limit is not None and after.evaluations >= self._limit
        own = Epoch(after, (), (), (), ()) if spent else next_epoch(after, self._limit, self._settings.islands)
        self._adopt(text or self._proposed(own))

    def _proposed(self, epoch: Epoch) -> str:
        text = plan_text(Plan(epoch, self._versions))
        return self._patience.call(lambda: self._board.propose(epoch.start.epochs, text))

    def _adopt(self, text: str) -> None:
        """Make a plan this machine's own."""
        plan = _read(plan_of, text)
        if plan.versions != self._versions:
            raise OtherVersionsError(_differing(plan.versions, self._versions))
        self._epoch: Epoch = plan.epoch
        self._found: dict[int, Snapshot] = {}
        self._own: dict[int, Snapshot] = {}
        self._growth = plan.epoch.start.growth
        self._since, self._looked = self._settings.clock(), -np.inf
        self._waiting = ()


def _read(read: Callable[[str], T], text: str) -> T:
    """What a text of the storage says."""
    try:
        return read(text)
    except StrangeTextError as error:
        raise StorageError(f"the storage holds {error}; another program may have written it") from error


def _differing(theirs: Mapping[str, str], ours: Mapping[str, str]) -> str:
    names = [name for name in sorted(theirs.keys() | ours.keys()) if theirs.get(name) != ours.get(name)]
    listed = ", ".join(f"{name} {theirs.get(name, 'none')} there, {ours.get(name, 'none')} here" for name in names)
    return (
        f"the campaign in the storage is one of other versions ({listed}), whose numbers may differ: install its "
        f"versions here, or begin a campaign of your own with another --seed"
    )
