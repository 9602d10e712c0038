"""From a car to its record: every figure of `rockwright car`, computed once."""

from collections.abc import Iterator
from math import radians

import numpy as np

from geometry.arrays import Array
from geometry.axle import Mode
from geometry.motion import move
from geometry.travel import heave_states, travel_points
from objectives.vehicle.aero import Aero, downforce, effective_rate
from objectives.vehicle.asked import ENDS, asked_rates
from objectives.vehicle.asked_dampers import asked_dampers
from objectives.vehicle.budget import budget, lets_go
from objectives.vehicle.car import Car, carrying
from objectives.vehicle.car_state import WHEELS, CarState, car_at_static
from objectives.vehicle.centres import roll_centre
from objectives.vehicle.corner_springs import on_corner_springs
from objectives.vehicle.kerb import strike_wheel
from objectives.vehicle.lap import Manoeuvre, axle_in_lap
from objectives.vehicle.mode_names import name_modes
from objectives.vehicle.modes import modes
from objectives.vehicle.platform import braking, cornering
from objectives.vehicle.rates import MM, frequency, in_series, roll_stiffness, warp_stiffness
from objectives.vehicle.ride_height import RideHeight, ride_height
from objectives.vehicle.stance import stand
from objectives.vehicle.transfer import GRAVITY
from optimiser.errors import RockwrightError
from optimiser.report.car.record import AxleAtSpeed, AxleRecord, CarAnalysis, Kerb, StrutAtSpeed

HEAVIER = 0.005
"""A weight that an axle's file names is told as another one from this share of the car's own on."""


class NoCarError(RockwrightError):
    """A car whose axles do not hold it up."""


def analyse_car(car: Car) -> CarAnalysis:
    """Everything that `rockwright car` tells; raises `NoCarError` where the axles do not hold the car up."""
    try:
        state = car_at_static(car)
    except ValueError as error:
        raise NoCarError(f"{car.name}: {error}; mend the springs of that axle, or the masses") from error
    front, rear = (_axle(state, end) for end in (0, 1))
    stiffness = state.ride_roll_stiffness
    corner, brake = cornering(state), braking(state)
    at_speed = tuple(_at_speed(state, end, car.aero) for end in (0, 1)) if car.aero else ()
    kerbs = (_kerb(state, 0), _kerb(state, 2))
    tops = tuple(float(one.balance.travel[np.argmax(car.speeds)]) for one in at_speed) or (0.0, 0.0)
    lap = _manoeuvres(car, at_speed)
    return CarAnalysis(
        car=car,
        weight=car.mass * GRAVITY,
        sprung_mass=state.masses.sprung,
        sprung_height=state.masses.height,
        axles=(front, rear),
        modes=name_modes(modes(state.system)),
        warp=radians(warp_stiffness(*stiffness)),
        cornering=corner,
        braking=brake,
        at_speed=at_speed,
        speed_pitch=_pitch(car, at_speed),
        speed_front_share=_front_share(at_speed),
        kerbs=kerbs,
        manoeuvres=lap,
        lap=(axle_in_lap(state, 0, lap), axle_in_lap(state, 1, lap)),
        budgets=tuple(
            budget(state, end, (tops[end], brake.travel[end], -corner.roll_travel[end], kerbs[end].travel))
            for end in (0, 1)
        ),
        lets_go=(lets_go(state, 0, corner.roll_travel[0]), lets_go(state, 1, corner.roll_travel[1])),
        rates=asked_rates(state),
        dampers=asked_dampers(state),
        corners=on_corner_springs(state),
        front_roll_share=stiffness[0] / sum(stiffness),
        notes=tuple(_notes(state)),
    )


def _axle(state: CarState, end: int) -> AxleRecord:
    axle, own = state.axles[end], state.car.axles[end]
    points = travel_points(own.travel.heave, own.travel.step)
    ride = {mode: state.ride_rate(end, mode) for mode in Mode}
    return AxleRecord(
        end=ENDS[end],
        sprung_mass=state.masses.per_wheel[end],
        unsprung=own.unsprung,
        tyre_rate=own.tyre_rate,
        track=axle.track,
        contact_track=axle.contact_track,
        rate={mode: axle.rate(mode) for mode in Mode},
        geometric={mode: axle.geometric_rate(mode) for mode in Mode},
        ride=ride,
        cross=axle.cross_rate,
        one_wheel=axle.one_wheel_rate,
        heave_frequency=frequency(ride[Mode.HEAVE], state.masses.per_wheel[end]),
        roll_stiffness=radians(roll_stiffness(axle.rate(Mode.ROLL), axle.track)),
        ride_roll_stiffness=radians(state.ride_roll_stiffness[end]),
        roll_centre=axle.roll_centre,
        static_miss=axle.static_miss,
        forces={name: axle.pulls[name].told(0.0, force)[1] for name, force in axle.forces.items()},
        centre_travel=points,
        centre_height=roll_centre(move(own.axle, heave_states(points)).contact),
    )


