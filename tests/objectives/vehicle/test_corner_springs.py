"""The same car on corner springs and a bar: against axles that are built that way."""

import numpy as np
import pytest

from geometry.axle import Mode
from objectives.loads.pose import side_pose
from objectives.vehicle.car_state import car_at_static
from objectives.vehicle.corner_springs import on_corner_springs
from objectives.vehicle.transfer import GRAVITY, roll_gradient
from tests.sprung import car, front_axle, rear_axle

SOFT_IN_ROLL = car()
STIFF_IN_ROLL = car(front_axle(180.0, 160.0), rear_axle(200.0, 170.0))


def test_a_bar_adds_and_never_takes_away() -> None:
    for one in on_corner_springs(car_at_static(SOFT_IN_ROLL)).axles:
        assert not one.bar_does
        assert one.bar < 0
        assert one.one_wheel == one.spring > one.one_wheel_now
    for one in on_corner_springs(car_at_static(STIFF_IN_ROLL)).axles:
        assert one.bar_does
        assert one.one_wheel == pytest.approx(one.one_wheel_now, abs=0.01)


def test_springs_and_bar_make_both_rates() -> None:
    state = car_at_static(STIFF_IN_ROLL)
    for one, axle in zip(on_corner_springs(state).axles, state.axles, strict=True):
        assert one.spring == pytest.approx(axle.rate(Mode.HEAVE))
        assert one.spring + one.bar == pytest.approx(axle.rate(Mode.ROLL))
        expected = np.radians(one.bar * 1e3 * (axle.track * 1e-3) ** 2 / 2)
        assert one.bar_stiffness == pytest.approx(expected)


def test_roll_gradient_is_no_softer_than_corner_springs_give() -> None:
    soft, stiff = (on_corner_springs(car_at_static(one)) for one in (SOFT_IN_ROLL, STIFF_IN_ROLL))
    assert soft.roll_gradient < soft.roll_gradient_now
    assert stiff.roll_gradient == pytest.approx(stiff.roll_gradient_now, rel=1e-12)
    state = car_at_static(SOFT_IN_ROLL)
    assert soft.roll_gradient_now == roll_gradient(state.rolling, state.masses.height * 1e-3)


def test_corner_dampers_have_one_coefficient_for_both_modes() -> None:
    state = car_at_static(SOFT_IN_ROLL)
    for end, one in enumerate(on_corner_springs(state).axles):
        critical = state.critical[end]
        in_heave = state.damping_ratio(end, Mode.HEAVE) * critical[Mode.HEAVE]
        assert one.roll_damping == pytest.approx(in_heave / critical[Mode.ROLL])
        assert one.roll_damping_now == pytest.approx(0.65, rel=1e-4)


def test_a_corner_spring_in_the_heave_struts_place_carries_its_force() -> None:
    state = car_at_static(SOFT_IN_ROLL)
    for one, axle in zip(on_corner_springs(state).axles, state.axles, strict=True):
        assert one.mount == pytest.approx(axle.forces["heave"], rel=1e-9)
        assert one.mount_outer + one.mount_inner == pytest.approx(2 * one.mount)
        assert one.mount_outer > one.mount > one.mount_inner > 0


def test_the_rocker_turns_about_its_bearing_without_moment() -> None:
    # Rod and struts about the pivot, by hand: the rod's force from moments, then the sum of all forces.
    state = car_at_static(SOFT_IN_ROLL)
    axle = state.axles[0]
    motion = axle.motion
    pose = side_pose(motion.side, motion.pairs.left)
    pivot, a = pose.pivot[0], pose.axis[0]
    pickup = motion.side.pickup("heave")[0][0]
    push = axle.forces["heave"] * np.array([0.0, 1.0, 0.0])
    u = pose.rod[0]
    rod = -(a @ np.cross(pickup - pivot, push)) / (a @ np.cross(pose.rod_inboard[0] - pivot, -u))
    assert on_corner_springs(state).axles[0].pivot == pytest.approx(np.linalg.norm(push - rod * u), rel=1e-9)
    # The rod's vertical part at the wheel is what the wheel carries, but for the links: it is of that size.
    assert rod > state.masses.per_wheel[0] * GRAVITY
