"""Braking and cornering of the whole car against the seven-degree car and against hand sums."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Mode
from objectives.vehicle.car_state import CarState, car_at_static
from objectives.vehicle.platform import braking, cornering
from tests.sprung import car


def without_anti(state: CarState) -> CarState:
    """The same car with contact points that move straight up and down."""
    front, rear = (replace(axle, braking=0.0, driving=0.0) for axle in state.axles)
    return replace(state, axles=(front, rear))


def test_braking_without_anti_effects_is_a_pitch_moment() -> None:
    state = without_anti(car_at_static(car()))
    found = braking(state)
    system = state.system
    moment = np.zeros(7)
    moment[1] = 1240 * 9.80665 * 0.430
    q = np.linalg.solve(system.stiffness, moment)
    half = state.car.wheelbase
    wheels = 1e3 * q[3:]
    # What the body's pitch moment does: tyres give, springs give, nose goes down.
    assert found.tyre == pytest.approx((-wheels[0], -wheels[2]), rel=1e-9)
    body = 1e3 * (q[0] - q[1] * np.array(state.masses.ahead) * 1e-3)
    assert found.travel == pytest.approx((wheels[0] - body[0], wheels[2] - body[1]), rel=1e-3)
    assert found.pitch == pytest.approx(np.degrees(q[1]), rel=1e-3)
    assert found.pitch > 0
    assert half == 2700


def test_anti_effects_take_their_share_from_the_springs() -> None:
    state = car_at_static(car())
    found, plain = braking(state), braking(without_anti(state))
    for end, anti in enumerate((found.anti.dive, found.anti.lift)):
        assert found.travel[end] == pytest.approx(plain.travel[end] * (1 - anti / 100))
    assert found.tyre == plain.tyre
    whole = replace(state.axles[0], braking=430 / 2700 / found.front_share)
    held = braking(replace(state, axles=(whole, state.axles[1])))
    assert held.anti.dive == pytest.approx(100.0)
    assert held.travel[0] == pytest.approx(0.0, abs=1e-12)


def test_brake_balance_is_the_files_or_that_of_the_loads() -> None:
    loads = braking(car_at_static(car()))
    assert loads.by_load
    assert loads.front_share == pytest.approx(0.43 + 430 / 2700)
    written = braking(car_at_static(replace(car(), brake_front_share=0.7)))
    assert not written.by_load
    assert written.front_share == 0.7
    assert written.anti.dive == pytest.approx(loads.anti.dive * 0.7 / loads.front_share)


def test_cornering_moments_balance() -> None:
    state = car_at_static(car())
    found = cornering(state)
    track = [axle.track for axle in state.rolling]
    rigid = sum(one.total * t for one, t in zip(found.rigid, track, strict=True))
    assert rigid == pytest.approx(1240 * 9.80665 * 0.430, rel=1e-12)
    soft = sum(one.total * t for one, t in zip(found.transfer, track, strict=True))
    lean = state.masses.sprung * 9.80665 * found.arm * 1e-3 * np.radians(found.soft)
    assert soft - rigid == pytest.approx(lean, rel=1e-9)
    assert found.soft > found.hard > 0


def test_outward_roll_in_a_left_turn_droops_the_left_wheel() -> None:
    state = car_at_static(car())
    found = cornering(state)
    assert max(found.roll_travel) < 0
    for end, (r, shift) in enumerate(zip(found.roll_travel, found.transfer, strict=True)):
        axle = state.axles[end]
        moment = axle.rate(Mode.ROLL) * 1e3 * (axle.track * 1e-3) ** 2 / 2 * (-r / (axle.track / 2))
        assert moment == pytest.approx(shift.elastic * state.rolling[end].track, rel=1e-9)
    # The body rolls by its springs and by its tyres: more than the springs alone let it.
    assert -found.roll_travel[0] / (state.axles[0].track / 2) < np.radians(found.soft)


def test_jacking_goes_with_the_roll_centre() -> None:
    state = car_at_static(car())
    found = cornering(state)
    for end, axle in enumerate(state.axles):
        lift = 2 * found.transfer[end].total * axle.roll_centre / (axle.contact_track / 2)
        assert found.jacking[end] == pytest.approx(lift, rel=1e-9)
        assert found.rise[end] == pytest.approx(lift / (2 * axle.rate(Mode.HEAVE)))


def test_signs_of_roll_and_pitch_in_both_standards() -> None:
    # ISO 8855 has x forward, y left, z up; SAE J670e x forward, y right, z down (from memory). One rotation of the body
    # by its vector keeps its sign in roll and changes it in pitch and yaw: nose down is positive in the one, negative
    # in the other, and a left turn rolls the body by a positive angle in both.
    state = car_at_static(car())
    iso = np.array([cornering(state).soft, braking(state).pitch, 1.0])
    sae = np.diag([1.0, -1.0, -1.0]) @ iso
    assert iso[0] == sae[0] > 0
    assert iso[1] == -sae[1] > 0
    assert iso[2] == -sae[2]
    # Positive roll lifts the left side (+y), positive pitch lowers the nose (+x): heights by the rotation vector.
    heights = [np.cross([1.0, 0, 0], [0, 1.0, 0])[2], np.cross([0, 1.0, 0], [1.0, 0, 0])[2]]
    system = state.system
    left = system.names.index("front left")
    assert heights == [1.0, -1.0]
    # A body up at the left wheel unloads its spring: stiffness couples wheel and body with these signs.
    assert np.sign(system.stiffness[left, 1]) == -np.sign(heights[1])
    assert np.sign(system.stiffness[left, 2]) == -np.sign(heights[0])
