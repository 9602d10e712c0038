"""One axle of a car at its static height: rates and ratios per wheel, where it rolls about, what its struts carry."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, Mode, TorsionBar
from geometry.motion import Motion, move
from geometry.travel import heave_states
from objectives.fittings.fitted import Fittings
from objectives.fittings.forces import NEWTON_MM
from objectives.fittings.installed import Installed, install
from objectives.strain import Curvature, sided, strain_of
from objectives.vehicle.car import CarAxle
from objectives.vehicle.centres import roll_centre, side_slope

MORE = 1.5
"""A mode moves an element clearly more than another mode from this ratio of the two on. Common practice, no source."""


@dataclass(frozen=True)
class Pull:
    """An element's compression by both wheels together and by one against the other, per mm of each [mm/mm, rad/mm].

    `left`, `right`: by each wheel alone. `twin`: there is one on each side, and this is the left one's. `bar`: its
    compression is an angle.
    """

    left: float
    right: float
    twin: bool
    bar: bool

    def ratio(self, mode: Mode) -> float:
        """Its motion ratio in heave or in roll; of a corner strut or torsion bar the same in both."""
        return self.left + self.right if mode is Mode.HEAVE else self.left - self.right

    def works_in(self, mode: Mode) -> bool:
        """Whether a mode moves it clearly more than the other mode does."""
        return abs(self.ratio(mode)) > MORE * abs(self.ratio(mode.other))

    def told(self, compression: float, force: float) -> tuple[float, float]:
        """A compression and a force as files and tables have them: mm and N, of a bar deg and N.m."""
        return (float(np.degrees(compression)), force / NEWTON_MM) if self.bar else (compression, force)

    @property
    def block(self) -> Array:
        """What a rate of 1 on it, or on each of the two, is by the travels of both wheels (2, 2)."""
        own = np.outer([self.left, self.right], [self.left, self.right])
        return own + own[::-1, ::-1] if self.twin else own


@dataclass(frozen=True)
class AxleState:
    """One axle at static. Rates per wheel [N/mm]; lengths [mm].

    `spring`, `geometric`: the two parts of the rates; `pulls`: of every element; `forces` of the springs [N, N.mm].
    `track` between the wheel centres, by which a roll travel is a roll angle, and `contact_track` between the contact
    points; `roll_centre` height; `braking`, `driving`: side slopes with the brake on the upright and with a shaft to
    the chassis. `static_miss`: how much more the springs press each wheel than the sprung weight [N].
    """

    spring: Curvature
    geometric: Curvature
    pulls: Mapping[str, Pull]
    forces: Mapping[str, float]
    installed: Mapping[str, Installed]
    track: float
    contact_track: float
    wheel_height: float
    roll_centre: float
    braking: float
    driving: float
    static_miss: float
    motion: Motion

    def rate(self, mode: Mode) -> float:
        """K_h or K_r."""
        return _rate(self.spring, mode) + self.geometric_rate(mode)

    def geometric_rate(self, mode: Mode) -> float:
        """Its geometric part."""
        return _rate(self.geometric, mode)

    @property
    def cross_rate(self) -> float:
        """K_hr."""
        return float((self.spring + self.geometric).cross[0])

    @property
    def one_wheel_rate(self) -> float:
        """The left wheel alone, the right one held."""
        return float((self.spring + self.geometric).one_wheel[0])


def axle_at_static(axle: CarAxle, fittings: Fittings) -> AxleState:
    """The axle at static with what is fitted to it; raises ValueError where a spring carries an unknown weight."""
    motion = move(axle.axle, heave_states(np.zeros(1)))
    installed = install(axle.axle, fittings, motion)
    strained = strain_of(axle.axle, installed, motion)
    contact = motion.contact
    return AxleState(
        spring=strained.spring,
        geometric=strained.geometric,
        pulls=_pulls(axle, motion),
        forces={name: float(force[0]) for name, force in strained.forces.items()},
        installed=installed,
        track=2.0 * float(axle.axle.wheel.centre[1]),
        contact_track=2.0 * float(contact.point[0, 1]),
        wheel_height=float(axle.axle.wheel.centre[2]),
        roll_centre=float(roll_centre(contact)[0]),
        braking=float(side_slope(contact, inboard=False)[0]),
        driving=float(side_slope(contact, inboard=True)[0]),
        static_miss=float(strained.by_left[0]) - (fittings.loads.sprung_per_wheel or 0.0),
        motion=motion,
    )


def _rate(part: Curvature, mode: Mode) -> float:
    return float((part.heave if mode is Mode.HEAVE else part.roll)[0])


def _pulls(axle: CarAxle, motion: Motion) -> dict[str, Pull]:
    found = {}
    for name, element in axle.axle.elements.items():
        squeeze = motion.squeeze(name)
        bar = isinstance(element, AntiRollBar | TorsionBar)
        found[name] = Pull(float(squeeze.by_left[0]), float(squeeze.by_right[0]), sided(element), bar)
    return found
