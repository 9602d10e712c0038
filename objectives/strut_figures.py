"""Figures of one element: what each measures, read from a survey. Definitions stand in the catalogue.

For an element that serves m (heave or roll; n = the other): c its compression [mm], MR_m = dc/dm.
"""

import numpy as np

from geometry.angles import rise
from geometry.arrays import Array, Codes, norm
from geometry.axle import CornerStrut, Mode
from geometry.status import worst
from geometry.strut import strut_line
from objectives.readings import NOTHING, FigureStatus, Reading, at_static, ratio, read, without_meaning
from objectives.survey import StateSet, Survey


def motion_ratio(survey: Survey, name: str) -> Reading:
    """MR_m at static [mm/mm]."""
    return read(_static_ratio(survey, name, survey.mode(name)), _static_status(survey, name))


def coupling(survey: Survey, name: str) -> Reading:
    """MR_n at static [mm/mm]."""
    if _is_corner(survey, name):
        return without_meaning(survey.batch, FigureStatus.NOT_DECOUPLED)
    return read(_static_ratio(survey, name, survey.mode(name).other), _static_status(survey, name))


def progressivity(survey: Survey, name: str) -> Reading:
    """100 (MR_m at the bump end / MR_m at static - 1) [%]."""
    return _rise(survey, name, -1)


def progressivity_droop(survey: Survey, name: str) -> Reading:
    """100 (MR_m at the droop end / MR_m at static - 1) [%]."""
    return _rise(survey, name, 0)


def ratio_spread(survey: Survey, name: str) -> Reading:
    """Largest 100 abs(MR_m / MR_m(0) - 1) over the travel points of m [%]."""
    return _largest_change(survey, name, survey.mode(name), StateSet.of(survey.mode(name)))


def ratio_drift(survey: Survey, name: str) -> Reading:
    """Largest 100 abs(MR_m(m = 0, n) / MR_m(0, 0) - 1) over the travel points of n [%]."""
    if _is_corner(survey, name):
        return without_meaning(survey.batch, FigureStatus.NOT_DECOUPLED)
    return _largest_change(survey, name, survey.mode(name), StateSet.of(survey.mode(name).other))


def crosstalk(survey: Survey, name: str) -> Reading:
    """100 largest abs(c) over the pure n sweep / largest abs(c) over the pure m sweep [%]."""
    if _is_corner(survey, name):
        return without_meaning(survey.batch, FigureStatus.NOT_DECOUPLED)
    own, foreign = StateSet.of(survey.mode(name)), StateSet.of(survey.mode(name).other)
    stroke, leak = (np.abs(survey.strut(name, sweep).compression).max(axis=-1) for sweep in (own, foreign))
    idle = (np.abs(_static_ratio(survey, name, survey.mode(name))) < NOTHING) | (stroke < NOTHING)
    return ratio(100.0 * leak, np.where(idle, 0.0, stroke), _status_over(survey, name, own, foreign))


def left_right_split(survey: Survey, name: str) -> Reading:
    """200 abs(c(r) + c(-r)) / abs(c(r) - c(-r)) at r = the smaller end of the roll range [%]."""
    if _is_corner(survey, name):
        return without_meaning(survey.batch, FigureStatus.NOT_DECOUPLED)
    if survey.mode(name) is not Mode.ROLL:
        return without_meaning(survey.batch, FigureStatus.ROLL_ONLY)
    c = survey.strut(name, StateSet.EVEN_ROLL).compression
    odd = c[..., 0] - c[..., 1]
    idle = np.abs(_static_ratio(survey, name, Mode.ROLL)) < NOTHING
    return ratio(
        200.0 * np.abs(c[..., 0] + c[..., 1]),
        np.where(idle, 0.0, np.abs(odd)),
        _status_over(survey, name, StateSet.EVEN_ROLL),
    )


def steer_even(survey: Survey, name: str) -> Reading:
    """Largest abs((c(s) + c(-s)) / 2) over the rack's travel points [mm]: the part that lifts the car."""
    return _steer(survey, name, 1.0)


def steer_odd(survey: Survey, name: str) -> Reading:
    """Largest abs((c(s) - c(-s)) / 2) over the rack's travel points [mm]: the part that rolls the car."""
    return _steer(survey, name, -1.0)


