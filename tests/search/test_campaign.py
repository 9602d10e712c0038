"""Campaigns of islands: one end for one seed, whoever works and however often it is stopped; nothing is lost."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from optimiser.search.campaign import campaign, unbegun
from optimiser.search.crew import Alone, Report, Tools
from optimiser.search.island import Budget
from optimiser.search.plan import Task
from optimiser.search.share import Share
from optimiser.search.snapshot import Snapshot
from optimiser.search.volume import nondominated, volume
from tests.islands import SETTINGS, bnh_tools, explored, same, small_islands
from tests.problems import bnh
from tests.smooth import of_problem

ENOUGH = 12_000
"""Evaluations of an opening and more than two epochs."""


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    small_islands(monkeypatch)


@cache
def unbroken() -> Snapshot:
    """What the campaign of the other tests comes to, alone and in one go."""
    return explored(ENOUGH)


class Shuffled:
    """A crew of several that works on tasks in turns, and reports in an order of its own."""

    def __init__(self, count: int, seed: int) -> None:
        self._rng = np.random.default_rng(seed)
        self._members = [Alone(bnh_tools()) for _ in range(count)]

    @property
    def free(self) -> int:
        return sum(member.free for member in self._members)

    def begin(self, task: Task) -> None:
        next(member for member in self._members if member.free).begin(task)

    def reports(self) -> list[Report]:
        return self._members[self._rng.integers(len(self._members))].reports()

    def halt(self) -> None:
        for member in self._members:
            member.halt()


@pytest.mark.parametrize("count", [3, 8])
def test_any_number_of_workers_finds_the_same(count: int) -> None:
    assert unbroken().evaluations == ENOUGH
    assert unbroken().epochs > 2
    assert same(explored(ENOUGH, crew=Shuffled(count, seed=count)), unbroken())


def stops_after(rounds: int) -> Callable[[], bool]:
    """A wish to stop that comes after so many questions, and stays."""
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > rounds

    return stop


@pytest.mark.parametrize("rounds", [2, 7])
def test_a_campaign_stopped_again_and_again_ends_as_the_unbroken_one(rounds: int) -> None:
    state, runs = unbegun(2, 2), 0
    while state.evaluations < ENOUGH:
        stop = stops_after(rounds + runs)
        state = explored(ENOUGH, state, stop=stop)
        runs += 1
        assert runs < 1000
    assert runs > 5
    assert same(state, unbroken())


def test_what_islands_under_way_have_found_is_shown_and_no_name_changes_later() -> None:
    names: dict[int, tuple[float, ...]] = {}
    seen_under_way = False
    ticks = iter(np.arange(0.0, 1e9, 10.0))  # so fast a clock that every report is handed out
    settings = replace(SETTINGS, clock=lambda: next(ticks))
    for state in campaign(Alone(bnh_tools()), Budget(ENOUGH), settings, unbegun(2, 2)):
        batch = bnh().evaluate(state.x)
        assert batch.feasible.all()
        assert np.array_equal(batch.objectives, state.objectives)
        assert nondominated(state.objectives).all()
        assert (np.diff(state.ids) > 0).all()
        assert len(state.ids) <= SETTINGS.capacity
        for name, x in zip(state.ids.tolist(), state.x.tolist(), strict=True):
            assert names.setdefault(name, tuple(x)) == tuple(x)
        if state.epoch is not None and state.epoch.start.growth:
            seen_under_way = True
            assert state.growth[-1].hypervolume >= (1 - 1e-12) * state.epoch.start.growth[-1].hypervolume
    assert seen_under_way
    assert state.epoch is None
    assert [point.evaluations for point in state.growth] == sorted({point.evaluations for point in state.growth})


def test_islands_together_find_no_less_than_one_for_the_same_evaluations() -> None:
    """Hypervolume before (140, 50), the reference in use for this problem."""
    worst = np.array([140.0, 50.0])
    together = unbroken()
    opening = explored(1_500)
    assert volume(together.objectives, worst) > volume(opening.objectives, worst)
    assert volume(together.objectives, worst) > 0.995 * 5070.0


def test_a_seed_and_a_share_give_another_front() -> None:
    plain = explored(3_000)
    assert not np.array_equal(explored(3_000, settings=replace(SETTINGS, seed=4)).x, plain.x)
    assert not np.array_equal(explored(3_000, share=Share(1, 3)).x, plain.x)


def test_shares_give_no_name_twice() -> None:
    """Beside 0, which is the study's own geometry in each of them."""
    shares = [set(explored(4_000, share=Share(number, 3)).ids.tolist()) - {0} for number in range(3)]
    assert all(len(share) > 50 for share in shares)
    assert sum(map(len, shares)) == len(set().union(*shares))


def test_designs_to_begin_with_are_measured_and_start_it() -> None:
    seeds = np.array([[1.0, 1.0], [4.0, 3.0], [3.0, 3.0]])
    state = explored(4, unbegun(2, 2, seeds))
    assert state.evaluations == 4
    known = {tuple(x) for x in state.x.tolist()}
    assert {(1.0, 1.0), (3.0, 3.0), (4.0, 3.0)} <= known
    assert not same(explored(ENOUGH, unbegun(2, 2, seeds)), unbroken())


def test_time_ends_a_campaign_within_an_epoch_and_it_goes_on_from_there() -> None:
    ticks = iter(np.arange(0.0, 1e9, 1.0))
    settings = replace(SETTINGS, clock=lambda: next(ticks))
    *_, state = campaign(Alone(bnh_tools()), Budget(seconds=40.0), settings, unbegun(2, 2))
    assert 40.0 <= state.seconds < 140.0
    *_, later = campaign(Alone(bnh_tools()), Budget(seconds=30.0), settings, state)
    assert later.evaluations > state.evaluations
    assert state.seconds + 30.0 <= later.seconds


def hopeless_tools() -> Tools:
    asked = bnh()
    never = replace(asked, evaluate=lambda x: replace(asked.evaluate(x), violations=1.0 + x[:, :1] ** 2))
    return Tools(never, of_problem(never))


def test_where_nothing_is_feasible_the_closest_of_all_islands_is_kept() -> None:
    state = explored(8_000, crew=Alone(hopeless_tools()))
    assert not len(state.ids)
    assert state.reference is None
    assert state.closest_violation == pytest.approx(1.0, abs=1e-6)
    assert state.closest is not None
    assert state.evaluations == 8_000
