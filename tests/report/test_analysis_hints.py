"""Lines that an engineer should read before trusting an axle."""

from dataclasses import replace

import pytest

from geometry.travel import Travel
from objectives.goals import Band, Goal, Limit
from optimiser.report.analysis.hints import hints, least_crosstalk
from optimiser.report.analysis.record import Analysis, analyse
from tests.axles import FRONT_TRAVEL
from tests.report.studies import EXCLUSIVE, corner_study, front_study, swapped_study, uneven_study

FOUND = {5.0: 1.2, 10.0: 2.3, 15.0: 3.1, 20.0: 3.9, 25.0: 4.5}
"""Smallest crosstalk [%] that searches of the front axle found for a progressivity [%] of at least the key."""


def asked(*goals: Goal) -> str:
    """All hints about the front axle under these goals."""
    return "\n".join(hints(analyse(front_study(*goals))))


def with_figures(**figures: float) -> Analysis:
    """The front axle's analysis with other values of some figures, whose dots are written as double underscores."""
    analysis = analyse(front_study())
    return replace(
        analysis,
        figures={**analysis.figures, **{name.replace("__", "."): value for name, value in figures.items()}},
    )


def test_a_sound_axle_gives_nothing_to_say() -> None:
    assert hints(analyse(front_study())) == ()


def test_goals_that_exclude_each_other_are_named() -> None:
    (hint,) = hints(analyse(front_study(*EXCLUSIVE)))
    assert hint.startswith("heave: progressivity of at least 20 % and crosstalk of at most 2 % exclude each other")
    assert "about 4.3 %" in hint


@pytest.mark.parametrize(("rise", "crosstalk"), FOUND.items())
def test_what_searches_have_found_is_never_called_impossible(rise: float, crosstalk: float) -> None:
    goals = (Limit("heave.progressivity", at_least=rise), Limit("heave.crosstalk", at_most=crosstalk))
    assert "exclude" not in asked(*goals)


@pytest.mark.parametrize(("rise", "crosstalk"), FOUND.items())
def test_a_fifth_less_than_was_found_is_called_impossible(rise: float, crosstalk: float) -> None:
    goals = (Limit("heave.progressivity", at_least=rise), Limit("heave.crosstalk", at_most=0.8 * crosstalk))
    assert "exclude" in asked(*goals)


def test_bands_count_by_their_ends() -> None:
    assert "at least 20 %" in asked(Band("heave.progressivity", 22.0, 2.0), Band("heave.crosstalk", 1.0, 1.0))


def test_one_of_the_two_goals_alone_is_no_conflict() -> None:
    assert all(asked(goal) == "" for goal in EXCLUSIVE)


def test_a_falling_or_a_level_ratio_is_no_conflict() -> None:
    assert asked(Limit("heave.progressivity", at_least=0.0), Limit("heave.crosstalk", at_most=0.01)) == ""


def test_the_estimate_is_near_what_the_front_axle_does() -> None:
    figures = analyse(front_study()).figures
    rise, crosstalk = figures["heave.progressivity"], figures["heave.crosstalk"]
    assert rise is not None
    assert crosstalk is not None
    assert least_crosstalk(rise, FRONT_TRAVEL) == pytest.approx(crosstalk, rel=0.1)


def test_the_estimate_by_hand() -> None:
    travel = Travel(wheel=(-50, 50), heave=(-40, 40), roll=(-10, 20), rack=None, step=1)
    assert least_crosstalk(20.0, travel) == pytest.approx(100 * 0.2 * 400 / (2 * 1600 * 1.1))


def test_a_toggle_close_to_the_travel_is_named() -> None:
    assert hints(with_figures(rocker__toggle_margin=10.0)) == ()
    (hint,) = hints(with_figures(rocker__toggle_margin=9.94))
    assert "lock 9.9 mm beyond" in hint


def test_small_transmissions_are_named() -> None:
    assert hints(with_figures(rocker__transmission_min=40.0, roll__transmission_min=40.0)) == ()
    rod, strut = hints(with_figures(rocker__transmission_min=39.9, roll__transmission_min=12.3))
    assert rod.startswith("the rod meets its rocker arm at 39.9 deg")
    assert strut.startswith("roll meets its rocker arm at 12.3 deg")


def test_lines_out_of_the_rockers_plane_are_named() -> None:
    (hint,) = hints(with_figures(rod__tilt_max=8.1, heave__tilt_max=7.9))
    assert hint.startswith("rod leaves the rocker's plane by up to 8.1 deg")


def test_a_roll_strut_that_does_not_idle_is_told_how_to() -> None:
    assert any("passes midway between the pivots" in hint for hint in hints(analyse(uneven_study())))


def test_a_strut_that_serves_the_wrong_mode_is_named() -> None:
    assert any(hint.startswith("wrong serves heave but moves more in roll") for hint in hints(analyse(swapped_study())))


def test_null_figures_give_no_hint() -> None:
    analysis = analyse(corner_study())
    assert analysis.figures["corner.crosstalk"] is None
    assert not [hint for hint in hints(analysis) if "crosstalk" in hint]
