"""A state of a search as the contents of a results folder's files."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict

import numpy as np

from geometry.arrays import Array
from objectives.catalogue.catalogue import describe
from objectives.envelope.room import pair_margins
from objectives.goals import held, left, objective_values, objectives, scale_of
from optimiser.report.front.columns import Columns, encode, of_kind
from optimiser.report.results.blocks import named
from optimiser.report.results.epochs import campaign_files
from optimiser.report.results.manifest import FigureEntry, GoalEntry, VariableEntry
from optimiser.report.results.store import GROWTH
from optimiser.search.snapshot import GrowthPoint, Snapshot
from optimiser.study.study import Study

BASE_ID = 0
"""The id of the study's own geometry."""
HIDDEN = ("margin",)
"""The name of the one objective of a study that has held goals alone."""
NO_ID = -1
"""Stands for the id of a candidate that is no member."""


def data_files(
    study: Study,
    snapshot: Snapshot,
    members: Mapping[str, Array],
    base: Mapping[str, float],
    closest: Mapping[str, float] | None,
) -> dict[str, bytes]:
    """The data files of one save by what they hold; figures by name: `members` (N,) each, NaN where null."""
    own = np.array([[variable.value for variable in study.variables]])
    ids: list[int] = snapshot.ids.tolist()
    files = {
        "front": encode(_table(study, ids, snapshot.x, snapshot.objectives, members)),
        "base": encode(_single(study, BASE_ID, own, base)),
        **campaign_files(snapshot, _paths(study), _wishes(study) or HIDDEN),
        "growth": encode(_growth(snapshot.growth)),
    }
    if snapshot.closest is not None and closest is not None:
        files["closest"] = encode(_single(study, NO_ID, snapshot.closest[None], closest))
    return files


def variable_entries(study: Study) -> tuple[VariableEntry, ...]:
    """The study's variables as the manifest holds them."""
    return tuple(
        VariableEntry(one.path, float(one.low), float(one.high), float(one.value), one.choices)
        for one in study.variables
    )


def goal_entries(study: Study) -> tuple[GoalEntry, ...]:
    """The study's goals as the manifest holds them."""
    kept = held(study.goals)
    return tuple(
        GoalEntry(
            goal.figure,
            goal in kept,
            scale_of(goal),
            {key: value for key, value in asdict(goal).items() if key != "figure" and value is not None},
        )
        for goal in study.goals
    )


def figure_entries(study: Study, names: Iterable[str], spreads: Mapping[str, float]) -> dict[str, FigureEntry]:
    """How each figure is shown; `spreads` are those that are known, by name."""
    envelope = study.fittings.envelope
    margins = {} if envelope is None else pair_margins(study.axle, envelope)
    kept = {f"clearance.{pair}": margin for pair, margin in margins.items()}
    figures = {name: describe(name) for name in names}
    return {
        name: FigureEntry(figure.unit, figure.decimals, spreads.get(name, 0.0), kept.get(name, 0.0))
        for name, figure in figures.items()
    }


def _single(study: Study, name: int, x: Array, figures: Mapping[str, float]) -> dict[str, Sequence[float]]:
    """The columns of one candidate."""
    columns = {figure: np.array([value]) for figure, value in figures.items()}
    return _table(study, [name], x, objective_values(study.goals, columns), columns)


def _table(
    study: Study, ids: list[int], x: Array, objective: Array, figures: Mapping[str, Array]
) -> dict[str, Sequence[float]]:
    rest = {goal.figure: left(goal, figures[goal.figure]).tolist() for goal in held(study.goals)}
    return {
        "id": ids,
        **of_kind("variable", named(_paths(study), x)),
        **of_kind("objective", named(_wishes(study), objective)),
        **of_kind("left", rest),
        **of_kind("figure", {name: column.tolist() for name, column in figures.items()}),
    }


def _paths(study: Study) -> list[str]:
    return [variable.path for variable in study.variables]


def _wishes(study: Study) -> list[str]:
    return [goal.figure for goal in objectives(study.goals)]


def _growth(growth: Sequence[GrowthPoint]) -> Columns:
    rows = [(one.evaluations, one.seconds, one.feasible, one.members, one.hypervolume, one.taken_out) for one in growth]
    return {name: [row[k] for row in rows] for k, name in enumerate(GROWTH)}
