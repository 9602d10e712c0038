"""The steering axis and the wheel's ways against closed forms and against steps of re-solved poses."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.attitude import attitude_rate, contact_shift
from geometry.axle import Axle
from geometry.motion import Motion, move
from geometry.steering import Held, SteeringAxis, steering_axis
from geometry.travel import AxleStates, heave_states, rack_states
from tests.axles import front, rear, vector
from tests.batches import pick, scatter

RACK = np.array([-30.0, -11.0, 0.0, 17.0, 30.0])
HEAVE = np.array([-28.0, -9.0, 0.0, 14.0, 36.0])


def shared(axle: Axle) -> Axle:
    """The front axle with both links of each wishbone at one outboard joint."""
    links = dict(axle.links)
    for wishbone in ("upper", "lower"):
        joint = links[f"{wishbone}_front"].outboard
        links[f"{wishbone}_rear"] = replace(links[f"{wishbone}_rear"], outboard=joint)
    return replace(axle, links=links)


def on_wishbone() -> Axle:
    """The same with its rod on the lower wishbone, which then stands while the rocker does."""
    axle = shared(front())
    rod = replace(axle.rod, outboard=vector(12, 720, 178), carried_by=("lower_front", "lower_rear"))
    return replace(axle, rod=rod)


def joint(motion: Motion, name: str) -> Array:
    """The outboard joint of a link at the states of a motion (S, 3)."""
    position, _ = motion.side.upright.carry(motion.side.axle.links[name].outboard)
    return position[motion.pairs.left]


def assert_is_the_line(axis: SteeringAxis, motion: Motion) -> None:
    """The axis is the line through both outboard joints: in angle to 1e-6 deg, in place to 1e-6 mm."""
    low, line = joint(motion, "lower_front"), joint(motion, "upper_front") - joint(motion, "lower_front")
    angles = np.degrees([np.arctan2(-line[:, 0], line[:, 2]), np.arctan2(-line[:, 1], line[:, 2])])
    np.testing.assert_allclose(np.degrees([axis.castor, axis.inclination]), angles, rtol=0, atol=1e-6)
    n = motion.wheel.spin_axis
    outward = n * [1.0, 1.0, 0.0] / np.hypot(n[:, 0], n[:, 1])[:, None]
    ahead = np.stack([outward[:, 1], -outward[:, 0], np.zeros(len(n))], axis=-1)
    for foot, along, inboard in (
        (motion.contact.point, axis.castor_offset_at_ground, axis.offset_at_ground),
        (motion.wheel.centre, axis.castor_offset_at_centre, axis.offset_at_centre),
    ):
        there = low + line * ((foot[:, 2] - low[:, 2]) / line[:, 2])[:, None] - foot
        np.testing.assert_allclose(along, (there * ahead).sum(axis=-1), rtol=0, atol=1e-6)
        np.testing.assert_allclose(inboard, -(there * outward).sum(axis=-1), rtol=0, atol=1e-6)
    np.testing.assert_allclose(axis.pitch, 0.0, rtol=0, atol=1e-7)


@pytest.mark.parametrize("states", [rack_states(RACK), heave_states(HEAVE)], ids=["rack", "heave"])
def test_of_plain_joints_the_axis_is_the_line_through_them(states: AxleStates) -> None:
    motion = move(shared(front()), states)
    assert_is_the_line(steering_axis(motion), motion)


def test_the_rocker_holds_the_wishbone_that_its_rod_stands_on() -> None:
    motion = move(on_wishbone(), rack_states(RACK))
    assert (motion.status == 0).all()
    assert_is_the_line(steering_axis(motion, Held.ELEMENTS), motion)


def test_a_rod_on_the_upright_moves_the_wishbones_as_the_wheel_steers() -> None:
    motion = move(shared(front()), rack_states(RACK))
    own, held = (steering_axis(motion, what) for what in (Held.LINKS, Held.ELEMENTS))
    assert np.degrees(np.abs(own.castor - held.castor)).min() > 0.1


def test_the_front_car_with_its_wheel_height_held() -> None:
    # Found by a separate calculation, to the digits given: castor 5.93, 6.26, 6.39, inclination 10.2, 9.5, 8.8 deg.
    motion = move(front(), rack_states(np.array([-30.0, 0.0, 30.0])))
    axis = steering_axis(motion, Held.WHEEL)
    np.testing.assert_allclose(np.degrees(axis.castor), [5.93, 6.26, 6.39], rtol=0, atol=0.005)
    np.testing.assert_allclose(np.degrees(axis.inclination), [10.2, 9.5, 8.8], rtol=0, atol=0.05)


def test_a_small_step_of_rack_is_a_screw_about_the_axis() -> None:
    """From one re-solved pose to the next, the axis' points go along it alone, by the pitch; the wheel centre does not.

    The wheel height is held, as it is in a sweep of the rack.
    """
    static, step = move(front(), rack_states(np.zeros(1))), 0.01
    axis = {name: float(values[0]) for name, values in vars(steering_axis(static, Held.WHEEL)).items()}
    k = np.array([-np.tan(axis["castor"]), -np.tan(axis["inclination"]), 1.0])
    k /= np.linalg.norm(k)
    n = static.wheel.spin_axis[0]
    outward = n * [1.0, 1.0, 0.0] / np.hypot(n[0], n[1])
    ahead = np.array([outward[1], -outward[0], 0.0])
    steps = move(front(), rack_states(np.array([-step, step])))
    poses = [(steps.wheel.centre[i], steps.side.upright.rotation[steps.pairs.left[i]]) for i in (0, 1)]

    def way(point: Array) -> Array:
        ends = [centre + turned @ (point - static.wheel.centre[0]) for centre, turned in poses]
        return np.asarray((ends[1] - ends[0]) / (2 * step))

    turned = poses[1][1] @ poses[0][1].T
    rate = np.arccos((np.trace(turned) - 1) / 2) / (2 * step)
    ground = static.contact.point[0] + axis["castor_offset_at_ground"] * ahead - axis["offset_at_ground"] * outward
    level = static.wheel.centre[0] + axis["castor_offset_at_centre"] * ahead - axis["offset_at_centre"] * outward
    for point in (ground, level):
        assert np.linalg.norm(np.cross(way(point), k)) < 1e-6
        assert abs(way(point) @ k) == pytest.approx(abs(axis["pitch"]) * rate, abs=1e-6)
    assert np.linalg.norm(np.cross(way(static.wheel.centre[0]), k)) > 0.1
    assert np.cross(level - ground, k) == pytest.approx(np.zeros(3), abs=1e-6)


def test_other_links_move_least_about_the_axis() -> None:
    """Of all mixtures of rack and wheel travel none moves the four other outboard ends less."""
    motion = move(front(), rack_states(np.zeros(1)))
    ends = [
        motion.side.upright.carry(link.outboard)[1][motion.pairs.left][0]
        for link in front().links.values()
        if not link.follows_rack
    ]
    travel = np.linspace(-0.5, 0.5, 100_001)
    moved = sum((np.square(end[:, 1, None] + travel * end[:, 0, None]).sum(axis=0) for end in ends), np.zeros(1))
    least = travel[np.argmin(moved)]
    twist = motion.side.upright.rate[motion.pairs.left][0]
    w = twist[3:, 1] + least * twist[3:, 0]
    axis = steering_axis(motion)
    assert axis.castor[0] == pytest.approx(np.arctan(-w[0] / w[2]), abs=1e-5)
    assert axis.inclination[0] == pytest.approx(np.arctan(-w[1] / w[2]), abs=1e-5)


def test_an_axle_without_a_rack_has_no_axis() -> None:
    axis = steering_axis(move(rear(), heave_states(HEAVE)))
    assert all(np.isnan(values).all() for values in vars(axis).values())


@pytest.mark.parametrize("held", Held)
def test_a_batch_is_its_members(held: Held) -> None:
    batch, states = scatter(front(), (3,), links=True), rack_states(RACK)
    whole = vars(steering_axis(move(batch, states), held))
    for row in range(3):
        for name, values in vars(steering_axis(move(pick(batch, (row,), (3,)), states), held)).items():
            np.testing.assert_allclose(whole[name][row], values, rtol=0, atol=1e-9)


def test_attitude_rates_are_slopes_of_camber_and_toe() -> None:
    step, axle = 1e-3, front()
    ahead, behind = (move(axle, heave_states(HEAVE + by)).wheel for by in (step, -step))
    rate = attitude_rate(move(axle, heave_states(HEAVE)))
    np.testing.assert_allclose(rate.camber, (ahead.camber - behind.camber) / (2 * step), rtol=0, atol=1e-10)
    np.testing.assert_allclose(rate.toe, (ahead.toe - behind.toe) / (2 * step), rtol=0, atol=1e-10)


def test_attitude_rates_of_a_batch_are_its_members() -> None:
    batch = scatter(front(), (3,), links=True)
    whole = attitude_rate(move(batch, heave_states(HEAVE)))
    for row in range(3):
        alone = attitude_rate(move(pick(batch, (row,), (3,)), heave_states(HEAVE)))
        np.testing.assert_allclose(whole.camber[row], alone.camber, rtol=0, atol=1e-12)
        np.testing.assert_allclose(whole.toe[row], alone.toe, rtol=0, atol=1e-12)


def test_the_contact_point_counts_from_static() -> None:
    motion = move(rear(), heave_states(HEAVE))
    shift = contact_shift(motion)
    assert shift[2] == pytest.approx(np.zeros(3), abs=1e-9)
    np.testing.assert_allclose(shift, motion.contact.point - motion.contact.point[2], rtol=0, atol=1e-9)
