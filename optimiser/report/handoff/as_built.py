"""Figures of the built axle in a hand-off, recomputed from its points alone.

Sensitivities and stacks of a strut's figures are those of the second reading. All others, and what 99 of 100 axles
keep, are measured again by the house's own code, from the points as the file writes them; tests hold that code to
re-solved axles.
"""

from collections.abc import Mapping

import numpy as np

from objectives.catalogue.catalogue import describe
from objectives.catalogue.tolerance_entries import split_form
from objectives.evaluate import evaluate
from objectives.readings import FigureStatus
from optimiser.report.handoff.second_reading.built import built_figures
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
    values, words = _measured(tree, names, file_name)
    figures = recomputed["figures"]
    values |= built_figures(tree, [name for name in names if _is_drawn(figures, name)])
    rooms = {name: judge(_target(goals[name]), value) for name, value in values.items() if is_held(goals[name])}
    more: dict[str, dict[str, Expected]] = {
        "figures": {name: _number(value) for name, value in values.items()},
        "figure_status": {name: word for name, word in words.items() if word != FigureStatus.OK.word},
        "units": {name: describe(name).unit for name in names},
        "goals": {name: {"met": room >= 0.0, "left": _number(room)} for name, room in rooms.items()},
    }
    return {**recomputed, **{key: _joined(recomputed[key], added) for key, added in more.items()}}


def _measured(tree: Mapping[str, object], names: list[str], file_name: str) -> tuple[dict[str, float], dict[str, str]]:
    """Values, NaN where null, and the words of their statuses, by the house's own code."""
    study = read_text(as_text(tree), file_name)
    found = evaluate(study.axle, study.travel, names, study.fittings)
    words = {name: FigureStatus(int(found.status[name])).word for name in names}
    return {name: float(found.values[name]) for name in names}, words


def _is_drawn(figures: Expected, name: str) -> bool:
    """Whether the figure that a figure of the built axle is of is one, and not null, on the axle as drawn."""
    return isinstance(figures, dict) and figures.get(name.rpartition(".")[0]) is not None


def _joined(first: Expected, added: Mapping[str, Expected]) -> Expected:
    return {**first, **added} if isinstance(first, dict) else dict(added)


def _target(goal: object) -> Mapping[str, object]:
    return goal if isinstance(goal, Mapping) else {}


def _number(value: float) -> float | None:
    return value if np.isfinite(value) else None
