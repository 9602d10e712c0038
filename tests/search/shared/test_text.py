"""States as text: back to the bit, and nothing else taken for one."""

import json
from dataclasses import replace

import numpy as np
import pytest

from optimiser.search.campaign import campaign, unbegun
from optimiser.search.crew import Alone
from optimiser.search.island import Budget
from optimiser.search.plan import next_epoch
from optimiser.search.shared.text import Plan, StrangeTextError, found_of, found_text, plan_of, plan_text
from optimiser.search.snapshot import Epoch, Snapshot
from tests.islands import SETTINGS, bnh_tools, explored, same, small_islands

VERSIONS = {"numpy": "2.4.6"}


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    small_islands(monkeypatch)


def under_way() -> Epoch:
    """An epoch with islands that are begun, in a campaign that has a front."""
    ticks = iter(np.arange(0.0, 1e9, 10.0))
    settings = replace(SETTINGS, clock=lambda: next(ticks))
    for state in campaign(Alone(bnh_tools()), Budget(9_000), settings, unbegun(2, 2)):
        if state.epoch is not None and state.epochs > 1 and sum(one is not None for one in state.epoch.islands) > 2:
            return state.epoch
    raise AssertionError("no epoch under way")


@pytest.mark.parametrize("start", [unbegun(2, 3, np.array([[0.1, 1 / 3]])), unbegun(4, 1)], ids=["seeds", "none"])
def test_the_plan_of_a_campaign_that_has_not_begun_is_read_back(start: Snapshot) -> None:
    plan = plan_of(plan_text(Plan(next_epoch(start, None), VERSIONS)))
    assert same(plan.epoch.start, start)
    assert replace(plan.epoch, start=start) == next_epoch(start, None)
    assert plan.versions == VERSIONS


def test_a_plan_with_a_front_is_read_back_to_the_bit() -> None:
    start = explored(6_000)
    epoch = next_epoch(start, 20_000)
    plan = plan_of(plan_text(Plan(epoch, VERSIONS)))
    assert same(plan.epoch.start, start)
    assert (plan.epoch.start.growth, plan.epoch.start.seconds) == (start.growth, start.seconds)
    assert (plan.epoch.quotas, plan.epoch.enough, plan.epoch.manners) == (epoch.quotas, epoch.enough, epoch.manners)


def test_what_islands_have_found_is_read_back_to_the_bit_with_the_start_s_members_left_out() -> None:
    epoch = under_way()
    for island in (one for one in epoch.islands if one is not None):
        text = found_text(epoch.start, island)
        found = found_of(epoch.start, text)
        assert same(found, replace(island, epochs=found.epochs, gains=found.gains))
        assert found.growth == island.growth[-1:]
        old = int((island.ids < epoch.start.next_id).sum())
        assert old > 0
        assert len(json.loads(text)["x"]) == len(island.ids) - old


def test_a_closest_candidate_and_no_member_are_read_back() -> None:
    start = unbegun(2, 2)
    island = replace(start, closest=np.array([0.1, 1 / 3]), closest_violation=0.25, growth=())
    assert same(found_of(start, found_text(start, island)), island)


def damaged() -> list[str]:
    text = plan_text(Plan(next_epoch(explored(2_000), None), VERSIONS))
    table = json.loads(text)
    start = table["start"]
    return [
        "",
        "[]",
        "null",
        text[: len(text) // 2],
        json.dumps({**table, "quotas": [1]}),
        json.dumps({**table, "enough": ["a"] * 8}),
        json.dumps({**table, "start": None}),
        json.dumps({**table, "start": {**start, "ids": start["ids"][1:]}}),
        json.dumps({**table, "start": {**start, "x": start["x"][1:]}}),
        json.dumps({**table, "start": {**start, "objectives": [[1.0]] * len(start["ids"])}}),
        json.dumps({**table, "start": {**start, "habits": [None]}}),
        json.dumps({**table, "start": {**start, "growth": [[1, 2]]}}),
        "[" * 100_000,
    ]


def test_no_other_text_is_taken_for_a_plan() -> None:
    for text in damaged():
        with pytest.raises(StrangeTextError, match="no plan"):
            plan_of(text)


def test_a_member_that_nobody_knows_is_refused() -> None:
    epoch = under_way()
    island = next(one for one in epoch.islands if one is not None)
    other = replace(epoch.start, ids=epoch.start.ids[:0], x=epoch.start.x[:0], objectives=epoch.start.objectives[:0])
    with pytest.raises(StrangeTextError, match="found"):
        found_of(other, found_text(epoch.start, island))
