"""A study as the search sees it: scaled once, minimised, and null figures kept out."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.evaluate import evaluate
from objectives.goals import Band, Best, Limit, Miss, objective_values, violations
from optimiser.search.problem import Batch, NothingToSearchError, joined, problem_of
from optimiser.study.read import read_study
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates

FRONT = Path(__file__).parents[2] / "configs" / "front.yaml"


@pytest.fixture(scope="module")
def front() -> Study:
    return read_study(FRONT)


def near(study: Study, count: int) -> Array:
    """Points around a study's own geometry."""
    problem = problem_of(study)
    spread = 0.05 * (problem.upper - problem.lower)
    x = problem.start + spread * np.random.default_rng(3).standard_normal((count, len(problem.names)))
    return np.clip(x, problem.lower, problem.upper)


def test_bounds_names_and_start_are_the_study_s(front: Study) -> None:
    problem = problem_of(front)
    assert problem.names == tuple(variable.path for variable in front.variables)
    assert problem.start.tolist() == base_point(front).tolist()
    assert (problem.lower < problem.upper).all()
    assert problem.start_is_inside
    assert problem.objectives == 4


def test_a_batch_holds_what_the_goals_say_of_the_figures(front: Study) -> None:
    x = near(front, 20)
    batch = problem_of(front).evaluate(x)
    values = evaluate(candidates(front, x), front.travel).values
    np.testing.assert_allclose(batch.objectives, objective_values(front.goals, values), rtol=1e-9, atol=1e-9)
    wanted = violations(front.goals, values)
    np.testing.assert_allclose(batch.violations[:, : wanted.shape[1]], wanted, rtol=1e-9, atol=1e-9)
    met = [all(np.all(row <= 0.0) for row in batch.violations[k]) for k in range(20)]
    assert batch.feasible.tolist() == met
    assert 0 < batch.feasible.sum() < 20


def test_batch_equals_loop(front: Study) -> None:
    problem, x = problem_of(front), near(front, 7)
    whole = problem.evaluate(x)
    single = [problem.evaluate(x[k : k + 1]) for k in range(7)]
    assert np.array_equal(whole.objectives, np.concatenate([one.objectives for one in single]))
    assert np.array_equal(whole.violations, np.concatenate([one.violations for one in single]))
    assert len(problem.evaluate(x[:0])) == 0


def test_evaluation_leaves_its_argument_alone(front: Study) -> None:
    x = near(front, 5)
    before = x.copy()
    problem_of(front).evaluate(x)
    assert np.array_equal(x, before)


def test_a_candidate_whose_objective_is_null_is_no_member(front: Study) -> None:
    short = tuple(replace(one, low=5.0) if one.path == "rocker.rod.length" else one for one in front.variables)
    goals = (Limit("rocker.arm_sum", at_most=1000.0), Best("heave.crosstalk", "minimise"))
    study = replace(front, variables=short, goals=goals)
    problem = problem_of(study)
    x = np.random.default_rng(1).uniform(problem.lower, problem.upper, size=(200, len(problem.names)))
    null = ~np.isfinite(evaluate(candidates(study, x), study.travel, ["heave.crosstalk"]).values["heave.crosstalk"])
    assert 0 < null.sum() < 200
    batch = problem.evaluate(x)
    assert np.array_equal(batch.feasible, ~null)
    assert np.isfinite(batch.objectives).all()


def test_held_goals_alone_ask_for_the_widest_margin(front: Study) -> None:
    goals = (Band("heave.motion_ratio", 1.10, 0.01), Limit("roll.crosstalk", at_most=1.0))
    problem = problem_of(replace(front, goals=goals))
    batch = problem.evaluate(near(front, 10))
    assert problem.objectives == 1
    assert np.array_equal(batch.objectives[:, 0], batch.violations.max(axis=1))


def test_figures_that_nothing_varies_are_spread_over_the_batch(front: Study) -> None:
    goals = (Miss("heave.motion_ratio", 1.1, 0.01), Best("rocker.top_height", "minimise"))
    fixed = replace(front, variables=front.variables[-1:], goals=goals)
    assert problem_of(fixed).evaluate(np.full((3, 1), -110.0)).objectives.shape == (3, 2)


@pytest.mark.parametrize("part", ["variables", "goals"])
def test_a_study_without_variables_or_goals_says_what_to_add(front: Study, part: str) -> None:
    empty = replace(front, variables=()) if part == "variables" else replace(front, goals=())
    with pytest.raises(NothingToSearchError, match="vary" if part == "variables" else "goals"):
        problem_of(empty)


def test_the_total_is_nothing_where_all_is_met_and_grows_with_every_miss() -> None:
    batch = Batch(np.zeros((4, 1)), np.array([[-1.0, -9.0], [3.0, -9.0], [3.0, 4.0], [0.0, 0.0]]))
    assert batch.total.tolist() == [0.0, 3.0, 5.0, 0.0]
    assert batch.feasible.tolist() == [True, False, False, True]


def test_batches_join_and_are_taken_apart() -> None:
    first, second = Batch(np.ones((2, 1)), np.zeros((2, 3))), Batch(np.zeros((1, 1)), np.ones((1, 3)))
    both = joined(first, second)
    assert len(both) == 3
    assert both.take(slice(2, 3)).violations.tolist() == second.violations.tolist()
