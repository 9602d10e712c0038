"""The usual ways to search such a study, as peers: pymoo's NSGA-II and NSGA-III over a numpy batch or a scalar script.

They are used as their documentation shows: default operators, a population of 200, every held goal a constraint of its
own in the goal's scale. They begin as well informed as a person would: at the study's own geometry and around it.

Symbols: N candidates, V variables, M objectives.
"""

import importlib
import time
from collections.abc import Callable
from dataclasses import replace
from math import comb
from typing import Protocol, TypeAlias, cast

import numpy as np

from geometry.arrays import Array
from geometry.axle import Axle
from geometry.hardpoints import axis_of
from objectives.evaluate import Evaluator
from objectives.goals import FAILED, objective_values, objectives, violations
from optimiser.search.problem import Batch
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates
from tests.benchmarks.scalar_twin import WheelTable, front_figures, wheel_table
from tests.benchmarks.traces import Found, Trace, fronts_at, marks_within, processor_time

Evaluate: TypeAlias = Callable[[Array], Batch]

POPULATION = 200
NARROW, WIDE = 0.01, 0.05
"""Standard deviations of the first population's scatter, as shares of each range; half of it narrow, three tenths
wide, the rest spread evenly."""
EYE = "rod.outboard.y"


class _Population(Protocol):
    def get(self, key: str) -> Array: ...

    def set(self, key: str, value: Array) -> None: ...


class _Algorithm(Protocol):
    def setup(self, problem: object, *, termination: object, seed: int) -> None: ...

    def ask(self) -> _Population | None: ...

    def tell(self, *, infills: _Population) -> None: ...


def run_peer(kind: str, study: Study, seed: int, seconds: float, start_up: Callable[[], float]) -> Trace:
    """Search a study by a peer for so many seconds: `nsga2`, `nsga3` (numpy batch) or `scalar` (NSGA-II).

    `start_up` is asked once, when all is imported, how long that took [s]. Whatever feasible was ever met counts.
    """
    algorithm = _algorithm("nsga3" if kind == "nsga3" else "nsga2", len(objectives(study.goals)), _scatter(study, seed))
    waited, began, used = start_up(), time.perf_counter(), processor_time()
    evaluate = scalar_evaluate(study) if kind == "scalar" else batch_evaluate(study)
    found, evaluations = _search(algorithm, study, evaluate, seed, began, seconds)
    searched, used = time.perf_counter() - began, processor_time() - used
    marks = marks_within(seconds)
    return Trace(marks, fronts_at(found, marks, len(objectives(study.goals))), evaluations, searched, waited, used)


def batch_evaluate(study: Study) -> Evaluate:
    """All candidates in one numpy batch; only the figures that goals name."""
    evaluator = Evaluator(study.travel, dict.fromkeys(goal.figure for goal in study.goals))

    def evaluate(x: Array) -> Batch:
        found = evaluator.evaluate(candidates(study, x)).values
        return _batch(study, {name: np.broadcast_to(value, len(x)) for name, value in found.items()})

    return evaluate


def scalar_evaluate(study: Study) -> Evaluate:
    """One candidate after the other, a root finder in each; a candidate that cannot be closed has no figures."""
    table = _table_of(study)
    names = [goal.figure for goal in study.goals]

    def figures(point: Array) -> dict[str, float]:
        axle = candidates(study, point)
        axis = axis_of(axle.rocker.axis, axle.rocker.pivot, axle.rod.outboard)
        axle = replace(axle, rocker=replace(axle.rocker, axis=axis))
        try:
            return front_figures(table(axle), axle, study.travel)
        except (ValueError, ZeroDivisionError):
            return dict.fromkeys(names, np.nan)

    def evaluate(x: Array) -> Batch:
        found = [figures(point) for point in x]
        return _batch(study, {name: np.array([row[name] for row in found]) for name in names})

    return evaluate


