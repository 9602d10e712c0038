"""Refinement on closed forms, at the edges of what can be asked, and as a batch."""

from dataclasses import fields, replace

import numpy as np
import pytest

from geometry.arrays import Array
from optimiser.search import steps as quadratic_programs
from optimiser.search.parts import PartsProblem
from optimiser.search.quadratic import Minimum, minimise
from optimiser.search.refinement import MARGIN, Refined, reach, refine
from optimiser.search.sqp import Ending
from tests.conftest import Guard
from tests.smooth import bowls, ribbon, steepest, unit_box

A, B = np.array([0.2, 0.3, 0.5]), np.array([0.8, 0.6, 0.4])


def starts(problem: PartsProblem, count: int, seed: int = 1) -> Array:
    return np.random.default_rng(seed).uniform(problem.lower, problem.upper, (count, len(problem.lower)))


def towards(problem: PartsProblem, x: Array, target: Array, weights: Array, tolerance: float = 1e-9) -> Refined:
    """Refined from x so that t counts from `target`, wherever x is."""
    inside = np.clip(x, problem.lower, problem.upper)
    shifts = target - problem.largest(problem.measure(inside))[0]
    return refine(problem, x, np.broadcast_to(weights, shifts.shape), shifts, steps=60, tolerance=tolerance)


@pytest.mark.parametrize("weights", [(1.0, 1.0), (1.0, 4.0), (9.0, 1.0), (300.0, 100.0)])
def test_two_bowls_meet_where_the_weights_say(weights: tuple[float, float]) -> None:
    """On the segment a + k (b - a), k^2 / w1 = (1 - k)^2 / w2."""
    root = np.sqrt(weights)
    expected = A + root[0] / root.sum() * (B - A)
    refined = towards(bowls(A, B), starts(bowls(A, B), 8), np.zeros(2), np.array(weights))
    assert (refined.ending == Ending.CONVERGED).all()
    np.testing.assert_allclose(refined.x, np.broadcast_to(expected, refined.x.shape), atol=2e-4)


def test_a_start_never_loses_where_nothing_is_shifted() -> None:
    problem = bowls(A, B)
    x = starts(problem, 20)
    before = problem.largest(problem.measure(x))[0]
    refined = refine(problem, x, np.ones((20, 2)), np.zeros((20, 2)))
    assert (refined.objectives <= before + 1e-12).all()
    assert (refined.objectives < before - 1e-3).any(axis=1).mean() > 0.9


def test_a_shift_lets_one_objective_go_to_tighten_the_other() -> None:
    """From the front's middle, where f = 0.115 each, f1 may rise by 0.1 and f2 must fall."""
    problem = bowls(A, B)
    middle = ((A + B) / 2)[None]
    refined = refine(problem, middle, np.array([[0.0, 1.0]]), np.array([[0.1, 0.0]]), tolerance=1e-9)
    assert refined.objectives[0, 0] == pytest.approx(0.115 + 0.1, abs=1e-6)
    assert refined.objectives[0, 1] == pytest.approx((np.sqrt(0.46) - np.sqrt(0.215)) ** 2, abs=1e-6)


def test_the_largest_of_linear_functions() -> None:
    """max(x1, x2, 1 - x1 - x2) is least at (1/3, 1/3), where all three are 1/3."""

    def parts(x: Array) -> Array:
        return np.stack([x[:, 0], x[:, 1], 1 - x.sum(axis=1)], axis=1)

    problem = unit_box(parts, 2, 1, [0, 0, 0])
    refined = refine(problem, starts(problem, 10), np.ones((10, 1)), np.zeros((10, 1)), tolerance=1e-9)
    np.testing.assert_allclose(refined.x, 1 / 3, atol=1e-6)
    np.testing.assert_allclose(refined.multipliers, 1 / 3, atol=1e-3)


@pytest.mark.parametrize("width", [0.1, 1e-3, 1e-5])
def test_a_narrow_bent_band_is_followed_to_its_end(width: float) -> None:
    problem = ribbon(width)
    reached = reach(problem, starts(problem, 20))
    assert (reached.violations <= 0.0).all()
    refined = refine(problem, reached.x, np.ones((20, 1)), np.zeros((20, 1)), steps=40)
    assert (refined.violations <= 0.0).all()
    np.testing.assert_allclose(refined.objectives, -1.0, atol=1e-3)


