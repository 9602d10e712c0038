"""Figures of a torsion bar's or an anti-roll bar's twist, read from a survey. Definitions stand in the catalogue."""

import numpy as np

from geometry.axle import AntiRollBar
from geometry.status import worst
from objectives.readings import Reading, read
from objectives.survey import StateSet, Survey


def twist_ratio(survey: Survey, name: str) -> Reading:
    """Twist at static per mm of roll of an anti-roll bar, per mm of its own wheel of a torsion bar [deg/mm]."""
    squeeze = survey.squeeze(name, StateSet.STATIC)
    is_bar = isinstance(survey.axle.elements[name], AntiRollBar)
    by_mode = squeeze.by_left - squeeze.by_right if is_bar else squeeze.by_left
    return read(np.degrees(by_mode[..., 0]), worst(squeeze.status))


def twist_max(survey: Survey, name: str) -> Reading:
    """Largest twist without its sign over all states [deg]."""
    squeeze = survey.squeeze(name, StateSet.ALL)
    return read(np.degrees(np.abs(squeeze.compression).max(axis=-1)), worst(squeeze.status))
