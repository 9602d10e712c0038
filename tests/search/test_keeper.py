"""What becomes of members that miss a held goal on a finer grid: on problems whose finer grid is known."""

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.goals import FAILED
from optimiser.search.bench import Bench
from optimiser.search.island import Budget, Settings, search
from optimiser.search.keeper import AHEAD, Keeper
from optimiser.search.problem import Batch, Problem
from optimiser.search.snapshot import Snapshot
from tests.problems import box
from tests.smooth import of_problem

CREST = 0.1
"""By how much more the first goal is missed between the travel points, at most."""


def corner() -> Problem:
    """Both variables small, their sum at least 1, their difference at most 0.5: the front is a straight line."""

    def evaluate(x: Array) -> Batch:
        return Batch(x.copy(), np.stack([1.0 - x.sum(axis=1), np.abs(x[:, 0] - x[:, 1]) - 0.5], axis=1))

    return box(evaluate, 2)


def crest(x: Array) -> Array:
    """The violations of `corner` between its travel points."""
    between = corner().evaluate(x).violations.copy()
    between[:, 0] += CREST * (0.5 + 0.5 * x[:, 0])
    return between


@dataclass
class Look:
    """A finer grid that counts whom it was shown."""

    between: Callable[[Array], Array] = crest
    largest_margin: Array = field(default_factory=lambda: np.full(2, np.inf))
    shown: list[Array] = field(default_factory=list)

    def __call__(self, x: Array) -> Array:
        self.shown.append(x)
        return self.between(x)


def found(look: Look | None, evaluations: int, start: Snapshot | None = None, *, smooth: bool = True) -> Snapshot:
    parts = of_problem(corner()) if smooth else None
    *_, end = search(corner(), Budget(evaluations), Settings(4), start, parts=parts, look=look)
    return end


@pytest.mark.parametrize("smooth", [True, False])
def test_no_member_misses_between_the_travel_points(smooth: bool) -> None:
    without = found(None, 12_000, smooth=smooth)
    assert (crest(without.x)[:, 0] > 0.0).mean() > 0.9
    end = found(Look(), 12_000, smooth=smooth)
    assert len(end.ids) > 40
    assert (crest(end.x) <= 0.0).all()
    assert end.growth[-1].taken_out > 10
    assert end.evaluations == 12_000


def test_the_margin_is_little_more_than_what_is_needed_and_only_where_it_is() -> None:
    margin = np.array(found(Look(), 20_000).margin)
    assert 0.75 * CREST < margin[0] < AHEAD * CREST
    assert margin[1] == 0.0


def test_a_member_is_looked_at_once_and_nobody_else_is() -> None:
    look = Look()
    end = found(look, 12_000)
    shown = np.concatenate(look.shown)
    assert len(np.unique(shown, axis=0)) == len(shown) < 0.5 * end.evaluations
    assert {tuple(row) for row in end.x} <= {tuple(row) for row in shown}


def test_those_taken_out_come_back_to_where_they_hold() -> None:
    bench = Bench(corner())
    keeper = Keeper(Look(), corner(), of_problem(corner()))
    line = np.linspace(0.3, 0.7, 9)
    bench.measure(np.stack([line, 1.0 - line], axis=1))
    assert keeper.keep(bench)
    assert keeper.taken_out >= 9
    assert len(bench.archive) > 5
    assert (crest(bench.archive.x) <= 0.0).all()
    assert (np.abs(bench.archive.x.sum(axis=1) - 1.0) < 2.0 * CREST).all()
    assert not keeper.keep(bench)


def test_evaluations_are_not_overdrawn_to_bring_members_back() -> None:
    bench = Bench(corner(), limit=12)
    line = np.linspace(0.3, 0.7, 9)
    bench.measure(np.stack([line, 1.0 - line], axis=1))
    Keeper(Look(), corner(), of_problem(corner())).keep(bench)
    assert bench.evaluations == 9
    assert len(bench.archive) == 0


def test_a_band_keeps_some_room_whatever_is_missed() -> None:
    look = Look(lambda x: np.full((len(x), 2), 5.0), np.array([np.inf, 0.9]))
    keeper, bench = Keeper(look, corner(), None), Bench(corner())
    bench.measure(np.array([[0.5, 0.5]]))
    assert keeper.keep(bench)
    assert keeper.margin.tolist() == [AHEAD * 5.0, 0.9]


def test_a_number_that_is_not_there_takes_out_and_teaches_nothing() -> None:
    look = Look(lambda x: np.full((len(x), 2), FAILED))
    keeper, bench = Keeper(look, corner(), None), Bench(corner())
    bench.measure(np.array([[0.5, 0.5]]))
    assert not keeper.keep(bench)
    assert len(bench.archive) == 0
    assert keeper.taken_out == 1
    assert keeper.margin.tolist() == [0.0, 0.0]


@pytest.mark.parametrize("smooth", [True, False])
def test_a_search_stopped_and_resumed_finds_what_the_unbroken_one_finds(smooth: bool) -> None:
    parts = of_problem(corner()) if smooth else None
    stops = iter([False] * 4 + [True])
    *_, half = search(corner(), Budget(12_000), Settings(4), stop=lambda: next(stops), parts=parts, look=Look())
    assert 0 < half.evaluations < 12_000
    assert half.margin[0] > 0.0
    resumed, unbroken = found(Look(), 12_000, half, smooth=smooth), found(Look(), 12_000, smooth=smooth)
    assert np.array_equal(resumed.x, unbroken.x)
    assert np.array_equal(resumed.ids, unbroken.ids)
    assert resumed.margin == unbroken.margin
    assert resumed.growth[-1].taken_out == unbroken.growth[-1].taken_out
    assert all(later.taken_out >= earlier.taken_out for earlier, later in pairwise(resumed.growth))
