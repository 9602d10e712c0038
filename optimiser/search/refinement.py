"""Refinement of many points at once: from each towards the front, and along it, or to where all that is held is met.

| symbol | meaning | shape |
|---|---|---|
| x | points, in the file's units | (N, V) |
| f, s, w | objectives at the start, shifts, weights | (N, M) |
| p | parts of the objectives and of the held goals | (N, R) |
"""

from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array, Codes, Flags, Indices
from optimiser.search.parts import PartsProblem
from optimiser.search.sqp import CORRECTIONS, REACH_PRICE, Descent
from optimiser.search.steps import Rows

STEPS, RETURN_STEPS, REACH_STEPS = 20, 5, 30
"""Steps at most: of a refinement, of its return to what is held, and of a reach."""
MARGIN = 1e-5
"""Share of a held goal's scale that is kept in hand, so that what is met is met in spite of rounding."""
TOLERANCE = 1e-4
"""Decrease of t that is not worth a step: t counts in units of the weights."""
REACH_TOLERANCE = 1e-6
"""Decrease of the largest scaled violation that is not worth a step."""


@dataclass(frozen=True)
class Refined:
    """Where N starts were brought.

    `x` (N, V), `parts` (N, R), `objectives` (N, M) and `violations` (N, H) there; `ending` (N,) of
    `optimiser.search.sqp.Ending`, `steps` (N,) taken; `evaluations` in all.

    Prices at the end: by `multipliers` (N, R) >= 0 what is minimised falls per unit that a part's limit is let out,
    by `below` and `above` (N, V) >= 0 per unit of u = (x - lower) / (upper - lower) that a bound is let out. They
    are as exact as the end: those of a start that has not converged are a guess.
    """

    x: Array
    parts: Array
    objectives: Array
    violations: Array
    ending: Codes
    steps: Indices
    multipliers: Array
    below: Array
    above: Array
    evaluations: int


def refine(
    problem: PartsProblem,
    starts: Array,
    weights: Array,
    shifts: Array,
    steps: int = STEPS,
    margin: float = MARGIN,
    tolerance: float = TOLERANCE,
    judge: PartsProblem | None = None,
    corrections: int = CORRECTIONS,
) -> Refined:
    """From each of `starts` (N, V), minimise t so that f_j <= f_j(start) + s_j + w_j t and what is held is met.

    `weights` w >= 0 and `shifts` s (N, M) count in the objectives' own units, best as shares of their ranges; where
    w_j is 0 the objective may not pass f_j(start) + s_j. `margin` is kept from each held goal's limit; what misses one
    in the end is brought back by `reach`. A start outside the bounds begins at them; one that cannot be measured stays.
    Variables of listed values stay as they are at the start.
    `corrections` is how often a poor step is corrected: once serves many starts that need not end exactly.
    Where `problem` is a sketch, `judge` is the problem itself: it measures the ends, and brings back what they miss.
    """
    u = _unit(problem, starts)
    begun, _ = problem.largest(problem.measure(_point(problem, u)))
    held = np.zeros((len(u), problem.held))
    rows = Rows(
        offset=np.concatenate([begun + shifts, held - margin], axis=1)[:, problem.owner],
        weight=np.concatenate([weights, held], axis=1)[:, problem.owner],
        minimax=True,
    )
    fixed = _fixed(problem)
    descent = Descent(lambda each: problem.measure(_point(problem, each)), u, rows, tolerance, fixed, corrections)
    descent.run(steps)
    refined = _refined(problem, descent, len(u))
    return _returned(problem, refined, margin) if judge is None else _returned(judge, _judged(judge, refined), margin)


def reach(
    problem: PartsProblem,
    starts: Array,
    steps: int = REACH_STEPS,
    margin: float = MARGIN,
    tolerance: float = REACH_TOLERANCE,
) -> Refined:
    """From each of `starts` (N, V) go to where all that is held is met by `margin`, looking at nothing else.

    Where that cannot be, the largest scaled violation is minimised to within `tolerance`, and the prices are its own.
    """
    u, own = _unit(problem, starts), np.flatnonzero(problem.owner >= problem.objectives)
    rows = Rows(offset=np.full((len(u), len(own)), -margin), weight=np.zeros((len(u), len(own))), minimax=False)
    tolerance *= REACH_PRICE
    descent = Descent(lambda each: problem.measure(_point(problem, each))[:, own], u, rows, tolerance, _fixed(problem))
    descent.run(steps)
    multipliers: Array = np.zeros((len(u), len(problem.owner)))
    multipliers[:, own] = descent.multipliers / REACH_PRICE
    descent.parts = problem.measure(_point(problem, descent.u))
    descent.multipliers, descent.bounds = multipliers, descent.bounds / REACH_PRICE
    return _refined(problem, descent, len(u))


def _judged(judge: PartsProblem, refined: Refined) -> Refined:
    """With what the problem itself says of the points that its sketch led to; the prices stay the sketch's."""
    parts = judge.measure(refined.x)
    objectives, violations = judge.largest(parts)
    evaluations = refined.evaluations + len(parts)
    return replace(refined, parts=parts, objectives=objectives, violations=violations, evaluations=evaluations)


def _returned(problem: PartsProblem, refined: Refined, margin: float) -> Refined:
    """With the points that miss what is held brought back to it."""
    missed = np.flatnonzero((refined.violations > 0.0).any(axis=1))
    if not len(missed):
        return refined
    back = reach(problem, refined.x[missed], RETURN_STEPS, margin)
    x, parts = refined.x.copy(), refined.parts.copy()
    x[missed], parts[missed] = back.x, back.parts
    objectives, violations = problem.largest(parts)
    evaluations = refined.evaluations + back.evaluations
    return replace(refined, x=x, parts=parts, objectives=objectives, violations=violations, evaluations=evaluations)


def _refined(problem: PartsProblem, descent: Descent, extra: int) -> Refined:
    objectives, violations = problem.largest(descent.parts)
    return Refined(
        x=_point(problem, descent.u),
        parts=descent.parts,
        objectives=objectives,
        violations=violations,
        ending=descent.ending,
        steps=descent.steps,
        multipliers=descent.multipliers,
        below=np.maximum(-descent.bounds, 0.0),
        above=np.maximum(descent.bounds, 0.0),
        evaluations=descent.evaluations + extra,
    )


def _unit(problem: PartsProblem, x: Array) -> Array:
    """u of points, at the bounds where they are outside; 0 where the bounds are one."""
    span = problem.upper - problem.lower
    return np.clip((x - problem.lower) / np.where(span > 0.0, span, 1.0), 0.0, 1.0)


def _point(problem: PartsProblem, u: Array) -> Array:
    x = np.minimum(problem.lower + u * (problem.upper - problem.lower), problem.upper)
    return problem.choices.snapped(x)


def _fixed(problem: PartsProblem) -> Flags:
    return problem.choices.fixed(len(problem.lower))