def test_forty_variables() -> None:
    problem = ribbon(1e-2, variables=40)
    refined = refine(problem, starts(problem, 6), np.ones((6, 1)), np.zeros((6, 1)), steps=60, tolerance=1e-7)
    assert (refined.violations <= 0.0).all()
    np.testing.assert_allclose(refined.objectives, -1.0, atol=1e-4)


def test_one_variable() -> None:
    """Between (x - 0.2)^2 and (x - 0.8)^2, where x <= 0.4 is held."""

    def parts(x: Array) -> Array:
        return np.concatenate([(x - 0.2) ** 2, (x - 0.8) ** 2, x - 0.4], axis=1)

    problem = unit_box(parts, 1, 2, [0, 1, 2])
    refined = towards(problem, starts(problem, 5), np.zeros(2), np.ones(2))
    np.testing.assert_allclose(refined.x, 0.4 - MARGIN, atol=1e-7)


def test_no_objectives_only_held_goals() -> None:
    held = replace(ribbon(1e-3), objectives=0, owner=np.array([0, 0]), parts=lambda x: ribbon(1e-3).parts(x)[:, 1:])
    for refined in (reach(held, starts(held, 8)), refine(held, starts(held, 8), np.ones((8, 0)), np.ones((8, 0)))):
        assert (refined.violations <= 0.0).all()
        assert refined.objectives.shape == (8, 0)


def test_nothing_held_is_reached_at_once() -> None:
    problem = bowls(A, B)
    x = starts(problem, 4)
    reached = reach(problem, x)
    np.testing.assert_allclose(reached.x, x, atol=1e-15)
    assert reached.violations.shape == (4, 0)


def test_what_cannot_be_met_ends_at_the_smallest_largest_miss() -> None:
    """x1 >= 0.8 and x1 <= 0.2 are both missed by 0.3 at 0.5; a third goal is met."""

    def parts(x: Array) -> Array:
        return np.stack([x[:, 1] ** 2, 0.8 - x[:, 0], x[:, 0] - 0.2, x[:, 1] - 0.9], axis=1)

    problem = unit_box(parts, 2, 1, [0, 1, 2, 3])
    reached = reach(problem, starts(problem, 12))
    np.testing.assert_allclose(reached.violations.max(axis=1), 0.3, atol=1e-5)
    np.testing.assert_allclose(reached.multipliers[:, 1:3], 0.5, atol=1e-2)
    refined = refine(problem, starts(problem, 12), np.ones((12, 1)), np.zeros((12, 1)))
    np.testing.assert_allclose(refined.violations.max(axis=1), 0.3, atol=1e-4)


def test_parts_that_depend_on_nothing() -> None:
    """Every derivative is 0, so that every program is singular."""
    flat = unit_box(lambda x: np.full((len(x), 2), 0.25), 3, 1, [0, 1])
    x = starts(flat, 3)
    for refined in (reach(flat, x), refine(flat, x, np.ones((3, 1)), np.zeros((3, 1)))):
        np.testing.assert_allclose(refined.x, x, atol=1e-12)
        assert np.isfinite(refined.multipliers).all()
        assert (refined.ending == Ending.CONVERGED).all()


def test_equal_rows_share_what_they_cost() -> None:
    """Each part twice: more rows hold than there are unknowns."""
    once = bowls(A, B)
    twice = replace(once, owner=np.array([0, 1, 0, 1]), parts=lambda x: np.tile(once.parts(x), 2))
    x = starts(once, 5)
    one, two = (towards(problem, x, np.zeros(2), np.ones(2)) for problem in (once, twice))
    np.testing.assert_allclose(one.x, two.x, atol=1e-5)
    np.testing.assert_allclose(one.multipliers, two.multipliers[:, :2] + two.multipliers[:, 2:], atol=1e-3)


def test_starts_at_and_beyond_the_bounds() -> None:
    problem = bowls(A, B)
    x = np.array([[0.0, 0.0, 0.0], [1.0, 1.0, 1.0], [-5.0, 0.5, 7.0], [0.0, 1.0, 0.5]])
    refined = towards(problem, x, np.zeros(2), np.ones(2))
    np.testing.assert_allclose(refined.x, np.broadcast_to((A + B) / 2, x.shape), atol=1e-4)


