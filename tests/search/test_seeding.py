"""Which earlier designs a search begins with, and what it does with them."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array
from optimiser.search.archive import knee
from optimiser.search.bench import Bench
from optimiser.search.campaign import unbegun
from optimiser.search.choices import Choices
from optimiser.search.crew import Alone
from optimiser.search.evolution import POPULATION
from optimiser.search.problem import Batch, Problem
from optimiser.search.rounds import OPENING, Rounds
from optimiser.search.seeding import FIRST, MOST, seeds
from optimiser.search.snapshot import Snapshot
from optimiser.search.volume import nondominated, volume
from tests.islands import bnh_tools, explored, same, small_islands
from tests.problems import bnh, problem

WORST = np.array([140.0, 50.0])


def designs(count: int, seed: int = 0) -> Array:
    """Points all over the range of Binh and Korn's problem."""
    asked = bnh()
    return np.asarray(asked.lower + np.random.default_rng(seed).random((count, 2)) * (asked.upper - asked.lower))


def rows_of(x: Array, among: Array) -> bool:
    """Whether every row of `x` is one of `among`."""
    return bool((x[:, None] == among[None]).all(axis=2).any(axis=1).all())


def line(count: int) -> tuple[Problem, Array]:
    """A problem whose points x1 + x2 = 1 are its front, x1 below a tenth not feasible, and points of that line."""

    def evaluate(x: Array) -> Batch:
        return Batch(x, np.stack([0.1 - x[:, 0], 1.0 - x.sum(axis=1) - 1e-9], axis=1))

    along = np.random.default_rng(2).random(count)
    return problem(evaluate, np.zeros(2), np.ones(2)), np.stack([along, 1.0 - along], axis=1)


def test_few_designs_are_all_taken_but_those_that_another_beats() -> None:
    asked, x = bnh(), designs(40)
    found = seeds(asked, x)
    batch = asked.evaluate(x)
    good = x[batch.feasible]
    kept = good[nondominated(batch.objectives[batch.feasible])]
    bad = x[~batch.feasible]
    assert 0 < len(bad) < 40
    assert len(found.x) == len(kept) + len(bad)
    assert rows_of(found.x, np.concatenate([kept, bad]))
    assert found.sample.count == 40
    assert found.sample.feasible == len(good)


def test_of_many_the_ends_and_the_knee_stay_and_come_first() -> None:
    asked, x = line(3_000)
    found = seeds(asked, x)
    good = x[x[:, 0] >= 0.1]
    first = found.x[:FIRST]
    assert len(found.x) == MOST
    for end in (good[good[:, 0].argmin()], good[good[:, 0].argmax()], good[knee(good)]):
        assert (first == end).all(axis=1).any()
    gaps = np.diff(np.sort(found.x[found.x[:, 0] >= 0.1][:, 0]))
    assert gaps.max() < 6 * 0.9 / MOST
    assert np.diff(np.sort(first[:, 0])).max() < 6 * 0.9 / FIRST


def test_those_that_miss_the_goals_come_next_the_nearest_first() -> None:
    asked, x = line(400)
    found = seeds(asked, x)
    bad = x[x[:, 0] < 0.1]
    nearest = bad[np.argsort(-bad[:, 0])]
    assert np.array_equal(found.x[FIRST : FIRST + len(nearest[:FIRST])], nearest[:FIRST])
    assert found.sample.missed == (len(bad), 0)


def test_what_lies_outside_is_moved_to_the_bound_and_counted_and_twins_are_one() -> None:
    asked = bnh()
    outside = np.array([[-1.0, 1.0], [-2.0, 1.0], [1.0, 9.0], [1.0, 1.0]])
    found = seeds(asked, outside)
    assert found.moved == (2, 1)
    assert found.sample.count == 3
    assert rows_of(found.x, np.array([[0.0, 1.0], [1.0, 3.0], [1.0, 1.0]]))
    listed = replace(asked, choices=Choices({0: np.array([0.0, 2.0])}))
    snapped = seeds(listed, np.array([[1.9, 1.0], [2.0, 0.5]]))
    assert snapped.moved == (1, 0)
    assert (snapped.x[:, 0] == 2.0).all()


def begun(x: Array) -> Snapshot:
    return unbegun(2, 2, x)


def test_designs_are_measured_first_and_are_members_if_they_are_good(monkeypatch: pytest.MonkeyPatch) -> None:
    small_islands(monkeypatch)
    best = explored(6_000)
    asked, few = bnh(), best.x[:: max(1, len(best.x) // 40)]
    end = explored(1 + len(few), begun(few))
    assert end.evaluations == 1 + len(few)
    both = np.concatenate([asked.start[None], few])
    kept = nondominated(asked.evaluate(both).objectives)
    assert np.array_equal(np.sort(end.x, axis=0), np.sort(both[kept], axis=0))
    again = explored(1_000, begun(few))
    assert volume(again.objectives, WORST) >= volume(asked.evaluate(few).objectives, WORST)


@pytest.mark.parametrize("count", [1, 2, 3, 512])
def test_any_number_of_designs_goes_through_a_whole_campaign(monkeypatch: pytest.MonkeyPatch, count: int) -> None:
    small_islands(monkeypatch)
    monkeypatch.setattr("optimiser.search.plan.OPENING", 40_000)
    end = explored(20_000, begun(designs(count)))
    assert end.evaluations == 20_000
    assert len(end.ids) > 50
    assert end.habits[-1] >= OPENING


def test_designs_are_started_from_once_and_leave_no_mark_on_evolution() -> None:
    tools, x = bnh_tools(), designs(40)
    bench, rounds = Bench(tools.problem), Rounds(tools.parts, x)
    rounds.advance(bench, np.random.default_rng(1))
    assert rounds.population is x
    rounds.advance(bench, np.random.default_rng(2))
    assert rounds.population is None
    for turn in range(30):
        rounds.advance(bench, np.random.default_rng(turn))
    assert rounds.population is not None
    assert len(rounds.population) == POPULATION


def stopping(after: int) -> Callable[[], bool]:
    """Says stop once it was asked so often."""
    asked = iter(range(10**6))
    return lambda: next(asked) >= after


@pytest.mark.parametrize("pause", [0, 1, 2, 3, 5])
def test_a_campaign_that_begins_with_designs_may_be_stopped_anywhere(
    monkeypatch: pytest.MonkeyPatch, pause: int
) -> None:
    small_islands(monkeypatch)
    x = designs(100)
    whole = explored(5_000, begun(x))
    part = explored(5_000, begun(x), Alone(bnh_tools(), stopping(pause)), stop=stopping(pause))
    assert part.evaluations < 5_000
    assert same(explored(5_000, part), whole)
    assert not same(explored(5_000), whole)
