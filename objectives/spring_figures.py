"""Figures of the springs on one element: what each measures, read from a survey. Definitions stand in the catalogue.

For an element on which springs act: c its compression [mm, rad], F their force [N, N.mm]; the left one's where there
is one on each side.
"""

import numpy as np

from geometry.arrays import Array, Codes
from geometry.status import worst
from objectives.crossing import Crossing, first_crossing, nearer
from objectives.fittings.forces import NEWTON_MM
from objectives.fittings.installed import Installed
from objectives.readings import FigureStatus, Reading, read, without_meaning
from objectives.strut_figures import mode_ratios
from objectives.survey import StateSet, Survey


def force_static(survey: Survey, name: str) -> Reading:
    """The springs' force at static [N]."""
    return _static(survey, name, 1.0)


def force_max(survey: Survey, name: str) -> Reading:
    """Their largest force without its sign over all states [N]."""
    return _largest(survey, name, 1.0)


def moment_static(survey: Survey, name: str) -> Reading:
    """The moment of a bar's spring at static [N.m]."""
    return _static(survey, name, NEWTON_MM)


def moment_max(survey: Survey, name: str) -> Reading:
    """Its largest moment without its sign over all states [N.m]."""
    return _largest(survey, name, NEWTON_MM)


def slack_travel(survey: Survey, name: str) -> Reading:
    """Travel of the element's mode from static, either way, at which a spring that cannot pull goes slack [mm]."""
    springs = _springs(survey, name)
    if springs is None or np.all(np.isinf(springs.slack_at)):
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    up, down = (_reached(survey, name, springs.slack_at, 1.0, way) for way in (1, -1))
    both = nearer(up, down)
    c = survey.strut(name, StateSet.of(survey.mode(name))).compression
    searched = np.where(c[..., 0] < c[..., -1], down.distance, up.distance)
    return _met(survey, name, Crossing(np.where(both.met, both.distance, searched), both.met))


def knee_travel(survey: Survey, name: str) -> Reading:
    """Travel of the element's mode from static, either way, at which one of an opposed pair lets go [mm]."""
    springs = _springs(survey, name)
    if springs is None or np.all(np.isinf(springs.knee_at)):
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    found = [_reached(survey, name, -springs.knee_at, sign, way) for sign in (1.0, -1.0) for way in (1, -1)]
    return _met(survey, name, nearer(*found))


def solid_reserve(survey: Survey, name: str) -> Reading:
    """What the most squeezed coil has left before it is solid, over all states [mm]; negative where it would be."""
    springs = _springs(survey, name)
    if springs is None or np.all(np.isinf(springs.solid_at)):
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    most = survey.strut(name, StateSet.ALL).compression.max(axis=-1)
    return read(springs.solid_at - most, _status_over(survey, name, springs, StateSet.ALL))


def forces_over(survey: Survey, name: str, states: StateSet) -> Array:
    """The springs' force on an element at a set of states (*B, S) [N, N.mm]."""
    return survey.springs[name].law.force(compression(survey, name, states))


def compression(survey: Survey, name: str, states: StateSet) -> Array:
    """An element's compression at a set of states (*B, S): of a strut [mm], of a bar [rad]."""
    if name in survey.axle.struts:
        return survey.strut(name, states).compression
    return survey.squeeze(name, states).compression


def _springs(survey: Survey, name: str) -> Installed | None:
    return survey.springs.get(name)


def _static(survey: Survey, name: str, unit: float) -> Reading:
    springs = _springs(survey, name)
    if springs is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    force = springs.law.force(np.zeros(1))[..., 0] / unit
    return read(force, _status_over(survey, name, springs, StateSet.STATIC))


def _largest(survey: Survey, name: str, unit: float) -> Reading:
    springs = _springs(survey, name)
    if springs is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    c = compression(survey, name, StateSet.ALL)
    # No spring's force falls as it is squeezed: the extremes of c have those of the force.
    ends = springs.law.force(np.stack([c.min(axis=-1), c.max(axis=-1)], axis=-1))
    return read(np.abs(ends).max(axis=-1) / unit, _status_over(survey, name, springs, StateSet.ALL))


def _status_over(survey: Survey, name: str, springs: Installed, states: StateSet) -> Codes:
    """The worst of the states; `no_motion` where the force that carries the weight has nothing to work on."""
    status = worst(survey.element_status(name, states))
    lost = np.isnan(springs.law.force(np.zeros(1))[..., 0])
    return np.where((status == FigureStatus.OK) & lost, FigureStatus.NO_MOTION, status).astype(np.int8)


def _reached(survey: Survey, name: str, level: Array, sign: float, way: int) -> Crossing:
    """Where along the element's mode `sign` c first falls to `level`."""
    mode = survey.mode(name)
    states = StateSet.of(mode)
    c, ratio = survey.strut(name, states).compression, mode_ratios(survey, name, mode, states)
    return first_crossing(survey.plan.points[states], sign * c, sign * ratio, level, way)


def _met(survey: Survey, name: str, crossing: Crossing) -> Reading:
    springs = survey.springs[name]
    status = _status_over(survey, name, springs, StateSet.of(survey.mode(name)))
    found = read(crossing.distance, status)
    beyond = (found.status == FigureStatus.OK) & ~crossing.met
    return Reading(found.value, np.where(beyond, FigureStatus.BEYOND_TRAVEL, found.status).astype(np.int8))
