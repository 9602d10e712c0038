"""States of a lap: against the linear car for little, against every force for much, with springs at their ends."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Mode
from geometry.motion import move
from geometry.travel import AxleStates
from objectives.fittings.springs import CarriesWeight, CoilSpring
from objectives.vehicle.car_state import CarState, car_at_static
from objectives.vehicle.lap import ONE_LETS_GO, SLACK, SOLID, AxleInLap, Manoeuvre, axle_in_lap
from objectives.vehicle.platform import braking, cornering
from objectives.vehicle.transfer import GRAVITY
from tests.sprung import car, front_axle

NONE = (0.0, 0.0)
STANDING = Manoeuvre("standing", NONE, 0.0, 0.0)


@pytest.fixture(scope="module")
def state() -> CarState:
    return car_at_static(car())


def at(state: CarState, end: int, *manoeuvres: Manoeuvre) -> tuple[AxleInLap, ...]:
    return axle_in_lap(state, end, (STANDING, *manoeuvres))


@pytest.mark.parametrize("end", [0, 1])
def test_little_of_all_is_that_of_the_linear_car(state: CarState, end: int) -> None:
    little = 0.01
    still, corner, brake = at(state, end, Manoeuvre("c", NONE, little, 0.0), Manoeuvre("b", NONE, 0.0, little))
    assert still.travel == pytest.approx((0.0, 0.0), abs=0.1)
    rolled = (corner.travel[0] - corner.travel[1]) / 2
    assert rolled == pytest.approx(little * cornering(state).roll_travel[end], rel=0.02)
    sunk = np.mean(brake.travel) - np.mean(still.travel)
    assert sunk == pytest.approx(little * braking(state).travel[end], rel=0.02)


@pytest.mark.parametrize("end", [0, 1])
def test_tyres_carry_the_whole_car(state: CarState, end: int) -> None:
    push = (4000.0, 5000.0)
    states = at(state, end, Manoeuvre("all", push, 0.8, 0.6))
    share = (0.43, 0.57)[end]
    assert sum(states[0].load) == pytest.approx(1240 * GRAVITY * share)
    shifted = (1, -1)[end] * 0.6 * 1240 * GRAVITY * 430 / 2700
    assert sum(states[1].load) == pytest.approx(1240 * GRAVITY * share + push[end] + shifted)
    assert states[1].load[1] > states[1].load[0], "turning left, the right wheel is the outer one"


def test_jacking_lifts_the_body_where_the_roll_centre_is_high(state: CarState) -> None:
    still, corner = at(state, 1, Manoeuvre("c", NONE, 1.0, 0.0))
    rise = np.mean(still.travel) - np.mean(corner.travel)
    assert rise == pytest.approx(cornering(state).rise[1], rel=0.35)
    assert rise > 0.3


def test_springs_hold_what_virtual_work_asks(state: CarState) -> None:
    """At rest: dU = Fx dx + Fy dy + Fz dz at the contact point, by differences of places."""
    hard = Manoeuvre("all", (4000.0, 5000.0), 1.2, 0.5)
    (_, found) = at(state, 0, hard)
    z, step = np.array(found.travel), 1e-3
    axle = state.car.front.axle
    states = AxleStates(z[:1] + np.array([-step, 0.0, step]), np.repeat(z[1:], 3), np.zeros(3))
    motion = move(axle, states)
    upright, index = motion.side.upright, motion.pairs.left
    turned, centre = upright.rotation[index], upright.centre[index]
    # The point of the upright that is at the contact point now, a little before and after.
    fixed = turned[1].T @ (motion.contact.point[1] - centre[1])
    dx, dy, dz = (centre[2] + turned[2] @ fixed - centre[0] - turned[0] @ fixed) / (2 * step)
    heave, roll = (motion.strut(name) for name in ("heave", "roll"))
    springs = sum(found.struts[name].force * strut.by_left[1] for name, strut in (("heave", heave), ("roll", roll)))
    rolling = state.rolling[0]
    direct = rolling.unsprung_mass * 1.2 * GRAVITY * rolling.unsprung_height / rolling.track
    load = found.load[0] - 38 * GRAVITY + direct
    brake = -braking(state).front_share * 1240 * GRAVITY * 0.5 / 2
    side = 2 * state.masses.per_wheel[0] * GRAVITY * 1.2 * found.load[0] / sum(found.load)
    assert springs == pytest.approx(brake * dx + side * dy + load * dz, abs=0.01)


def test_notes_name_springs_at_their_ends(state: CarState) -> None:
    hard = at(state, 0, Manoeuvre("c", (4200.0, 0.0), 2.0, 0.0))[1]
    assert hard.struts["roll"].note == ONE_LETS_GO
    axle = front_axle(rubber=False)
    short = CoilSpring("heave", np.array(220.0), CarriesWeight(), np.array(190.0), np.array(160.0))
    axle = replace(axle, fittings=replace(axle.fittings, springs={**axle.fittings.springs, "heave": short}))
    pressed = at(car_at_static(car(front_end=axle)), 0, Manoeuvre("v", (12000.0, 0.0), 0.0, 0.0))[1]
    assert pressed.struts["heave"].note == SOLID
    soft = CoilSpring("heave", np.array(60.0), CarriesWeight())
    axle = replace(axle, fittings=replace(axle.fittings, springs={**axle.fittings.springs, "heave": soft}))
    lifted = at(car_at_static(car(front_end=axle)), 0, Manoeuvre("up", (-4600.0, 0.0), 0.0, 0.0))[1]
    assert lifted.struts["heave"].note in (SLACK, "")


def test_what_does_not_balance_is_nan(state: CarState) -> None:
    axle = front_axle(rubber=False)
    loose = CoilSpring("heave", np.array(100.0), CarriesWeight())
    axle = replace(axle, fittings=replace(axle.fittings, springs={**axle.fittings.springs, "heave": loose}))
    pressed = at(car_at_static(car(front_end=axle)), 0, Manoeuvre("v", (90000.0, 0.0), 0.0, 0.0))[1]
    assert np.isnan(pressed.travel).all()
    assert np.isnan([pressed.bump_left, pressed.droop_left, pressed.struts["heave"].force]).all()
    assert pressed.struts["heave"].note == ""


def test_a_wheel_in_the_air_leaves_its_axle_unknown(state: CarState) -> None:
    lifted = at(state, 0, Manoeuvre("c", NONE, 2.2, 0.0))[1]
    assert lifted.load[0] < 0
    assert np.isnan(lifted.travel).all()


def test_margins_are_of_the_nearer_wheel(state: CarState) -> None:
    one = at(state, 0, Manoeuvre("c", NONE, 1.0, 0.0))[1]
    assert one.bump_left == pytest.approx(48 - max(one.travel))
    assert one.droop_left == pytest.approx(min(one.travel) + 45)
    assert state.axles[0].rate(Mode.ROLL) > 0
