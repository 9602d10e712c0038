"""Goals as derivatives see them: every maximum and absolute value written out as the smooth parts it is made of.

A figure such as the crosstalk is the largest of many numbers, one a travel point, and has a kink where another of them
takes the lead. A search by derivatives works on the numbers themselves. Here figures with such parts are listed, and
goals are written in them: an objective is the largest of its parts, a held goal is met where none of its parts is
above 0, as `objectives.goals` says in one number.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import Array
from geometry.axle import Mode
from geometry.hardpoints import element_pickups
from objectives import load_figures
from objectives.catalogue.catalogue import describe
from objectives.evaluate import measure
from objectives.fittings.forces import NEWTON_MM
from objectives.goals import Band, Best, Goal, Limit, Miss, scale_of
from objectives.readings import MEANINGLESS
from objectives.spring_figures import compression, forces_over
from objectives.strut_figures import mode_ratios
from objectives.survey import StateSet, Survey


@dataclass(frozen=True)
class Parts:
    """A figure's parts (*B, P) in its unit, of which it is the largest or the smallest."""

    values: Array
    extreme: Literal["largest", "smallest"]


def goal_parts(goals: Sequence[Goal], surveyed: Survey) -> list[Array]:
    """For each goal its parts (*B, P), minimised and dimensionless; NaN in all where its figure is null.

    Their largest is the goal's entry in `objective_values` or `violations` of `objectives.goals`. Where a figure is
    asked to go against its own extreme (a largest number, made large), its one part has that figure's kinks.
    """
    return [_of_goal(goal, surveyed) for goal in goals]


def figure_parts(surveyed: Survey, name: str) -> Parts | None:
    """The parts of a figure by its full name; None where it is one smooth number."""
    figure = describe(name)
    subject = figure.subject_of(name)
    if subject is None:
        return _OF_AXLE[figure.name](surveyed) if figure.name in _OF_AXLE else None
    return _OF_SUBJECT[figure.name](surveyed, subject) if figure.name in _OF_SUBJECT else None


def _of_goal(goal: Goal, surveyed: Survey) -> Array:
    reading = measure(surveyed, goal.figure)
    if reading.status.size and np.all(np.isin(reading.status, MEANINGLESS)):
        return goal_rows(goal, reading.value, None)
    with np.errstate(divide="ignore", invalid="ignore"):
        return goal_rows(goal, reading.value, figure_parts(surveyed, goal.figure))


def goal_rows(goal: Goal, figure: Array, parts: Parts | None) -> Array:
    """The parts (*B, P) of a goal from its figure (*B) and that figure's own parts, if any; see `goal_parts`."""
    value = figure[..., None]
    high = parts.values if parts and parts.extreme == "largest" else value
    low = parts.values if parts and parts.extreme == "smallest" else value
    rows = np.concatenate(_rows(goal, high, low), axis=-1) / scale_of(goal)
    return np.where(np.isnan(value), np.nan, rows)


def _rows(goal: Goal, high: Array, low: Array) -> list[Array]:
    """The goal's parts in the figure's unit: `high` (*B, P) none of which is above the figure, `low` none below."""
    match goal:
        case Band(aim=aim, within=within):
            return [high - aim - within, aim - within - low]
        case Limit(at_most=most, at_least=least):
            above = [] if most is None else [high - most]
            return above if least is None else [*above, least - low]
        case Miss(aim=aim):
            return [high - aim, aim - low]
        case Best(direction="minimise"):
            return [high]
        case Best():
            return [-low]


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


_OF_SUBJECT: Mapping[str, Callable[[Survey, str], Parts]] = {
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
}
