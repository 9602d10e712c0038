"""A car on uneven ground: what each wheel presses."""

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.vehicle.stance import WHEEL_MODES, ground_stiffness, stand
from objectives.vehicle.system import System, body_heights
from tests.cars import car, wheels

KERB = np.array([0.030, 0.0, 0.0, 0.0])


def balance(system: System, ground: Array) -> tuple[float, float, float]:
    """Sums of what the ground presses more: force, moment about y, moment about x."""
    force, at = stand(system, ground).force, wheels()
    return float(force.sum()), float(force @ at.x), float(force @ at.y)


@pytest.mark.parametrize("ground", list(np.vstack([KERB, [0.01, -0.02, 0.03, 0.004]])))
def test_the_ground_presses_no_more_in_all(ground: Array) -> None:
    assert balance(car(), ground) == pytest.approx((0, 0, 0), abs=1e-7)


def test_level_and_tilted_ground_is_followed() -> None:
    lifted = stand(car(), np.full(4, 0.02))
    assert lifted.body == pytest.approx([0.02, 0.0, 0.0], abs=1e-12)
    tilted = stand(car(), body_heights(wheels()) @ np.array([0.0, 0.01, -0.02]))
    assert tilted.body == pytest.approx([0.0, 0.01, -0.02], abs=1e-12)
    assert tilted.force == pytest.approx(np.zeros(4), abs=1e-7)


def test_a_kerb_under_the_front_left_wheel() -> None:
    slow = stand(car(), KERB)
    assert slow.body[0] > 0
    assert slow.body[1] < 0, "the nose goes up: pitch is positive nose down"
    assert slow.body[2] > 0, "the left side goes up"
    assert slow.force[0] > 0
    # Stiff all round: what remains of the kerb is its warp, a quarter of it on each wheel.
    assert pytest.approx(np.full(4, 0.0075)) == WHEEL_MODES @ KERB


def test_batches_of_ground_are_loops() -> None:
    ground = np.random.default_rng(3).normal(size=(3, 4, 4))
    whole = stand(car(), ground)
    for index in np.ndindex(3, 4):
        single = stand(car(), ground[index])
        np.testing.assert_allclose(whole.body[index], single.body, rtol=1e-9, atol=1e-15)
        np.testing.assert_allclose(whole.force[index], single.force, rtol=1e-9, atol=1e-6)


def test_warp_alone_presses() -> None:
    pressed = ground_stiffness(car())
    assert np.linalg.matrix_rank(pressed, tol=1e-6) == 1
    assert pressed[0] @ np.ones(4) == pytest.approx(0.0, abs=1e-6)
    # Scaled by arms, the pattern is that of warp: front against rear, left against right.
    pattern = np.sign(pressed[0])
    np.testing.assert_array_equal(pattern, [1, -1, -1, 1])
