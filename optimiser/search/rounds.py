"""What an island does, round by round: many starts, then a walk along the front by refinement, with evolution between.

The opening rounds take points spread over the whole range, and around the study's own geometry, to the held goals and
refine what reaches them. Every later round does one of three things:

- walk: refine from members with most room around them, each in a direction of its own; half of the objectives are
  shifted first, so that a member walks along the front and not only towards it;
- fresh: new points spread over the whole range, as in the opening, which keep the search out of one basin;
- evolve: one generation of evolution from members of the front, for what derivatives do not see.

Of objectives that are one quantity on the front (`optimiser.search.one_quantity`) refinement goes by the first alone.

How often each is done is learned from what it gained of the hypervolume for its cost. The cost is counted in
candidates, not in seconds, so that one seed gives one front whatever else the machine does.

Symbols: N starts, V variables, M objectives.
"""

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np
from scipy.spatial import cKDTree
from scipy.stats import qmc

from geometry.arrays import Array, Flags, Indices
from optimiser.search.bench import Bench
from optimiser.search.evolution import POPULATION, Evolution
from optimiser.search.one_quantity import surplus
from optimiser.search.parts import PartsProblem, total_violation
from optimiser.search.refinement import reach, refine
from optimiser.search.volume import reference_of, volume

OPENING = 128
"""Fresh starts before anything else is done: enough to begin in every basin that is not small."""
OPENING_STARTS = 64
"""Points of a round until then: few, so that a first front comes soon."""
NEAREST, NEARBY = 16, 0.02
"""Points around the closest candidate, and how widely they are scattered, as a share of the ranges."""
STARTS = 256
"""Points taken through a later round together."""
REACH_STEPS, REFINE_STEPS, WALK_STEPS = 12, 14, 8
"""Steps at most: to the held goals, from there towards the front, and along it."""
CLOSE_ENOUGH = 3e-4
"""A refinement ends where a step promises less than this share of the objectives' ranges."""
CORRECTED = 1
"""How often a poor step is corrected on the way."""
STEP_OVERHEAD = 4.0
"""What a step of one start costs beside its candidates (its quadratic program), in candidates."""
CHILD_OVERHEAD = 2.0
"""What a candidate of evolution costs beside its evaluation, in candidates."""
SMALLEST_SHIFT, LARGEST_SHIFT = 0.01, 0.2
"""Shifts along the front, as shares of an objective's range."""
SHIFTED = 0.5
"""Share of the objectives that are shifted."""
OUTWARD = 0.5
"""Share of the starts that are let go outward, with half of the objectives free."""
FREE = 1e3
"""Shift, in ranges, that leaves an objective free."""
ONE_SIDED = 0.4
"""Concentration of the random weights: below 1 most of a weight falls on few objectives."""
LEAST = 0.05
"""Every way is given at least this share of the rounds."""
MEMORY = 0.7
"""Share that what was learned keeps when a way is tried again."""


class Way(IntEnum):
    """What a round does."""

    WALK = 0
    FRESH = 1
    EVOLVE = 2


HOPES = (1e-3, 2e-4, 2e-5)
"""What each way is thought to gain until it is tried: shares of the hypervolume for 1000 candidates, of the size that
they have on smooth problems a few seconds after the start."""


@dataclass(frozen=True)
class Habits:
    """What was learned: each way's gain of the hypervolume for 1000 candidates, and how many were `started` afresh."""

    gains: tuple[float, ...] = HOPES
    started: float = 0.0

    @classmethod
    def of(cls, numbers: tuple[float, ...]) -> "Habits":
        """Habits from the numbers that a snapshot keeps; new ones where it keeps none."""
        return cls(numbers[:-1], numbers[-1]) if len(numbers) == len(Way) + 1 else cls()

    @property
    def numbers(self) -> tuple[float, ...]:
        """What a snapshot keeps of them."""
        return (*self.gains, self.started)

    def learned(self, way: Way, gain: float) -> "Habits":
        """These habits after a way gained so much; a loss, as thinning a full archive may leave one, is no gain."""
        gains = list(self.gains)
        gains[way] = MEMORY * gains[way] + (1.0 - MEMORY) * max(gain, 0.0)
        return replace(self, gains=tuple(gains))

    def chances(self, least: tuple[float, ...] = (LEAST,) * len(Way)) -> Array:
        """(3,) the chance of each way, summing to 1, none below its `least`."""
        worth = np.array(self.gains)
        total = worth.sum()
        shares = worth / total if total > 0.0 else np.full(len(worth), 1.0 / len(worth))
        return np.asarray(np.array(least) + (1.0 - sum(least)) * shares)


@dataclass(frozen=True)
class Temper:
    """How one island goes about it, so that islands differ.

    `starts` are taken through a round together; each way is given at least its share `least` of the rounds; members
    walk by at most `stride`, a share of an objective's range; of the members, lined up along `along` (M,), those of
    part `part` of `parts` are started from, and others seldom.
    """

    starts: int = STARTS
    least: tuple[float, ...] = (LEAST,) * len(Way)
    stride: float = LARGEST_SHIFT
    part: int = 0
    parts: int = 1
    along: tuple[float, ...] = ()


