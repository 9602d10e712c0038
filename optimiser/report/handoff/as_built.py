"""Figures of the built axle in a hand-off, recomputed from its points alone.

The second reading knows no errors of a build: here the figures are measured again by the house's own code, from the
points as the file writes them. That code is held to re-solved axles by tests.
"""

from collections.abc import Mapping

import numpy as np

from objectives.catalogue.catalogue import describe
from objectives.catalogue.tolerance_entries import split_form
from objectives.evaluate import evaluate
from objectives.readings import FigureStatus
from optimiser.report.handoff.second_reading.plain import section
from optimiser.report.handoff.second_reading.recompute import Expected, is_held, judge
from optimiser.report.handoff.text import as_text
from optimiser.study.read import read_text


def with_built(
    tree: Mapping[str, object], recomputed: Mapping[str, Expected], file_name: str
) -> Mapping[str, Expected]:
    """What was recomputed of a hand-off's content, and the figures of the built axle that its goals ask for.

    Raises FaultsError where the file cannot be read as a study any more.
    """
    goals = section(tree, "goals", "")
    names = [name for name in goals if split_form(name)]
    if not names:
        return recomputed
    study = read_text(as_text(tree), file_name)
    found = evaluate(study.axle, study.travel, names, study.fittings)
    values = {name: float(found.values[name]) for name in names}
    words = {name: FigureStatus(int(found.status[name])).word for name in names}
    rooms = {name: judge(_target(goals[name]), value) for name, value in values.items() if is_held(goals[name])}
    more: dict[str, dict[str, Expected]] = {
        "figures": {name: _number(value) for name, value in values.items()},
        "figure_status": {name: word for name, word in words.items() if word != FigureStatus.OK.word},
        "units": {name: describe(name).unit for name in names},
        "goals": {name: {"met": room >= 0.0, "left": _number(room)} for name, room in rooms.items()},
    }
    return {**recomputed, **{key: _joined(recomputed[key], added) for key, added in more.items()}}


def _joined(first: Expected, added: Mapping[str, Expected]) -> Expected:
    return {**first, **added} if isinstance(first, dict) else dict(added)


def _target(goal: object) -> Mapping[str, object]:
    return goal if isinstance(goal, Mapping) else {}


def _number(value: float) -> float | None:
    return value if np.isfinite(value) else None
