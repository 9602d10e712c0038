"""Figures of the wheel in batches, in parts and as built."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Axle
from geometry.lanes import KERNEL, LANES
from objectives.catalogue.catalogue import figure_names
from objectives.evaluate import Evaluator, evaluate
from objectives.figure_parts import figure_parts
from objectives.fittings.fitted import Fittings
from objectives.goals import Best, Limit
from objectives.parts import goal_parts
from objectives.readings import FigureStatus
from objectives.tolerance.build import Build
from objectives.tolerance.linear import linearise
from tests.axles import FRONT_TRAVEL, arm, front, travel_of
from tests.batches import pick, scatter


def rockers(count: int) -> Axle:
    """The front axle with other rockers on the one upright."""
    return replace(scatter(front(), (count,), links=False), wheel=front().wheel)


NAMES = [name for name in figure_names(front()) if name.startswith("wheel.")]
CHANGES = [name for name in NAMES if name.endswith("_change")]


@pytest.mark.parametrize("links", [False, True], ids=["rockers vary", "links vary too"])
def test_a_batch_is_its_members(links: bool) -> None:
    batch = scatter(front(), (1, LANES), links=links)
    whole = Evaluator(FRONT_TRAVEL, NAMES, KERNEL).evaluate(batch)
    for lane in (0, LANES - 1):
        alone = evaluate(pick(batch, (0, lane), (1, LANES)), FRONT_TRAVEL, NAMES)
        for name in NAMES:
            assert whole.values[name].shape == (1, LANES)
            assert whole.values[name][0, lane] == pytest.approx(float(alone.values[name]), abs=1e-9)


@pytest.mark.parametrize("name", CHANGES)
def test_the_largest_part_is_the_figure_where_only_rockers_vary(name: str) -> None:
    surveyed = Evaluator(FRONT_TRAVEL).survey(rockers(3))
    parts = figure_parts(surveyed, name)
    assert parts is not None
    assert parts.values.shape[0] == 3
    figure = evaluate(front(), FRONT_TRAVEL, [name]).values[name]
    np.testing.assert_allclose(parts.values.max(axis=-1), figure, rtol=0, atol=1e-12)


def test_goals_on_the_wheel_have_as_many_rows_as_candidates() -> None:
    surveyed = Evaluator(FRONT_TRAVEL).survey(rockers(3))
    goals = [Limit(name, at_most=1.0) for name in NAMES] + [Best(name, "minimise") for name in CHANGES]
    assert {part.shape[0] for part in goal_parts(goals, surveyed)} == {3}


def test_a_state_out_of_reach_voids_the_ways_in_heave_alone() -> None:
    short = replace(front(), rocker=replace(front().rocker, rod=arm(12, 52, 0)))
    found = evaluate(short, FRONT_TRAVEL, NAMES)
    for name in NAMES:
        word = FigureStatus(int(found.status[name]))
        assert np.isnan(found.values[name]) == (word is not FigureStatus.OK) == (name in CHANGES)


def test_as_built_one_wheel_answers_to_its_own_side_and_track_to_both() -> None:
    """An error of a link's outboard point: castor knows the left one alone, the track half of each."""
    build = Build(0.25, 0.05, 0.25, points={"links.upper_front.outboard": 0.5})
    surveyed = Evaluator(FRONT_TRAVEL, fittings=Fittings(build=build)).survey(front())
    for name, alike in (("wheel.castor", False), ("wheel.track_change", True), ("wheel.roll_centre_height", True)):
        linear = linearise(surveyed, name, build)
        left, right = np.split(linear.slopes, 2, axis=-1)
        assert np.abs(left).max() > 1e-4
        assert np.allclose(left, right, rtol=0, atol=1e-12) == alike


def test_castor_moves_with_an_upper_joint_as_a_re_solved_axle_says() -> None:
    axle, step = front(), 0.01
    build = Build(0.25, 0.05, 0.25, points={"links.upper_front.outboard": 0.5})
    linear = linearise(Evaluator(FRONT_TRAVEL, fittings=Fittings(build=build)).survey(axle), "wheel.castor", build)
    [place] = [
        index
        for index, error in enumerate(linear.errors)
        if (error.path, error.axis, error.side) == ("links.upper_front.outboard", 0, "left")
    ]
    ends = []
    for sign in (-1.0, 1.0):
        link = axle.links["upper_front"]
        moved = replace(link, outboard=link.outboard + np.array([sign * step, 0.0, 0.0]))
        off = replace(axle, links={**axle.links, "upper_front": moved})
        ends.append(float(evaluate(off, travel_of(axle), ["wheel.castor"]).values["wheel.castor"]))
    assert linear.slopes[0, place] == pytest.approx((ends[1] - ends[0]) / (2 * step), rel=1e-4)
