"""What one folder has that another lacks: closed forms, brute force, and studies that differ."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.arrays import Array
from optimiser.report.front.against import OtherGoalsError, against, against_json, against_lines
from optimiser.report.results.manifest import GoalEntry
from optimiser.report.results.store import Store
from optimiser.report.results.union import minimised
from optimiser.search.volume import nondominated, volume
from tests.report.fronts import HELD, WISHES, store, table

Wished = tuple[float, float]
"""A member's heave crosstalk and arm sum; both are to be small, the arm sum counts in tens."""


def folder(name: str, members: dict[int, Wished], reference: tuple[float, ...] | None = None, at: float = 0.0) -> Store:
    """An invented folder of two objectives; every member has a place of its own from pivot y `at` on."""
    rows = [
        (at + row, -100.0, 1.1, 5.0, crosstalk, 0.5, arms, 40.0)
        for row, (crosstalk, arms) in enumerate(members.values())
    ]
    one = store(table(list(members), rows))
    wishes = tuple(goal for goal in WISHES if goal.figure != "heave.progressivity")
    objectives = {goal.figure: one.front.objectives[goal.figure] for goal in wishes}
    manifest = replace(one.manifest, goals=wishes + HELD, reference=reference)
    return replace(
        one, folder=Path(name), manifest=manifest, front=replace(one.front, objectives=objectives), growth={}
    )


STAIRS = folder("a", {3: (0.0, 30.0), 4: (1.0, 10.0), 5: (3.0, 0.0)}, (4.0, 4.0))
"""The staircase (0, 3), (1, 1), (3, 0), which covers 11 of the 16 before (4, 4)."""


def test_a_step_into_the_stairs() -> None:
    found = against(STAIRS, folder("b", {7: (2.0, 5.0), 8: (1.0, 20.0), 9: (0.0, 30.0)}, (4.0, 4.0), at=50.0))
    assert found.reference == (4.0, 4.0)
    assert found.new == (7,)
    assert found.beaten == ()
    assert found.volumes == pytest.approx((11.0, 4.0 * 1.0 + 3.0 * 1.0 + 2.0 * 1.5, 11.5))
    assert found.shares == pytest.approx((11.0 / 11.5, 10.0 / 11.5))
    assert [row for row, _ in found.top] == [0]
    assert found.top[0][1] == pytest.approx(0.5)


def test_members_that_are_beaten_are_counted() -> None:
    found = against(STAIRS, folder("b", {7: (0.0, 10.0)}, at=50.0))
    assert found.new == (7,)
    assert found.beaten == (3, 4)


def test_the_members_that_add_most_are_each_beside_those_before() -> None:
    near = folder("b", {7: (0.5, 20.0), 8: (0.5001, 19.999), 9: (2.0, 6.0)}, (4.0, 4.0), at=50.0)
    found = against(STAIRS, near, 2)
    assert [near.front.ids[row] for row, _ in found.top] == [7, 9]
    assert [gain for _, gain in found.top] == pytest.approx([0.5, 0.4])
    assert len(found.new) == 3


def test_the_reference_is_the_farthest_of_all() -> None:
    own, other = folder("a", {3: (1.0, 10.0)}, (2.0, 9.0)), folder("b", {3: (0.5, 110.0)}, (3.0, 2.0), at=50.0)
    found = against(own, other)
    assert found.reference == (3.0, 11.0 + 0.1 * 10.0)
    assert found.volumes is not None
    assert found.volumes[1] > 0.0


def test_a_design_that_both_hold_is_not_new_whatever_its_last_digits() -> None:
    other = folder("b", {9: (0.0, 30.0 - 1e-13), 10: (1.0, 10.0)}, (4.0, 4.0))
    found = against(STAIRS, other)
    assert (found.new, found.beaten) == ((), ())
    strange = replace(other, manifest=replace(other.manifest, fingerprint="1" * 64))
    assert against(STAIRS, strange).new == (9,)


def test_nothing_to_compare_with() -> None:
    nothing = folder("b", {})
    assert against(STAIRS, nothing).new == ()
    found = against(nothing, STAIRS)
    assert found.new == (3, 4, 5)
    assert found.shares == (0.0, 1.0)
    assert against(nothing, nothing).volumes is None


