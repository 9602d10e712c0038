"""The record behind `analyse`, against numbers of an independent solver and against itself."""

import numpy as np
import pytest

from geometry.axle import Mode
from geometry.motion import move
from geometry.travel import AxleStates
from optimiser.report.analysis.record import Analysis, analyse, own_mode, share, stroke
from optimiser.study.study import Study
from tests.report.studies import (
    EXCLUSIVE,
    corner_study,
    front_study,
    locked_study,
    rear_study,
    swapped_study,
)


@pytest.fixture(scope="module")
def front() -> Analysis:
    return analyse(front_study())


def at(values: np.ndarray, travel: np.ndarray, point: float) -> float:
    """The value at a travel point."""
    (row,) = np.flatnonzero(np.isclose(travel, point, atol=1e-9))
    return float(values[row])


def test_the_front_axle_rises_from_1_00_to_1_20(front: Analysis) -> None:
    # Reference: an independent solver on the same hardpoints, 1.00-1.10-1.20 over the heave travel.
    heave = front.sweeps["heave"]
    ratios = heave.elements["heave"].motion_ratio
    assert [at(ratios, heave.travel, point) for point in (-30, 0, 38)] == pytest.approx([1.00, 1.10, 1.20], abs=0.005)


def test_the_front_roll_strut_is_idle_in_heave_and_the_heave_strut_leaks_in_roll(front: Analysis) -> None:
    # Reference: an independent solver, crosstalk under 0.03 % and 2.17 %.
    assert share(front, "heave", "roll") == pytest.approx(0.03, abs=0.005)
    assert share(front, "roll", "heave") == pytest.approx(2.17, abs=0.01)


def test_the_rear_axle_has_its_reference_figures() -> None:
    # Reference: an independent solver, MR_h 1.150, MR_r 0.999, crosstalk 2.00 and 0.04 %.
    figures = analyse(rear_study()).figures
    wanted = {"heave.motion_ratio": 1.150, "roll.motion_ratio": 0.999, "heave.crosstalk": 2.00, "roll.crosstalk": 0.04}
    for name, value in wanted.items():
        assert figures[name] == pytest.approx(value, abs=0.01 if name.endswith("crosstalk") else 0.0015), name


@pytest.mark.parametrize("study", [front_study(), rear_study(), corner_study()], ids=["front", "rear", "corner"])
def test_a_share_over_the_other_mode_is_the_crosstalk_figure(study: Study) -> None:
    analysis = analyse(study)
    for name, element in analysis.elements.items():
        crosstalk = analysis.figures.get(f"{name}.crosstalk")
        if crosstalk is not None:
            other = Mode(own_mode(element)).other.value
            assert share(analysis, other, name) == pytest.approx(crosstalk, rel=1e-12)


@pytest.mark.parametrize("study", [front_study(), corner_study()], ids=["front", "corner"])
def test_motion_ratios_are_slopes_of_the_lengths(study: Study) -> None:
    """Central differences of lengths, re-solved 1e-3 mm to either side, agree to 1e-7."""
    analysis, step = analyse(study), 1e-3
    directions = {"heave": (1, 1, 0), "roll": (1, -1, 0), "one_wheel": (1, 0, 0), "rack": (0, 0, 1)}
    for sweep, direction in directions.items():
        travel = analysis.sweeps[sweep].travel
        ahead, behind = (
            move(study.axle, AxleStates(*(share * (travel + shift) for share in direction))) for shift in (step, -step)
        )
        for name, moved in analysis.sweeps[sweep].elements.items():
            slope = (behind.strut(name).length - ahead.strut(name).length) / (2 * step)
            np.testing.assert_allclose(moved.motion_ratio, slope, rtol=0, atol=1e-7, err_msg=f"{sweep} {name}")


def test_sweeps_go_through_their_own_travel_and_start_from_static(front: Analysis) -> None:
    ends = {"heave": (-30, 38), "roll": (-26, 26), "one_wheel": (-45, 48), "rack": (-30, 30)}
    for name, sweep in front.sweeps.items():
        assert (sweep.travel[0], sweep.travel[-1]) == ends[name]
        assert at(sweep.rocker_angle, sweep.travel, 0) == pytest.approx(0, abs=1e-9)
        for moved in sweep.elements.values():
            assert at(moved.compression, sweep.travel, 0) == pytest.approx(0, abs=1e-9)
            np.testing.assert_allclose(np.ptp(moved.length + moved.compression), 0, atol=1e-9)


def test_one_wheel_moves_the_left_side_alone(front: Analysis) -> None:
    """Its rocker turns as in heave at the same travel, and a cross-car strut takes half the heave ratio at static."""
    one, heave = front.sweeps["one_wheel"], front.sweeps["heave"]
    assert at(one.rocker_angle, one.travel, 20) == pytest.approx(at(heave.rocker_angle, heave.travel, 20), abs=1e-9)
    half = at(heave.elements["heave"].motion_ratio, heave.travel, 0) / 2
    assert at(one.elements["heave"].motion_ratio, one.travel, 0) == pytest.approx(half, abs=1e-12)


