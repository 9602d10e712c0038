"""By how much each figure that a goal asks for changes per mm and per degree of every dimension of one axle."""

from dataclasses import dataclass

import numpy as np

from objectives.catalogue.catalogue import describe
from objectives.evaluate import evaluate
from optimiser.study.dimensions import Dimension, axis_in_angles, dimensions_of, stepped
from optimiser.study.study import Study

STEP = 1e-3
"""Half the width of a central difference [mm, deg]: by rounding, slopes are good to some 1e-8 of a figure."""


@dataclass(frozen=True)
class Slope:
    """What a figure changes by per mm or degree of one dimension; None where it is null a step away."""

    dimension: Dimension
    value: float | None


@dataclass(frozen=True)
class FigureSlopes:
    """A figure's slopes [unit per mm or deg], the largest first and those that are not there last."""

    figure: str
    unit: str
    value: float | None
    slopes: tuple[Slope, ...]


def sensitivity(study: Study) -> tuple[FigureSlopes, ...]:
    """Each figure that a goal asks for, once, in the study's order: one batch of axles, two for each dimension."""
    axle = axis_in_angles(study.axle)
    names = tuple(dict.fromkeys(goal.figure for goal in study.goals))
    dimensions = dimensions_of(axle)
    values = evaluate(stepped(axle, dimensions, STEP), study.travel, names, study.fittings).values
    here = evaluate(axle, study.travel, names, study.fittings).values
    found = []
    for name in names:
        up, down = np.split(np.broadcast_to(values[name], (2 * len(dimensions),)), 2)
        slopes = [Slope(one, _number(value)) for one, value in zip(dimensions, (up - down) / (2.0 * STEP), strict=True)]
        ranked = sorted(slopes, key=lambda one: np.inf if one.value is None else -abs(one.value))
        found.append(FigureSlopes(name, describe(name).unit, _number(here[name]), tuple(ranked)))
    return tuple(found)


def _number(value: np.ndarray | np.float64) -> float | None:
    return float(value) if np.isfinite(value) else None
