"""Campaigns of small islands on a published problem, for the tests of what runs and keeps them."""

from collections.abc import Callable
from dataclasses import fields, replace

import numpy as np
import pytest

from geometry.arrays import Array
from optimiser.search import plan
from optimiser.search.campaign import campaign, unbegun
from optimiser.search.crew import Alone, Crew, Tools
from optimiser.search.island import Budget, Settings
from optimiser.search.share import ALONE, Share
from optimiser.search.snapshot import Snapshot
from tests.problems import bnh
from tests.smooth import of_problem

SETTINGS = Settings(seed=3, capacity=150)
TIMELESS = [field.name for field in fields(Snapshot) if field.name not in ("seconds", "growth", "epoch")]


def bnh_tools() -> Tools:
    """What islands of the two-objective problem of Binh and Korn work with."""
    asked = bnh()
    return Tools(asked, of_problem(asked), Everywhere())


class Everywhere:
    """A finer look that finds every held goal met."""

    largest_margin: Array = np.full(2, np.inf)

    def __call__(self, x: Array) -> Array:
        return np.full((len(x), 2), -1.0)


def small_islands(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make the plan's islands small: an opening and two epochs of eight islands take 12,000 evaluations."""
    monkeypatch.setattr(plan, "OPENING", 1_500)
    monkeypatch.setattr(plan, "SMALLEST", 500)
    monkeypatch.setattr(plan, "TOO_FEW", 250)


def explored(
    evaluations: int,
    start: Snapshot | None = None,
    crew: Crew | None = None,
    settings: Settings = SETTINGS,
    stop: Callable[[], bool] = lambda: False,
    share: Share = ALONE,
) -> Snapshot:
    """The last state of a campaign."""
    *_, end = campaign(
        crew or Alone(bnh_tools(), stop), Budget(evaluations), settings, start or unbegun(2, 2), stop, share
    )
    return end


def same(one: Snapshot, other: Snapshot) -> bool:
    """Whether two states agree in all but their times, to the bit; of islands under way, in these too."""
    if (one.epoch is None) != (other.epoch is None):
        return False
    alike = all(np.array_equal(getattr(one, name), getattr(other, name)) for name in TIMELESS)
    if one.epoch is None or other.epoch is None:
        return alike
    plans = replace(one.epoch, start=other.epoch.start, islands=()) == replace(other.epoch, islands=())
    pairs = [(one.epoch.start, other.epoch.start), *zip(one.epoch.islands, other.epoch.islands, strict=True)]
    return alike and plans and all(_both(first, second) for first, second in pairs)


def _both(first: Snapshot | None, second: Snapshot | None) -> bool:
    if first is None or second is None:
        return first is second
    return same(first, second)
