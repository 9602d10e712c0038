"""The worked steering axis of a double wishbone, as figures: terms and signs of ISO 8855:2011, clause 7 (from memory).

Lower ball joint (0, 720, 180) mm, axis leaning 8 deg inboard and 5 deg rearward, contact (0, 780, 0): by geometry alone
the axis meets the ground at (15.748, 745.297, 0).
"""

from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Axle, Link
from objectives.evaluate import evaluate
from objectives.readings import FigureStatus
from tests.axles import FRONT_TRAVEL, REAR_TRAVEL, front, rear, vector, wheel

BALL = vector(0, 720, 180)
CASTOR, INCLINATION = 5.0, 8.0
LEAN = vector(-np.tan(np.radians(CASTOR)), -np.tan(np.radians(INCLINATION)), 1.0)


def worked_axle() -> Axle:
    """Two wishbones whose ball joints lie on that axis, a steering link on the rack, the rod on the upright."""
    upper = BALL + 300 * LEAN
    links = {
        "upper_front": Link(vector(150, 400, 440), upper),
        "upper_rear": Link(vector(-150, 400, 440), upper),
        "lower_front": Link(vector(180, 300, 170), BALL),
        "lower_rear": Link(vector(-180, 300, 170), BALL),
        "steering": Link(vector(110, 330, 200), vector(120, 700, 210), follows_rack=True),
    }
    return replace(front(), wheel=wheel(vector(0, 780, 300), 0.0, 0.0), links=links)


def figures(axle: Axle) -> dict[str, float]:
    found = evaluate(axle, FRONT_TRAVEL)
    return {name.removeprefix("wheel."): float(found.values[name]) for name in found.values if name[:6] == "wheel."}


def test_the_worked_axis_is_found_again() -> None:
    found = figures(worked_axle())
    assert found["castor"] == pytest.approx(CASTOR, abs=1e-6)
    assert found["steering_axis_inclination"] == pytest.approx(INCLINATION, abs=1e-6)
    assert found["castor_offset_at_ground"] == pytest.approx(15.748, abs=5e-4)
    assert found["steering_axis_offset_at_ground"] == pytest.approx(34.703, abs=5e-4)


def test_its_offsets_are_those_of_the_triangle_at_either_height() -> None:
    """r_k = 780 - 720 - 180 tan 8, n_k = 180 tan 5; at the wheel centre, 120 mm above the ball joint, likewise."""
    found, slant, rake = figures(worked_axle()), np.tan(np.radians(INCLINATION)), np.tan(np.radians(CASTOR))
    assert found["steering_axis_offset_at_ground"] == pytest.approx(60 - 180 * slant, abs=1e-6)
    assert found["castor_offset_at_ground"] == pytest.approx(180 * rake, abs=1e-6)
    assert found["steering_axis_offset_at_centre"] == pytest.approx(60 + 120 * slant, abs=1e-6)
    assert found["castor_offset_at_centre"] == pytest.approx(-120 * rake, abs=1e-6)


def test_offset_at_ground_is_not_the_scrub_radius_of_the_standard() -> None:
    """ISO 8855's scrub radius is the distance in plan, sqrt(r_k^2 + n_k^2) = 38.11 mm here: another number."""
    found = figures(worked_axle())
    plan = np.hypot(found["steering_axis_offset_at_ground"], found["castor_offset_at_ground"])
    assert plan == pytest.approx(38.109, abs=1e-3)
    assert plan - found["steering_axis_offset_at_ground"] > 3.0


def test_an_axle_without_a_rack_has_no_axis_and_says_so() -> None:
    """No figure of the axis is listed; one asked for by name is null, with a word."""
    found = evaluate(rear(), REAR_TRAVEL)
    assert not [name for name in found.values if "castor" in name]
    status = evaluate(rear(), REAR_TRAVEL, ["wheel.castor"]).status["wheel.castor"]
    assert FigureStatus(int(status)) is FigureStatus.NO_MOTION


def test_gradients_are_slopes_over_heave() -> None:
    """Of the figures at static, measured again over heave of +-0.5 mm: change / travel, to the curvature's error."""
    small = replace(FRONT_TRAVEL, heave=(-0.5, 0.5), step=0.5)
    found = evaluate(front(), small)
    for name in ("camber", "toe"):
        slope = abs(float(found.values[f"wheel.{name}_gradient"]))
        assert float(found.values[f"wheel.{name}_change"]) == pytest.approx(0.5 * slope, rel=0.02)
