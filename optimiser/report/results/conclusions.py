"""What a search concludes at its end, as data files of its folder: why nothing is feasible, or what bounds cost.

A conflict's columns are `goal FIGURE`, `low PATH` and `high PATH` for its clauses (the value that a figure or a
variable has at a row's candidate), `variable PATH`, and

    gives    which of the clauses, counted from 0 in the order of their columns, is missed by the least possible
    second   another clause that is let out meanwhile: a row of the trade between the two; empty: no other is
    others   1: every other held goal of the study is met too; 0: only those of the conflict

No clause: all that is held can be met at once after all.
"""

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from geometry.arrays import Array
from objectives.evaluate import evaluate
from objectives.goals import held
from optimiser.report.front.columns import encode, of_kind
from optimiser.search.clauses import Clause, Kind
from optimiser.search.conflict import Conflict, find_conflict
from optimiser.search.parts import PartsProblem
from optimiser.search.prices import dearest
from optimiser.search.snapshot import Snapshot
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates


def conclusions(
    study: Study, problem: PartsProblem, snapshot: Snapshot, stop: Callable[[], bool] = lambda: False
) -> dict[str, bytes]:
    """The data files by what they hold: `prices` of a front, `conflict` without one; none where `stop` ended it."""
    if len(snapshot.ids):
        kept = problem.kept(np.array(snapshot.margin)) if len(snapshot.margin) else problem
        low, high = dearest(kept, snapshot.x, snapshot.objectives)
        return {"prices": encode({"low": low.tolist(), "high": high.tolist()})}
    known = [base_point(study), *([] if snapshot.closest is None else [snapshot.closest])]
    found = find_conflict(problem, np.array(known), study.seed, stop) if problem.held else None
    return {} if found is None else {"conflict": encode(conflict_columns(study, found))}


def conflict_columns(study: Study, found: Conflict) -> dict[str, Sequence[float]]:
    """A conflict as columns."""
    rows, paths = [*found.nearest, *found.trade], [variable.path for variable in study.variables]
    x = np.array([row.x for row in rows]).reshape(len(rows), len(paths))
    place = {clause: number for number, clause in enumerate(found.clauses)}
    values = _figures(study, x, [held(study.goals)[one.index].figure for one in found.clauses if one.kind is Kind.GOAL])
    ends = {kind: _ends(found.clauses, kind, paths, x) for kind in (Kind.LOW, Kind.HIGH)}
    return {
        "gives": [place[row.gives] for row in rows],
        "second": [np.nan if row.second is None else place[row.second] for row in rows],
        "others": [int(found.others_met)] * len(rows),
        **of_kind("goal", values),
        **of_kind("low", ends[Kind.LOW]),
        **of_kind("high", ends[Kind.HIGH]),
        **of_kind("variable", {path: x[:, k].tolist() for k, path in enumerate(paths)}),
    }


def _figures(study: Study, x: Array, names: Sequence[str]) -> Mapping[str, Sequence[float]]:
    """Figures at candidates (N, V); NaN where there is none."""
    if not names:
        return {}
    known = np.asarray(np.isfinite(x).all(axis=1))
    axle = candidates(study, np.where(np.isfinite(x), x, base_point(study)))
    found = evaluate(axle, study.travel, names, study.fittings).values
    return {name: np.where(known, found[name], np.nan).tolist() for name in names}


def _ends(clauses: Sequence[Clause], kind: Kind, paths: Sequence[str], x: Array) -> Mapping[str, Sequence[float]]:
    """Where the variables lie whose bound of one kind is among the clauses."""
    return {paths[one.index]: x[:, one.index].tolist() for one in clauses if one.kind is kind}
