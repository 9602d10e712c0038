"""The numbers that a figure is the largest or the smallest of, each smooth where the figure has kinks."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, cast

import numpy as np

from geometry.arrays import Array
from geometry.axle import Mode
from geometry.hardpoints import element_pickups
from geometry.motion import Motion
from objectives import joint_figures, load_figures, room_figures, wheel_figures
from objectives.catalogue.catalogue import describe
from objectives.catalogue.figure import AxleMeasure, SubjectMeasure
from objectives.catalogue.tolerance_entries import split_form
from objectives.fittings.forces import NEWTON_MM
from objectives.readings import Reading
from objectives.spring_figures import compression, forces_over
from objectives.strut_figures import mode_ratios
from objectives.survey import StateSet, Survey


@dataclass(frozen=True)
class Parts:
    """A figure's parts (*B, P) in its unit, of which it is the largest or the smallest."""

    values: Array
    extreme: Literal["largest", "smallest"]


def figure_parts(surveyed: Survey, name: str) -> Parts | None:
    """The parts of a figure by its full name; None where it is one smooth number, or one of the built axle."""
    if split_form(name) is not None:
        return None
    figure = describe(name)
    subject = figure.subject_of(name)
    if subject is None:
        return _OF_AXLE[figure.name](surveyed) if figure.name in _OF_AXLE else None
    return _OF_SUBJECT[figure.name](surveyed, subject) if figure.name in _OF_SUBJECT else None


def measure_drawn(surveyed: Survey, name: str) -> Reading:
    """One figure of a surveyed batch of axles, by its full name; of the axle as drawn, not of one as built."""
    figure = describe(name)
    subject = figure.subject_of(name)
    if subject is None:
        return cast(AxleMeasure, figure.measure)(surveyed)
    return cast(SubjectMeasure, figure.measure)(surveyed, subject)


def _largest_of_both_signs(values: Array) -> Parts:
    return Parts(np.concatenate([values, -values], axis=-1), "largest")


def _change(surveyed: Survey, name: str, mode: Mode, states: StateSet) -> Parts:
    static = mode_ratios(surveyed, name, mode, StateSet.STATIC)
    return _largest_of_both_signs(100.0 * (mode_ratios(surveyed, name, mode, states) / static - 1.0))


def _ratio_spread(surveyed: Survey, name: str) -> Parts:
    mode = surveyed.mode(name)
    return _change(surveyed, name, mode, StateSet.of(mode))


def _ratio_drift(surveyed: Survey, name: str) -> Parts:
    mode = surveyed.mode(name)
    return _change(surveyed, name, mode, StateSet.of(mode.other))


def _crosstalk(surveyed: Survey, name: str) -> Parts:
    mode = surveyed.mode(name)
    stroke = np.abs(surveyed.strut(name, StateSet.of(mode)).compression).max(axis=-1, keepdims=True)
    return _largest_of_both_signs(100.0 * surveyed.strut(name, StateSet.of(mode.other)).compression / stroke)


def _left_right_split(surveyed: Survey, name: str) -> Parts:
    c = surveyed.strut(name, StateSet.EVEN_ROLL).compression
    return _largest_of_both_signs(200.0 * (c[..., :1] + c[..., 1:]) / np.abs(c[..., :1] - c[..., 1:]))


def _steer(sign: float) -> Callable[[Survey, str], Parts]:
    def parts(surveyed: Survey, name: str) -> Parts:
        c = surveyed.strut(name, StateSet.EVEN_RACK).compression
        return _largest_of_both_signs(0.5 * (c + sign * c[..., ::-1]))

    return parts


def _lengths(sign: float, extreme: Literal["largest", "smallest"], relative: bool) -> Callable[[Survey, str], Parts]:
    """Lengths over heave and roll together, or their change from static, each with its sign."""

    def parts(surveyed: Survey, name: str) -> Parts:
        strut = surveyed.strut(name, StateSet.GRID)
        return Parts(sign * (-strut.compression if relative else strut.length), extreme)

    return parts


def _strut_transmission(surveyed: Survey, name: str) -> Parts:
    strut = surveyed.strut(name, StateSet.ALL)
    return Parts(np.degrees(np.fmin(strut.transmission_left, strut.transmission_right)), "smallest")


def _strut_tilt(surveyed: Survey, name: str) -> Parts:
    strut = surveyed.strut(name, StateSet.ALL)
    return Parts(np.degrees(np.fmax(strut.tilt_left, strut.tilt_right)), "largest")


def _spring_force(unit: float) -> Callable[[Survey, str], Parts]:
    def parts(surveyed: Survey, name: str) -> Parts:
        return _largest_of_both_signs(forces_over(surveyed, name, StateSet.ALL) / unit)

    return parts


def _solid_reserve(surveyed: Survey, name: str) -> Parts:
    limit = surveyed.springs[name].solid_at[..., None]
    return Parts(limit - compression(surveyed, name, StateSet.ALL), "smallest")