def _table_of(study: Study) -> Callable[[Axle], WheelTable]:
    """The wheel's table for an axle: the upright's motion is solved once, and its eye is linear in where it sits."""
    here = wheel_table(study.axle, study.travel)
    if EYE not in (one.path for one in study.variables):
        return lambda _: here
    y = float(study.axle.rod.outboard[1])
    rod = replace(study.axle.rod, outboard=study.axle.rod.outboard + np.array([0.0, 1.0, 0.0]))
    beside = wheel_table(replace(study.axle, rod=rod), study.travel)

    def table(axle: Axle) -> WheelTable:
        share = float(axle.rod.outboard[1]) - y
        return WheelTable(
            {side: _between(here.eye[side], beside.eye[side], share) for side in here.eye},
            {side: _between(here.velocity[side], beside.velocity[side], share) for side in here.eye},
        )

    return table


def _between(a: tuple[float, float, float], b: tuple[float, float, float], share: float) -> tuple[float, float, float]:
    return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]), a[2] + share * (b[2] - a[2])


def _batch(study: Study, values: dict[str, Array]) -> Batch:
    """Objectives and held goals; a null objective is one more constraint, as every study has it."""
    wished = objective_values(study.goals, values)
    measurable = np.where((wished >= FAILED).any(axis=1), FAILED, -1.0)
    return Batch(wished, np.column_stack([violations(study.goals, values), measurable]))


def _scatter(study: Study, seed: int) -> Array:
    """The first population (N, V): the study's own geometry, points near it, and a fifth anywhere."""
    rng = np.random.default_rng(seed)
    low, high = (np.array([getattr(one, end) for one in study.variables]) for end in ("low", "high"))
    deviation = np.repeat([NARROW, WIDE], [POPULATION // 2, 3 * POPULATION // 10])[:, None] * (high - low)
    near = base_point(study) + deviation * rng.standard_normal((len(deviation), len(low)))
    near[0] = base_point(study)
    far = rng.uniform(low, high, (POPULATION - len(near), len(low)))
    return np.asarray(np.clip(np.concatenate([near, far]), low, high))


def _algorithm(kind: str, wished: int, start: Array) -> _Algorithm:
    importlib.import_module("pymoo.config").Config.warnings["not_compiled"] = False
    if kind == "nsga2":
        nsga2 = importlib.import_module("pymoo.algorithms.moo.nsga2").NSGA2
        return cast(_Algorithm, nsga2(pop_size=POPULATION, sampling=start, output=None))
    nsga3 = importlib.import_module("pymoo.algorithms.moo.nsga3").NSGA3
    return cast(_Algorithm, nsga3(_directions(wished), pop_size=POPULATION, sampling=start, output=None))


def _directions(wished: int) -> Array:
    """As many evenly spread reference directions (N, M) as the population has room for."""
    spread = importlib.import_module("pymoo.util.ref_dirs").get_reference_directions
    if wished == 1:
        return np.ones((1, 1))
    partitions = max(p for p in range(1, POPULATION) if comb(p + wished - 1, wished - 1) <= POPULATION)
    return cast(Array, spread("das-dennis", wished, n_partitions=partitions))


def _search(
    algorithm: _Algorithm, study: Study, evaluate: Evaluate, seed: int, began: float, seconds: float
) -> tuple[list[Found], int]:
    """Generations, one at least, until the time is over or nothing is new: what each found; candidates measured."""
    problem = importlib.import_module("pymoo.core.problem").Problem(
        n_var=len(study.variables),
        n_obj=len(objectives(study.goals)),
        n_ieq_constr=evaluate(base_point(study)[None]).violations.shape[1],
        xl=np.array([one.low for one in study.variables]),
        xu=np.array([one.high for one in study.variables]),
    )
    endless = importlib.import_module("pymoo.core.termination").NoTermination()
    algorithm.setup(problem, termination=endless, seed=seed)
    found, evaluations = [], 0
    while (not evaluations or time.perf_counter() - began < seconds) and (offspring := algorithm.ask()) is not None:
        batch = evaluate(offspring.get("X"))
        found.append(Found(time.perf_counter() - began, batch.objectives[batch.feasible]))
        evaluations += len(batch)
        offspring.set("F", batch.objectives)
        offspring.set("G", batch.violations)
        algorithm.tell(infills=offspring)
    return found, evaluations
