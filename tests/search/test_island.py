"""A search from start to end: what it counts, keeps, and goes on from."""

from collections.abc import Callable, Iterator
from dataclasses import fields
from itertools import pairwise

import numpy as np
import pytest

from geometry.arrays import Array
from optimiser.search.evolution import scatter
from optimiser.search.island import Budget, Settings, search
from optimiser.search.problem import Batch, Problem
from optimiser.search.snapshot import Snapshot
from optimiser.search.volume import nondominated
from tests.problems import bnh, box, problem, tnk, zdt1

SMALL = Settings(seed=5, population=20, capacity=60)


def ticking(step: float) -> Callable[[], float]:
    """A clock that goes on by `step` [s] whenever it is read."""
    times: Iterator[float] = iter(np.arange(1, 10**6) * step)
    return lambda: next(times)


def often(seed: int = 5, population: int = 20, capacity: int = 60) -> Settings:
    """Settings with a clock so fast that every round hands out a snapshot."""
    return Settings(seed, population, capacity, ticking(10.0))


def last(asked: Problem, evaluations: int, start: Snapshot | None = None, settings: Settings = SMALL) -> Snapshot:
    *_, end = search(asked, Budget(evaluations), settings, start)
    return end


def same(a: Snapshot, b: Snapshot) -> bool:
    """Whether two snapshots agree in all but their times."""
    timeless = [field.name for field in fields(Snapshot) if field.name not in ("seconds", "growth")]
    return all(np.array_equal(getattr(a, name), getattr(b, name)) for name in timeless)


@pytest.mark.parametrize("evaluations", [1, 2, 20, 21, 333])
def test_exactly_the_evaluations_asked_for_are_counted(evaluations: int) -> None:
    counted = 0
    asked = tnk()

    def counting(x: Array) -> Batch:
        nonlocal counted
        counted += len(x)
        return asked.evaluate(x)

    watched = Problem(asked.names, asked.lower, asked.upper, asked.start, asked.objectives, counting)
    assert last(watched, evaluations).evaluations == counted == evaluations


def test_members_are_feasible_inside_the_bounds_and_none_is_dominated() -> None:
    asked = tnk()
    for snapshot in search(asked, Budget(2_000), often()):
        batch = asked.evaluate(snapshot.x)
        assert batch.feasible.all()
        assert np.array_equal(batch.objectives, snapshot.objectives)
        assert nondominated(snapshot.objectives).all()
        assert ((snapshot.x >= asked.lower) & (snapshot.x <= asked.upper)).all()
        assert len(snapshot.ids) <= 60


def test_growth_only_rises() -> None:
    growth = last(bnh(), 2_000, settings=often(capacity=30)).growth
    assert len(growth) > 20
    for earlier, later in pairwise(growth):
        assert later.hypervolume >= earlier.hypervolume * (1 - 1e-12)
        assert later.evaluations > earlier.evaluations
        assert later.seconds > earlier.seconds
        assert later.feasible >= earlier.feasible
    assert 25 <= growth[-1].members <= 30


def test_one_seed_gives_one_front_and_another_seed_another() -> None:
    assert same(last(zdt1(), 600), last(zdt1(), 600))
    assert not same(last(zdt1(), 600), last(zdt1(), 600, settings=Settings(6, 20, 60)))


def test_the_pace_of_snapshots_changes_nothing() -> None:
    assert same(last(tnk(), 1_000), last(tnk(), 1_000, settings=often()))


@pytest.mark.parametrize("rounds", [1, 2, 17])
def test_a_search_stopped_and_resumed_finds_what_the_unbroken_one_finds(rounds: int) -> None:
    asked = tnk()
    stops = iter([False] * rounds + [True])
    *_, stopped = search(asked, Budget(1_000), SMALL, stop=lambda: next(stops))
    assert stopped.evaluations == 1 + 20 * rounds
    resumed = last(asked, 1_000, stopped)
    assert same(resumed, last(asked, 1_000))
    assert resumed.growth[: len(stopped.growth)] == stopped.growth
    assert resumed.seconds > stopped.seconds


