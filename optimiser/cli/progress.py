"""The progress of a search on a terminal: how far it is, the time left, and how the front grows."""

import sys
from time import monotonic
from types import TracebackType

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

from optimiser.search.island import Budget
from optimiser.search.snapshot import GrowthPoint, Snapshot

LAST_SHARE = 0.25
"""The growth, in %, is told over this last share of the candidates."""

BAR = 12
"""Characters of the bar: all of it fits into 80 columns."""


class SearchProgress:
    """A bar on the standard error while it is a terminal, and nothing at all where it is none; a context manager."""

    def __init__(self, budget: Budget) -> None:
        self._budget = budget
        self._began = monotonic()
        self._progress = Progress(
            BarColumn(bar_width=BAR),
            TaskProgressColumn(),
            TimeRemainingColumn(),
            TextColumn("{task.description}"),
            console=Console(stderr=True),
            disable=not sys.stderr.isatty(),
            transient=True,
        )
        self._task = self._progress.add_task("the first candidates", total=1.0)

    def __enter__(self) -> "SearchProgress":
        self._progress.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._progress.stop()

    def show(self, snapshot: Snapshot) -> None:
        """Show a state of the search."""
        done = _done(self._budget, snapshot.evaluations, monotonic() - self._began)
        self._progress.update(self._task, completed=done, description=told(snapshot))


def told(snapshot: Snapshot) -> str:
    """A state of a search in a line."""
    tried = f"{snapshot.evaluations:,} tried"
    if not snapshot.growth or not snapshot.growth[-1].members:
        near = "" if snapshot.closest is None else f", the closest violates {snapshot.closest_violation:.3g}"
        return f"{tried}, none feasible yet{near}"
    last = snapshot.growth[-1]
    return f"{tried}, {last.members:,} members, hypervolume {last.hypervolume:.5g}{_grown(snapshot.growth)}"


def _grown(growth: tuple[GrowthPoint, ...]) -> str:
    """What the front grew by over the last share of the candidates."""
    then = (1.0 - LAST_SHARE) * growth[-1].evaluations
    before = max((point.hypervolume for point in growth if point.evaluations <= then), default=0.0)
    return f" +{100 * (growth[-1].hypervolume / before - 1):.1f}%" if before > 0.0 else ""


def _done(budget: Budget, evaluations: int, seconds: float) -> float:
    """The share of the budget that is used."""
    shares = [seconds / budget.seconds if budget.seconds else 0.0]
    if budget.evaluations:
        shares.append(evaluations / budget.evaluations)
    return min(1.0, max(shares))