def test_a_variable_whose_bounds_are_one() -> None:
    problem = replace(bowls(A, B), lower=np.array([0.0, 0.45, 0.0]), upper=np.array([1.0, 0.45, 1.0]))
    refined = towards(problem, starts(problem, 3), np.zeros(2), np.ones(2))
    assert (refined.x[:, 1] == 0.45).all()
    np.testing.assert_allclose(refined.x[:, 0], 0.5, atol=1e-4)


@pytest.mark.parametrize("hole", [np.nan, np.inf, 1e4])
def test_a_hole_is_kept_out_of(hole: float) -> None:
    """Nothing can be measured beyond x1 = 0.6, though the objective falls towards 1; a start there stays.

    The least value inside is 0.16; a start that runs head-on into the edge may stay there, better than it was.
    """

    def parts(x: Array) -> Array:
        rows = np.stack([(x[:, 0] - 1) ** 2 + x[:, 1] ** 2, x[:, 1] - 0.9], axis=1)
        return np.where(x[:, :1] > 0.6, hole, rows)

    problem = unit_box(parts, 2, 1, [0, 1])
    x = np.array([[0.1, 0.5], [0.55, 0.5], [0.9, 0.5]])
    refined = refine(problem, x, np.ones((3, 1)), np.zeros((3, 1)), steps=60)
    assert refined.ending[2] == Ending.UNMEASURABLE
    np.testing.assert_array_equal(refined.x[2], x[2])
    assert (refined.x[:2, 0] <= 0.6).all()
    assert refined.objectives[0, 0] == pytest.approx(0.16, abs=1e-3)
    assert refined.objectives[1, 0] < 0.45**2 + 0.5**2 - 0.05


def test_a_hole_is_no_way_out_of_a_large_miss() -> None:
    """A start that misses by 800,000 in scaled units must not take what cannot be measured for better."""

    def parts(x: Array) -> Array:
        return np.where(x > 0.6, np.nan, 1e6 * (0.9 - x))

    problem = PartsProblem(np.zeros(1), np.ones(1), 0, np.array([0]), parts)
    reached = reach(problem, np.array([[0.1], [0.5]]))
    assert (reached.x <= 0.6).all()
    np.testing.assert_allclose(reached.x, 0.6, atol=0.05)


def test_what_is_left_in_a_miss_is_brought_back() -> None:
    """One step from anywhere does not end in the bent ribbon; the refined point lies in it all the same."""
    problem = ribbon(1e-3)
    refined = refine(problem, starts(problem, 20), np.ones((20, 1)), np.zeros((20, 1)), steps=1)
    assert (refined.ending == Ending.UNFINISHED).all()
    assert (refined.violations <= 0.0).all()
    objectives, violations = problem.largest(problem.measure(refined.x))
    np.testing.assert_array_equal(refined.objectives, objectives)
    np.testing.assert_array_equal(refined.violations, violations)


def test_a_batch_is_its_points_one_by_one() -> None:
    problem = ribbon(1e-2, variables=5)
    x = np.concatenate([starts(problem, 7), problem.lower[None], problem.upper[None]])
    weights, shifts = np.ones((9, 1)), np.linspace(-0.1, 0.1, 9)[:, None]
    together = refine(problem, x, weights, shifts)
    alone = [refine(problem, x[k : k + 1], weights[k : k + 1], shifts[k : k + 1]) for k in range(9)]
    for field in fields(Refined):
        whole, pieces = getattr(together, field.name), [getattr(one, field.name) for one in alone]
        if field.name == "evaluations":
            assert whole == sum(pieces)
        else:
            np.testing.assert_allclose(whole, np.concatenate(pieces), rtol=1e-9, atol=1e-9, err_msg=field.name)


def test_no_starts() -> None:
    problem = ribbon(1e-2)
    none = refine(problem, np.zeros((0, 2)), np.zeros((0, 1)), np.zeros((0, 1)))
    assert none.x.shape == (0, 2)
    assert reach(problem, np.zeros((0, 2))).violations.shape == (0, 1)


def test_the_same_again_and_no_argument_changed(guard: Guard) -> None:
    problem = ribbon(1e-2)
    x, ones = starts(problem, 6), np.ones((6, 1))
    first, second = (guard(refine)(problem, x, ones, 0 * ones) for _ in range(2))
    assert isinstance(first, Refined)
    assert isinstance(second, Refined)
    assert first.x.tobytes() == second.x.tobytes()
    assert first.multipliers.tobytes() == second.multipliers.tobytes()


