"""What a campaign will do, epoch by epoch, without running it."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import takewhile

from optimiser.search.campaign import unbegun
from optimiser.search.island import Budget
from optimiser.search.plan import next_epoch
from optimiser.study.study import DEFAULT_ISLANDS

OPEN_END = 6
"""Epochs foretold of a campaign that has no end."""


@dataclass(frozen=True)
class Stage:
    """One epoch: its `number`, its `islands`, the most `evaluations` that each of them has, and where it ends.

    `total` evaluations of the campaign and `seconds` of the search, counted from its start, where it ends; cut short
    where the search's time is over.
    """

    number: int
    islands: int
    evaluations: int
    total: int
    seconds: float


def forecast(budget: Budget, pace: float, workers: int, islands: int = DEFAULT_ISLANDS) -> tuple[Stage, ...]:
    """The epochs of a new campaign, by `workers` that each get through `pace` candidates a second.

    Epochs may use somewhat fewer evaluations than they have, which the next one gets. Of a budget without an end, the
    first `OPEN_END` epochs.
    """
    ends = math.inf if budget.seconds is None else budget.seconds
    stages: list[Stage] = []
    for stage in takewhile(lambda _: not stages or stages[-1].seconds < ends, _epochs(budget, pace, workers, islands)):
        stages.append(_cut(stage, stages[-1] if stages else None, ends))
        if budget.seconds is None and budget.evaluations is None and len(stages) == OPEN_END:
            break
    return tuple(stages)


def _epochs(budget: Budget, pace: float, workers: int, islands: int) -> Iterator[Stage]:
    """The epochs in full."""
    state, seconds = unbegun(0, 0), 0.0
    while budget.evaluations is None or state.evaluations < budget.evaluations:
        quotas = next_epoch(state, budget.evaluations, islands).quotas
        seconds += math.ceil(len(quotas) / workers) * max(quotas) / pace
        total = state.evaluations + sum(quotas)
        yield Stage(state.epochs, len(quotas), max(quotas), total, seconds)
        state = replace(state, epochs=state.epochs + 1, evaluations=total)


def _cut(stage: Stage, before: Stage | None, ends: float) -> Stage:
    """A stage as far as it comes until `ends` [s]."""
    if stage.seconds <= ends:
        return stage
    began, done = (before.seconds, before.total) if before else (0.0, 0)
    share = (ends - began) / (stage.seconds - began)
    return replace(stage, total=done + int(share * (stage.total - done)), seconds=ends)