def length_static(survey: Survey, name: str) -> Reading:
    """Length at static [mm]."""
    return at_static(norm(strut_line(survey.side, name, survey.right)), survey.batch)


def length_min(survey: Survey, name: str) -> Reading:
    """Smallest length over all states of heave and roll [mm]."""
    return read(survey.strut(name, StateSet.GRID).length.min(axis=-1), _status_over(survey, name, StateSet.GRID))


def length_max(survey: Survey, name: str) -> Reading:
    """Largest length over all states of heave and roll [mm]."""
    return read(survey.strut(name, StateSet.GRID).length.max(axis=-1), _status_over(survey, name, StateSet.GRID))


def compression_stroke(survey: Survey, name: str) -> Reading:
    """Static length - smallest length [mm]."""
    least = length_min(survey, name)
    return read(length_static(survey, name).value - least.value, least.status)


def extension_stroke(survey: Survey, name: str) -> Reading:
    """Largest length - static length [mm]."""
    most = length_max(survey, name)
    return read(most.value - length_static(survey, name).value, most.status)


def transmission_min(survey: Survey, name: str) -> Reading:
    """Smallest angle between arm and strut line as seen along the axis, the worse end, over all states [deg]."""
    strut = survey.strut(name, StateSet.ALL)
    angle = np.fmin(strut.transmission_left, strut.transmission_right).min(axis=-1)
    return read(np.degrees(angle), _status_over(survey, name, StateSet.ALL))


def tilt_max(survey: Survey, name: str) -> Reading:
    """Largest angle of the strut line out of the rocker's plane, the worse end, over all states [deg]."""
    strut = survey.strut(name, StateSet.ALL)
    angle = np.fmax(strut.tilt_left, strut.tilt_right).max(axis=-1)
    return read(np.degrees(angle), _status_over(survey, name, StateSet.ALL))


def angle_static(survey: Survey, name: str) -> Reading:
    """Angle of the strut's line to the ground plane at static, 0..90 [deg]."""
    return at_static(np.degrees(rise(strut_line(survey.side, name, survey.right))), survey.batch)


def _is_corner(survey: Survey, name: str) -> bool:
    return isinstance(survey.axle.elements[name], CornerStrut)


def mode_ratios(survey: Survey, name: str, mode: Mode, sweep: StateSet) -> Array:
    """An element's dc/d(mode) at a set of states (*B, S) [mm/mm]."""
    strut = survey.strut(name, sweep)
    return strut.by_left + strut.by_right if mode is Mode.HEAVE else strut.by_left - strut.by_right


def _static_ratio(survey: Survey, name: str, mode: Mode) -> Array:
    return np.asarray(mode_ratios(survey, name, mode, StateSet.STATIC)[..., 0])


def _static_status(survey: Survey, name: str) -> Codes:
    return _status_over(survey, name, StateSet.STATIC)


def _status_over(survey: Survey, name: str, *sweeps: StateSet) -> Codes:
    return worst(np.concatenate([survey.strut_status(name, sweep) for sweep in sweeps], axis=-1))


def _rise(survey: Survey, name: str, end: int) -> Reading:
    mode = survey.mode(name)
    at_end = mode_ratios(survey, name, mode, StateSet.of(mode))[..., end]
    static, status = _static_ratio(survey, name, mode), survey.strut_status(name, StateSet.of(mode))[..., end]
    return ratio(100.0 * (at_end - static), static, worst(np.stack([status, _static_status(survey, name)], axis=-1)))


def _largest_change(survey: Survey, name: str, mode: Mode, sweep: StateSet) -> Reading:
    static = _static_ratio(survey, name, mode)
    change = np.abs(mode_ratios(survey, name, mode, sweep) - static[..., None]).max(axis=-1)
    return ratio(100.0 * change, np.abs(static), _status_over(survey, name, sweep))


def _steer(survey: Survey, name: str, sign: float) -> Reading:
    c = survey.strut(name, StateSet.EVEN_RACK).compression
    part = 0.5 * np.abs(c + sign * c[..., ::-1])
    return read(part.max(axis=-1), _status_over(survey, name, StateSet.EVEN_RACK))
