"""Goals become objectives to minimise and violations without dimension, at one boundary."""

import numpy as np
import pytest

from objectives.catalogue.catalogue import FIGURES, UnknownFigureError, describe, figure_names
from objectives.goals import FAILED, Band, Best, Goal, Limit, Miss, left, objective_values, scale_of, violations
from objectives.readings import FigureStatus
from tests.axles import front, front_corner, rear

VALUES = {
    "heave.motion_ratio": np.array([1.10, 1.105, 1.13, np.nan]),
    "roll.crosstalk": np.array([0.5, 1.0, 3.0, np.nan]),
    "heave.progressivity": np.array([9.0, 20.0, -3.0, np.nan]),
}


def test_a_band_is_met_within_its_half_width() -> None:
    goal = Band("heave.motion_ratio", aim=1.10, within=0.01)
    np.testing.assert_allclose(left(goal, VALUES[goal.figure])[:3], [0.01, 0.005, -0.02], atol=1e-12)
    np.testing.assert_allclose(violations([goal], VALUES)[:, 0], [-1.0, -0.5, 2.0, FAILED], atol=1e-9)


def test_a_limit_counts_in_the_figures_own_scale() -> None:
    goals: list[Goal] = [Limit("roll.crosstalk", at_most=1.0), Limit("roll.crosstalk", at_least=0.6, at_most=2.0)]
    np.testing.assert_allclose(
        violations(goals, VALUES), [[-0.5, 0.1], [0.0, -0.4], [2.0, 1.0], [FAILED, FAILED]], atol=1e-12
    )


def test_objectives_are_minimised() -> None:
    goals: list[Goal] = [
        Best("heave.progressivity", "maximise"),
        Best("roll.crosstalk", "minimise"),
        Miss("heave.motion_ratio", aim=1.0, scale=0.5),
    ]
    expected = [[-9.0, 0.5, 0.2], [-20.0, 1.0, 0.21], [3.0, 3.0, 0.26], [FAILED, FAILED, FAILED]]
    np.testing.assert_allclose(objective_values(goals, VALUES), expected, atol=1e-12)
    assert violations(goals, VALUES).shape == (4, 0)


def test_a_ratio_counts_in_hundredths() -> None:
    goal = Best("heave.motion_ratio", "minimise")
    assert scale_of(goal) == 0.01
    np.testing.assert_allclose(objective_values([goal], VALUES)[0], [110.0])


def test_a_figure_is_found_by_name_and_by_pattern() -> None:
    assert describe("heave.motion_ratio") is describe("E.motion_ratio")
    assert describe("rocker.sweep").unit == "deg"


@pytest.mark.parametrize(
    ("name", "suggestion"),
    [
        ("heave.motion_ration", "heave.motion_ratio"),
        ("rocker.arm_summ", "rocker.arm_sum"),
        ("rod.motion_ratio", None),
        ("nothing", None),
    ],
)
def test_an_unknown_name_gets_the_nearest(name: str, suggestion: str | None) -> None:
    with pytest.raises(UnknownFigureError) as caught:
        describe(name)
    if suggestion:
        assert caught.value.suggestion == suggestion
        assert suggestion in str(caught.value)


def test_every_figure_says_what_it_is() -> None:
    assert len({figure.name for figure in FIGURES}) == len(FIGURES)
    for figure in FIGURES:
        assert figure.unit in ("mm", "mm/mm", "deg", "deg/mm", "%", "N", "N/mm", "N.m", "N.m/deg", "N.s/m", "-")
        assert figure.scale > 0
        assert len(figure.definition) > 20
        assert figure.source


def test_an_axle_has_the_figures_of_its_elements() -> None:
    assert "heave.steer_even" in figure_names(front())
    assert not [name for name in figure_names(rear()) if "steer" in name]
    assert figure_names(front())[-1] == "rod.angle_static"


def test_a_figure_says_for_whom_it_has_no_meaning() -> None:
    assert describe("E.crosstalk").void_for(front_corner(), "corner") == FigureStatus.NOT_DECOUPLED
    assert describe("E.left_right_split").void_for(front(), "heave") == FigureStatus.ROLL_ONLY
    assert describe("E.left_right_split").void_for(front(), "roll") == FigureStatus.OK
