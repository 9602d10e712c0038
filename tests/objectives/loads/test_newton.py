"""Two equations in two unknowns for a batch: smooth, kinked, without hold, without an answer."""

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.loads.newton import Equations, balance

NEAR = 1e-9


def springs(loads: Array, rates: Array, rise: float = 0.0) -> Equations:
    """Two springs by two wheels, (..., 2) each: k z + rise k z |z| = load."""

    def equations(z: Array) -> tuple[Array, Array]:
        miss = rates * (z + rise * z * np.abs(z)) - loads
        slope = np.zeros((*z.shape, 2))
        slope[..., [0, 1], [0, 1]] = rates * (1.0 + 2.0 * rise * np.abs(z))
        return miss, slope

    return equations


def test_a_batch_of_straight_springs_is_solved_exactly() -> None:
    loads = np.random.default_rng(3).uniform(-500, 900, (4, 3, 2))
    rates = np.random.default_rng(4).uniform(30, 200, (4, 3, 2))
    found = balance(springs(loads, rates), np.zeros((4, 3, 2)), np.full((4, 3), NEAR * 900))
    assert np.all(found.found)
    np.testing.assert_allclose(found.at, loads / rates, rtol=1e-9)


def test_members_do_not_depend_on_each_other() -> None:
    loads, rates = np.array([[10.0, 3000.0], [5000.0, -40.0], [0.0, 0.0]]), np.full((3, 2), 100.0)
    together = balance(springs(loads, rates, 0.02), np.zeros((3, 2)), np.full(3, 1e-6))
    for row in range(3):
        alone = balance(springs(loads[row], rates[row], 0.02), np.zeros(2), np.asarray(1e-6))
        np.testing.assert_array_equal(together.at[row], alone.at)


def test_a_stop_a_thousand_times_as_stiff_is_climbed() -> None:
    # 100 N/mm, and from 20 mm on 1e5 N/mm more: 12 kN press the stop by some 0.1 mm. Plain steps jump to and fro.
    def equations(z: Array) -> tuple[Array, Array]:
        beyond = np.maximum(z - 20.0, 0.0)
        miss = 100.0 * z + 1e5 * beyond - 12e3
        slope = np.zeros((*z.shape, 2))
        slope[..., [0, 1], [0, 1]] = 100.0 + 1e5 * (z >= 20.0)
        return miss, slope

    found = balance(equations, np.zeros((1, 2)), np.full(1, NEAR * 12e3))
    assert found.found.all()
    np.testing.assert_allclose(found.at, 20.0 + 10e3 / 100100.0, rtol=1e-12)


def test_a_direction_without_hold_stays_where_it_is() -> None:
    # One spring across both, nothing against each other: the sum moves, the difference does not.
    def equations(z: Array) -> tuple[Array, Array]:
        force = 80.0 * (z[..., 0] + z[..., 1]) - 1600.0
        return np.stack([force, force], axis=-1), np.broadcast_to(np.full((2, 2), 80.0), (*z.shape, 2))

    found = balance(equations, np.zeros((1, 2)), np.full(1, 1e-6))
    assert found.found.all()
    np.testing.assert_allclose(found.at, 10.0, rtol=1e-9)


def test_no_state_where_it_balances_is_said() -> None:
    # Beyond 30 mm there is no state; 100 N/mm would need 50.
    def equations(z: Array) -> tuple[Array, Array]:
        miss, slope = springs(np.array([5000.0, 0.0]), np.full(2, 100.0))(z)
        gone = np.any(np.abs(z) > 30.0, axis=-1)
        return np.where(gone[..., None], np.nan, miss), np.where(gone[..., None, None], np.nan, slope)

    found = balance(equations, np.zeros((1, 2)), np.full(1, 1e-6))
    assert not found.found.any()
    assert np.all(np.isfinite(found.at))
    assert found.at[0, 0] > 29


def test_a_start_that_is_no_state_is_not_found() -> None:
    def equations(z: Array) -> tuple[Array, Array]:
        return np.full(z.shape, np.nan), np.full((*z.shape, 2), np.nan)

    found = balance(equations, np.zeros((2, 2)), np.full(2, 1.0))
    assert not found.found.any()
    np.testing.assert_array_equal(found.at, 0.0)


@pytest.mark.parametrize("shape", [(), (0,), (2, 3)])
def test_any_batch_shape(shape: tuple[int, ...]) -> None:
    found = balance(springs(np.array([300.0, -200.0]), np.full(2, 50.0)), np.zeros((*shape, 2)), np.full(shape, 1e-6))
    assert found.at.shape == (*shape, 2)
    assert found.found.shape == shape
    np.testing.assert_allclose(found.at, np.broadcast_to([6.0, -4.0], (*shape, 2)), rtol=1e-9)


def test_a_balance_on_a_crest_does_not_last() -> None:
    # The second unknown is level at 0 but its potential falls to both sides: no state of rest.
    def equations(z: Array) -> tuple[Array, Array]:
        miss = np.stack([100.0 * z[..., 0] - 500.0, -40.0 * z[..., 1]], axis=-1)
        return miss, np.broadcast_to(np.diag([100.0, -40.0]), (*z.shape, 2))

    assert not balance(equations, np.zeros((1, 2)), np.full(1, 1e-6)).found.any()
