"""Refinement of many points at once."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Codes, Indices
from optimiser.search.parts import PartsProblem
from optimiser.search.sqp import Descent, Ending, Rows

STEPS = 20
MARGIN = 1e-6
TOLERANCE = 1e-6


@dataclass(frozen=True)
class Refined:
    x: Array
    objectives: Array
    violations: Array
    ending: Codes
    steps: Indices
    multipliers: Array
    below: Array
    above: Array
    evaluations: int


def refine(problem: PartsProblem, starts: Array, weights: Array, shifts: Array, steps: int = STEPS, margin: float = MARGIN, tolerance: float = TOLERANCE) -> Refined:
    u, span = _unit(problem, starts)
    begun, _ = problem.largest(problem.measure(problem.lower + u * span))
    scale = weights.max(axis=1, keepdims=True, initial=0.0)
    scale = np.where(scale > 0.0, scale, 1.0)
    held = np.zeros((len(u), problem.held))
    weight = np.concatenate([weights / scale, held], axis=1)[:, problem.owner]
    offset = np.concatenate([begun + shifts, held - margin], axis=1)[:, problem.owner]
    descent = Descent(lambda p: problem.measure(problem.lower + p * span), u, Rows(offset, weight, True), tolerance)
    descent.run(steps)
    return _refined(problem, descent, scale, len(u))


def reach(problem: PartsProblem, starts: Array, steps: int = STEPS, margin: float = MARGIN, tolerance: float = TOLERANCE) -> Refined:
    u, span = _unit(problem, starts)
    own = np.flatnonzero(problem.owner >= problem.objectives)
    offset = np.full((len(u), len(own)), -margin)
    descent = Descent(lambda p: problem.measure(problem.lower + p * span)[:, own], u, Rows(offset, np.zeros_like(offset), False), tolerance)
    descent.run(steps)
    return descent

def _unit(problem, starts):
    span = problem.upper - problem.lower
    return np.clip((starts - problem.lower) / np.where(span > 0.0, span, 1.0), 0.0, 1.0), span

def _refined(problem, descent, scale, extra):
    objectives, violations = problem.largest(descent.parts)
    box = descent.box / scale
    return Refined(problem.lower + descent.u * (problem.upper - problem.lower), objectives, violations, descent.ending, descent.steps, descent.multipliers / scale, np.maximum(-box, 0), np.maximum(box, 0), descent.evaluations + extra)
