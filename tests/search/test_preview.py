"""A look before a search: what is counted of a sample, and that what is foretold is what a campaign does."""

from collections.abc import Callable, Iterator

import numpy as np
import pytest

from objectives.goals import FAILED
from optimiser.search import plan
from optimiser.search.crew import Tools
from optimiser.search.forecast import OPEN_END, Stage, forecast
from optimiser.search.island import Budget
from optimiser.search.plan import LARGEST, OPENING, SMALLEST
from optimiser.search.preview import NEAR, SPREAD, around, preview, sample
from optimiser.search.problem import Batch
from optimiser.study.study import DEFAULT_ISLANDS as ISLANDS
from tests.islands import bnh_tools, explored, small_islands
from tests.problems import bnh


def ticking(step: float) -> Callable[[], float]:
    """A clock that goes on by `step` [s] whenever it is read."""
    times: Iterator[float] = iter(np.arange(1, 10**6) * step)
    return lambda: next(times)


def test_a_sample_counts_what_misses_which_goal_and_which_alone() -> None:
    violations = np.array([[-1.0, 0.0, -1.0], [0.5, -1.0, -1.0], [0.5, 2.0, -1.0], [FAILED, -1.0, -1.0]])
    found = sample(Batch(np.zeros((4, 1)), violations))
    assert (found.count, found.feasible, found.unmeasured) == (4, 1, 1)
    assert found.missed == (3, 1, 0)
    assert found.alone == (2, 0, 0)


def test_a_preview_counts_the_feasible_share_of_the_whole_range() -> None:
    """Against a fine grid over the range, to the accuracy of a thousand well spread points."""
    asked = bnh()
    grid = np.stack(np.meshgrid(*(np.linspace(lo, hi, 400) for lo, hi in zip(asked.lower, asked.upper, strict=True))))
    share = asked.evaluate(grid.reshape(2, -1).T).feasible.mean()
    found = preview(bnh_tools(), 1)
    assert found.spread.count == SPREAD
    assert found.spread.feasible / SPREAD == pytest.approx(share, abs=0.01)
    assert 0.5 < share < 0.99
    assert found.near is not None
    assert found.near.count == NEAR


def test_one_seed_looks_at_the_same_candidates() -> None:
    first, again, other = (preview(bnh_tools(), seed) for seed in (3, 3, 4))
    assert (first.spread, first.near) == (again.spread, again.near)
    assert first.spread != other.spread


def test_candidates_nearby_are_inside_the_bounds_and_scattered_by_a_hundredth_of_them() -> None:
    asked = bnh()
    points = around(asked, 5_000, np.random.default_rng(0))
    assert ((points >= asked.lower) & (points <= asked.upper)).all()
    spread = (points - asked.start).std(axis=0) / (asked.upper - asked.lower)
    assert spread == pytest.approx(0.01, rel=0.05)


def test_a_start_outside_the_bounds_has_no_candidates_nearby() -> None:
    tools = bnh_tools()
    asked = tools.problem
    outside = Tools(type(asked)(**(vars(asked) | {"start": asked.upper + 1.0})), tools.parts, tools.look)
    assert preview(outside, 1).near is None


def test_the_pace_is_candidates_by_the_clock() -> None:
    slow, fast = (preview(bnh_tools(), 1, ticking(step)) for step in (1.0, 0.001))
    assert slow.evaluated == SPREAD
    assert fast.evaluated == pytest.approx(1000 * SPREAD)
    assert fast.searched > 10 * slow.searched


def test_the_epochs_that_are_foretold_are_those_of_a_campaign(monkeypatch: pytest.MonkeyPatch) -> None:
    small_islands(monkeypatch)
    for limit in (1_000, 1_500, 7_000, 12_345):
        stages = forecast(Budget(limit), 100.0, 1)
        assert stages[-1].total == limit
        assert [stage.number for stage in stages] == list(range(len(stages)))
        assert explored(limit).epochs >= len(stages) - 1
    assert [stage.islands for stage in forecast(Budget(12_345), 100.0, 1)] == [1, ISLANDS, ISLANDS]


def test_time_is_candidates_by_pace_and_workers_share_an_epoch_s_islands() -> None:
    one, two, three = (forecast(Budget(OPENING + ISLANDS * SMALLEST), 1000.0, workers) for workers in (1, 2, 3))
    opening = OPENING / 1000.0
    assert [stages[0].seconds for stages in (one, two, three)] == [opening] * 3
    assert one[-1].seconds == opening + 8 * SMALLEST / 1000.0
    assert two[-1].seconds == opening + 4 * SMALLEST / 1000.0
    assert three[-1].seconds == opening + 3 * SMALLEST / 1000.0


def test_a_search_for_a_time_is_cut_where_it_is_over() -> None:
    half = (OPENING + ISLANDS * SMALLEST / 2) / 1000.0
    stages = forecast(Budget(None, half), 1000.0, 1)
    assert stages == (
        Stage(0, 1, OPENING, OPENING, OPENING / 1000.0),
        Stage(1, ISLANDS, SMALLEST, OPENING + ISLANDS * SMALLEST // 2, half),
    )
    whole = forecast(Budget(OPENING, 1e9), 1000.0, 1)
    assert whole == stages[:1]


def test_of_a_search_without_an_end_some_epochs_are_told_each_twice_as_long() -> None:
    stages = forecast(Budget(), 1000.0, 1)
    assert len(stages) == OPEN_END
    assert [stage.evaluations for stage in stages[1:]] == [SMALLEST * 2**k for k in range(OPEN_END - 1)]
    assert forecast(Budget(None, 1e6), 1e5, 8)[-1].evaluations == LARGEST == plan.LARGEST
