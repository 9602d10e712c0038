"""One island: a search in one process from its start, or from where it stopped, to the end of its budget.

What comes next depends only on the snapshot and the seed: an island that was stopped and resumed between two rounds
finds what the unbroken one finds.
"""

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array
from optimiser.search.archive import CAPACITY, with_reference
from optimiser.search.bench import Bench
from optimiser.search.evolution import POPULATION, Evolution
from optimiser.search.keeper import FinerLook, Keeper
from optimiser.search.listed import Listing, listed_points
from optimiser.search.parts import PartsProblem
from optimiser.search.problem import Problem
from optimiser.search.rounds import EVEN, Habits, Rounds, Temper
from optimiser.search.snapshot import GrowthPoint, Snapshot
from optimiser.study.study import DEFAULT_ISLANDS

SOONEST, SHARE, LATEST = 0.5, 0.01, 10.0
"""A snapshot is taken every `SHARE` of the time searched so far, within these limits [s]: the log of growth stays
short in a long search."""


@dataclass(frozen=True)
class Budget:
    """When a search ends: `evaluations` of the whole campaign, `seconds` of this run; None: no such end.

    Where no more than `spare` evaluations are left, they may stay unused. A campaign ends after so many `epochs` too.
    """

    evaluations: int | None = None
    seconds: float | None = None
    spare: int = 0
    epochs: int | None = None


@dataclass(frozen=True)
class Settings:
    """What is not asked by the study.

    The seed, with the `key` that tells one island from another; sizes; how many names lie between two newcomers'
    (`stride`), so that islands give none twice; an island's temper; how many `islands` an epoch of its campaign has;
    and the `clock` [s] that a run is timed by.
    """

    seed: int
    population: int = POPULATION
    capacity: int = CAPACITY
    clock: Callable[[], float] = time.monotonic
    key: tuple[int, ...] = ()
    stride: int = 1
    temper: Temper = EVEN
    islands: int = DEFAULT_ISLANDS


def search(
    problem: Problem,
    budget: Budget,
    settings: Settings,
    start: Snapshot | None = None,
    stop: Callable[[], bool] = lambda: False,
    parts: PartsProblem | None = None,
    look: FinerLook | None = None,
) -> Iterator[Snapshot]:
    """Search, handing out a snapshot now and then, and one at the end, whatever ends it.

    With `parts`, the same problem as derivatives see it, by a campaign of refinement; without, by evolution alone.
    With `look`, no member stays that misses a held goal on its finer grid: see `optimiser.search.keeper`.

    Where all variables take listed values, and these are not too many, every point is measured once: see `bounded`.

    Ends when the budget is used or, after the round it is in, when `stop` says so. At least one snapshot comes.
    """
    parts = None if listed_points(problem) is not None else parts
    keeper = None if look is None else Keeper(look, problem, parts)
    run = _Run(problem, bounded(problem, budget), settings, start, parts, keeper)
    while not (run.over or stop()):
        run.advance()
        if run.due:
            yield run.snapshot()
    yield run.snapshot()


def bounded(problem: Problem, budget: Budget) -> Budget:
    """The budget, with no more evaluations than a problem of listed values has points."""
    points = listed_points(problem)
    if points is None or (budget.evaluations is not None and budget.evaluations < len(points)):
        return budget
    return replace(budget, evaluations=len(points), spare=0)


def measured_anew(problem: Problem, snapshot: Snapshot) -> Snapshot:
    """A snapshot with what its members come to, computed by this program instead of the one that found them."""
    if not len(snapshot.ids):
        return replace(snapshot, objectives=np.zeros((0, problem.objectives)))
    return replace(snapshot, objectives=Bench(problem).recall(snapshot.x).objectives)


