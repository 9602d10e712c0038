"""Signs and terms of ISO 8855, and a steering axis with worked numbers."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq, root

from geometry.arrays import MIRROR_Y, Array
from geometry.axle import Axle, Link
from geometry.motion import move
from geometry.side import pair_up
from geometry.travel import AxleStates, rack_states
from geometry.upright import trace_upright
from tests.axles import front, vector, wheel

UP = np.array([0.0, 0.0, 1.0])


def forward_of(spin_axis: Array) -> Array:
    """The wheel's heading: square to its outward spin axis, level, to the front. The left wheel's axis points left."""
    ahead = np.cross(spin_axis, UP)
    return np.asarray(ahead / np.linalg.norm(ahead))


@pytest.mark.parametrize("toe", [0.8, -0.8])
def test_toe_in_is_positive_on_both_sides(toe: float) -> None:
    # ISO 8855:2011, 7.1.6: toed-in if the forward portion of the wheel is closer to the vehicle centreline; toe-in is
    # considered positive, toe-out negative.
    axle = replace(front(), wheel=wheel(vector(0, 830, 335), toe, -2.2))
    motion = move(axle, rack_states(np.zeros(1)))
    left = motion.wheel.spin_axis[0]
    centre = motion.wheel.centre[0]
    rim = centre + 200 * forward_of(left)
    assert (abs(rim[1]) < abs(centre[1])) == (toe > 0)
    assert np.degrees(motion.wheel.toe[0]) == pytest.approx(toe, abs=1e-12)
    # The right wheel is the mirror image: its forward portion lies as near to the centreline.
    right_rim = (centre + 200 * forward_of(left)) * MIRROR_Y
    assert (abs(right_rim[1]) < abs(centre[1])) == (toe > 0)


def test_symmetric_toe_in_turns_the_wheels_opposite_ways_about_z() -> None:
    # Negative control of 7.1.6: signed as rotations about +z, the two wheels' angles would cancel in the total
    # (7.1.7, the sum of both), and symmetric toe-in would look like no toe at all.
    axle = replace(front(), wheel=wheel(vector(0, 830, 335), 0.8, -2.2))
    motion = move(axle, rack_states(np.zeros(1)))
    heading = forward_of(motion.wheel.spin_axis[0])
    steer_left, steer_right = (np.degrees(np.arctan2(h[1], h[0])) for h in (heading, heading * MIRROR_Y))
    assert (steer_left, steer_right) == pytest.approx((-0.8, 0.8), abs=1e-12)
    assert np.degrees(2 * motion.wheel.toe[0]) == pytest.approx(1.6, abs=1e-12)
    assert steer_left + steer_right == pytest.approx(0.0, abs=1e-12)


def test_top_outward_camber_is_positive() -> None:
    # SAE J670, ISO 8855 clause 7 (from memory): positive when the top leans outward, on both sides.
    motion = move(replace(front(), wheel=wheel(vector(0, 830, 335), 0.0, 3.0)), rack_states(np.zeros(1)))
    top = np.cross(forward_of(motion.wheel.spin_axis[0]), motion.wheel.spin_axis[0]) * -1.0
    top = top if top[2] > 0 else -top
    assert top[1] > 0
    assert np.degrees(motion.wheel.camber[0]) == pytest.approx(3.0, abs=1e-12)


def test_rack_to_the_left_in_front_of_the_wheel_steers_left() -> None:
    # The steering link of this axle lies ahead of the wheel centre: pulled to the left, the wheel turns left, which
    # is toe-out on the left wheel (and toe-in on the right: the mirrored left at -rack).
    toe = np.degrees(move(front(), rack_states(np.array([-10.0, 0.0, 10.0]))).wheel.toe)
    assert toe[0] > toe[1] > toe[2]


# A worked steering axis, from geometry alone (mm): lower ball joint (0, 720, 180), axis leaning 8 deg inboard and 5 deg
# rearward, contact (0, 780, 0). For "steer jacks the car" see J. C. Dixon, Suspension Geometry and Computation, Wiley
# 2009, section 5.14, Steer jacking.
BALL = vector(0, 720, 180)
LEAN = vector(-np.tan(np.radians(5)), -np.tan(np.radians(8)), 1.0)
CONTACT = vector(0, 780, 0)


def kingpin_axle() -> Axle:
    """Two wishbones whose ball joints lie on that axis, and a steering link on the rack."""
    upper = BALL + 300 * LEAN
    links = {
        "upper_front": Link(vector(150, 400, 440), upper),
        "upper_rear": Link(vector(-150, 400, 440), upper),
        "lower_front": Link(vector(180, 300, 170), BALL),
        "lower_rear": Link(vector(-180, 300, 170), BALL),
        "steering": Link(vector(110, 330, 200), vector(120, 700, 210), follows_rack=True),
    }
    return replace(front(), wheel=wheel(vector(0, 780, 300), 0.0, 0.0), links=links)


def pose_at(axle: Axle, z: float, rack: float) -> tuple[Array, Array]:
    """Wheel centre and rotation of the upright at one side state."""
    tree, (pairs,) = pair_up(AxleStates(np.array([z]), np.array([z]), np.array([rack])))
    upright = trace_upright(axle.wheel, axle.links, tree)
    return upright.centre[pairs.left[0]], upright.rotation[pairs.left[0]]


def carried(axle: Axle, pose: tuple[Array, Array], point: Array) -> Array:
    return np.asarray(pose[0] + pose[1] @ (point - axle.wheel.centre))


def steered(axle: Axle, angle: float, held: Array) -> tuple[float, float]:
    """(z, rack) that turns the upright by `angle` [deg] about the vertical with `held` at its static height."""

    def miss(state: Array) -> list[float]:
        pose = pose_at(axle, state[0], state[1])
        heading = pose[1] @ np.array([1.0, 0.0, 0.0])
        yaw = np.degrees(np.arctan2(heading[1], heading[0]))
        return [float(carried(axle, pose, held)[2] - held[2]), float(yaw - angle)]

    found = root(miss, np.array([0.0, 1.5 * angle]), options={"xtol": 1e-13})
    assert np.abs(miss(found.x)).max() < 1e-9
    return float(found.x[0]), float(found.x[1])


def turned_about_axis(angle: float) -> tuple[Axle, tuple[Array, Array]]:
    """The kingpin axle steered by exactly `angle` [deg] about its own axis, the lower wishbone held."""
    axle = kingpin_axle()

    def miss(yaw: float) -> float:
        matrix = pose_at(axle, *steered(axle, yaw, BALL))[1]
        return float(np.degrees(np.arccos(np.clip((np.trace(matrix) - 1) / 2, -1, 1))) - abs(angle))

    yaw = float(brentq(miss, 0.8 * angle, 1.2 * angle, xtol=1e-12))
    return axle, pose_at(axle, *steered(axle, yaw, BALL))


@pytest.mark.parametrize(("angle", "drop"), [(20.0, -1.977), (-20.0, 1.566), (10.0, -0.951)])
def test_steer_jacking_of_the_contact_point(angle: float, drop: float) -> None:
    axle, pose = turned_about_axis(angle)
    assert carried(axle, pose, CONTACT)[2] == pytest.approx(drop, abs=5e-4)


def test_the_steering_axis_stays_and_meets_the_ground_where_worked_out() -> None:
    # Lateral offset at ground r_k = 34.703 mm, castor offset n_k = 15.748 mm (ahead of the contact: positive trail).
    axle, pose = turned_about_axis(20.0)
    ground = CONTACT + vector(15.748, -34.703, 0)
    np.testing.assert_allclose(carried(axle, pose, ground), ground, rtol=0, atol=5e-4)
    exact = BALL - BALL[2] * LEAN
    np.testing.assert_allclose(ground, exact, rtol=0, atol=5e-4)
    np.testing.assert_allclose(carried(axle, pose, exact), exact, rtol=0, atol=1e-8)


def steering_axis(axle: Axle, angle: float, held: Array) -> Array:
    """Direction of the momentary steering axis [castor, inclination in deg], steered by `angle` with `held` held."""
    poses = [pose_at(axle, *steered(axle, angle + step, held))[1] for step in (-0.05, 0.05)]
    small = poses[1] @ poses[0].T
    axis = np.array([small[2, 1] - small[1, 2], small[0, 2] - small[2, 0], small[1, 0] - small[0, 1]])
    return np.asarray(np.degrees(np.arctan2(-axis[:2], axis[2])))


def test_castor_and_inclination_stay_with_shared_ball_joints_and_wander_with_split_ones() -> None:
    # Common practice, no source: with the outboard ball joints split into separate points, castor, kingpin inclination
    # and trail change as the wheel is steered.
    for angle in (-8.0, 0.0, 8.0):
        assert steering_axis(kingpin_axle(), angle, BALL) == pytest.approx([5.0, 8.0], abs=1e-5)
    split = front()
    held = split.links["lower_front"].outboard
    left, right = (steering_axis(split, angle, held) for angle in (-8.0, 8.0))
    assert np.abs(left - right).min() > 0.1
