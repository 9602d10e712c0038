"""States of a lap: speed, braking and cornering at once, with the springs as they are and the links' own work.

What the ground presses on each wheel follows from the whole car's balance, the load transfer from its rates at static.
An axle then rests where its springs hold the sprung part of that, by virtual work at the contact points: jacking and
anti-effects are in it. Accelerations in g, speeds m/s, forces N, travels mm.

Standing, an axle rests a trifle from its static height: the ground presses at the contact point, which rises by a
little more or less than the wheel centre where the wheel's camber changes.

The unsprung masses' own forces go to the ground straight: their weight, their share of the lateral force, and the load
that they shift (as in the handbooks' split).
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from geometry.motion import move
from geometry.travel import heave_states, travel_points
from objectives.fittings.loads import LoadCase
from objectives.loads.settle import ground_of, settle
from objectives.vehicle.axle_state import AxleState
from objectives.vehicle.car_state import CarState
from objectives.vehicle.platform import braking
from objectives.vehicle.rates import MM
from objectives.vehicle.transfer import GRAVITY, Transfer, load_transfer

SLACK, ONE_LETS_GO, SOLID = "slack", "one lets go", "solid"
"""What springs may be: without force, one of an opposed pair without force, a coil at its solid length."""


@dataclass(frozen=True)
class Manoeuvre:
    """A steady state: `downforce` on each axle [N]; `lateral`, to the left, and `braking` [g]."""

    name: str
    downforce: tuple[float, float]
    lateral: float
    braking: float


@dataclass(frozen=True)
class Strut:
    """Springs of one element in a state: `compression`, `force` [mm, N; of a bar deg, N.m], `note` or nothing."""

    compression: float
    force: float
    note: str


@dataclass(frozen=True)
class AxleInLap:
    """One axle in a state: `travel` of the left (inner) and the right (outer) wheel, `load` on each tyre; its struts.

    `bump_left`, `droop_left`: of the axle's range of wheel travel, the nearer wheel. All but `load` is NaN where no
    state inside what the links reach balances, or where a tyre would have to pull: that wheel is in the air.
    """

    travel: tuple[float, float]
    load: tuple[float, float]
    bump_left: float
    droop_left: float
    struts: Mapping[str, Strut]


def axle_in_lap(state: CarState, end: int, manoeuvres: tuple[Manoeuvre, ...]) -> tuple[AxleInLap, ...]:
    """Where one axle of the car comes to rest in each state."""
    axle, installed = state.car.axles[end], state.axles[end].installed
    loads = [_loads(state, end, one) for one in manoeuvres]
    cases = [_case(state, end, one, load) for one, load in zip(manoeuvres, loads, strict=True)]
    points = travel_points(axle.travel.wheel, axle.travel.step)
    side = move(axle.axle, heave_states(points)).side
    rest = settle(side, installed, ground_of(cases))
    known = rest.found & (np.array(loads).min(axis=1) >= 0.0)
    travel = np.where(known[:, None], rest.travel, np.nan)
    low, high = axle.travel.wheel
    return tuple(
        AxleInLap(
            travel=(float(travel[row, 0]), float(travel[row, 1])),
            load=(float(load[0]), float(load[1])),
            bump_left=float(high - travel[row].max()),
            droop_left=float(travel[row].min() - low),
            struts={
                name: _strut(state.axles[end], name, float(one.compression[row]), float(one.force[row]))
                if known[row]
                else Strut(np.nan, np.nan, "")
                for name, one in rest.strain.elements.items()
            },
        )
        for row, load in enumerate(loads)
    )


def _loads(state: CarState, end: int, manoeuvre: Manoeuvre) -> Array:
    """Load on the left and the right tyre (2,)."""
    brake = braking(state)
    forward = (brake.shifted if end == 0 else -brake.shifted) * manoeuvre.braking
    mean = (state.car.axle_masses[end] * GRAVITY + manoeuvre.downforce[end] + forward) / 2.0
    shift = _shift(state, end, manoeuvre).total
    return np.array([mean - shift, mean + shift])


def _case(state: CarState, end: int, manoeuvre: Manoeuvre, loads: Array) -> LoadCase:
    """Forces of the ground on both wheels less what the unsprung masses take of them."""
    mass, axle = state.masses.per_wheel[end], state.car.axles[end]
    direct = axle.unsprung * GRAVITY + _shift(state, end, manoeuvre).unsprung * np.array([-1.0, 1.0])
    share = braking(state).front_share if end == 0 else 1.0 - braking(state).front_share
    braked = -share * state.car.mass * GRAVITY * manoeuvre.braking / 2.0
    side: Array = 2.0 * mass * GRAVITY * manoeuvre.lateral * loads / loads.sum()
    left, right = (np.array([braked, side[wheel], loads[wheel] - direct[wheel]]) for wheel in (0, 1))
    return LoadCase(left, right)


def _shift(state: CarState, end: int, manoeuvre: Manoeuvre) -> Transfer:
    return load_transfer(state.rolling, state.masses.height * MM, manoeuvre.lateral * GRAVITY)[end]


def _strut(axle: AxleState, name: str, compression: float, force: float) -> Strut:
    springs, note = axle.installed[name], ""
    if compression >= float(springs.solid_at):
        note = SOLID
    elif compression <= float(springs.slack_at):
        note = SLACK
    elif abs(compression) >= float(springs.knee_at):
        note = ONE_LETS_GO
    return Strut(*axle.pulls[name].told(compression, force), note)
