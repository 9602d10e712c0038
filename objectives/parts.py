"""Goals as derivatives see them: every maximum and absolute value written out as the smooth parts it is made of.

A figure such as the crosstalk is the largest of many numbers, one a travel point, and has a kink where another of them
takes the lead. A search by derivatives works on the numbers themselves. Here figures with such parts are listed, and
goals are written in them: an objective is the largest of its parts, a held goal is met where none of its parts is
above 0, as `objectives.goals` says in one number.
"""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import Array
from objectives.evaluate import measure
from objectives.figure_parts import Parts, figure_parts
from objectives.goals import Band, Best, Goal, Limit, Miss, scale_of
from objectives.readings import MEANINGLESS
from objectives.survey import Survey


def goal_parts(goals: Sequence[Goal], surveyed: Survey) -> list[Array]:
    """For each goal its parts (*B, P), minimised and dimensionless; NaN in all where its figure is null.

    Their largest is the goal's entry in `objective_values` or `violations` of `objectives.goals`. Where a figure is
    asked to go against its own extreme (a largest number, made large), its one part has that figure's kinks.
    """
    return [_of_goal(goal, surveyed) for goal in goals]


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
