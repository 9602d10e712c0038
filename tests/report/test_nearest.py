"""Which bodies hold a row of a front: read from its columns alone."""

import math
from dataclasses import replace

from optimiser.report.front.frame import Frame, Margin, frame
from optimiser.report.front.listing import Hold, holds
from optimiser.report.front.nearest import TOUCHING, Near, nearest
from optimiser.report.results.manifest import FigureEntry, GoalEntry
from tests.report.fronts import FIGURES, FOUR, store, table

FIXED, MOVING = "clearance.floor_to_rod", "clearance.heave_to_roll"
RESERVE = GoalEntry("clearance.reserve", True, 1.0, {"at_least": 0.0})
LEAST = GoalEntry("clearance.min", True, 1.0, {"at_least": 2.0})
CLEAR = {
    FIXED: FigureEntry("mm", 2, margin=5.0),
    MOVING: FigureEntry("mm", 2, margin=3.0),
    f"{MOVING}.p01": FigureEntry("mm", 2),
    "clearance.min": FigureEntry("mm", 2),
    "clearance.reserve": FigureEntry("mm", 2),
}


def roomy(fixed: list[float], moving: list[float], goal: GoalEntry = RESERVE) -> Frame:
    """The four members of `tests.report.fronts` with clearances of two pairs and a goal on the least of them."""
    plain = store(table([3, 5, 8, 13], FOUR))
    kept = (5.0, 3.0) if goal is RESERVE else (2.0, 2.0)
    left = [min(a - kept[0], b - kept[1]) for a, b in zip(fixed, moving, strict=True)]
    whole = [a if goal is LEAST else b for a, b in zip(map(min, fixed, moving), left, strict=True)]
    columns = {FIXED: fixed, MOVING: moving, f"{MOVING}.p01": [-9.0] * 4, goal.figure: whole}
    columns |= {name: [math.nan] * 4 for name in CLEAR if name not in columns}
    manifest = replace(plain.manifest, goals=(*plain.manifest.goals, goal), figures={**FIGURES, **CLEAR})
    front = replace(
        plain.front, figures={**plain.front.figures, **columns}, left={**plain.front.left, goal.figure: left}
    )
    return frame(replace(plain, manifest=manifest, front=front))


def test_the_nearest_pair_is_that_of_which_the_least_is_left_over_its_own_margin() -> None:
    front = roomy([7.0, 5.01, 5.0, 20.0], [4.0, 4.0, 3.0, 9.0])
    found = nearest(front.store.manifest, front.table.figures, "clearance.reserve", 0)
    assert found == (Near("heave_to_roll", 4.0, 3.0), Near("floor_to_rod", 7.0, 5.0))
    assert [one.left for one in found] == [1.0, 2.0]
    assert [[near.pair for near in front.touching(row)] for row in range(4)] == [
        [],
        ["floor_to_rod"],
        ["floor_to_rod", "heave_to_roll"],
        [],
    ]


def test_a_goal_on_the_least_clearance_sets_its_own_limit_for_every_pair() -> None:
    front = roomy([2.0 + TOUCHING, 3.0, 9.0, 9.0], [2.0 + 2.0 * TOUCHING, 9.0, 1.0, 9.0], LEAST)
    assert front.touching(0) == (Near("floor_to_rod", 2.0 + TOUCHING, 2.0),)
    assert front.touching(1) == ()
    assert front.touching(2) == (Near("heave_to_roll", 1.0, 2.0),)
    band = replace(LEAST, asks={"aim": 3.0, "within": 1.0})
    manifest = replace(front.store.manifest, goals=(band,))
    assert nearest(manifest, front.table.figures, "clearance.min", 1)[0] == Near("floor_to_rod", 3.0, 2.0)


def test_a_margin_on_all_clearances_names_the_pair_and_no_other_goal_does() -> None:
    front = roomy([7.0, 5.0, 15.0, 20.0], [4.0, 4.0, 9.0, 9.0])
    assert front.margin(1) == Margin("clearance.reserve", 0.0, "floor_to_rod")
    third = front.margin(2)
    assert third is not None
    assert third.figure == "heave.motion_ratio"
    assert not third.pair
    assert nearest(front.store.manifest, front.table.figures, "roll.crosstalk", 1) == ()


def test_clearances_that_hold_many_members_are_told_the_most_crowded_first() -> None:
    front = roomy([5.0, 5.0, 5.0, 9.0], [3.0, 9.0, 9.0, 9.0])
    assert holds(front) == (Hold("floor_to_rod", 0.75), Hold("heave_to_roll", 0.25))
    assert holds(roomy([9.0] * 4, [9.0] * 4)) == ()


def test_a_clearance_that_is_null_is_no_pair_s() -> None:
    front = roomy([math.nan, 5.0, 5.0, 9.0], [3.0, 9.0, 9.0, 9.0])
    assert [near.pair for near in nearest(front.store.manifest, front.table.figures, "clearance.reserve", 0)] == [
        "heave_to_roll"
    ]
