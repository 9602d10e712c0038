"""The plan of a search in words and tables."""

from collections.abc import Iterator
from textwrap import wrap

from objectives.goals import held
from optimiser.report.front.asks import room
from optimiser.report.front.growth import time_told
from optimiser.report.plan.record import SearchPlan
from optimiser.report.results.manifest import GoalEntry
from optimiser.report.results.saved import goal_entries
from optimiser.report.tables.text_table import column, spread
from optimiser.search.forecast import Stage
from optimiser.search.preview import Sample
from optimiser.study.study import Variable

HEAD, TAIL = 8, 2
"""Epochs that are shown of many: the first and the last."""
RARE = "common where bands are narrow; a search goes downhill from there"


def plan_lines(plan: SearchPlan, wide: int) -> list[str]:
    """The plan in lines, its sentences at most `wide` characters long."""
    study = plan.study
    goals = goal_entries(study)
    told = [
        "",
        *_variables(study.variables),
        "",
        *_objectives([goal for goal in goals if not goal.held]),
        *_held([goal for goal in goals if goal.held], plan.preview.spread, plan.preview.near),
        "",
        *(line for sentence in _samples(plan) for line in wrap(sentence, wide)),
        "",
        *_stages(plan.stages),
        "",
        *(line for sentence in _end(plan) for line in wrap(sentence, wide)),
    ]
    return [f"{study.name}: a search with seed {study.seed}; nothing is written", *told]


def _variables(variables: tuple[Variable, ...]) -> list[str]:
    return spread(
        [
            column("varied", [one.path for one in variables], left=True),
            column("from", [f"{one.low:g}" for one in variables]),
            column("to", [f"{one.high:g}" for one in variables]),
            column("own", [f"{one.value:g}" for one in variables]),
            column("values", [str(len(one.choices) or "any") for one in variables]),
        ],
        gap=2,
    )


def _objectives(goals: list[GoalEntry]) -> list[str]:
    if not goals:
        return ["no objective: the geometry that meets all goals with the most room is looked for", ""]
    wishes = [_wish(goal) for goal in goals]
    return [*spread([column("objective", [goal.figure for goal in goals], left=True), column("asked", wishes)], 2), ""]


def _wish(goal: GoalEntry) -> str:
    return str(goal.asks["direction"]) if "direction" in goal.asks else f"near {goal.asks['aim']:g}"


def _held(goals: list[GoalEntry], wide: Sample, near: Sample | None) -> list[str]:
    """The held goals, and how often each is missed."""
    if not goals:
        return ["no held goal"]
    rows = range(len(goals))
    columns = [
        column("must hold", [goal.figure for goal in goals], left=True),
        column("asked", [room(goal.asks) for goal in goals], left=True),
        column("missed by", [_share(wide.missed[row], wide.count) for row in rows]),
        column("by it alone", [_share(wide.alone[row], wide.count) for row in rows]),
    ]
    if near is not None:
        columns.append(column("missed nearby", [_share(near.missed[row], near.count) for row in rows]))
    return spread(columns, gap=2)


def _samples(plan: SearchPlan) -> Iterator[str]:
    wide, near, study = plan.preview.spread, plan.preview.near, plan.study
    among = f"of {wide.count:,} candidates spread over the whole range"
    if held(study.goals):
        yield f"{among} {_counted(wide.feasible, wide.count)} hold every goal" + ("" if wide.feasible else f": {RARE}")
    if wide.unmeasured:
        yield f"{among} {_counted(wide.unmeasured, wide.count)} cannot be measured: somewhere a figure has no value"
    if near is None:
        yield "the study's own geometry lies outside its bounds"
        return
    yield f"of {near.count:,} around the study's own geometry {_counted(near.feasible, near.count)} hold every goal"


def _stages(stages: tuple[Stage, ...]) -> list[str]:
    """The epochs as a table, those between the first and the last ones left out where there are many."""
    rows = list(stages) if len(stages) <= HEAD + TAIL + 1 else [*stages[:HEAD], None, *stages[-TAIL:]]
    return spread(
        [
            column("epoch", ["..." if one is None else str(one.number) for one in rows]),
            column("islands", ["" if one is None else str(one.islands) for one in rows]),
            column("candidates each, at most", ["" if one is None else f"{one.evaluations:,}" for one in rows]),
            column("in all", ["" if one is None else f"{one.total:,}" for one in rows]),
            column("after about", ["" if one is None else time_told(one.seconds) for one in rows]),
        ],
        gap=2,
    )


def _end(plan: SearchPlan) -> Iterator[str]:
    preview, last = plan.preview, plan.stages[-1]
    yield (
        f"{_rough(preview.evaluated)} candidates a second are evaluated by one process; a search, by its first "
        f"moments, gets through {_rough(preview.searched)} a second, {plan.at_once} at once from epoch 1 on"
    )
    if plan.budget.seconds is not None or plan.budget.evaluations is not None:
        yield (
            f"in all about {_rough(last.total)} candidates in {time_told(last.seconds)}, on this machine as it is now; "
            f"a large front, and other work on the machine, slow it down"
        )
    if plan.until_flat is not None:
        yield f"it ends when the front is flat for {time_told(plan.until_flat)}, if that comes first"


def _counted(count: int, of: int) -> str:
    return f"{count:,} ({_share(count, of)})"


def _share(count: int, of: int) -> str:
    return f"{100.0 * count / of:.1f} %"


def _rough(number: float) -> str:
    """A number to two digits."""
    return f"{float(f'{number:.2g}'):,.0f}"
