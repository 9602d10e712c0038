"""The one boundary between what is asked and how it is searched: a study becomes numbers to minimise.

Beyond it everything is minimised and dimensionless, and a held goal is a number at most 0 where it is met. A search
knows nothing of axles: any `Problem` runs through it, published test problems too.

Symbols: N candidates, V variables, M objectives, H violations.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import Array, Indices
from geometry.axle import Axle
from geometry.lanes import KERNEL, LANES, in_lanes, out_of_lanes
from geometry.travel import Travel, travel_points
from objectives.envelope.program import RoomProgram
from objectives.evaluate import Evaluator
from objectives.goals import FAILED, Goal, held, objectives
from objectives.loads.program import LoadProgram
from objectives.parts import goal_parts
from objectives.program import Program
from objectives.survey import plan_states
from objectives.tolerance.program import BuiltProgram
from optimiser.errors import RockwrightError
from optimiser.search.choices import FREE, Choices, choices_of
from optimiser.search.parts import PartsProblem
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates

Flags: TypeAlias = NDArray[np.bool_]

SKETCHED = 9
"""Travel points of a mode that are enough to take the steps of a refinement by."""


class NothingToSearchError(RockwrightError):
    """A study that asks for nothing, or lets nothing change."""


@dataclass(frozen=True)
class Batch:
    """What a batch of candidates came to: `objectives` (N, M), `violations` (N, H), finite and dimensionless."""

    objectives: Array
    violations: Array

    def __len__(self) -> int:
        return len(self.objectives)

    @property
    def total(self) -> Array:
        """(N,) the violations of each candidate in one number, 0 where all is met: the root of their squares' sum.

        The sum itself would let one of two goals that exclude each other be met in full by missing the other; by the
        squares, the nearest candidate misses both, and so names both.
        """
        return np.asarray(np.linalg.norm(np.maximum(self.violations, 0.0), axis=1))

    @property
    def feasible(self) -> Flags:
        """(N,) whether a candidate meets every held goal."""
        return np.asarray(np.all(self.violations <= 0.0, axis=1))

    def take(self, rows: Indices | Flags | slice) -> "Batch":
        """The batch of some rows."""
        return Batch(self.objectives[rows], self.violations[rows])


def joined(first: Batch, second: Batch) -> Batch:
    """One batch after the other, as one."""
    return Batch(
        np.concatenate([first.objectives, second.objectives]), np.concatenate([first.violations, second.violations])
    )


@dataclass(frozen=True)
class Problem:
    """What a search sees.

    `names` of the V variables; `lower`, `upper` (V,) their bounds and `start` (V,) a point to begin at, in the file's
    units; `objectives` = M. `evaluate` takes points (N, V) inside the bounds to a `Batch` of N rows, and never raises.
    `choices`: the variables that take listed values alone.
    """

    names: tuple[str, ...]
    lower: Array
    upper: Array
    start: Array
    objectives: int
    evaluate: Callable[[Array], Batch]
    choices: Choices = FREE

    @property
    def start_is_inside(self) -> bool:
        """Whether `start` itself is a point that the search may find."""
        return bool(np.all((self.start >= self.lower) & (self.start <= self.upper)))

    def kept(self, margin: Array) -> "Problem":
        """The same with `margin` (at most H,) >= 0 kept in hand of the first held goals, in their scales."""

        def evaluate(x: Array) -> Batch:
            batch = self.evaluate(x)
            rest = batch.violations.shape[1] - len(margin)
            return Batch(batch.objectives, batch.violations + np.concatenate([margin, np.zeros(rest)]))

        return replace(self, evaluate=evaluate)


def problem_of(study: Study) -> Problem:
    """The problem that a study poses. Only what its goals name is computed.

    A candidate of which an objective's figure is null violates one more, unwritten, held goal: it can be no member.
    A study with held goals alone gets one hidden objective: to make the smallest margin, in the goals' own scales, as
    large as it can be; its one answer is then the geometry that meets all goals with the most room.
    Raises NothingToSearchError where nothing may change or nothing is asked.
    """
    refuse_empty(study)
    parts = _parts_over(study, study.travel)
    wished = bool(objectives(study.goals))

    def evaluate(x: Array) -> Batch:
        found, violated = parts.largest(parts.measure(x))
        if not wished:
            return Batch(found, violated)
        missing = np.where(np.any(found >= FAILED, axis=1), FAILED, -1.0)
        return Batch(found, np.column_stack([violated, missing]))

    return Problem(
        names=tuple(variable.path for variable in study.variables),
        lower=parts.lower,
        upper=parts.upper,
        start=base_point(study),
        objectives=parts.objectives,
        evaluate=evaluate,
        choices=parts.choices,
    )


def parts_problem_of(study: Study) -> PartsProblem:
    """The same problem as derivatives see it, every goal in its smooth parts; see `problem_of`.

    Held goals come after the objectives, in the study's order. With held goals alone, all their parts are those of the
    one hidden objective too. Its sketch is the problem at no more than `SKETCHED` points of a range.
    """
    refuse_empty(study)
    rough = sketched(study.travel)
    exact = _parts_over(study, study.travel)
    return exact if rough == study.travel else replace(exact, sketch=_parts_over(study, rough))


def sketched(travel: Travel) -> Travel:
    """The travel with so much wider a step, a multiple of its own, that no mode has far more points than `SKETCHED`."""
    most = max(len(travel_points(span, travel.step)) for span in (travel.heave, travel.roll))
    return replace(travel, step=travel.step * max(1, most // SKETCHED))


def _parts_over(study: Study, travel: Travel) -> PartsProblem:
    wished = objectives(study.goals)
    measure = _Measure(study, travel, [*wished, *held(study.goals)])
    owner = measure.owner

    def parts(x: Array) -> Array:
        rows = measure(x)
        return rows if wished else np.concatenate([rows, rows], axis=-1)

    return PartsProblem(
        lower=np.array([variable.low for variable in study.variables]),
        upper=np.array([variable.high for variable in study.variables]),
        objectives=max(len(wished), 1),
        owner=owner if wished else np.concatenate([np.zeros(len(owner), dtype=np.intp), owner + 1]),
        parts=parts,
        choices=choices_of(study),
    )


class _Measure:
    """The parts of goals for points of a study: compiled where a program knows the goal, else read from a survey."""

    def __init__(self, study: Study, travel: Travel, goals: Sequence[Goal]) -> None:
        self._study = study
        own = in_lanes(base_point(study)[None])
        geometric = Program(goals, study.axle, plan_states(travel))
        built = BuiltProgram(goals, study.axle, plan_states(travel), study.fittings.build)
        left = [place for place in range(len(goals)) if place not in geometric.known]
        loaded = LoadProgram([goals[place] for place in left], candidates(study, own), travel, study.fittings)
        room = RoomProgram(goals, candidates(study, own), travel, plan_states(travel), study.fittings.envelope)
        self._programs = [program for program in (geometric, loaded, built, room) if program.known]
        known = [*geometric.known, *(left[place] for place in loaded.known), *built.known, *room.known]
        others = [place for place in range(len(goals)) if place not in known]
        self._others = [goals[place] for place in others]
        self._evaluator = Evaluator(travel, kernel=KERNEL, fittings=study.fittings)
        sizes = [
            *geometric.sizes,
            *loaded.sizes,
            *built.sizes,
            *room.sizes,
            *(part.shape[-1] for part in self._surveyed(candidates(study, own), 1)),
        ]
        column = np.repeat([*known, *others], sizes)
        self._order = np.argsort(column, kind="stable")
        self.owner: Indices = column[self._order].astype(np.intp)

    def __call__(self, x: Array) -> Array:
        """Points (N, V) in the file's units to parts (N, R)."""
        axle = candidates(self._study, in_lanes(x))
        found = [program.run(axle)[: len(x)] for program in self._programs] + self._surveyed(axle, len(x))
        return found[0] if len(found) == 1 else np.concatenate(found, axis=1)[:, self._order]

    def _surveyed(self, axle: Axle, count: int) -> list[Array]:
        """The parts (count, R) of the goals that no program knows."""
        if not self._others:
            return []
        shape = (-(-count // LANES), LANES)
        found = goal_parts(self._others, self._evaluator.survey(axle))
        return [out_of_lanes(np.broadcast_to(part, (*shape, part.shape[-1])), count) for part in found]


def refuse_empty(study: Study) -> None:
    """Raise NothingToSearchError where nothing may change or nothing is asked."""
    if not study.variables:
        raise NothingToSearchError(
            f"{study.name}: nothing may change; name numbers of the axle under `vary`, such as `rocker.pivot.y: [a, b]`"
        )
    if not study.goals:
        raise NothingToSearchError(
            f"{study.name}: nothing is asked; name figures under `goals`, `rockwright figures` lists them"
        )
