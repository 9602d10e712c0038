"""Figures of the rod and the rocker: what each measures, read from a survey. Definitions stand in the catalogue."""

import numpy as np

from geometry.angles import rise
from geometry.arrays import Codes
from geometry.hardpoints import element_pickups
from geometry.status import worst
from objectives.readings import FigureStatus, Reading, at_static, read
from objectives.survey import Survey


def sweep(survey: Survey) -> Reading:
    """Largest - smallest rocker angle over all states [deg]."""
    turn = survey.side.closing.turn.angle[..., survey.plan.all_sides]
    return read(np.degrees(turn.max(axis=-1) - turn.min(axis=-1)), _status(survey))


def transmission_min(survey: Survey) -> Reading:
    """Smallest angle between rod and arm as seen along the axis, over all states [deg]."""
    angle = survey.side.rod_transmission[..., survey.plan.all_sides]
    return read(np.degrees(angle.min(axis=-1)), _status(survey))


def tilt_max(survey: Survey) -> Reading:
    """Largest angle of the rod out of the rocker's plane, over all states [deg]."""
    angle = survey.side.rod_tilt[..., survey.plan.all_sides]
    return read(np.degrees(angle.max(axis=-1)), _status(survey))


def toggle_margin(survey: Survey) -> Reading:
    """One wheel's travel beyond its range until rod and arm line up, the loop opens or the links lock [mm]."""
    toggle = survey.toggle()
    beyond = (toggle.status == FigureStatus.OK) & toggle.beyond
    status = np.where(beyond, FigureStatus.BEYOND_SEARCH, toggle.status).astype(np.int8)
    return Reading(toggle.margin, status)


def rod_angle_static(survey: Survey) -> Reading:
    """Angle of the rod's line to the ground plane at static, 0..90 [deg]."""
    points = survey.side.points
    return at_static(np.degrees(rise(points.rod_outboard - points.rod_inboard)), survey.batch)


def arm_sum(survey: Survey) -> Reading:
    """Sum of the in-plane radii of the rod's end and every pick-up that an element names, each once [mm]."""
    points = survey.side.points
    radii = [points.rod_arm.length, *(points.arms[name].length for name in element_pickups(survey.axle))]
    return at_static(np.sum(np.broadcast_arrays(*radii), axis=0), survey.batch)


def top_height(survey: Survey) -> Reading:
    """Highest z that the rod's end or any of those pick-ups reaches over all states [mm]."""
    ends = survey.side.heights(element_pickups(survey.axle))
    heights = [z[..., survey.plan.all_sides].max(axis=-1) for z in ends]
    return read(np.max(np.broadcast_arrays(*heights), axis=0), _status(survey))


def _status(survey: Survey) -> Codes:
    return worst(survey.side.status[..., survey.plan.all_sides])
