"""Forces of links and rod: they balance on the whole side, and do the work that the motion says."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array, cross, dot, unit
from geometry.axle import Axle
from geometry.motion import Motion, move
from geometry.travel import AxleStates
from objectives.loads.footing import footing
from objectives.loads.pose import SidePose, side_pose
from objectives.loads.upright import UprightForces, Wrench, hold_upright, wheel_wrench
from tests.axles import KINDS, front, front_on_link, rear, travel_of
from tests.batches import pick, scatter

FORCES = np.array([[0.0, 0.0, 2240.0], [0.0, 0.0, 7845.0], [-6000.0, 0.0, 5000.0], [900.0, -6500.0, 5200.0]])
"""Of the ground on the contact point [N]: standing, kerb, braking, cornering."""
BALANCED = 1e-9
"""Forces balance to this share of the largest, as do the moments at a lever of 300 mm."""


def side_of(axle: Axle) -> Motion:
    low, high = travel_of(axle).wheel
    z = np.array([low, 0.0, 0.6 * high, high])
    return move(axle, AxleStates(z, z, np.zeros_like(z)))


def pose_of(axle: Axle) -> SidePose:
    motion = side_of(axle)
    return side_pose(motion.side, motion.pairs.left)


def held(pose: SidePose, inboard: bool = False) -> tuple[Wrench, UprightForces]:
    """Every force at every state: forces stand before the states."""
    wrench = wheel_wrench(pose, FORCES[:, None, :], np.asarray(float(inboard)))
    return wrench, hold_upright(pose, footing(pose), wrench)


def on_chassis(pose: SidePose, forces: UprightForces) -> Array:
    """Force of each link on the chassis (..., 5, 3)."""
    pull = forces.tension[..., None] * unit(pose.outboard - pose.inboard)
    return np.asarray(pull + forces.rod[..., None, None] * footing(pose).aside)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("inboard", [False, True])
def test_links_rod_and_ground_balance_on_the_whole_side(kind: str, inboard: bool) -> None:
    # Cut at the chassis and at the rod's inboard end: what the ground brings in goes out there and by the shaft.
    pose = pose_of(KINDS[kind]())
    wrench, forces = held(pose, inboard)
    links, rod = on_chassis(pose, forces), -forces.rod[..., None] * pose.rod
    force = links.sum(axis=-2) + rod
    moment = cross(pose.inboard, links).sum(axis=-2) + cross(pose.rod_inboard, rod)
    moment = moment + wrench.shaft[..., None] * pose.spin_axis
    ground = np.broadcast_to(FORCES[:, None, :], force.shape)
    largest = np.abs(forces.outer).max()
    np.testing.assert_allclose(force, ground, rtol=0, atol=BALANCED * largest)
    np.testing.assert_allclose(moment, cross(pose.contact, ground), rtol=0, atol=BALANCED * largest * 300)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("inboard", [False, True])
def test_the_rod_does_the_work_of_the_wheel(kind: str, inboard: bool) -> None:
    # Virtual work, the rocker held: N dL/dz = -(F . dp/dz + M . w), L from the rod's inboard end to its moving eye.
    axle = KINDS[kind]()
    motion, pose = side_of(axle), pose_of(axle)
    wrench, forces = held(pose, inboard)
    step, index = 1e-3, motion.pairs.left
    z = motion.side.tree.travel[index]
    near = [_eye(axle, z + n * step) for n in (-2, -1, 1, 2)]
    lengths = [np.linalg.norm(eye - pose.rod_inboard, axis=-1) for eye in near]
    slope = (lengths[0] - 8 * lengths[1] + 8 * lengths[2] - lengths[3]) / (12 * step)
    twist = motion.side.upright.rate[index, :, 0]
    work = dot(wrench.force, np.broadcast_to(twist[:, :3], wrench.moment.shape))
    work = work + dot(wrench.moment, np.broadcast_to(twist[:, 3:], wrench.moment.shape))
    np.testing.assert_allclose((forces.rod * slope) / -work, 1.0, rtol=0, atol=1e-9)


def _eye(axle: Axle, z: Array) -> Array:
    return move(axle, AxleStates(z, z, np.zeros_like(z))).rod_outboard


def test_a_rod_on_the_upright_leaves_every_link_one_force() -> None:
    pose = pose_of(front())
    forces = held(pose)[1]
    np.testing.assert_array_equal(forces.outer, forces.tension)
    assert np.all(footing(pose).bending == 0)


def test_signs_of_a_standing_wheel() -> None:
    # A pushrod is pressed, and pushes the lower links out: common sense of a standing car.
    forces = held(pose_of(front()))[1]
    assert forces.rod[0, 0] > 2240
    pulled = held(pose_of(KINDS["two wishbones, rod on the upper, pulling"]()))[1]
    assert pulled.rod[0, 0] < -2240


def test_a_link_under_the_rod_bends_like_a_beam() -> None:
    # A beam on two supports with one force across it: reactions F b / L and F a / L, largest moment F a b / L.
    axle = front_on_link()
    pose = pose_of(axle)
    stands, place = footing(pose), pose.carriers[0]
    inner, outer = pose.inboard[..., place, :], pose.outboard[..., place, :]
    a, b = np.linalg.norm(pose.eye - inner, axis=-1), np.linalg.norm(outer - pose.eye, axis=-1)
    along = unit(outer - inner)
    across = np.linalg.norm(np.cross(along, pose.rod), axis=-1)
    np.testing.assert_allclose(stands.bending[..., place], across * a * b / (a + b), rtol=1e-12)
    np.testing.assert_allclose(np.linalg.norm(stands.force, axis=-1), across * a / (a + b), rtol=1e-12)
    at_chassis = np.linalg.norm(stands.aside[..., place, :], axis=-1)
    np.testing.assert_allclose(at_chassis, across * b / (a + b), rtol=1e-12)
    np.testing.assert_allclose(stands.tension[..., place], dot(along, pose.rod), rtol=0, atol=1e-12)
    assert stands.bending[..., place].min() > 10


def test_a_wishbone_under_the_rod_balances_by_itself() -> None:
    # Its joint, the rod and its two inboard joints: six sums on the wishbone alone.
    pose = pose_of(rear())
    forces = held(pose)[1]
    stands, pair = footing(pose), list(pose.carriers)
    lines = unit(pose.inboard - pose.outboard)
    joint = (forces.outer[..., None] * lines)[..., pair, :].sum(axis=-2) + forces.rod[..., None] * stands.force
    rod = forces.rod[..., None] * pose.rod
    chassis = -on_chassis(pose, forces)[..., pair, :]
    point, ends = pose.outboard[..., pair[0], :], pose.inboard[..., pair, :]
    force = -joint + rod + chassis.sum(axis=-2)
    moment = cross(point, -joint) + cross(pose.eye, rod) + cross(ends, chassis).sum(axis=-2)
    np.testing.assert_allclose(force, 0.0, rtol=0, atol=1e-8)
    np.testing.assert_allclose(moment, 0.0, rtol=0, atol=1e-6)


def test_a_wishbone_with_the_rod_at_its_joint_is_two_plain_links() -> None:
    # Then nothing bends, and the two tensions are those of the system alone.
    axle = rear()
    joint = axle.links["lower_front"].outboard
    moved = Axle(axle.wheel, axle.links, type(axle.rod)(joint, axle.rod.carried_by), axle.rocker, axle.elements)
    pose = pose_of(moved)
    stands, pair = footing(pose), list(pose.carriers)
    ends = stands.aside[..., pair, :]
    np.testing.assert_allclose(ends, 0.0, rtol=0, atol=1e-12)
    in_plane = (stands.tension[..., None] * unit(pose.inboard - pose.outboard)).sum(axis=-2)
    np.testing.assert_allclose(in_plane + pose.rod, stands.force, rtol=0, atol=1e-12)


def test_a_shaft_takes_the_braking_moment_alone() -> None:
    # Inboard brake: the force acts as if at the wheel centre but for the moments of its other parts; none is lost.
    pose = pose_of(front())
    at_upright, by_shaft = (wheel_wrench(pose, FORCES[2], np.asarray(flag)) for flag in (0.0, 1.0))
    np.testing.assert_array_equal(at_upright.shaft, 0.0)
    np.testing.assert_allclose(by_shaft.shaft, dot(at_upright.moment, pose.spin_axis), rtol=1e-15)
    assert np.all(np.abs(by_shaft.shaft) > 6000 * 330)
    np.testing.assert_allclose(dot(by_shaft.moment, pose.spin_axis), 0.0, atol=1e-7)


def test_links_that_cannot_hold_the_wheel_give_nan_and_leave_the_others() -> None:
    pose = pose_of(front())
    inboard, outboard = (np.array(np.broadcast_to(ends, pose.outboard.shape)) for ends in (pose.inboard, pose.outboard))
    inboard[0, 1], outboard[0, 1] = inboard[0, 0], outboard[0, 0]
    broken = replace(pose, inboard=inboard, outboard=outboard)
    forces = held(broken)[1]
    whole = held(pose)[1]
    assert np.all(np.isnan(forces.rod[:, 0]))
    np.testing.assert_array_equal(forces.rod[:, 1:], whole.rod[:, 1:])


@pytest.mark.parametrize("kind", ["two wishbones, rod on the lower", "five split links, rod on one link"])
@pytest.mark.parametrize("shape", [(), (5,), (2, 3), (0,)])
def test_a_batch_equals_its_members_one_by_one(kind: str, shape: tuple[int, ...]) -> None:
    axles = scatter(KINDS[kind](), shape, links=True)
    force = FORCES[3]

    def forces_of(axle: Axle) -> UprightForces:
        pose = pose_of(axle)
        return hold_upright(pose, footing(pose), wheel_wrench(pose, force, np.zeros(())))

    together = forces_of(axles)
    assert together.rod.shape[:-1] == shape
    for index in np.ndindex(shape):
        alone = forces_of(pick(axles, index, shape))
        np.testing.assert_allclose(together.tension[index], alone.tension, rtol=1e-9)
        np.testing.assert_allclose(together.rod[index], alone.rod, rtol=1e-9)