class _Run:
    """One run of a campaign."""

    def __init__(
        self,
        problem: Problem,
        budget: Budget,
        settings: Settings,
        start: Snapshot | None,
        parts: PartsProblem | None,
        keeper: Keeper | None,
    ) -> None:
        self._clock, self._seed = settings.clock, (settings.seed, *settings.key)
        self._began = self._clock()
        self._before = 0.0 if start is None else start.seconds
        self._deadline = np.inf if budget.seconds is None else self._before + budget.seconds
        self._growth = () if start is None else start.growth
        self._spare = budget.spare
        self._bench = Bench(problem, budget.evaluations, settings.capacity, settings.stride)
        population = None if start is None or not len(start.population) else start.population
        self._strategy = _strategy(problem, settings, parts, population, Habits.of(start.habits if start else ()))
        self._keeper, self._size = keeper, settings.population
        if start is not None:
            _restore(self._bench, start)
            self._recall_margin(start)
        self._taken = self._seconds

    @property
    def over(self) -> bool:
        left = self._bench.left
        return (left is not None and left <= self._spare) or self._seconds >= self._deadline

    @property
    def due(self) -> bool:
        return self._seconds - self._taken >= min(max(SOONEST, SHARE * self._seconds), LATEST)

    @property
    def _seconds(self) -> float:
        return self._before + self._clock() - self._began

    def advance(self) -> None:
        bench = self._bench
        if not bench.evaluations:
            self._measure_known(bench)
        rng = np.random.default_rng(np.random.SeedSequence([*self._seed, bench.evaluations]))
        self._strategy.advance(bench, rng)
        if self._keeper is not None and self._keeper.keep(bench):
            self._adopt_margin(self._keeper)
        bench.archive = with_reference(bench.archive)

    def _measure_known(self, bench: Bench) -> None:
        """The study's own geometry first, which is named 0, then the designs to begin with."""
        first = max(bench.archive.next_id, 1)
        if bench.problem.start_is_inside:
            bench.archive = replace(bench.archive, next_id=0)
            bench.measure(bench.problem.start[None])
        bench.archive = replace(bench.archive, next_id=first)
        if self._strategy.population is not None:
            bench.measure(self._strategy.population)

    def _recall_margin(self, start: Snapshot) -> None:
        if self._keeper is not None and start.growth:
            self._keeper.taken_out = start.growth[-1].taken_out
        if self._keeper is not None:
            self._keeper.seen(start.next_id)
        if self._keeper is not None and start.margin:
            self._keeper.margin = np.array(start.margin)
            self._bench.problem = self._keeper.problem
            self._adopt_margin(self._keeper)

    def _adopt_margin(self, keeper: Keeper) -> None:
        """Have the strategy propose and compare with the keeper's margin."""
        if isinstance(self._strategy, Evolution):
            self._strategy = Evolution(self._strategy.population, self._size)
        elif isinstance(self._strategy, Rounds) and keeper.parts is not None:
            self._strategy.keep(keeper.parts)

    def snapshot(self) -> Snapshot:
        bench, archive, keeper = self._bench, self._bench.archive, self._keeper
        self._taken = self._seconds
        out = 0 if keeper is None else keeper.taken_out
        point = GrowthPoint(bench.evaluations, self._taken, bench.feasible, len(archive), archive.volume, out)
        if not self._growth or point.evaluations > self._growth[-1].evaluations:
            self._growth = (*self._growth, point)
        population = self._strategy.population
        return Snapshot(
            ids=archive.ids,
            x=archive.x,
            objectives=archive.objectives,
            population=np.zeros((0, len(bench.problem.lower))) if population is None else population,
            evaluations=bench.evaluations,
            seconds=self._taken,
            next_id=archive.next_id,
            growth=self._growth,
            reference=archive.reference,
            closest=bench.closest,
            closest_violation=bench.closest_violation,
            habits=self._strategy.habits.numbers if isinstance(self._strategy, Rounds) else (),
            margin=() if keeper is None else tuple(keeper.margin.tolist()),
        )


def _strategy(
    problem: Problem, settings: Settings, parts: PartsProblem | None, population: Array | None, habits: Habits
) -> Evolution | Rounds | Listing:
    points = listed_points(problem)
    if points is not None:
        return Listing(points)
    if parts is None:
        return Evolution(population, settings.population)
    return Rounds(parts, population, habits, settings.temper)


def _restore(bench: Bench, start: Snapshot) -> None:
    """Put the bench where a snapshot left it."""
    if len(start.ids):
        bench.archive = replace(bench.archive, ids=start.ids, x=start.x, objectives=start.objectives)
    bench.archive = replace(bench.archive, next_id=start.next_id, reference=start.reference)
    bench.evaluations = start.evaluations
    bench.feasible = start.growth[-1].feasible if start.growth else 0
    bench.closest, bench.closest_violation = start.closest, start.closest_violation