EVEN = Temper()
"""The temper of a search that is one island."""
ELSEWHERE = 0.05
"""How often a member of another island's part is started from, for its own room, against one of its own."""


class Rounds:
    """The strategy: `parts` is the bench's problem as derivatives see it."""

    def __init__(
        self,
        parts: PartsProblem,
        population: Array | None = None,
        habits: Habits | None = None,
        temper: Temper = EVEN,
    ) -> None:
        self._parts = parts
        self._temper = temper
        self._evolution = Evolution(population)
        self.habits = habits or Habits()
        self._front, self._reference, self._volume = np.zeros((0, 0)), np.zeros(0), 0.0

    def keep(self, parts: PartsProblem) -> None:
        """Go on with another margin kept of the held goals: `parts` is the bench's problem with it."""
        self._parts = parts
        self._evolution = Evolution(self._evolution.population)

    @property
    def population(self) -> Array | None:
        """What evolution goes on from."""
        return self._evolution.population

    def advance(self, bench: Bench, rng: np.random.Generator) -> None:
        """One round."""
        if self.habits.started < OPENING or not len(bench.archive):
            self._seek(bench, rng)
            return
        chances = self.habits.chances(self._temper.least)
        way = Way(int(rng.choice(len(chances), p=chances)))
        before, spent = bench.archive.objectives, bench.cost
        match way:
            case Way.WALK:
                self._walk(bench, rng)
            case Way.FRESH:
                self._fresh(bench, spread_over(self._parts, self._temper.starts, rng), rng)
            case Way.EVOLVE:
                self._evolve(bench, rng)
        gain = self._gain(before, bench.archive.objectives)
        self.habits = self.habits.learned(way, 1000.0 * gain / max(bench.cost - spent, 1.0))

    def _gain(self, before: Array, after: Array) -> float:
        """The share of the hypervolume that a round gained, against a reference around all that the front now spans."""
        reference = reference_of(np.concatenate([before, after]))
        same = before is self._front and np.array_equal(reference, self._reference)
        known = self._volume if same else volume(before, reference)
        self._front, self._reference, self._volume = after, reference, volume(after, reference)
        return (self._volume - known) / self._volume if self._volume > 0.0 else 0.0

    def _seek(self, bench: Bench, rng: np.random.Generator) -> None:
        """Starts over the whole range and around the own geometry, or around the closest while nothing is feasible."""
        spread = spread_over(self._parts, OPENING_STARTS, rng)
        near = OPENING_STARTS // 4
        centre = bench.problem.start if bench.closest is None else bench.closest
        width = (self._parts.upper - self._parts.lower) * 0.05
        spread[:near] = centre + width * rng.standard_normal(spread[:near].shape)
        spread[0] = centre
        given = self._given()
        spread[near : near + len(given)] = given
        self._fresh(bench, np.clip(spread, self._parts.lower, self._parts.upper), rng)
        self.habits = replace(self.habits, started=self.habits.started + OPENING_STARTS)
        if bench.closest is not None:
            self._approach(bench, bench.closest, rng)
        if self.habits.started >= OPENING and len(bench.archive):
            self._evolution = Evolution()  # the designs to begin with have had their turn

    def _given(self) -> Array:
        """Those of the designs to begin with, which are the population at first, whose turn it is."""
        each, begun = OPENING_STARTS // 2, int(self.habits.started) // 2
        population = self.population
        return np.zeros((0, len(self._parts.lower))) if population is None else population[begun : begun + each]

    def _approach(self, bench: Bench, closest: Array, rng: np.random.Generator) -> None:
        """From around the closest candidate, make its total violation as small as it will be."""
        width = NEARBY * (self._parts.upper - self._parts.lower)
        around = closest + width * rng.standard_normal((NEAREST, len(closest)))
        around[0] = closest
        starts = self._affordable(bench, np.clip(around, self._parts.lower, self._parts.upper), REFINE_STEPS)
        if len(starts):
            one = np.ones((len(starts), 1))
            nearer = refine(total_violation(self._parts), starts, one, np.zeros_like(one), REFINE_STEPS)
            bench.charge(nearer.evaluations, STEP_OVERHEAD * len(starts) * REFINE_STEPS)
            bench.measure(nearer.x)

    def _fresh(self, bench: Bench, starts: Array, rng: np.random.Generator) -> None:
        """Take points to the held goals, and those that reach them towards the front."""
        starts = self._affordable(bench, starts, REACH_STEPS)
        if not len(starts):
            self._evolve(bench, rng)
            return
        reached = reach(self._parts.sketched, starts, REACH_STEPS)
        bench.charge(reached.evaluations, STEP_OVERHEAD * len(starts) * REACH_STEPS)
        batch = bench.measure(reached.x)
        met = (reached.violations[: len(batch)] <= 0.0).all(axis=1) | batch.feasible
        ready = reached.x[: len(batch)][met]
        if len(ready):
            objectives = batch.objectives[met]
            self._refine(bench, ready, _scales(bench, objectives), REFINE_STEPS, rng, shifted=False)

    def _walk(self, bench: Bench, rng: np.random.Generator) -> None:
        rows = _roomy(bench, self._temper.starts, rng, self._elsewhere(bench))
        self._refine(bench, bench.archive.x[rows], _scales(bench), WALK_STEPS, rng, shifted=True)

    def _refine(
        self, bench: Bench, starts: Array, scales: Array, steps: int, rng: np.random.Generator, *, shifted: bool
    ) -> None:
        size = (len(starts), self._parts.objectives)
        spare = surplus(bench.archive.objectives)
        weights, shifts = np.zeros(size), np.zeros(size)
        weights[:, ~spare] = scales[~spare] * rng.dirichlet(np.full((~spare).sum(), ONE_SIDED), size[0])
        if shifted:
            shifts = scales * _shifts(size, self._temper.stride, rng)
            free = _freed(size, rng) & ~spare
            free[(free | spare).all(axis=1)] = False
            shifts, weights = np.where(free, FREE * scales, shifts), np.where(free, 0.0, weights)
        shifts[:, spare] = FREE * scales[spare]
        kept = self._affordable(bench, starts, steps)
        if not len(kept):
            self._evolve(bench, rng)
            return
        rough, judge = self._parts.sketched, self._parts
        weights, shifts = weights[: len(kept)], shifts[: len(kept)]
        refined = refine(
            rough, kept, weights, shifts, steps, tolerance=CLOSE_ENOUGH, judge=judge, corrections=CORRECTED
        )
        bench.charge(refined.evaluations, STEP_OVERHEAD * len(kept) * steps)
        bench.measure(refined.x)

    def _evolve(self, bench: Bench, rng: np.random.Generator) -> None:
        if self._evolution.population is None and len(bench.archive):
            self._evolution = Evolution(bench.archive.x[_roomy(bench, POPULATION, rng)])
        before = bench.evaluations
        self._evolution.advance(bench, rng)
        bench.charge(0, CHILD_OVERHEAD * (bench.evaluations - before))

    def _elsewhere(self, bench: Bench) -> Array:
        """(N,) what a member's room counts: less in another island's part of the front."""
        temper = self._temper
        if temper.parts == 1:
            return np.ones(len(bench.archive))
        place = np.argsort(np.argsort((bench.archive.objectives / _scales(bench)) @ np.array(temper.along)))
        own = place * temper.parts // len(place) == temper.part
        return np.where(own, 1.0, ELSEWHERE)

    def _affordable(self, bench: Bench, starts: Array, steps: int) -> Array:
        """As many of the starts as the evaluations that are left allow to be taken through all steps."""
        variables = len(self._parts.lower)
        each = 2 + (steps + 1) * (2 * variables + 4)
        return starts if bench.left is None else starts[: bench.left // each]


def spread_over(parts: PartsProblem, count: int, rng: np.random.Generator) -> Array:
    """(count, V) points spread evenly over the whole range (scrambled Sobol' points)."""
    sobol = qmc.Sobol(len(parts.lower), scramble=True, rng=rng)
    unit = sobol.random_base2(int(np.ceil(np.log2(count))))[:count]
    return parts.choices.placed(unit, parts.lower, parts.upper)


def _scales(bench: Bench, more: Array | None = None) -> Array:
    """(M,) the range of each objective over the members and more; 1 where there is none."""
    known = bench.archive.objectives if more is None else np.concatenate([bench.archive.objectives, more])
    span = np.ptp(known, axis=0)
    return np.asarray(np.where(span > 0.0, span, 1.0))


def _shifts(size: tuple[int, int], largest: float, rng: np.random.Generator) -> Array:
    """Shifts as shares of the ranges, of either sign, on some of the objectives, evenly spread over their decades."""
    sizes = np.exp(rng.uniform(np.log(SMALLEST_SHIFT), np.log(largest), size))
    return np.where(rng.random(size) < SHIFTED, sizes * rng.choice([-1.0, 1.0], size), 0.0)


def _freed(size: tuple[int, int], rng: np.random.Generator) -> Flags:
    """Objectives (N, M) that are left free, in some of the rows: these lead to the front's own edge."""
    return (rng.random(size) < 0.5) & (rng.random((size[0], 1)) < OUTWARD)


def _roomy(bench: Bench, count: int, rng: np.random.Generator, worth: Array | None = None) -> Indices:
    """Rows of `count` members, drawn by their distance from the nearest other member, times `worth` (N,)."""
    share = (bench.archive.objectives / _scales(bench))[:, ~surplus(bench.archive.objectives)]
    if len(share) <= 2:
        return rng.integers(len(share), size=count)
    distances, _ = cKDTree(share).query(share, k=2)
    distance = np.asarray(distances)[:, 1] * (1.0 if worth is None else worth)
    total = distance.sum()
    chance = distance / total if total > 0.0 else None
    return rng.choice(len(share), count, p=chance)
