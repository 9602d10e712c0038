"""What a bound costs: closed forms, and the bounds of a study's members moved and solved again."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from optimiser.search.island import Budget, Settings, search
from optimiser.search.parts import PartsProblem
from optimiser.search.prices import LET_OUT, Prices, dearest, prices_of
from optimiser.search.problem import parts_problem_of, problem_of
from optimiser.search.refinement import Refined, refine
from optimiser.study.read import read_study

FRONT = Path(__file__).parents[2] / "configs" / "front.yaml"
AGREED = 0.05
"""A price holds where moving the bound and solving again gains it within this share."""
NOTHING_GAINED = 1e-4
"""What moving a bound a little gains where it costs next to nothing, in the objectives' units."""


def wall() -> PartsProblem:
    """Over x1 in [-3, 1], x2 in [0, 1]: f1 = (x1 - 1.5)^2 + (x2 - 0.5)^2, f2 = x2. The front: x1 = 1, x2 <= 0.5."""

    def parts(x: Array) -> Array:
        return np.stack([(x[:, 0] - 1.5) ** 2 + (x[:, 1] - 0.5) ** 2, x[:, 1]], axis=1)

    return PartsProblem(np.array([-3.0, 0.0]), np.ones(2), 2, np.array([0, 1]), parts)


def test_a_bound_s_price_is_what_each_objective_gains_by_a_unit_of_it() -> None:
    heights = np.array([0.1, 0.3])
    found = prices_of(wall(), np.column_stack([np.ones(2), heights]))
    # f1 alone: d(x1 - 1.5)^2 / dx1 = -1; x2 alone, at the same f1: dx2 / dx1 = -(x1 - 1.5) / (x2 - 0.5)
    assert found.high[:, 0, 0] == pytest.approx([1.0, 1.0], rel=1e-3)
    assert found.high[:, 1, 0] == pytest.approx(0.5 / (0.5 - heights), rel=1e-3)
    assert np.all(found.low[:, :, 0] == 0.0)
    assert found.held.shape == (2, 2, 0)


def test_a_lower_bound_and_a_held_goal_are_priced_in_their_own_units() -> None:
    def parts(x: Array) -> Array:
        return np.stack([-3.0 * x[:, 0], (x[:, 0] + 2.0 * x[:, 1] - 4.0) / 0.5], axis=1)

    asked = PartsProblem(np.array([0.0, 1.0]), np.array([10.0, 5.0]), 1, np.array([0, 1]), parts)
    found = prices_of(asked, np.array([[1.9, 1.0]]))
    # x1 = 4 - 2 x2 at the lower bound of x2: a unit less of it gains 3 * 2; half a unit more of the goal's sum, 3 / 2
    assert found.low[0, 0] == pytest.approx([0.0, 6.0], rel=1e-6)
    assert found.high[0, 0].tolist() == [0.0, 0.0]
    assert found.held[0, 0] == pytest.approx([1.5], rel=1e-6)


def test_no_price_is_told_where_a_front_is_upright() -> None:
    """At the very best f1 under a wall, f2 could gain as the root of what the wall gives: at no steady price."""
    found = prices_of(wall(), np.array([[1.0, 0.5], [1.0, 0.499], [1.0, 0.49]]))
    assert found.high[:, 0, 0] == pytest.approx([1.0] * 3, rel=1e-3)
    assert np.isnan(found.high[:, 1, 0]).all()


def test_what_bounds_cost_a_whole_front() -> None:
    heights = np.array([0.1, 0.3, 0.5])
    x = np.column_stack([np.ones(3), heights])
    objectives = wall().parts(x)
    low, high = dearest(wall(), x, objectives)
    # at t = 0: lambda1 (1, 2 (x2 - 0.5)) + lambda2 (0, 1) along x2 is 0, lambda1 w1 + lambda2 w2 = 1, f1 falls by 1
    w1, w2 = np.ptp(objectives, axis=0)
    per_unit = 1.0 / (w1 + 2.0 * (0.5 - heights) * w2)
    assert high[0] == pytest.approx(LET_OUT * 4.0 * per_unit.mean(), rel=1e-3)
    assert high[1] == pytest.approx(0.0, abs=1e-9)
    assert low == pytest.approx([0.0, 0.0], abs=1e-9)


