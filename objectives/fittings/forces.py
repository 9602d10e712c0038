"""What a spring does against the compression of its element, in the units of geometry.

| symbol | meaning | unit |
|---|---|---|
| c | compression from static: of a strut, of a bar | mm, rad |
| F | force, positive when the spring pushes its element longer | N, N.mm |
| k | rate dF/dc | N/mm, N.mm/rad |

Every spring is a `Law`: straight between knees. Numbers may carry batch axes (*B), and rates are above 0.
"""

import numpy as np

from geometry.arrays import Array
from objectives.fittings.law import Knee, Law, pushing, side_by_side, straight, through
from objectives.fittings.springs import (
    BarSpring,
    CarriesWeight,
    CoilSpring,
    CurveSpring,
    OpposedSprings,
    SeriesSprings,
    Spring,
    TorsionSpring,
)

STOP_RATE = 1e5
"""Rate of a coil beyond its solid length [N/mm]: rigid in truth, but so that forces stay finite and a state can be
found; 10 kN press it by 0.1 mm."""
NEWTON_MM = 1e3
"""N.mm in a N.m."""
PER_RADIAN = NEWTON_MM * 180.0 / np.pi
"""N.mm/rad in a N.m/deg."""


def law_of(spring: Spring, static: Array | None = None) -> Law:
    """The law of a spring; `static` (*B) [N, for a bar N.mm] is its force at static where it carries the weight.

    Raises ValueError where a spring carries the weight and no force is given.
    """
    match spring:
        case CoilSpring():
            return _coil(spring, _static_of(spring, static))
        case OpposedSprings():
            return _opposed(spring)
        case CurveSpring():
            return _curve(spring)
        case SeriesSprings():
            return _series(spring, _static_of(spring, static))
        case TorsionSpring():
            return straight(_static_of(spring, static), spring.rate * PER_RADIAN)
        case BarSpring():
            return straight(np.asarray(0.0), spring.rate * PER_RADIAN)


def carries_weight(spring: Spring) -> bool:
    """Whether a spring's static force follows from the weight."""
    match spring:
        case CoilSpring() | SeriesSprings() | TorsionSpring():
            return isinstance(spring.static, CarriesWeight)
        case _:
            return False


def slack_at(spring: Spring, static: Array | None = None) -> Array:
    """The compression (*B) at and below which a coil or series spring that cannot pull is slack; -inf for others."""
    match spring:
        case CoilSpring(pulls=False) | SeriesSprings():
            return law_of(spring, static).knees[0].at
        case _:
            return np.asarray(-np.inf)


def solid_at(spring: Spring, static: Array | None = None) -> Array:
    """The compression (*B) [mm] at which a coil is solid; inf for others, and where its lengths are not known."""
    if not isinstance(spring, CoilSpring) or spring.free_length is None or spring.solid_length is None:
        return np.asarray(np.inf)
    return np.asarray(spring.free_length - _static_of(spring, static) / spring.rate - spring.solid_length)


def knee_at(spring: Spring) -> Array:
    """|c| (*B) [mm] at which one of an opposed pair lets go or, with a dead band, takes hold; inf for others."""
    if not isinstance(spring, OpposedSprings):
        return np.asarray(np.inf)
    return np.asarray(np.abs(spring.preload) / spring.rate)


def _static_of(spring: CoilSpring | SeriesSprings | TorsionSpring, given: Array | None) -> Array:
    if isinstance(spring.static, CarriesWeight):
        if given is None:
            raise ValueError(f"the spring on {spring.on} carries the weight: give its static force")
        return np.asarray(given)
    return np.asarray(spring.static * NEWTON_MM if isinstance(spring, TorsionSpring) else spring.static)


def _coil(spring: CoilSpring, static: Array) -> Law:
    rate = np.asarray(spring.rate)
    law = straight(static, rate) if spring.pulls else pushing((-static / rate, rate))
    if spring.free_length is None or spring.solid_length is None:
        return law
    stop = Law(np.asarray(0.0), np.asarray(0.0), (Knee(solid_at(spring, static), STOP_RATE - rate),))
    return side_by_side([law, stop])


def _opposed(spring: OpposedSprings) -> Law:
    """max(F0 + k c, 0) - max(F0 - k c, 0): rate k far out, 2 k while both press, 0 in a dead band."""
    rate, preload = np.asarray(spring.rate), np.asarray(spring.preload)
    reach = preload / rate
    return Law(-preload, rate, (Knee(-reach, rate), Knee(reach, -rate)))


def _curve(spring: CurveSpring) -> Law:
    law = through(spring.points)
    first = Knee(np.asarray(spring.gap), law.rate)
    later = (Knee(np.asarray(spring.gap + knee.at), knee.change) for knee in law.knees)
    return Law(np.asarray(0.0), np.asarray(0.0), (first, *later))


def _series(spring: SeriesSprings, static: Array) -> Law:
    """Both springs until the first is solid, under the force first * solid_at; then the second alone."""
    first, second = (np.asarray(rate) for rate in spring.rates)
    both = first * second / (first + second)
    full = first * spring.solid_at
    squeezed = np.minimum(static, full) / both + np.maximum(static - full, 0.0) / second
    return pushing((-squeezed, both), (full / both - squeezed, second))
