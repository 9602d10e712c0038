"""How a corner rolls the body and shifts load across each axle, at a steady lateral acceleration.

| symbol | meaning | unit |
|---|---|---|
| a, g | lateral acceleration, gravity | m/s2 |
| H | height of the sprung mass above the roll axis, below it | m |
| K_s, K_t | roll stiffness of an axle's suspension and of its tyres | N.m/rad |
| M | moment of the sprung mass through the roll centre, and of the unsprung mass, on the tyres | N.m |

The body rolls by phi against the ground, the axle by psi on its tyres: K_t psi = K_s (phi - psi) + M. So the
suspension holds K_s (phi - psi) = K phi - M K / K_t with K = K_s K_t / (K_s + K_t): the elastic part. All axles
together hold the sprung mass: sum of it = m_s (a H + g H phi), whose last term is gravity's softening. Where M / K_t
is left out these are the handbooks' formulas (Milliken and Milliken, Race Car Vehicle Dynamics, chapters 16 and 18;
Barton and Fieldhouse, Automotive Chassis Engineering, Springer 2018, eq 3.18), which rigid tyres give exactly.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

GRAVITY = 9.80665
"""Standard gravity [m/s2] (ISO 80000-3, from memory)."""


@dataclass(frozen=True)
class RollingAxle:
    """One axle in a corner: what it carries and what holds it. Masses [kg] are of both wheels' share, lengths [m].

    `stiffness` of the suspension and of the tyres [N.m/rad]; `tyres` is infinite for rigid ones.
    """

    sprung_mass: float
    unsprung_mass: float
    roll_centre: float
    unsprung_height: float
    track: float
    stiffness: float
    tyres: float = np.inf

    @property
    def ride_stiffness(self) -> float:
        """Suspension and tyres in series [N.m/rad]."""
        return self.stiffness / (1.0 + self.stiffness / self.tyres)

    @property
    def direct_moment(self) -> float:
        """What reaches the tyres beside the springs, per m/s2 of lateral acceleration [N.m.s2/m]."""
        return self.sprung_mass * self.roll_centre + self.unsprung_mass * self.unsprung_height


@dataclass(frozen=True)
class Transfer:
    """Load that an axle shifts from its inner to its outer wheel [N], in three parts, and all of it."""

    geometric: float
    elastic: float
    unsprung: float

    @property
    def total(self) -> float:
        """The sum of the parts [N]."""
        return self.geometric + self.elastic + self.unsprung


def roll_arm(axles: Sequence[RollingAxle], sprung_height: float) -> float:
    """H: the sprung mass's height above the line through the roll centres, below its centre of mass [m]."""
    whole = sum(axle.sprung_mass for axle in axles)
    return sprung_height - sum(axle.sprung_mass * axle.roll_centre for axle in axles) / whole


def roll_gradient(axles: Sequence[RollingAxle], sprung_height: float, softening: bool = True) -> float:
    """Roll of the body against the ground per lateral acceleration [rad/(m/s2)], outward.

    With gravity's softening or without. NaN where gravity overturns what holds the body up.
    """
    moment, stiffness = _moment(axles, sprung_height), sum(axle.ride_stiffness for axle in axles)
    tyres = sum(axle.direct_moment * axle.ride_stiffness / axle.tyres for axle in axles)
    left = stiffness - (GRAVITY * moment if softening else 0.0)
    return (moment + tyres) / left if left > 0.0 else np.nan


def load_transfer(
    axles: Sequence[RollingAxle], sprung_height: float, acceleration: float, softening: bool = True
) -> tuple[Transfer, ...]:
    """The load that each axle shifts at a lateral acceleration [m/s2].

    Without softening the sum of shift x track is m a h of the whole car. With it, it is larger by what the rolled body
    leans out: m_s g H phi.
    """
    roll = roll_gradient(axles, sprung_height, softening) * acceleration
    found = []
    for axle in axles:
        rigid = axle.direct_moment * acceleration / axle.tyres
        found.append(
            Transfer(
                geometric=axle.sprung_mass * acceleration * axle.roll_centre / axle.track,
                elastic=axle.ride_stiffness * (roll - rigid) / axle.track,
                unsprung=axle.unsprung_mass * acceleration * axle.unsprung_height / axle.track,
            )
        )
    return tuple(found)


def stiffness_for(
    axles: Sequence[RollingAxle], sprung_height: float, gradient: float, shares: Sequence[float]
) -> float:
    """Roll stiffness of the whole car, tyres included [N.m/rad], that gives a roll gradient [rad/(m/s2)].

    Gravity softens; axle i has the share `shares`[i] of the stiffness. NaN where the tyres alone roll more.
    """
    moment = _moment(axles, sprung_height)
    tyres = sum(share * axle.direct_moment / axle.tyres for axle, share in zip(axles, shares, strict=True))
    return moment * (1.0 + GRAVITY * gradient) / (gradient - tyres) if gradient > tyres else np.nan


def _moment(axles: Sequence[RollingAxle], sprung_height: float) -> float:
    """Moment of the sprung mass about the roll axis per m/s2 [kg.m]."""
    return sum(axle.sprung_mass for axle in axles) * roll_arm(axles, sprung_height)
