"""What braking and cornering do to the body's stand on its springs, by the links' own work at the contact points.

Steady states, springs and tyres as lines about static; accelerations in g, lengths mm, forces N.
"""

from dataclasses import dataclass

import numpy as np

from geometry.axle import Mode
from objectives.vehicle.car_state import CarState
from objectives.vehicle.centres import AntiEffects, anti_effects, lateral_lift
from objectives.vehicle.rates import MM
from objectives.vehicle.transfer import GRAVITY, Transfer, load_transfer, roll_arm, roll_gradient


@dataclass(frozen=True)
class Braking:
    """At 1 g: `front_share` of the braking force, and whether that is as the loads are then (`by_load`).

    `shifted` load [N]; `anti` effects; `travel` of each axle's wheels, bump positive, and `tyre` deflection [mm];
    `pitch` of the body, nose down positive [deg].
    """

    front_share: float
    by_load: bool
    shifted: float
    anti: AntiEffects
    travel: tuple[float, float]
    tyre: tuple[float, float]
    pitch: float


@dataclass(frozen=True)
class Cornering:
    """At 1 g to the left: both axles' load transfer, and what holds and moves the body.

    `arm` of the sprung mass above the roll axis [mm]. `hard` and `soft`: roll gradient without and with gravity's
    softening [deg/g]; outward roll is a positive body roll in a left turn (ISO 8855: left side up, wheel state r < 0).
    `transfer`: with softening; `rigid`: without, which sums to m a h. `roll_travel`: r of each axle, so below 0 [mm].
    `jacking`: lift on the body at each axle where side forces go as the wheels' loads [N]; `rise` [mm].
    """

    arm: float
    hard: float
    soft: float
    transfer: tuple[Transfer, ...]
    rigid: tuple[Transfer, ...]
    roll_travel: tuple[float, float]
    jacking: tuple[float, float]
    rise: tuple[float, float]


def braking(state: CarState) -> Braking:
    """The car braked at 1 g, on the file's brake balance or on that of the loads."""
    car = state.car
    by_load = car.brake_front_share is None
    share = car.front_share + car.cg_height / car.wheelbase
    if car.brake_front_share is not None:
        share = car.brake_front_share
    brakes = (state.axles[0].braking, state.axles[1].braking)
    drives = (state.axles[0].driving, state.axles[1].driving)
    anti = anti_effects(brakes, drives, share, car.cg_height, car.wheelbase)
    shifted = car.mass * GRAVITY * car.cg_height / car.wheelbase
    springs = (shifted * (1.0 - anti.dive / 100.0), -shifted * (1.0 - anti.lift / 100.0))
    front, rear = (force / (2.0 * axle.rate(Mode.HEAVE)) for force, axle in zip(springs, state.axles, strict=True))
    tyre = shifted / (2.0 * car.front.tyre_rate), -shifted / (2.0 * car.rear.tyre_rate)
    pitch = np.degrees(np.arctan((front + tyre[0] - rear - tyre[1]) / car.wheelbase))
    return Braking(share, by_load, shifted, anti, (front, rear), tyre, float(pitch))


def cornering(state: CarState) -> Cornering:
    """The car at 1 g to the left."""
    height = state.masses.height * MM
    hard, soft = (roll_gradient(state.rolling, height, one) * GRAVITY for one in (False, True))
    transfer = load_transfer(state.rolling, height, GRAVITY)
    jacking, rise, travel = [], [], []
    for end, axle in enumerate(state.axles):
        lift = float(lateral_lift(axle.motion.contact)[0]) * 2.0 * transfer[end].total
        jacking.append(lift)
        rise.append(lift / (2.0 * axle.rate(Mode.HEAVE)))
        held = transfer[end].elastic * state.rolling[end].track / state.rolling[end].stiffness
        travel.append(-held * axle.track / 2.0)
    return Cornering(
        arm=roll_arm(state.rolling, height) / MM,
        hard=float(np.degrees(hard)),
        soft=float(np.degrees(soft)),
        transfer=transfer,
        rigid=load_transfer(state.rolling, height, GRAVITY, softening=False),
        roll_travel=(travel[0], travel[1]),
        jacking=(jacking[0], jacking[1]),
        rise=(rise[0], rise[1]),
    )
