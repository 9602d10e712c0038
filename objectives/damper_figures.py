"""Figures of a damper as the wheels feel it, at static, read from a survey. Definitions stand in the catalogue.

By virtual work a damper's force F at an element with motion ratio MR gives F MR at its own wheel where there is one on
each side, and F MR / 2 at either wheel where both move the one element.
"""

import numpy as np

from geometry.arrays import Array
from geometry.axle import CornerStrut
from geometry.status import worst
from objectives.fittings.dampers import DamperCurve
from objectives.fittings.damping import damper_law
from objectives.readings import FigureStatus, Reading, read, without_meaning
from objectives.strut_figures import mode_ratios
from objectives.survey import StateSet, Survey

SLOW = 0.05
"""Speed of a wheel as the body moves on it [m/s] (common practice, no source)."""
FAST = 0.25
"""Speed of a wheel that hops or meets a kerb [m/s] (common practice, no source)."""


def wheel_damping(survey: Survey, name: str) -> Reading:
    """(F_w(v) - F_w(-v)) / (2 v) at v = 50 mm/s of wheel travel [N.s/m]."""
    into, out = (_wheel_force(survey, name, speed) for speed in (SLOW, -SLOW))
    return Reading((into.value - out.value) / (2.0 * SLOW), into.status)


def bump_force_slow(survey: Survey, name: str) -> Reading:
    """Force at each wheel while 50 mm/s of it squeeze the damper [N]."""
    return _wheel_force(survey, name, SLOW)


def rebound_force_slow(survey: Survey, name: str) -> Reading:
    """Force at each wheel, without its sign, while 50 mm/s of it draw the damper out [N]."""
    return _turned(_wheel_force(survey, name, -SLOW))


def bump_force_fast(survey: Survey, name: str) -> Reading:
    """Force at each wheel while 250 mm/s of it squeeze the damper [N]."""
    return _wheel_force(survey, name, FAST)


def rebound_force_fast(survey: Survey, name: str) -> Reading:
    """Force at each wheel, without its sign, while 250 mm/s of it draw the damper out [N]."""
    return _turned(_wheel_force(survey, name, -FAST))


def _wheel_force(survey: Survey, name: str, speed: float) -> Reading:
    """The damper's force at each wheel, positive with its own, at a wheel speed [m/s] that squeezes it."""
    damper = survey.fittings.dampers.get(name)
    if not isinstance(damper, DamperCurve):
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    size: Array = np.abs(mode_ratios(survey, name, survey.mode(name), StateSet.STATIC)[..., 0])
    wheels = 1.0 if isinstance(survey.axle.elements[name], CornerStrut) else 2.0
    force = damper_law(damper).force(size[..., None] * speed)[..., 0]
    return read(force * size / wheels, worst(survey.strut_status(name, StateSet.STATIC)))


def _turned(reading: Reading) -> Reading:
    return Reading(-reading.value, reading.status)