def _at_speed(state: CarState, end: int, aero: Aero) -> AxleAtSpeed:
    car, axle = state.car, state.car.axles[end]
    mass, growth = state.masses.per_wheel[end], aero.growth[end]
    push = downforce(aero, np.array(car.speeds))[end]
    found = ride_height(axle, carrying(axle, mass), push, growth)
    ride = 2.0 * in_series(found.rate, np.full_like(push, axle.tyre_rate))
    with np.errstate(invalid="ignore"):
        hertz = np.sqrt(ride / (2.0 * mass * MM)) / (2.0 * np.pi)
    return AxleAtSpeed(
        end=ENDS[end],
        balance=found,
        frequency=hertz,
        travel_left=axle.travel.heave[1] - found.travel,
        gain=growth * push,
        spare=effective_rate(ride, growth * push),
        struts=tuple(_strut(state, end, name, found) for name in found.strain.elements),
    )


def _pitch(car: Car, at_speed: tuple[AxleAtSpeed, ...]) -> Array:
    """Nose down against standing still (N,) [deg]."""
    if not at_speed:
        return np.zeros(0)
    front, rear = (one.balance.sink for one in at_speed)
    return np.asarray(np.degrees(np.arctan((front - rear) / car.wheelbase)))


def _front_share(at_speed: tuple[AxleAtSpeed, ...]) -> Array:
    """The front axle's share of the downforce (N,)."""
    if not at_speed:
        return np.zeros(0)
    front, rear = (one.balance.downforce for one in at_speed)
    whole = front + rear
    return np.divide(front, whole, out=np.full_like(whole, np.nan), where=whole > 0.0)


def _strut(state: CarState, end: int, name: str, found: RideHeight) -> StrutAtSpeed:
    springs, pull = state.axles[end].installed[name], state.axles[end].pulls[name]
    strained = found.strain.elements[name]
    squeezed, force = (np.where(np.isnan(found.travel), np.nan, one) for one in (strained.compression, strained.force))
    told = [pull.told(*one) for one in zip(squeezed.tolist(), force.tolist(), strict=True)]
    return StrutAtSpeed(
        name=name,
        of_bar=pull.bar,
        compression=np.array([one[0] for one in told]),
        force=np.array([one[1] for one in told]),
        to_slack=squeezed - float(springs.slack_at),
        to_solid=float(springs.solid_at) - squeezed,
    )


def _manoeuvres(car: Car, at_speed: tuple[AxleAtSpeed, ...]) -> tuple[Manoeuvre, ...]:
    """Standing, cornering and braking at 1 g, both at once; then the same at the top speed where it balances."""
    ways = {"corner 1 g": (1.0, 0.0), "braking 1 g": (0.0, 1.0), "both 0.7 g": (0.7, 0.7)}
    none = (0.0, 0.0)
    found = [Manoeuvre("standing", none, 0.0, 0.0), *(Manoeuvre(name, none, *way) for name, way in ways.items())]
    if at_speed:
        top = int(np.argmax(car.speeds))
        front, rear = (float(one.balance.downforce[top]) for one in at_speed)
        if np.isfinite(front + rear):
            fast = f"{car.speeds[top]:g} m/s"
            found.append(Manoeuvre(fast, (front, rear), 0.0, 0.0))
            found += [Manoeuvre(f"{fast}, {name}", (front, rear), *way) for name, way in ways.items()]
    return tuple(found)


def _kerb(state: CarState, wheel: int) -> Kerb:
    ground = state.car.kerb * MM * np.eye(4)[wheel]
    end, mass = wheel // 2, state.masses.per_wheel[wheel // 2]
    struck = strike_wheel(state.car.axles[end], carrying(state.car.axles[end], mass), state.car.kerb)
    fast = np.zeros(4)
    fast[2 * end : 2 * end + 2] = struck.force
    slow = stand(state.system, ground)
    heave, pitch, roll = slow.body
    return Kerb(
        wheel=WHEELS[wheel],
        height=state.car.kerb,
        fast=fast,
        slow=slow.force,
        travel=float(struck.travel[0]),
        solid=tuple(name for name, one in struck.strain.elements.items() if one.solid[0]),
        heave=float(heave) / MM,
        pitch=float(np.degrees(pitch)),
        roll=float(np.degrees(roll)),
    )


def _notes(state: CarState) -> Iterator[str]:
    for end, axle, mass in zip(ENDS, state.car.axles, state.masses.per_wheel, strict=True):
        written, own = axle.fittings.loads.sprung_per_wheel, mass * GRAVITY
        if written is not None and abs(written / own - 1.0) > HEAVIER:
            yield f"the {end} axle's file names {written:.5g} N of sprung weight per wheel, the car has {own:.5g} N"
    for end, axle_state in zip(ENDS, state.axles, strict=True):
        if abs(axle_state.static_miss) > 1.0:
            more = "more" if axle_state.static_miss > 0.0 else "less"
            yield (
                f"the {end} springs press each wheel with {abs(axle_state.static_miss):.0f} N {more} than the sprung "
                "weight at the height taken for static: the car stands elsewhere"
            )
