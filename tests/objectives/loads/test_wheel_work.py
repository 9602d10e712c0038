"""The ground's force as wheel travel feels it, and how that changes."""

import numpy as np
import pytest

from geometry.arrays import Array, Flags, dot
from geometry.axle import Axle
from geometry.motion import Motion, move
from geometry.travel import AxleStates
from geometry.upright_curve import curve_upright
from objectives.loads.wheel_work import WheelWork, wheel_work
from tests.axles import KINDS, travel_of

FORCE = np.array([-6000.0, -2500.0, 5000.0])


def work_at(motion: Motion, force: Array, inboard: Flags) -> WheelWork:
    side = motion.side
    return wheel_work(
        side.axle.wheel, curve_upright(side.axle.links, side.upright, side.tree, motion.pairs.left), force, inboard
    )


def at(axle: Axle, z: float, inboard: bool) -> WheelWork:
    motion = move(axle, AxleStates(np.array([z]), np.zeros(1), np.zeros(1)))
    return work_at(motion, FORCE[None], np.array([inboard]))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("inboard", [False, True])
def test_it_is_the_force_on_the_contact_points_velocity(kind: str, inboard: bool) -> None:
    axle = KINDS[kind]()
    z = np.linspace(*travel_of(axle).wheel, 7)
    motion = move(axle, AxleStates(z, z, np.zeros(7)))
    work = work_at(motion, np.broadcast_to(FORCE, (7, 3)), np.full(7, inboard))
    velocity = motion.contact.rolling if inboard else motion.contact.locked
    np.testing.assert_allclose(work.force, dot(np.broadcast_to(FORCE, velocity.shape), velocity), rtol=1e-12)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("inboard", [False, True])
def test_its_slope_is_its_derivative(kind: str, inboard: bool) -> None:
    axle, step = KINDS[kind](), 0.5
    for z in (-30.0, 0.0, 35.0):
        near = [float(at(axle, z + n * step, inboard).force[0]) for n in (-2, -1, 1, 2)]
        slope = (near[0] - 8 * near[1] + 8 * near[2] - near[3]) / (12 * step)
        assert at(axle, z, inboard).slope[0] == pytest.approx(slope, abs=1e-6)


def test_a_vertical_force_is_felt_by_nearly_all_of_its_size() -> None:
    motion = move(KINDS["five split links, rod on the upright"](), AxleStates(*np.zeros((3, 1))))
    work = work_at(motion, np.array([[0.0, 0.0, 1000.0]]), np.array([False]))
    assert work.force[0] == pytest.approx(1000.0, rel=0.02)