@settings(deadline=None)
@given(st.integers(0, 12), st.integers(0, 12), st.integers(0, 2**32 - 1))
def test_new_and_beaten_are_what_they_say(first: int, second: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    own, other = (_random_front(rng, count, at) for count, at in ((first, 0.0), (second, 50.0)))
    found = against(own, other)
    a, b = minimised(own.front, own.manifest), minimised(other.front, other.manifest)
    new = [one for one, p in zip(other.front.ids, b, strict=True) if not any((q <= p).all() for q in a)]
    beaten = [one for one, p in zip(own.front.ids, a, strict=True) if any((q <= p).all() and (q < p).any() for q in b)]
    assert (list(found.new), list(found.beaten)) == (new, beaten)
    if found.volumes is not None and found.reference is not None:
        both = volume(np.concatenate([a, b]), np.array(found.reference))
        assert found.volumes[2] == pytest.approx(both)
        assert found.volumes[0] + sum(gain for _, gain in against(own, other, 99).top) == pytest.approx(both)


def _random_front(rng: np.random.Generator, count: int, at: float) -> Store:
    points: Array = rng.integers(0, 8, (count, 2)).astype(np.float64)
    kept = points[nondominated(points)]
    return folder("r", {3 + row: (float(x), 10.0 * float(y)) for row, (x, y) in enumerate(kept)}, at=at)


def test_other_goals_cannot_be_compared() -> None:
    goals = (GoalEntry("heave.crosstalk", False, 2.0, {"direction": "minimise"}), *STAIRS.manifest.goals[1:])
    other = replace(STAIRS, folder=Path("b"), manifest=replace(STAIRS.manifest, goals=goals))
    with pytest.raises(OtherGoalsError, match="a and b hold results for other goals"):
        against(STAIRS, other)


def test_with_held_goals_alone_there_is_no_volume() -> None:
    own, other = (
        replace(
            one,
            manifest=replace(one.manifest, goals=HELD, reference=(1.0,)),
            front=replace(one.front, objectives={}, left={"heave.motion_ratio": [left], "roll.crosstalk": [0.5]}),
        )
        for one, left in ((folder("a", {3: (1.0, 1.0)}), 0.002), (folder("b", {4: (1.0, 1.0)}, at=50.0), 0.003))
    )
    found = against(own, other)
    assert (found.volumes, found.reference, found.shares) == (None, None, None)
    assert (found.new, found.beaten, found.top) == ((4,), (3,), ((0, 0.0),))
    assert "hypervolume" not in "\n".join(against_lines(found, 80))
    assert json.loads(against_json(found))["own"]["hypervolume"] is None


def test_the_text_tells_shares_counts_and_the_first() -> None:
    found = against(STAIRS, folder("b", {7: (2.0, 5.0), 8: (0.5, 20.0)}, (4.0, 4.0), at=50.0))
    lines = against_lines(found, 60)
    assert "a: 3 members, 91.67 % of the hypervolume of both together" in lines
    assert "2 members of b are new: nothing in a is as good in every" in lines
    assert [line.split() for line in lines[-2:]] == [
        ["7", "4.17", "%", "4.17", "%", "2.000", "5.0"],
        ["8", "4.17", "%", "8.33", "%", "0.500", "20.0"],
    ]
    assert max(len(line) for line in lines) <= 60
    assert against_lines(against(STAIRS, STAIRS), 60)[-1] == "a has nothing that a lacks"


def test_studies_that_differ_are_named() -> None:
    other = replace(STAIRS, folder=Path("b"), manifest=replace(STAIRS.manifest, fingerprint="1" * 64))
    assert "the two study files differ; their goals are the same" in against_lines(against(STAIRS, other), 80)
    assert "the two study files differ; their goals are the same" not in against_lines(against(STAIRS, STAIRS), 80)


def test_the_document_has_all_of_it() -> None:
    found = against(STAIRS, folder("b", {7: (2.0, 5.0), 8: (0.0, 10.0)}, (4.0, 4.0), at=50.0), 1)
    assert found.volumes is not None
    assert json.loads(against_json(found)) == {
        "own": {"folder": "a", "members": 3, "hypervolume": found.volumes[0], "share": 11.0 / found.volumes[2]},
        "other": {
            "folder": "b",
            "members": 2,
            "hypervolume": found.volumes[1],
            "share": found.volumes[1] / found.volumes[2],
        },
        "both": {"hypervolume": found.volumes[2]},
        "reference": [4.0, 4.0],
        "new": [7, 8],
        "beaten": [3, 4],
        "top": [{"id": 8, "adds": pytest.approx(2.0)}],
    }
