"""The rocker's bearing and what elements do to rockers: virtual work, moments, mirror symmetry."""

from collections.abc import Callable
from itertools import product

import numpy as np
import pytest

from geometry.arrays import MIRROR_Y, Array, cross, dot, norm, unit
from geometry.axle import AntiRollBar, Axle, TorsionBar
from geometry.motion import Motion, move
from geometry.travel import AxleStates
from objectives.loads.pose import SidePose, side_pose
from objectives.loads.pushes import TwoPushes, element_pushes
from objectives.loads.rocker import Push, hold_rocker
from tests.axles import KINDS, front, front_corner, front_tilted, rear, with_bars

STATES = AxleStates(np.array([0.0, 20.0, 31.0, -25.0]), np.array([0.0, 20.0, -12.0, 18.0]), np.zeros(4))
LEFT = np.array([4077.0, 3000.0, -1200.0, 6500.0])
RIGHT = np.array([1900.0, 800.0, 2500.0, -700.0])
"""Forces of the elements [N], or their moments [N.mm]; `RIGHT` where there is one on each side."""
AXLES: dict[str, Callable[[], Axle]] = {
    "front": lambda: with_bars(front()),
    "rear": lambda: with_bars(rear()),
    "tilted": lambda: with_bars(front_tilted()),
    "corner": lambda: with_bars(front_corner()),
}
EACH = [(kind, name) for kind in AXLES for name in AXLES[kind]().elements]


def poses(motion: Motion) -> tuple[SidePose, SidePose]:
    left, right = (side_pose(motion.side, index) for index in (motion.pairs.left, motion.pairs.right))
    return left, right


def pushes(motion: Motion, name: str) -> TwoPushes:
    return element_pushes(motion.side, name, motion.pairs, LEFT, RIGHT)


@pytest.mark.parametrize(("kind", "name"), EACH)
def test_an_element_turns_the_rockers_as_its_energy_says(kind: str, name: str) -> None:
    # Virtual work: moment about the axis times the rocker's rate = -F dc/dz. A side's own element, where there is one
    # on each side, is seen by swapping the wheels.
    motion = move(AXLES[kind](), STATES)
    squeeze, rate = motion.squeeze(name), motion.side.closing.rate[..., 0]
    swapped = Motion(motion.side, type(motion.pairs)(motion.pairs.right, motion.pairs.left)).squeeze(name)
    one_a_side = name in ("torsion", "corner")
    expected_left = -LEFT * squeeze.by_left
    expected_right = -RIGHT * swapped.by_left if one_a_side else -LEFT * squeeze.by_right
    both = pushes(motion, name)
    for pose, push, index, expected in (
        (poses(motion)[0], both.left, motion.pairs.left, expected_left),
        (poses(motion)[1], both.right, motion.pairs.right, expected_right),
    ):
        turned = hold_rocker(pose, np.zeros(4), [push]).unbalanced * rate[index]
        np.testing.assert_allclose(turned, expected, rtol=0, atol=1e-9 * 6500)
        assert np.abs(expected).max() > 1


@pytest.mark.parametrize("kind", AXLES)
def test_the_bearing_carries_what_lengths_say(kind: str) -> None:
    # Virtual work on a rocker shifted by e, the wheel and all else held: R . e = N dL_rod + sum of S dL, with the drop
    # link's force from the arm's balance. Differences of fourth order on the exact lengths.
    motion = move(AXLES[kind](), STATES)
    pose, rod = poses(motion)[0], np.array([7000.0, -500.0, 3000.0, 11000.0])
    acting = [pushes(motion, name).left for name in motion.side.axle.elements]
    found = hold_rocker(pose, rod, acting)
    largest = np.abs(rod).max()
    for direction in np.eye(3):
        expected = rod * _slope(pose.rod_inboard, pose.eye, direction)
        for push in acting:
            size = dot(push.force, unit(push.point - push.far)) if np.any(push.force) else np.zeros(4)
            expected = expected + size * _slope(push.point, np.broadcast_to(push.far, push.point.shape), direction)
        np.testing.assert_allclose(dot(found.force, direction), expected, rtol=0, atol=1e-9 * largest)


