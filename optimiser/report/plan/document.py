"""The plan of a search as one JSON document."""

import json
from collections.abc import Mapping
from dataclasses import asdict

from objectives.goals import held
from optimiser.report.analysis.json_values import Json
from optimiser.report.plan.record import SearchPlan
from optimiser.report.results.saved import goal_entries
from optimiser.search.preview import Sample
from optimiser.study.study import Study


def plan_json(plan: SearchPlan) -> str:
    """Times in s, variables in the study file's units; `near` is null where the own geometry is outside its bounds."""
    study, preview = plan.study, plan.preview
    held_figures = [goal.figure for goal in held(study.goals)]
    near = None if preview.near is None else _sample(preview.near, held_figures)
    document: Mapping[str, Json] = {
        "study": study.name,
        "seed": study.seed,
        "variables": [
            {"path": one.path, "low": one.low, "high": one.high, "own": one.value, "among": list(one.choices) or None}
            for one in study.variables
        ],
        "objectives": _goals(study, must_hold=False),
        "constraints": _goals(study, must_hold=True),
        "samples": {"spread": _sample(preview.spread, held_figures), "near": near},
        "candidates_per_second": {"evaluated": preview.evaluated, "searched": preview.searched},
        "budget": {
            "evaluations": plan.budget.evaluations,
            "seconds": plan.budget.seconds,
            "until_flat": plan.until_flat,
            "workers": plan.workers,
        },
        "epochs": [asdict(stage) for stage in plan.stages],
    }
    return json.dumps(document, allow_nan=False)


def _goals(study: Study, *, must_hold: bool) -> list[Json]:
    return [{"figure": goal.figure, **goal.asks} for goal in goal_entries(study) if goal.held == must_hold]


def _sample(sample: Sample, figures: list[str]) -> Json:
    return {
        "candidates": sample.count,
        "feasible": sample.feasible,
        "unmeasured": sample.unmeasured,
        "missed": dict(zip(figures, sample.missed, strict=False)),
        "missed_alone": dict(zip(figures, sample.alone, strict=False)),
    }
