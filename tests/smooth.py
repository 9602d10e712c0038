"""Problems in smooth parts, with answers known in closed form or from the literature."""

from collections.abc import Callable

import numpy as np

from geometry.arrays import Array
from optimiser.search.parts import PartsProblem
from optimiser.search.problem import Problem


def unit_box(parts: Callable[[Array], Array], variables: int, objectives: int, owner: list[int]) -> PartsProblem:
    """A problem over the unit box; `owner` says whom each part belongs to."""
    return PartsProblem(np.zeros(variables), np.ones(variables), objectives, np.array(owner), parts)


def of_problem(problem: Problem) -> PartsProblem:
    """A test problem whose objectives and violations are smooth themselves: a part each."""

    def parts(x: Array) -> Array:
        batch = problem.evaluate(x)
        return np.concatenate([batch.objectives, batch.violations], axis=1)

    middle = problem.evaluate((problem.lower + problem.upper)[None] / 2)
    owner = np.arange(problem.objectives + middle.violations.shape[1])
    return PartsProblem(problem.lower, problem.upper, problem.objectives, owner, parts)


def bowls(*centres: Array) -> PartsProblem:
    """Squared distances from some points of the unit box: the front is spanned by them."""

    def parts(x: Array) -> Array:
        return np.stack([((x - centre) ** 2).sum(axis=1) for centre in centres], axis=1)

    return unit_box(parts, len(centres[0]), len(centres), list(range(len(centres))))


def ribbon(width: float, variables: int = 2) -> PartsProblem:
    """Distance from the first axis, held to a bent ribbon: |x2 - 0.2 - 0.5 x1^2| <= width, in units of it.

    The first objective is -x1; so the answer is x1 = 1, x2 in the ribbon. All other variables are to be 0.3.
    """

    def parts(x: Array) -> Array:
        off = (x[:, 1] - 0.2 - 0.5 * x[:, 0] ** 2) / width
        rest = ((x[:, 2:] - 0.3) ** 2).sum(axis=1)
        return np.stack([-x[:, 0] + rest, off - 1.0, -off - 1.0], axis=1)

    return unit_box(parts, variables, 1, [0, 1, 1])


def welded_beam() -> PartsProblem:
    """Cost of a welded beam (h, l, t, b) under shear, bending, buckling and deflection limits, each in its own scale.

    Statement and best known cost 1.724852 at (0.205730, 3.470489, 9.036624, 0.205729): Cagnina, Esquivel and Coello,
    Informatica 32 (2008) 319.
    """
    load, arm, young, shear = 6000.0, 14.0, 30e6, 12e6

    def parts(x: Array) -> Array:
        h, weld, t, b = x.T
        cost = 1.10471 * h**2 * weld + 0.04811 * t * b * (14.0 + weld)
        moment = load * (arm + weld / 2.0)
        radius = np.sqrt(weld**2 / 4.0 + ((h + t) / 2.0) ** 2)
        polar = 2.0 * np.sqrt(2.0) * h * weld * (weld**2 / 12.0 + ((h + t) / 2.0) ** 2)
        direct, turning = load / (np.sqrt(2.0) * h * weld), moment * radius / polar
        stress = np.sqrt(direct**2 + direct * turning * weld / radius + turning**2)
        slender = np.sqrt(young / (4.0 * shear)) * t / (2.0 * arm)
        buckling = 4.013 * young * t * b**3 / 6.0 / arm**2 * (1.0 - slender)
        held = [
            stress / 13600.0 - 1.0,
            6.0 * load * arm / (b * t**2) / 30000.0 - 1.0,
            (h - b) / 5.0,
            (0.10471 * h**2 + 0.04811 * t * b * (14.0 + weld)) / 5.0 - 1.0,
            0.125 - h,
            4.0 * load * arm**3 / (young * t**3 * b) / 0.25 - 1.0,
            1.0 - buckling / load,
        ]
        return np.stack([cost, *held], axis=1)

    return PartsProblem(np.full(4, 0.1), np.array([2.0, 10.0, 10.0, 2.0]), 1, np.arange(8), parts)


def steepest(problem: PartsProblem, x: Array, multipliers: Array, below: Array, above: Array) -> Array:
    """What is left of the Lagrangian's gradient (N, V), per unit of u; 0 at an optimum. Central differences."""
    span, left = problem.upper - problem.lower, above - below
    for v in range(len(span)):
        step = np.zeros(len(span))
        step[v] = 1e-6 * span[v]
        slope = (problem.parts(x + step) - problem.parts(x - step)) / 2e-6
        left[:, v] += (multipliers * slope).sum(axis=1)
    return left
