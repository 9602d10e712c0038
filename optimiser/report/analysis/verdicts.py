"""How one axle stands against its goals: what is left before each held goal is missed, and the objectives' values."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from objectives.catalogue.catalogue import describe
from objectives.goals import Goal, Held, Objective, held, left, objectives, scale_of

OK = "ok"


@dataclass(frozen=True)
class Verdict:
    """One held goal and what is left of it."""

    goal: Held
    unit: str
    value: float | None
    """The figure [unit]; None where it is null."""
    status: str
    """The figure's word: `ok`, or why it is null."""
    left: float | None
    """What is left before the goal is missed [unit]; negative: missed by; None where the figure is null."""
    share: float
    """`left` in units of the band's `within` or of the figure's scale, so that units compare; a null figure: -inf."""

    @property
    def met(self) -> bool:
        """Whether the goal holds."""
        return self.left is not None and self.left >= 0.0


@dataclass(frozen=True)
class Wish:
    """One objective and where it stands."""

    goal: Objective
    unit: str
    value: float | None
    """The figure [unit]; None where it is null."""
    status: str
    """The figure's word: `ok`, or why it is null."""


def verdicts(
    goals: Sequence[Goal], figures: Mapping[str, float | None], status: Mapping[str, str]
) -> tuple[Verdict, ...]:
    """Judge the held goals; the least that is left, against its scale, comes first."""
    judged = [_verdict(goal, figures[goal.figure], status.get(goal.figure, OK)) for goal in held(goals)]
    return tuple(sorted(judged, key=lambda verdict: verdict.share))


def wishes(goals: Sequence[Goal], figures: Mapping[str, float | None], status: Mapping[str, str]) -> tuple[Wish, ...]:
    """The objectives with their figures, in the study's order."""
    return tuple(
        Wish(goal, describe(goal.figure).unit, figures[goal.figure], status.get(goal.figure, OK))
        for goal in objectives(goals)
    )


def _verdict(goal: Held, value: float | None, status: str) -> Verdict:
    unit = describe(goal.figure).unit
    if value is None:
        return Verdict(goal, unit, None, status, None, -np.inf)
    remaining = float(left(goal, np.asarray(value)))
    return Verdict(goal, unit, value, status, remaining, remaining / scale_of(goal))
