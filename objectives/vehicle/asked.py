"""From a car's targets back to its axles: wheel rates with the tyre in series, motion ratios, springs, dampers.

| symbol | meaning | unit |
|---|---|---|
| K_R, K | rate per wheel with the tyre in series, and without | N/mm |
| K_g | the geometric part of K, kept as it is | N/mm |
| k, s | rate of the element that serves the mode; what a rate of 1 on it is per wheel | N/mm, - |

K = K_R K_t / (K_t - K_R), and k = (K - K_g - what other elements give) / s. For a cross-car strut s = MR^2 / 2, for
corner struts MR^2: with another spring k' the ratio must be MR sqrt(k / k').
"""

from dataclasses import dataclass
from math import degrees, inf, nan, radians, sqrt

import numpy as np

from geometry.arrays import Array
from geometry.axle import Mode
from objectives.fittings.forces import PER_RADIAN
from objectives.vehicle.axle_state import AxleState
from objectives.vehicle.car_state import CarState
from objectives.vehicle.damping import per_wheel
from objectives.vehicle.rates import MM, rate_for, wheel_rate_for, without_tyre
from objectives.vehicle.transfer import GRAVITY, stiffness_for

ENDS = ("front", "rear")
"""The axles by name."""
TYRE_RULES = 0.5
"""From this share of the tyre's rate on, a wheel rate is told to be ruled by the tyre (a third is lost). Common
practice, no source."""


@dataclass(frozen=True)
class AskedRate:
    """What one axle needs in one mode; rates per wheel [N/mm].

    `ride_rate` K_R asked, `wheel_rate` K that gives it (infinite: the tyre alone is too soft), `present` K, `geometric`
    part. `element` that sets the mode's rate (empty: none does), its `ratio` and `present_rate` [mm/mm, N/mm; of a bar
    deg/mm, N.m/deg]; `ratio_asked` by that rate, and `element_rate` asked by that ratio (NaN where none does it).
    `ratios`: for each spring rate to be had, the ratio that it asks for (NaN likewise); none of a bar.
    """

    end: str
    mode: Mode
    ride_rate: float
    wheel_rate: float
    present: float
    geometric: float
    tyre_rate: float
    element: str
    of_bar: bool
    ratio: float
    ratio_asked: float
    present_rate: float
    element_rate: float
    ratios: tuple[tuple[float, float], ...]

    @property
    def tyre_rules(self) -> bool:
        """Whether the tyre gives at least half as much as the wheel rate asked for."""
        return self.wheel_rate >= TYRE_RULES * self.tyre_rate


def asked_rates(state: CarState) -> tuple[AskedRate, ...]:
    """What the car's targets ask of each axle's rates, in the order front heave, rear heave, front roll, rear roll."""
    targets, masses = state.car.targets, state.masses
    hertz = (targets.front_heave_frequency, targets.rear_heave_frequency)
    found = [
        _asked(state, end, Mode.HEAVE, rate_for(one, masses.per_wheel[end]))
        for end, one in enumerate(hertz)
        if one is not None
    ]
    return (*found, *(_asked(state, end, Mode.ROLL, rate) for end, rate in enumerate(_roll_rates(state))))


def _roll_rates(state: CarState) -> tuple[float, ...]:
    """Ride rates in roll per wheel that give the roll gradient, shared as asked or as they are."""
    targets, present = state.car.targets, state.ride_roll_stiffness
    if targets.roll_gradient is None and targets.front_roll_share is None:
        return ()
    share = targets.front_roll_share
    front = present[0] / sum(present) if share is None else share
    shares = (front, 1.0 - front)
    whole = sum(present)
    if targets.roll_gradient is not None:
        gradient = radians(targets.roll_gradient) / GRAVITY
        whole = stiffness_for(state.rolling, state.masses.height * MM, gradient, shares)
    return tuple(wheel_rate_for(whole * one, axle.track) for one, axle in zip(shares, state.axles, strict=True))


def _asked(state: CarState, end: int, mode: Mode, ride_rate: float) -> AskedRate:
    axle, tyre = state.axles[end], state.car.axles[end].tyre_rate
    wheel_rate = inf if np.isnan(ride_rate) else without_tyre(ride_rate, tyre)
    present, geometric = axle.rate(mode), axle.geometric_rate(mode)
    element = serving(axle, mode)
    now, needed = nan, nan
    ratio = axle.pulls[element].ratio(mode) if element else nan
    if element:
        now, share = element_rate(axle, element), per_wheel(axle.pulls[element].block, mode)
        others = present - geometric - now * share
        needed = (wheel_rate - geometric - others) / share
    possible = needed if 0.0 < needed < inf else nan
    of_bar = bool(element) and axle.pulls[element].bar
    rates = state.car.targets.spring_rates if element and not of_bar else ()
    per = PER_RADIAN if of_bar else 1.0
    return AskedRate(
        end=ENDS[end],
        mode=mode,
        ride_rate=ride_rate,
        wheel_rate=wheel_rate,
        present=present,
        geometric=geometric,
        tyre_rate=tyre,
        element=element,
        of_bar=of_bar,
        ratio=degrees(ratio) if of_bar else ratio,
        ratio_asked=(degrees(ratio) if of_bar else ratio) * sqrt(possible / now),
        present_rate=now / per,
        element_rate=possible / per,
        ratios=tuple((rate, ratio * sqrt(possible / rate)) for rate in rates),
    )


def serving(axle: AxleState, mode: Mode) -> str:
    """The sprung element that sets an axle's rate in a mode at static; empty where none gives any.

    Of those that the mode moves more than the other mode does, that which gives most; else of all.
    """
    parts = {name: element_rate(axle, name) * per_wheel(axle.pulls[name].block, mode) for name in axle.installed}
    giving = [name for name, part in parts.items() if part > 0.0]
    own = [name for name in giving if axle.pulls[name].works_in(mode)]
    return max(own or giving, key=lambda name: parts[name], default="")


def element_rate(axle: AxleState, element: str) -> float:
    """Rate of all springs on an element at static [N/mm, a bar's N.mm/rad]."""
    at_static: Array = np.zeros(1)
    return float(axle.installed[element].law.slope(at_static)[..., 0])
