"""How an axle stands against its goals, as tables: what is left of each held goal, and the objectives."""

from collections.abc import Iterator, Sequence

from objectives.catalogue.catalogue import describe
from objectives.goals import Band, Best, Held, Objective
from optimiser.report.analysis.verdicts import OK, Verdict, Wish
from optimiser.report.tables.blocks import Block, Column, heading, short, tables
from optimiser.report.tables.cells import View, number

REASONS = {
    "unreachable": "the rod cannot reach its rocker arm in some state",
    "wheel_locked": "the links cannot reach some state",
    "over_centre": "the rod's or the strut's arm changes sign in some state",
    "beyond_search": "more than was searched",
    "not_decoupled": "a corner strut serves neither heave nor roll",
    "roll_only": "a figure of struts that serve roll",
    "no_motion": "the strut does not move in its own mode, or heave does not move what carries the weight",
    "past_travel": "a wheel goes past its travel in some load case",
    "no_balance": "springs and loads come to rest nowhere near the travel in some load case",
    "never_pressed": "no load case presses the rod",
    "beyond_travel": "not reached within the travel",
    "nothing_fitted": "no spring, damper or load that it tells of",
    "of_struts": "a figure of elements that have a length",
    "of_bars": "a figure of elements that twist",
}
"""What a figure's word means, in a few more words."""


def margin_tables(verdicts: Sequence[Verdict], wishes: Sequence[Wish], view: View) -> Iterator[str]:
    """Held goals, the least that is left first, then the objectives; why a figure is null, in words."""
    yield heading("Margins", _told(verdicts))
    if verdicts:
        yield from tables(_held(verdicts), [], view.width)
        yield "scaled: what is left, in units of a band's half-width (within) or of the figure's usual scale"
    if wishes:
        yield heading("Objectives")
        yield from tables(_wished(wishes), [], view.width)
    asked: list[Verdict | Wish] = [*verdicts, *wishes]
    yield from (f"{short(one.goal.figure)}: {_why(one)}" for one in asked if one.status != OK)


def _told(verdicts: Sequence[Verdict]) -> str:
    if not verdicts:
        return "the file holds no goal that must be met"
    missed = sum(not verdict.met for verdict in verdicts)
    return f"{missed} of {len(verdicts)} held goals missed" if missed else f"all {len(verdicts)} held goals met"


def _held(verdicts: Sequence[Verdict]) -> Block:
    columns = [
        Column("figure", [short(verdict.goal.figure) for verdict in verdicts], left=True),
        Column("value", [_value(verdict) for verdict in verdicts]),
        Column("", [verdict.unit for verdict in verdicts], left=True),
        Column("asked", [_asked(verdict.goal) for verdict in verdicts], left=True),
        Column("", [_word(verdict) for verdict in verdicts], left=True),
        Column("", [_left(verdict) for verdict in verdicts]),
        Column("scaled", [number(verdict.share, 2) for verdict in verdicts]),
    ]
    return Block("", columns, gap=2)


def _wished(wishes: Sequence[Wish]) -> Block:
    columns = [
        Column("figure", [short(wish.goal.figure) for wish in wishes], left=True),
        Column("value", [_value(wish) for wish in wishes]),
        Column("", [wish.unit for wish in wishes], left=True),
        Column("asked", [_wish(wish.goal) for wish in wishes], left=True),
    ]
    return Block("", columns, gap=2)


def _value(one: Verdict | Wish) -> str:
    return number(one.value, describe(one.goal.figure).decimals)


def _left(verdict: Verdict) -> str:
    """What is left or missed, to the figure's decimals, or to one digit where these would show 0."""
    decimals = describe(verdict.goal.figure).decimals
    if verdict.left is None or abs(verdict.left) >= 0.5 * 10.0**-decimals or verdict.left == 0.0:
        return number(verdict.left and abs(verdict.left), decimals)
    return f"{abs(verdict.left):.0e}"


def _asked(goal: Held) -> str:
    if isinstance(goal, Band):
        return f"{goal.aim:g} +- {goal.within:g}"
    limits = {"at least": goal.at_least, "at most": goal.at_most}
    return ", ".join(f"{word} {limit:g}" for word, limit in limits.items() if limit is not None)


def _wish(goal: Objective) -> str:
    return goal.direction if isinstance(goal, Best) else f"near {goal.aim:g}, in units of {goal.scale:g}"


def _word(verdict: Verdict) -> str:
    if verdict.left is None:
        return "null"
    return "left" if verdict.met else "missed by"


def _why(one: Verdict | Wish) -> str:
    """What a figure's word means, and whether it leaves the figure null."""
    return f"{'null: ' if one.value is None else ''}{one.status}, {REASONS[one.status]}"