def test_the_wheel_starts_from_its_static_attitude(front: Analysis) -> None:
    for sweep in front.wheel.values():
        assert at(sweep.camber, sweep.travel, 0) == pytest.approx(-2.2, abs=1e-9)
        assert at(sweep.toe, sweep.travel, 0) == pytest.approx(0.05, abs=1e-9)
        row = int(np.argmin(np.abs(sweep.travel)))
        np.testing.assert_allclose(sweep.centre[row], [0, 830, 335], atol=1e-9)
        np.testing.assert_allclose(sweep.rod_outboard[row], [10, 742, 206], atol=1e-9)


def test_the_wheel_centre_rises_with_the_travel_and_keeps_its_height_over_the_rack(front: Analysis) -> None:
    heave, rack = front.wheel["heave"], front.wheel["rack"]
    np.testing.assert_allclose(heave.centre[:, 2], 335 + heave.travel, atol=1e-9)
    np.testing.assert_allclose(rack.centre[:, 2], 335, atol=1e-9)


def test_without_a_rack_there_is_no_rack_sweep_and_no_steer_figure() -> None:
    analysis = analyse(rear_study())
    assert set(analysis.sweeps) == {"heave", "roll", "one_wheel"}
    assert set(analysis.wheel) == {"heave"}
    assert not [name for name in analysis.figures if "steer" in name]


def test_a_corner_strut_works_in_every_motion_of_its_wheel() -> None:
    analysis = analyse(corner_study())
    assert own_mode(analysis.elements["corner"]) == "heave"
    heave, one = analysis.sweeps["heave"], analysis.sweeps["one_wheel"]
    for point in (-30, 0, 38):
        same = at(heave.elements["corner"].motion_ratio, heave.travel, point)
        assert at(one.elements["corner"].motion_ratio, one.travel, point) == pytest.approx(same, abs=1e-12)
    assert analysis.figures["corner.crosstalk"] is None
    assert analysis.figure_status["corner.crosstalk"] == "not_decoupled"


def test_states_that_cannot_be_reached_have_their_word_and_no_number() -> None:
    analysis = analyse(locked_study())
    heave, rack = analysis.sweeps["heave"], analysis.sweeps["rack"]
    assert heave.status[0] == heave.status[-1] == "unreachable"
    assert rack.status[0] == rack.status[-1] == "wheel_locked"
    assert any(heave.elements["roll"].over_centre)
    for sweep in (heave, rack):
        for moved in sweep.elements.values():
            bad = [word != "ok" for word in sweep.status]
            assert np.isnan(moved.motion_ratio).tolist() == np.isnan(moved.length).tolist() == bad


def test_figures_over_such_states_are_null_and_say_why() -> None:
    analysis = analyse(locked_study())
    assert analysis.figures["heave.length_max"] is None
    assert analysis.figure_status["heave.length_max"] == "unreachable"
    assert analysis.figures["heave.motion_ratio"] == pytest.approx(1.10, abs=0.005)
    assert stroke(analysis.sweeps["heave"], "roll") is None
    assert share(analysis, "roll", "heave") is None


def test_verdicts_come_with_the_least_left_first(front: Analysis) -> None:
    shares = [verdict.share for verdict in front.verdicts]
    assert shares == sorted(shares)
    assert all(verdict.met for verdict in front.verdicts)
    (ratio,) = (verdict for verdict in front.verdicts if verdict.goal.figure == "heave.motion_ratio")
    value = front.figures["heave.motion_ratio"]
    assert value is not None
    assert ratio.left == pytest.approx(0.01 - abs(value - 1.10), rel=1e-9)
    assert ratio.share == pytest.approx((0.01 - abs(value - 1.10)) / 0.01, rel=1e-9)


def test_a_missed_goal_tells_by_how_much() -> None:
    analysis = analyse(front_study(*EXCLUSIVE))
    first, second = analysis.verdicts
    assert not first.met
    assert not second.met
    assert first.goal.figure == "heave.progressivity"
    rise = analysis.figures["heave.progressivity"]
    assert rise is not None
    assert first.left == pytest.approx(rise - 20.0, rel=1e-9)
    assert second.left == pytest.approx(2.0 - 2.17, abs=0.01)


def test_a_null_figure_misses_its_goal_and_comes_first() -> None:
    first = analyse(locked_study()).verdicts[0]
    assert (first.value, first.left, first.met, first.share) == (None, None, False, -np.inf)
    assert first.status != "ok"


def test_objectives_keep_the_order_of_the_study(front: Analysis) -> None:
    assert [wish.goal.figure for wish in front.wishes] == ["heave.crosstalk", "roll.ratio_drift"]
    assert [wish.value for wish in front.wishes] == [front.figures[wish.goal.figure] for wish in front.wishes]


def test_a_strut_that_serves_the_wrong_mode_has_more_than_all_its_stroke_in_the_other() -> None:
    part = share(analyse(swapped_study()), "roll", "wrong")
    assert part is not None
    assert part > 1000.0