def test_a_front_of_one_member_has_costs_too() -> None:
    x = np.array([[1.0, 0.3]])
    _, high = dearest(wall(), x, wall().parts(x))
    assert 0.0 < high[0] < np.inf


@cache
def members() -> tuple[PartsProblem, Array]:
    """Eight members of the front study, evenly spaced along the first objective, its ends left out."""
    study = read_study(FRONT)
    parts = parts_problem_of(study)
    *_, last = search(problem_of(study), Budget(20_000), Settings(study.seed), parts=parts)
    order = np.argsort(last.objectives[:, 0])
    return parts, last.x[order[np.linspace(0, len(order) - 1, 10)[1:-1].astype(np.intp)]]


@cache
def told() -> Prices:
    """What their bounds and held goals cost these members."""
    return prices_of(*members())


def alone(problem: PartsProblem, x: Array, starts: Array | None = None) -> Refined:
    """Where each objective is best while no other is worse than at x (N, V): N M rows, sought from `starts`, or x."""
    members = np.repeat(x, problem.objectives, axis=0)
    begin = members if starts is None else starts
    weights = np.tile(np.eye(problem.objectives), (len(x), 1))
    shifts = problem.largest(problem.measure(members))[0] - problem.largest(problem.measure(begin))[0]
    return refine(problem, begin, weights, shifts, 60, tolerance=1e-10)


def own(problem: PartsProblem, found: Refined) -> Array:
    """(N, M) of each row its own objective."""
    count = problem.objectives
    return np.asarray(found.objectives.reshape(-1, count, count)[:, np.arange(count), np.arange(count)])


def test_moving_a_bound_of_the_front_study_and_solving_again_gains_its_price() -> None:
    problem, x = members()
    found, before = told(), alone(problem, x)
    least = own(problem, before)
    step = 4e-4 * (problem.upper - problem.lower)
    promised, gained = [], []
    for ends, wider in ((found.low, "low"), (found.high, "high")):
        for k in np.flatnonzero((ends > 0.0).any(axis=(0, 1))):
            out = np.where(np.arange(len(step)) == k, step, 0.0)
            lower, upper = problem.lower, problem.upper
            moved = replace(problem, lower=lower - out) if wider == "low" else replace(problem, upper=upper + out)
            costs = ends[:, :, k] > 0.0
            promised.append(ends[:, :, k][costs] * step[k])
            gained.append((least - own(moved, alone(moved, x, before.x)))[costs])
    all_promised, all_gained = np.concatenate(promised), np.concatenate(gained)
    assert len(all_promised) >= 15
    np.testing.assert_allclose(all_gained, all_promised, rtol=AGREED, atol=NOTHING_GAINED)


def test_most_prices_of_the_front_study_hold() -> None:
    found = told()
    prices = np.concatenate([found.low, found.high, found.held], axis=2)
    assert np.isnan(prices).mean() < 0.2
    assert (prices > 0.0).any(axis=2).mean() > 0.7


@pytest.mark.parametrize("fixed", [0, 1])
def test_a_variable_without_a_range_has_no_price(fixed: int) -> None:
    lower, upper = np.array([-3.0, 0.3]), np.array([1.0, 0.3 if fixed else 1.0])
    found = prices_of(replace(wall(), lower=lower, upper=upper), np.array([[1.0, 0.3]]))
    assert bool(np.isnan(found.high[0, :, 1]).all()) == bool(fixed)
    assert found.high[0, 0, 0] == pytest.approx(1.0, rel=1e-3)
