"""Goals written out in parts say what the goals say in one number, and the parts have no kinks."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Axle
from geometry.lanes import KERNEL, LANES
from objectives.catalogue.catalogue import figure_names
from objectives.evaluate import Evaluator
from objectives.figure_parts import figure_parts
from objectives.goals import Best, Goal, Limit, held, objective_values, objectives, violations
from objectives.parts import goal_parts
from tests.axles import KINDS, arm, front, front_corner, travel_of
from tests.batches import scatter
from tests.forms import FORMS


def largest_of_parts(goals: Sequence[Goal], axle: Axle) -> Array:
    surveyed = Evaluator(travel_of(axle)).survey(axle)
    return np.stack([part.max(axis=-1) for part in goal_parts(goals, surveyed)], axis=-1)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("build", [front, front_corner], ids=["cross-car struts", "corner struts"])
def test_the_largest_part_is_the_goal(build: Callable[[], Axle], form: str) -> None:
    axle = scatter(build(), (7,), links=False)
    goals: list[Goal] = [FORMS[form](name) for name in figure_names(axle)]
    evaluation = Evaluator(travel_of(axle)).evaluate(axle)
    whole = objective_values(goals, evaluation.values) if objectives(goals) else violations(goals, evaluation.values)
    assert bool(held(goals)) != bool(objectives(goals))
    parts = largest_of_parts(goals, axle)
    measured = np.stack([np.isfinite(evaluation.values[goal.figure]) for goal in goals], axis=-1)
    assert measured.sum() > 7 * 15
    np.testing.assert_allclose(parts[measured], whole[measured], rtol=1e-9, atol=1e-9)
    assert np.isnan(parts[~measured]).all()


def test_parts_are_nan_where_the_figure_is_null() -> None:
    axle = front()
    short = replace(axle, rocker=replace(axle.rocker, rod=arm(12, 52, 0)))
    surveyed = Evaluator(travel_of(axle)).survey(short)
    for part in goal_parts([Limit("roll.crosstalk", at_most=1.0), Best("rocker.top_height", "minimise")], surveyed):
        assert part.shape[-1] >= 1
        assert np.isnan(part).all()


SMOOTH = ["roll.crosstalk", "heave.ratio_spread", "rocker.transmission_min", "roll.left_right_split"]


@pytest.mark.parametrize("name", SMOOTH)
def test_parts_have_no_kink_where_the_figure_has(name: str) -> None:
    """Over a fine line of candidates the second differences of each part stay small where the figure's own jump."""
    axle, count = front(), 40 * LANES
    lengths = np.linspace(60.0, 72.0, count).reshape(-1, LANES)
    pickups = {**axle.rocker.pickups, "roll_upper": replace(arm(65.79, 107.17, -34), length=lengths)}
    batch = replace(axle, rocker=replace(axle.rocker, pickups=pickups, rod=replace(arm(76, 52, 0), length=lengths + 8)))
    surveyed = Evaluator(travel_of(axle), None, KERNEL).survey(batch)
    parts = figure_parts(surveyed, name)
    assert parts is not None
    rows = parts.values.reshape(count, -1)
    bend = np.abs(np.diff(rows, 2, axis=0))
    whole = np.abs(np.diff(rows.max(axis=-1) if parts.extreme == "largest" else rows.min(axis=-1), 2))
    assert bend.max() < 1e-3 * max(np.ptp(rows), 1.0)
    assert whole.max() < 1.0


@pytest.mark.parametrize("kind", KINDS)
def test_every_figure_with_parts_is_their_extreme(kind: str) -> None:
    axle = KINDS[kind]()
    surveyed = Evaluator(travel_of(axle)).survey(axle)
    evaluation = Evaluator(travel_of(axle)).evaluate(axle)
    with_parts = 0
    for name, value in evaluation.values.items():
        parts = figure_parts(surveyed, name) if np.isfinite(value) else None
        if parts is None:
            continue
        with_parts += 1
        extreme = parts.values.max() if parts.extreme == "largest" else parts.values.min()
        assert extreme == pytest.approx(float(value), rel=1e-9, abs=1e-9), name
    assert with_parts >= 10
