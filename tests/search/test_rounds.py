"""The campaign: what it counts, what it learns, and that it finds more than evolution alone."""

from dataclasses import fields, replace

import numpy as np
import pytest

from geometry.arrays import Array
from optimiser.search.bench import Bench
from optimiser.search.island import Budget, Settings, search
from optimiser.search.parts import PartsProblem
from optimiser.search.problem import Batch, Problem
from optimiser.search.rounds import HOPES, LEAST, OPENING, Habits, Rounds, Way
from optimiser.search.snapshot import Snapshot
from optimiser.search.volume import nondominated, volume
from tests.problems import bnh, osy, tnk

TABLES = {"bnh": bnh, "osy": osy, "tnk": tnk}
WORST = {"bnh": [140.0, 50.0], "osy": [-75.0, 75.0], "tnk": [1.2, 1.2]}


def as_parts(asked: Problem) -> PartsProblem:
    """A problem whose objectives and held goals are each one smooth number."""

    def parts(x: Array) -> Array:
        batch = asked.evaluate(x)
        return np.concatenate([batch.objectives, batch.violations], axis=1)

    owner = np.arange(parts(asked.start[None]).shape[1])
    return PartsProblem(asked.lower, asked.upper, asked.objectives, owner, parts)


def found(asked: Problem, evaluations: int, seed: int = 1, start: Snapshot | None = None) -> Snapshot:
    *_, end = search(asked, Budget(evaluations), Settings(seed), start, parts=as_parts(asked))
    return end


@pytest.mark.parametrize("name", TABLES)
def test_it_finds_more_than_evolution_for_the_same_evaluations(name: str) -> None:
    """By hypervolume against the reference points in use for these problems (checks in tests/published)."""
    asked, worst = TABLES[name](), np.array(WORST[name])
    *_, evolved = search(asked, Budget(30_000), Settings(1))
    walked = found(asked, 30_000)
    assert volume(walked.objectives, worst) > 0.995 * volume(evolved.objectives, worst)


@pytest.mark.parametrize("name", TABLES)
def test_members_hold_every_goal_and_none_dominates_another(name: str) -> None:
    asked = TABLES[name]()
    end = found(asked, 20_000)
    batch = asked.evaluate(end.x)
    assert len(end.ids) > 50
    assert batch.feasible.all()
    assert nondominated(batch.objectives).all()
    assert ((end.x >= asked.lower) & (end.x <= asked.upper)).all()


def test_every_evaluation_is_counted_and_none_too_many() -> None:
    asked, asks = bnh(), 0

    def counting(x: Array) -> Array:
        nonlocal asks
        asks += len(x)
        return as_parts(bnh()).parts(x)

    parts = replace(as_parts(asked), parts=counting)
    *_, end = search(asked, Budget(9_001), Settings(2), parts=parts)
    assert end.evaluations == 9_001
    assert 0 < asks <= 9_001


def same(one: Snapshot, other: Snapshot) -> bool:
    timeless = [field.name for field in fields(Snapshot) if field.name not in ("seconds", "growth")]
    return all(np.array_equal(getattr(one, name), getattr(other, name)) for name in timeless)


def test_one_seed_gives_one_front() -> None:
    assert same(found(bnh(), 12_000, seed=3), found(bnh(), 12_000, seed=3))
    assert not same(found(bnh(), 12_000, seed=3), found(bnh(), 12_000, seed=4))


def test_a_search_that_goes_on_remembers_what_it_learned() -> None:
    first = found(bnh(), 12_000)
    assert len(first.habits) == len(Way) + 1
    assert Habits.of(first.habits) != Habits()
    again = found(bnh(), 24_000, start=first)
    assert again.evaluations == 24_000
    assert len(again.ids) >= len(first.ids)


def test_what_gains_more_is_done_more_and_nothing_is_forgotten() -> None:
    habits = Habits(HOPES)
    for _ in range(20):
        habits = habits.learned(Way.EVOLVE, 1.0).learned(Way.WALK, 0.0)
    chances = habits.chances()
    assert chances.sum() == pytest.approx(1.0)
    assert chances[Way.EVOLVE] > 0.8
    assert chances.min() >= LEAST
    assert np.allclose(Habits((0.0, 0.0, 0.0)).chances(), 1.0 / 3.0)


def hopeless() -> Problem:
    asked = bnh()
    return replace(asked, evaluate=lambda x: replace(asked.evaluate(x), violations=1.0 + x[:, :1] ** 2))


def test_a_loss_is_no_gain() -> None:
    """Thinning a full archive may lose a little of the hypervolume; a way has no chance below the least for it."""
    habits = Habits((0.0, 0.0, 0.0)).learned(Way.WALK, -1e-6)
    assert habits.gains == (0.0, 0.0, 0.0)
    assert (habits.chances() >= LEAST).all()


def test_where_nothing_is_feasible_the_closest_is_kept() -> None:
    bench = Bench(hopeless())
    campaign = Rounds(as_parts(hopeless()))
    for seed in range(2):
        campaign.advance(bench, np.random.default_rng(seed))
    assert len(bench.archive) == 0
    assert bench.closest is not None
    assert bench.closest_violation == pytest.approx(1.0, abs=1e-6)
    assert bench.closest[0] == pytest.approx(0.0, abs=1e-3)


def one_point() -> Problem:
    """Two objectives that agree: the front is one point."""
    asked = bnh()

    def evaluate(x: Array) -> Batch:
        batch = asked.evaluate(x)
        return replace(batch, objectives=np.stack([batch.objectives[:, 0]] * 2, axis=1))

    return replace(asked, evaluate=evaluate)


def test_a_front_of_one_point() -> None:
    asked = one_point()
    end = found(asked, 6_000)
    assert len(end.ids) == 1
    assert end.objectives[0, 0] == pytest.approx(0.0, abs=1e-6)


def test_another_margin_has_evolution_measure_its_population_again() -> None:
    asked, measured = tnk(), []

    def evaluate(x: Array) -> Batch:
        measured.append(len(x))
        return asked.evaluate(x)

    bench = Bench(replace(asked, evaluate=evaluate))
    bench.measure(found(asked, 6_000).x)
    campaign = Rounds(as_parts(asked), habits=Habits((0.0, 0.0, 1.0), OPENING))
    chances = campaign.habits.chances()
    evolving = [k for k in range(20) if np.random.default_rng(k).choice(len(Way), p=chances) == Way.EVOLVE][:4]
    spent = []
    for round_, seed in enumerate(evolving):
        if round_ == 2:
            campaign.keep(as_parts(asked).kept(np.full(2, 1e-3)))
        measured.clear()
        campaign.habits = Habits((0.0, 0.0, 1.0), OPENING)
        campaign.advance(bench, np.random.default_rng(seed))
        spent.append(sum(measured))
    assert spent[0] == spent[2] > spent[1] == spent[3]
