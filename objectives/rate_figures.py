"""Figures of an axle on its springs: rates and static balance, read from a survey. Definitions in the catalogue.

K_h, K_r, K_hr are per wheel [N/mm], each with a spring part and a geometric part: see `objectives.strain`.
"""

from collections.abc import Callable
from typing import Literal, TypeAlias

import numpy as np

from geometry.arrays import Array, Codes
from geometry.status import worst
from objectives.readings import FigureStatus, Reading, ratio, read, without_meaning
from objectives.strain import Curvature, Strain
from objectives.survey import StateSet, Survey

Part: TypeAlias = Literal["whole", "spring", "geometric"]

PER_DEGREE = 1e-3 * np.pi / 180.0
"""N.m/deg in a N.mm/rad."""


def heave_rate(survey: Survey) -> Reading:
    """K_h at static [N/mm]."""
    return _rate(survey, StateSet.STATIC, lambda part: part.heave, "whole")


def heave_rate_spring(survey: Survey) -> Reading:
    """Its spring part [N/mm]."""
    return _rate(survey, StateSet.STATIC, lambda part: part.heave, "spring")


def heave_rate_geometric(survey: Survey) -> Reading:
    """Its geometric part [N/mm]."""
    return _rate(survey, StateSet.STATIC, lambda part: part.heave, "geometric")


def roll_rate(survey: Survey) -> Reading:
    """K_r at static [N/mm]."""
    return _rate(survey, StateSet.STATIC, lambda part: part.roll, "whole")


def roll_rate_spring(survey: Survey) -> Reading:
    """Its spring part [N/mm]."""
    return _rate(survey, StateSet.STATIC, lambda part: part.roll, "spring")


def roll_rate_geometric(survey: Survey) -> Reading:
    """Its geometric part [N/mm]."""
    return _rate(survey, StateSet.STATIC, lambda part: part.roll, "geometric")


def one_wheel_rate(survey: Survey) -> Reading:
    """(K_h + K_r) / 2 + K_hr at static [N/mm]."""
    return _rate(survey, StateSet.STATIC, lambda part: part.one_wheel, "whole")


def cross_rate(survey: Survey) -> Reading:
    """K_hr at static [N/mm]."""
    return _rate(survey, StateSet.STATIC, lambda part: part.cross, "whole")


def roll_rate_at_bump(survey: Survey) -> Reading:
    """K_r at the bump end of the heave range [N/mm]."""
    return _rate(survey, StateSet.BUMP, lambda part: part.roll, "whole")


def roll_stiffness(survey: Survey) -> Reading:
    """K_r t^2 / 2 at static, t the track at the wheel centres [N.m/deg]."""
    rate = roll_rate(survey)
    track = 2.0 * survey.axle.wheel.centre[..., 1]
    return Reading(rate.value * track**2 / 2.0 * PER_DEGREE, rate.status)


def heave_rate_rise(survey: Survey) -> Reading:
    """100 (K_h at the bump end / K_h at static - 1) [%]."""
    static = heave_rate(survey)
    at_bump = _rate(survey, StateSet.BUMP, lambda part: part.heave, "whole")
    status = np.where(static.status == FigureStatus.OK, at_bump.status, static.status)
    return ratio(100.0 * (at_bump.value - static.value), static.value, status)


def static_miss(survey: Survey) -> Reading:
    """What the springs press each wheel down with at static, the mean of both, less the sprung weight on it [N]."""
    weight = survey.fittings.loads.sprung_per_wheel
    if weight is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    return _static_push(survey, lambda here: 0.5 * (here.by_left + here.by_right) - weight)


def static_lean(survey: Survey) -> Reading:
    """What the springs press the left wheel down with at static, less the mean of both wheels [N]."""
    return _static_push(survey, lambda here: 0.5 * (here.by_left - here.by_right))


def _rate(survey: Survey, states: StateSet, of: Callable[[Curvature], Array], part: Part) -> Reading:
    if not survey.springs:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    here = survey.strain(states)
    match part:
        case "whole":
            curvature = here.curvature
        case "spring":
            curvature = here.spring
        case "geometric":
            curvature = here.geometric
    return read(of(curvature)[..., 0], _status(survey, states))


def _static_push(survey: Survey, of: Callable[[Strain], Array]) -> Reading:
    if not survey.springs:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    return read(of(survey.strain(StateSet.STATIC))[..., 0], _status(survey, StateSet.STATIC))


def _status(survey: Survey, states: StateSet) -> Codes:
    """The worst of the axle and of every element with springs; `no_motion` where the weight hangs on nothing."""
    codes = [survey.motion(states).status, *(survey.element_status(name, states) for name in survey.springs)]
    status = worst(np.concatenate(np.broadcast_arrays(*codes), axis=-1))
    lost = np.isnan(survey.strain(StateSet.STATIC).by_left[..., 0])
    return np.where((status == FigureStatus.OK) & lost, FigureStatus.NO_MOTION, status).astype(np.int8)