def test_a_program_without_an_answer_costs_the_start_its_box_and_nothing_else(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every third program is refused: the starts come to the same point all the same."""
    calls = iter(range(10**9))

    def moody(*args: Array) -> Minimum | None:
        return None if next(calls) % 3 == 0 else minimise(*args)

    monkeypatch.setattr(quadratic_programs, "minimise", moody)
    refined = towards(bowls(A, B), starts(bowls(A, B), 5), np.zeros(2), np.ones(2))
    np.testing.assert_allclose(refined.x, np.broadcast_to((A + B) / 2, refined.x.shape), atol=2e-3)


def test_no_program_has_an_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(quadratic_programs, "minimise", lambda *_: None)
    problem = bowls(A, B)
    x = starts(problem, 3)
    refined = towards(problem, x, np.zeros(2), np.ones(2))
    assert (refined.ending == Ending.STALLED).all()
    np.testing.assert_array_equal(refined.x, x)


def test_steps_that_run_out_say_so() -> None:
    problem = ribbon(1e-2)
    refined = refine(problem, starts(problem, 4), np.ones((4, 1)), np.zeros((4, 1)), steps=1)
    assert (refined.ending == Ending.UNFINISHED).any()
    assert (refined.steps <= 1).all()


def test_what_a_bound_costs_is_what_moving_it_gains() -> None:
    """x1 is wanted at 1.3, its bound is 1; the same bound moved by 0.01 and solved again gains what the price says."""

    def parts(x: Array) -> Array:
        return np.stack([(x[:, 0] - 1.3) ** 2 + (x[:, 1] - x[:, 0]) ** 2, 0.3 - x[:, 1] + 0.1 * x[:, 0]], axis=1)

    problem = unit_box(parts, 2, 1, [0, 1])
    wider = replace(problem, upper=np.array([1.01, 1.0]))
    x = starts(problem, 4)
    here, there = (towards(each, x, np.zeros(1), np.ones(1), 1e-10) for each in (problem, wider))
    gained = here.objectives[:, 0] - there.objectives[:, 0]
    np.testing.assert_allclose(0.01 * here.above[:, 0], gained, rtol=0.05)
    assert (here.below == 0.0).all()
    np.testing.assert_allclose(here.above[:, 0], 0.6, rtol=1e-3)


def test_what_a_held_goal_costs_is_what_letting_it_out_gains() -> None:
    def problem(limit: float) -> PartsProblem:
        def parts(x: Array) -> Array:
            return np.stack([((x - 0.9) ** 2).sum(axis=1), ((x - 0.2) ** 2).sum(axis=1) - limit], axis=1)

        return unit_box(parts, 3, 1, [0, 1])

    x = starts(problem(0.1), 4)
    here, there = (towards(problem(limit), x, np.zeros(1), np.full(1, 2.0), 1e-10) for limit in (0.1, 0.101))
    gained = (here.objectives[:, 0] - there.objectives[:, 0]) / 2.0
    np.testing.assert_allclose(0.001 * here.multipliers[:, 1], gained, rtol=0.05)


def test_the_box_of_a_step_is_no_bound_that_costs() -> None:
    """One step of at most 0.3 from 0.05 towards 0.95: nothing but the trust box holds it."""
    problem = bowls(np.array([0.95, 0.95]))
    refined = refine(problem, np.full((1, 2), 0.05), np.ones((1, 1)), np.zeros((1, 1)), steps=1)
    assert refined.ending[0] == Ending.UNFINISHED
    assert (refined.above == 0.0).all()
    assert (refined.below == 0.0).all()


def test_prices_balance_at_the_end() -> None:
    problem = ribbon(1e-2, variables=6)
    x = starts(problem, 5)
    refined = towards(problem, reach(problem, x).x, np.zeros(1), np.ones(1), 1e-10)
    left = steepest(problem, refined.x, refined.multipliers, refined.below, refined.above)
    np.testing.assert_allclose(left, 0.0, atol=1e-3)
    np.testing.assert_allclose(refined.multipliers[:, 0], 1.0, atol=1e-6)
