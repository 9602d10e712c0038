"""`rockwright search --plan`: what a search would do, before it does anything."""

import sys
from typing import TYPE_CHECKING

from optimiser.errors import RockwrightError

if TYPE_CHECKING:
    from optimiser.search.crew import Tools
    from optimiser.search.island import Budget
    from optimiser.study.study import Study


class PlanOfNewError(RockwrightError):
    """A plan asked for together with something that only a search does."""


def refuse_resuming(*, plan: bool, resume: bool, as_json: bool) -> None:
    """Raise PlanOfNewError where `--resume` goes with a plan, or `--json` with none."""
    if plan and resume:
        raise PlanOfNewError("--plan tells what a new search would do: leave --resume out")
    if as_json and not plan:
        raise PlanOfNewError(
            "--json goes with --plan; what a search has found is written by `rockwright front RESULTS --json`"
        )


def show_plan(
    study: "Study", tools: "Tools", budget: "Budget", workers: int, until_flat: float | None, *, as_json: bool
) -> int:
    """Evaluate some candidates and show what a search by `workers` would do; 0. Writes nothing."""
    from optimiser.report.plan.document import plan_json
    from optimiser.report.plan.record import search_plan
    from optimiser.report.plan.tables import plan_lines
    from optimiser.report.tables.screen import width
    from optimiser.search.crew import cores
    from optimiser.search.preview import preview

    plan = search_plan(study, preview(tools, study.seed), budget, workers, cores(), until_flat)
    lines = [plan_json(plan)] if as_json else plan_lines(plan, width())
    sys.stdout.writelines(f"{line}\n" for line in lines)
    return 0
