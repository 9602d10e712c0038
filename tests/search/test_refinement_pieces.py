"""What refinement is made of: derivatives, curvature, single programs and many."""

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, minimize

from geometry.arrays import Array
from objectives.goals import FAILED
from optimiser.search.curvature import updated
from optimiser.search.derivatives import derivatives
from optimiser.search.parts import PartsProblem, unmeasured
from optimiser.search.quadratic import minimise
from optimiser.search.steps import Rows, best_steps
from tests.smooth import bowls

FREE, NONE = np.full(3, np.inf), np.full(12, np.inf)


def random_program(seed: int) -> tuple[Array, Array, Array, Array, Array, Array]:
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(3, 3))
    limits = rng.uniform(0.05, 0.5, 12)
    return root @ root.T + np.eye(3), 3 * rng.normal(size=3), rng.normal(size=(12, 3)), limits, -FREE, FREE


@pytest.mark.parametrize("seed", range(8))
def test_a_program_beside_slsqp_and_its_conditions(seed: int) -> None:
    hessian, gradient, rows, limits, lower, upper = random_program(seed)
    found = minimise(hessian, gradient, rows, np.concatenate([lower, -NONE]), np.concatenate([upper, limits]))
    assert found is not None

    def value(x: Array) -> float:
        return float(0.5 * x @ hessian @ x + gradient @ x)

    below = LinearConstraint(rows, -np.inf, limits)
    other = minimize(value, np.zeros(3), method="SLSQP", constraints=[below], options={"ftol": 1e-14})
    np.testing.assert_allclose(found.x, other.x, atol=1e-5)
    prices = found.prices[len(gradient) :]
    assert (prices >= 0.0).all()
    np.testing.assert_allclose(hessian @ found.x + gradient + prices @ rows, 0.0, atol=1e-9)
    np.testing.assert_allclose(prices * (limits - rows @ found.x), 0.0, atol=1e-9)


def test_the_signs_of_bounds() -> None:
    found = minimise(np.eye(2), np.array([1.0, -3.0]), np.zeros((0, 2)), np.full(2, -0.3), np.full(2, 0.4))
    assert found is not None
    np.testing.assert_allclose(found.x, [-0.3, 0.4])
    np.testing.assert_allclose(found.prices, [-0.7, 2.6])


def test_a_program_that_nothing_meets_has_no_answer() -> None:
    one = np.ones((1, 2))
    assert minimise(np.eye(2), np.zeros(2), one, np.array([-1.0, -1.0, -np.inf]), np.array([1.0, 1.0, -5.0])) is None


def test_a_program_of_numbers_that_are_none_has_no_answer() -> None:
    none = np.full((2, 2), np.nan)
    assert minimise(none, np.zeros(2), np.ones((1, 2)), np.full(3, -1.0), np.full(3, 1.0)) is None


def test_steps_ask_the_rows_that_they_were_not_asked_too() -> None:
    """A row far below the others, but steep: it is not near where nothing moves, and holds where the step ends."""
    slopes = np.array([[[-1.0, 0.0, -1.0, 0.0], [9.0, 0.0, -1.0, 0.0], [0.0, 0.0, 0.0, -1.0]]])
    g = np.array([[0.0, -0.9, -5.0]])
    rows = Rows(np.zeros((1, 3)), np.array([[1.0, 1.0, 0.0]]), minimax=True)
    box = np.full((1, 2), 0.5)
    found = best_steps(rows, g, slopes, 1e-6 * np.eye(2)[None], np.ones(1), -box, box)
    np.testing.assert_allclose(found.step, [[0.09, 0.0]], atol=1e-6)
    np.testing.assert_allclose(found.rows[0, :2], [0.9, 0.1], atol=1e-3)


def test_levels() -> None:
    rows = Rows(np.zeros((2, 3)), np.array([[2.0, 1.0, 0.0], [0.0, 0.0, 0.0]]), minimax=True)
    t, e = rows.level(np.array([[3.0, 1.0, -1.0], [-1.0, 0.5, 0.25]]))
    np.testing.assert_array_equal(t, [1.5, 0.0])
    np.testing.assert_array_equal(e, [0.0, 0.5])


@pytest.mark.parametrize("u", [0.0, 0.3, 1.0])
def test_derivatives_of_a_bowl_inside_and_at_the_bounds(u: float) -> None:
    centre = np.array([0.2, 0.6])
    problem = bowls(centre)
    point = np.full((4, 2), u)
    slopes = derivatives(problem.measure, point, problem.measure(point))
    np.testing.assert_allclose(slopes[:, 0, :], 2 * (point - centre), atol=2e-6)


def test_derivatives_never_look_outside_the_box() -> None:
    seen: list[Array] = []

    def measure(u: Array) -> Array:
        seen.append(u)
        return np.asarray(u.sum(axis=1, keepdims=True))

    corners = np.array([[0.0, 0.0], [1.0, 1.0], [1.0, 0.0]])
    np.testing.assert_allclose(derivatives(measure, corners, measure(corners)), 1.0, atol=1e-6)
    assert all(((u >= 0.0) & (u <= 1.0)).all() for u in seen)
    assert len(seen) == 2, "one call for all the points, and the one above for where they are"


def test_derivatives_beside_a_hole_come_from_the_other_side_and_are_nothing_in_a_crack() -> None:
    def measure(u: Array) -> Array:
        hole = (u[:, :1] > 0.5) | (u[:, 1:] != 0.5)
        return np.where(hole, FAILED, 3.0 * u[:, :1] + 7.0 * u[:, 1:])

    point = np.array([[0.5, 0.5]])
    np.testing.assert_allclose(derivatives(measure, point, measure(point)), [[[3.0, 0.0]]], atol=1e-6)


def test_curvature_takes_up_what_a_step_shows() -> None:
    """B s = y after an undamped update, B stays symmetric and positive definite after a damped one, which
    takes Powell's fifth of the curvature."""
    rng = np.random.default_rng(4)
    old = np.tile(np.eye(3), (5, 1, 1))
    step = rng.normal(size=(5, 3))
    turned = 2.0 * step + 0.1 * rng.normal(size=(5, 3))
    new = updated(old, step, turned, np.zeros(5, np.bool_))
    np.testing.assert_allclose((new @ step[:, :, None])[:, :, 0], turned, atol=1e-12)
    bent = updated(old, step, -turned, np.zeros(5, np.bool_))
    assert (np.linalg.eigvalsh(bent) > 0.0).all()
    np.testing.assert_allclose(np.einsum("ni,nij,nj->n", step, bent, step), 0.2 * (step**2).sum(axis=1))
    np.testing.assert_allclose(bent, bent.transpose(0, 2, 1), atol=1e-12)


def test_curvature_learns_nothing_from_a_step_of_nothing() -> None:
    old = np.tile(0.5 * np.eye(2), (2, 1, 1))
    np.testing.assert_array_equal(updated(old, np.zeros((2, 2)), np.ones((2, 2)), np.ones(2, np.bool_)), old)


def test_an_objective_without_a_part_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a part"):
        PartsProblem(np.zeros(1), np.ones(1), 2, np.array([0, 2]), lambda x: np.tile(x, 2))


def test_what_could_not_be_measured_and_what_is_merely_large() -> None:
    problem = PartsProblem(
        np.zeros(1), np.ones(1), 1, np.array([0, 1]), lambda _: np.array([[np.nan, 0.0], [5e4, 2.0]])
    )
    parts = problem.measure(np.zeros((2, 1)))
    np.testing.assert_array_equal(unmeasured(parts), [True, False])
    np.testing.assert_array_equal(problem.largest(parts)[0], [[FAILED], [5e4]])