def _slope(end: Array, other: Array, direction: Array) -> Array:
    """d|end + t direction - other| / dt at t = 0; 0 where the ends are one."""
    step = 0.05
    far, near = ([norm(end + sign * by * direction - other) for sign in (1, -1)] for by in (2 * step, step))
    slope = (8 * (near[0] - near[1]) - (far[0] - far[1])) / (12 * step)
    return np.asarray(slope)


def test_an_anti_roll_bar_balances_on_its_bearings() -> None:
    # Both drop links press the two arms; about the bar itself their moments cancel, whatever the state.
    motion = move(AXLES["front"](), STATES)
    bar, both = motion.side.axle.elements["anti_roll"], pushes(motion, "anti_roll")
    assert isinstance(bar, AntiRollBar)
    left = cross(both.left.far - bar.pivot, -both.left.force)
    right = cross(both.right.far * MIRROR_Y - bar.pivot * MIRROR_Y, -both.right.force * MIRROR_Y)
    np.testing.assert_allclose((left + right)[:, 1], 0.0, rtol=0, atol=1e-9 * 6500)
    np.testing.assert_allclose(np.abs(left[:, 1]), np.abs(LEFT), rtol=1e-12)


def test_a_bar_wound_by_roll_presses_the_outer_wheel_down() -> None:
    # Twist is positive for r > 0, left wheel in bump, and the bar's moment then works against the left wheel's bump.
    motion = move(AXLES["front"](), STATES)
    rate = motion.side.closing.rate[..., 0]
    both = element_pushes(motion.side, "anti_roll", motion.pairs, np.full(4, 1e5), np.zeros(4))
    left, right = poses(motion)
    on_left = hold_rocker(left, np.zeros(4), [both.left]).unbalanced * rate[motion.pairs.left]
    on_right = hold_rocker(right, np.zeros(4), [both.right]).unbalanced * rate[motion.pairs.right]
    assert np.all(on_left < 0)
    assert np.all(on_right > 0)


def test_a_torsion_bar_leaves_the_bearing_alone() -> None:
    motion = move(AXLES["front"](), STATES)
    assert isinstance(motion.side.axle.elements["torsion"], TorsionBar)
    found = hold_rocker(poses(motion)[0], np.zeros(4), [pushes(motion, "torsion").left])
    assert np.all(found.size == 0)
    np.testing.assert_allclose(np.abs(found.unbalanced), np.abs(LEFT))


def test_what_turns_the_rocker_is_left_over_and_not_borne() -> None:
    # A force across the arm at 50 mm: a moment about the axis that no bearing takes, and one square to it that it does.
    pose = poses(move(front(), STATES))[0]
    at = pose.pivot + np.array([30.0, 50.0, 0.0])
    push = Push(np.array([0.0, 0.0, 200.0]), at, at, np.zeros(()))
    found = hold_rocker(pose, np.zeros(4), [push])
    np.testing.assert_allclose(found.unbalanced, 50.0 * 200.0)
    np.testing.assert_allclose(found.moment, np.broadcast_to([0.0, -30.0 * 200.0, 0.0], (4, 3)))
    np.testing.assert_allclose(found.size, 200.0)


@pytest.mark.parametrize("kind", KINDS)
def test_a_heave_strut_presses_both_rockers_alike_in_heave(kind: str) -> None:
    axle = KINDS[kind]()
    motion = move(axle, AxleStates(np.array([12.0]), np.array([12.0]), np.zeros(1)))
    for name in (name for name, element in axle.elements.items() if name == "heave"):
        both = element_pushes(motion.side, name, motion.pairs, LEFT[:1], RIGHT[:1])
        np.testing.assert_allclose(both.left.force, both.right.force, rtol=1e-13)


def test_a_batch_of_pushes_is_one_call() -> None:
    motion = move(AXLES["front"](), STATES)
    forces = np.array(list(product([1000.0, -2000.0], [0.0, 1.0])))[:, :1]
    together = element_pushes(motion.side, "heave", motion.pairs, forces * np.ones(4), np.zeros(4)).left
    for row, force in enumerate(forces[:, 0]):
        alone = element_pushes(motion.side, "heave", motion.pairs, np.full(4, force), np.zeros(4)).left
        np.testing.assert_array_equal(together.force[row], alone.force)