def _twist(surveyed: Survey, name: str) -> Parts:
    return _largest_of_both_signs(np.degrees(compression(surveyed, name, StateSet.ALL)))


def _rod_transmission(surveyed: Survey) -> Parts:
    return Parts(np.degrees(surveyed.side.rod_transmission[..., surveyed.plan.all_sides]), "smallest")


def _rod_tilt(surveyed: Survey) -> Parts:
    return Parts(np.degrees(surveyed.side.rod_tilt[..., surveyed.plan.all_sides]), "largest")


def _top_height(surveyed: Survey) -> Parts:
    """The highest of each point: which state is its highest hardly ever changes, which point is does."""
    heights = surveyed.side.heights(element_pickups(surveyed.axle))
    tops = [z[..., surveyed.plan.all_sides].max(axis=-1) for z in heights]
    return Parts(np.stack(np.broadcast_arrays(*tops), axis=-1), "largest")


def _link_bending(surveyed: Survey, name: str) -> Parts:
    return Parts(load_figures.bending_moments(surveyed, name), "largest")


def _rod_force(sign: float) -> Callable[[Survey], Parts]:
    return lambda surveyed: Parts(sign * load_figures.rod_forces(surveyed), "largest")


def _pivot_force(surveyed: Survey) -> Parts:
    return Parts(load_figures.pivot_forces(surveyed), "largest")


def _buckling(surveyed: Survey) -> Parts | None:
    tube = surveyed.fittings.loads.rod_tube
    return None if tube is None else Parts(load_figures.buckling_factors(surveyed, tube), "smallest")


def _travel_left(surveyed: Survey) -> Parts:
    return Parts(load_figures.travels_left(surveyed), "smallest")


def _clearances(less_margins: bool) -> Callable[[Survey], Parts | None]:
    """The clearance of each pair: at which state it is smallest hardly ever changes, which pair is nearest does."""

    def parts(surveyed: Survey) -> Parts | None:
        room = surveyed.room
        return None if room is None else Parts(room.nearest(less_margins=less_margins).least, "smallest")

    return parts


def _oversteps(surveyed: Survey) -> Parts | None:
    over = room_figures.oversteps(surveyed)
    return None if over is None else Parts(over, "largest")


def _changes(of: Callable[[Motion], Array]) -> Callable[[Survey], Parts]:
    """Of the wheel: its batch axes are those of wheel and links alone."""

    def parts(surveyed: Survey) -> Parts:
        changes = of(surveyed.motion(StateSet.HEAVE))
        return _largest_of_both_signs(np.broadcast_to(changes, (*surveyed.batch, changes.shape[-1])))

    return parts


def _misalignments(surveyed: Survey, name: str) -> Parts:
    return Parts(joint_figures.misalignments(surveyed, name), "largest")


def _misalignments_left(surveyed: Survey, name: str) -> Parts | None:
    limit = surveyed.fittings.joints[name].limit
    return None if limit is None else Parts(limit - joint_figures.misalignments(surveyed, name), "smallest")


_OF_SUBJECT: Mapping[str, Callable[[Survey, str], Parts | None]] = {
    "E.ratio_spread": _ratio_spread,
    "E.crosstalk": _crosstalk,
    "E.ratio_drift": _ratio_drift,
    "E.left_right_split": _left_right_split,
    "E.steer_even": _steer(1.0),
    "E.steer_odd": _steer(-1.0),
    "E.length_min": _lengths(1.0, "smallest", relative=False),
    "E.length_max": _lengths(1.0, "largest", relative=False),
    "E.compression_stroke": _lengths(-1.0, "largest", relative=True),
    "E.extension_stroke": _lengths(1.0, "largest", relative=True),
    "E.transmission_min": _strut_transmission,
    "E.tilt_max": _strut_tilt,
    "E.force_max": _spring_force(1.0),
    "E.moment_max": _spring_force(NEWTON_MM),
    "E.solid_reserve": _solid_reserve,
    "E.twist_max": _twist,
    "link.NAME.bending": _link_bending,
    "joint.NAME.angle_max": _misalignments,
    "joint.NAME.angle_reserve": _misalignments_left,
}
_OF_AXLE: Mapping[str, Callable[[Survey], Parts | None]] = {
    "rocker.transmission_min": _rod_transmission,
    "rocker.top_height": _top_height,
    "rod.tilt_max": _rod_tilt,
    "rod.force_max": _rod_force(1.0),
    "rod.tension_max": _rod_force(-1.0),
    "rod.buckling_factor": _buckling,
    "rocker.pivot_force_max": _pivot_force,
    "axle.travel_reserve": _travel_left,
    "clearance.min": _clearances(less_margins=False),
    "clearance.reserve": _clearances(less_margins=True),
    "envelope.overstep": _oversteps,
    "wheel.camber_change": _changes(wheel_figures.camber_changes),
    "wheel.toe_change": _changes(wheel_figures.toe_changes),
    "wheel.track_change": _changes(wheel_figures.track_changes),
    "wheel.wheelbase_change": _changes(wheel_figures.wheelbase_changes),
}
