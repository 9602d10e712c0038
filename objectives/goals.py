"""Goals: what an axle's figures are asked to be.

A goal is held (it must be met) or an objective (to be made as good as the held goals allow). Here, and nowhere else,
every objective is turned into something to minimise and every held goal into scaled, dimensionless violations.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from geometry.arrays import Array
from objectives.catalogue.catalogue import describe


@dataclass(frozen=True)
class Band:
    """Held: `figure` lies within `within` of `aim`."""

    figure: str
    aim: float
    within: float


@dataclass(frozen=True)
class Limit:
    """Held: `figure` is at most and / or at least a value; at least one of the two is given."""

    figure: str
    at_most: float | None = None
    at_least: float | None = None


@dataclass(frozen=True)
class Miss:
    """Objective: the distance of `figure` from `aim`, in units of `scale`, made small."""

    figure: str
    aim: float
    scale: float


@dataclass(frozen=True)
class Best:
    """Objective: `figure` made small or large."""

    figure: str
    direction: Literal["minimise", "maximise"]


Held: TypeAlias = Band | Limit
Objective: TypeAlias = Miss | Best
Goal: TypeAlias = Held | Objective


FAILED = 1e4
"""Scaled violation of a goal, and value of an objective, whose figure is null: worse than any measured one."""


def held(goals: Sequence[Goal]) -> tuple[Held, ...]:
    """The goals that must be met, in order."""
    return tuple(goal for goal in goals if isinstance(goal, Band | Limit))


def objectives(goals: Sequence[Goal]) -> tuple[Objective, ...]:
    """The goals to be made as good as can be, in order."""
    return tuple(goal for goal in goals if isinstance(goal, Miss | Best))


def objective_values(goals: Sequence[Goal], values: Mapping[str, Array]) -> Array:
    """Objectives (*B, M), each to be minimised and without dimension, from figures (*B) by name.

    A figure to be minimised or maximised counts in units of its catalogue scale, the latter with its sign turned; a
    miss in units of its own scale. `FAILED` where the figure is null.
    """
    columns = [_minimised(goal, values[goal.figure]) for goal in objectives(goals)]
    return _stacked(columns, values)


def violations(goals: Sequence[Goal], values: Mapping[str, Array]) -> Array:
    """Scaled violations (*B, H) of the held goals: at most 0 where met, -1 in the middle of a band.

    `FAILED` where the figure is null.
    """
    columns = [_or_failed(-left(goal, values[goal.figure]) / scale_of(goal)) for goal in held(goals)]
    return _stacked(columns, values)


def left(goal: Held, value: Array) -> Array:
    """What is left (*B) before a held goal is missed, in the figure's unit; negative: missed by so much."""
    if isinstance(goal, Band):
        return goal.within - np.abs(value - goal.aim)
    above = np.inf if goal.at_least is None else value - goal.at_least
    below = np.inf if goal.at_most is None else goal.at_most - value
    return np.minimum(above, below)


def scale_of(goal: Goal) -> float:
    """The difference in a goal's figure that counts as one: a band's half width, else the catalogue's scale."""
    if isinstance(goal, Band):
        return goal.within
    if isinstance(goal, Miss):
        return goal.scale
    return describe(goal.figure).scale


def _minimised(goal: Objective, value: Array) -> Array:
    if isinstance(goal, Miss):
        return _or_failed(np.abs(value - goal.aim) / goal.scale)
    sign = 1.0 if goal.direction == "minimise" else -1.0
    return _or_failed(sign * value / scale_of(goal))


def _or_failed(value: Array) -> Array:
    return np.where(np.isfinite(value), value, FAILED)


def _stacked(columns: list[Array], values: Mapping[str, Array]) -> Array:
    if columns:
        return np.stack(columns, axis=-1)
    shape = next((value.shape for value in values.values()), ())
    return np.zeros((*shape, 0))
