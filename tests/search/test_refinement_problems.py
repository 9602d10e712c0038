"""Refinement on published problems, and beside scipy's SLSQP."""

import numpy as np
import pytest
from scipy.optimize import Bounds, NonlinearConstraint, minimize

from geometry.arrays import Array
from optimiser.search.parts import PartsProblem
from optimiser.search.refinement import Refined, reach, refine
from optimiser.search.sqp import Ending
from tests.problems import bnh, dtlz2, osy, tnk, tnk_front
from tests.smooth import of_problem, steepest, welded_beam


def spread(problem: PartsProblem, count: int, seed: int = 3) -> Array:
    return np.random.default_rng(seed).uniform(problem.lower, problem.upper, (count, len(problem.lower)))


def towards(problem: PartsProblem, x: Array, target: Array, weights: Array, tolerance: float = 1e-7) -> Refined:
    """Refined from x so that t counts from `target`, wherever x is."""
    shifts = target - problem.largest(problem.measure(x))[0]
    return refine(problem, x, np.broadcast_to(weights, shifts.shape), shifts, steps=60, tolerance=tolerance)


def reached_by_slsqp(problem: PartsProblem, start: Array, target: Array, weights: Array) -> tuple[float, bool]:
    """t and whether SLSQP calls it a success, from one start, in (u, t)."""
    span = problem.upper - problem.lower
    w = np.concatenate([weights, np.zeros(problem.held)])[problem.owner]
    offset = np.concatenate([target, np.zeros(problem.held)])[problem.owner]

    def left(point: Array) -> Array:
        return np.asarray(w * point[-1] + offset - problem.parts((problem.lower + point[:-1] * span)[None])[0])

    def level(point: Array) -> float:
        return float(point[-1])

    begun: Array = np.concatenate([(start - problem.lower) / span, np.zeros(1)])
    box = Bounds(np.append(np.zeros(len(span)), -np.inf), np.append(np.ones(len(span)), np.inf))
    rows = NonlinearConstraint(left, 0.0, np.inf)
    found = minimize(level, begun, method="SLSQP", bounds=box, constraints=[rows])
    return float(found.x[-1]), bool(found.success)


def test_the_welded_beam_from_everywhere() -> None:
    """1.724852 (Cagnina et al. 2008), from each of 40 random starts, at the published point."""
    problem = welded_beam()
    refined = towards(problem, spread(problem, 40), np.zeros(1), np.ones(1))
    assert (refined.violations <= 0.0).all()
    np.testing.assert_allclose(refined.objectives[:, 0], 1.724852, atol=2e-4)
    best = refined.x[refined.objectives[:, 0].argmin()]
    np.testing.assert_allclose(best, [0.205730, 3.470489, 9.036624, 0.205729], rtol=2e-3)


def test_the_welded_beam_is_balanced_at_its_optimum() -> None:
    """The cost's gradient is a non-negative combination of those of what holds it (Karush, Kuhn and Tucker)."""
    problem = welded_beam()
    refined = towards(problem, spread(problem, 5), np.zeros(1), np.ones(1), tolerance=1e-10)
    assert (refined.multipliers >= 0.0).all()
    left = steepest(problem, refined.x, refined.multipliers, refined.below, refined.above)
    np.testing.assert_allclose(left, 0.0, atol=2e-2)


def test_the_ends_of_bnh_lie_on_its_known_front() -> None:
    """x = y up to 3, then y = 3 (Deb 2001)."""
    problem = of_problem(bnh())
    x = spread(problem, 40)
    weights = np.random.default_rng(5).uniform(0.1, 1.0, (40, 2)) * np.array([136.0, 46.0])
    refined = refine(problem, reach(problem, x).x, weights, np.zeros((40, 2)), steps=40, tolerance=1e-8)
    assert (refined.violations <= 0.0).all()
    np.testing.assert_allclose(refined.x[:, 1], np.minimum(refined.x[:, 0], 3.0), atol=5e-3)


def test_the_corners_of_osy() -> None:
    """Each objective alone, the other let go: (-274, 76) and (-42, 4) (Deb 2001) are the best of 60 starts."""
    problem = of_problem(osy())
    x = reach(problem, spread(problem, 60)).x
    for first, second, weights in ((-274.0, 76.0, [274.0, 0.0]), (-42.0, 4.0, [0.0, 76.0])):
        target = np.where(np.array(weights) > 0, [first, second], 1e3)
        refined = towards(problem, x, target, np.array(weights), tolerance=1e-8)
        met = (refined.violations <= 0.0).all(axis=1)
        assert met.mean() > 0.9
        own = int(np.argmax(weights))
        best = refined.objectives[met][:, own].min()
        assert best == pytest.approx((first, second)[own], abs=0.05)


def test_no_end_of_tnk_beats_its_front_and_the_best_lie_on_it() -> None:
    """A start may be caught where the wavy constraint has a smallest miss of its own; few are."""
    problem, front = of_problem(tnk()), tnk_front(20001)
    x = reach(problem, spread(problem, 40)).x
    for weights in (np.array([1.0, 1.0]), np.array([1.0, 3.0])):
        refined = towards(problem, x, np.zeros(2), weights)
        met = (refined.violations <= 0.0).all(axis=1)
        assert met.mean() >= 0.95
        expected = (front / weights).max(axis=1).min()
        t = (refined.objectives[met] / weights).max(axis=1)
        assert t.min() == pytest.approx(expected, abs=1e-3)
        assert t.min() > expected - 1e-6


def test_dtlz2_ends_on_the_sphere() -> None:
    """At the point that the weights name: f = w / |w|."""
    problem = of_problem(dtlz2(3, 12))
    weights = np.random.default_rng(2).uniform(0.2, 1.0, (30, 3))
    x = spread(problem, 30)
    refined = towards(problem, x, np.zeros(3), weights)
    np.testing.assert_allclose(refined.objectives, weights / np.linalg.norm(weights, axis=1)[:, None], atol=1e-3)


@pytest.mark.parametrize("name", ["welded beam", "bnh", "osy"])
def test_no_worse_than_slsqp(name: str) -> None:
    """Wherever SLSQP says that it succeeded, the refinement is as good from the same start or from another."""
    weights, target = np.ones(2), np.zeros(2)
    if name == "welded beam":
        problem, weights, target = welded_beam(), np.ones(1), np.zeros(1)
    elif name == "bnh":
        problem, weights = of_problem(bnh()), np.array([100.0, 50.0])
    else:
        problem, weights, target = of_problem(osy()), np.array([200.0, 70.0]), np.array([-274.0, 4.0])
    x = reach(problem, spread(problem, 8)).x
    refined = towards(problem, x, target, weights)
    own = ((refined.objectives - target) / weights).max(axis=1)
    others = [reached_by_slsqp(problem, start, target, weights) for start in x]
    assert any(success for _, success in others)
    assert own.min() <= min(t for t, success in others if success) + 1e-3
    assert np.median(own) <= np.median([t for t, success in others if success]) + 1e-3


def test_most_random_starts_of_each_problem_reach_what_is_held_and_converge() -> None:
    for problem in (of_problem(bnh()), of_problem(osy()), of_problem(tnk()), welded_beam()):
        reached = reach(problem, spread(problem, 100))
        assert (reached.violations <= 0.0).all(axis=1).mean() >= 0.95
        ones = np.ones((100, problem.objectives))
        refined = refine(problem, reached.x, ones, 0.0 * ones)
        assert (refined.violations <= 0.0).all(axis=1).mean() >= 0.95
        assert (refined.ending == Ending.CONVERGED).mean() >= 0.9