def test_a_campaign_that_is_spent_only_says_so() -> None:
    spent = last(tnk(), 200)
    assert same(last(tnk(), 200, spent), spent)
    assert len(list(search(tnk(), Budget(200), SMALL, spent))) == 1


def test_a_resumed_search_takes_a_start_without_members() -> None:
    (nothing,) = search(tnk(), Budget(100), SMALL, stop=lambda: True)
    assert nothing.evaluations == 0
    assert nothing.closest is None
    assert same(last(tnk(), 100, nothing), last(tnk(), 100))


def test_time_ends_a_run_and_counts_over_runs() -> None:
    first = list(search(tnk(), Budget(seconds=100.0), often()))[-1]
    assert 100.0 <= first.seconds < 200.0
    second = list(search(tnk(), Budget(seconds=100.0), often(), first))[-1]
    assert first.seconds + 100.0 <= second.seconds < first.seconds + 200.0
    assert second.evaluations > first.evaluations


def test_the_start_is_named_0_and_no_other_member_ever_is() -> None:
    begun = bnh()
    best = Problem(begun.names, begun.lower, begun.upper, np.zeros(2), 2, begun.evaluate)
    first = last(best, 500)
    assert first.x[first.ids == 0].tolist() == [[0.0, 0.0]]
    outside = Problem(begun.names, begun.lower, begun.upper, np.array([-1.0, 0.0]), 2, begun.evaluate)
    assert 0 not in last(outside, 500).ids


def never_feasible() -> Problem:
    """Two goals that exclude each other: x at most 0.2, x at least 0.8."""

    def evaluate(x: Array) -> Batch:
        return Batch(x[:, 1:], np.stack([x[:, 0] - 0.2, 0.8 - x[:, 0]], axis=1))

    return box(evaluate, 2, objectives=1)


def test_where_nothing_is_feasible_the_closest_candidate_is_kept_and_misses_both() -> None:
    asked = never_feasible()
    end = last(asked, 600)
    assert len(end.ids) == 0
    assert end.reference is None
    assert end.growth[-1].hypervolume == 0.0
    assert end.closest is not None
    assert end.closest[0] == pytest.approx(0.5, abs=0.01)
    assert end.closest_violation == pytest.approx(0.3 * np.sqrt(2), rel=0.01)
    assert same(last(asked, 900, end), last(asked, 900, end))


def test_the_closest_candidate_goes_with_the_first_member() -> None:
    def evaluate(x: Array) -> Batch:
        return Batch(x.copy(), 0.9 - x[:, :1])

    end = last(box(evaluate, 2), 400)
    assert len(end.ids) > 0
    assert end.closest is None
    assert end.closest_violation == np.inf


def test_one_objective_gives_a_front_of_one_point() -> None:
    def evaluate(x: Array) -> Batch:
        return Batch(((x - 0.3) ** 2).sum(axis=1, keepdims=True), np.zeros((len(x), 0)))

    end = last(box(evaluate, 1, objectives=1), 400)
    assert len(end.ids) == 1
    assert end.x[0, 0] == pytest.approx(0.3, abs=1e-3)
    assert end.growth[-1].hypervolume > 0.0


def test_equal_candidates_everywhere_do_not_stop_a_search() -> None:
    def flat(x: Array) -> Batch:
        return Batch(np.zeros((len(x), 2)), np.zeros((len(x), 0)))

    end = last(problem(flat, np.zeros(1), np.full(1, 1e-300)), 200)
    assert end.evaluations == 200
    assert len(end.ids) == 1


def test_the_scatter_holds_the_start_and_stays_inside() -> None:
    asked = tnk()
    x = scatter(asked, 50, np.random.default_rng(0))
    assert x.shape == (50, 2)
    assert x[0].tolist() == asked.start.tolist()
    assert ((x >= asked.lower) & (x <= asked.upper)).all()
    assert np.median(np.abs(x - asked.start) / (asked.upper - asked.lower)) < 0.05
    assert np.abs(x - asked.start).max() > 0.3 * (asked.upper - asked.lower).max()
