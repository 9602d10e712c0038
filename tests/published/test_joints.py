"""Joints against what comes from outside: makers' misalignment tables, a multibody library's bodies."""

import math

import numpy as np
import pytest

from geometry.joints import End, rod_misalignment
from geometry.motion import move
from geometry.travel import AxleStates
from objectives.fittings.bearing import angle_beside_bolt, angle_beside_spacer, angle_in_fork
from tests.axles import KINDS
from tests.joints import ACROSS, off
from tests.multibody import HalfAxle

QUARTER_INCH = {"ball_width": 0.343, "housing_width": 0.250, "head_diameter": 0.6562, "chamfer": 0.020}
"""A rod end of size -4, in inches, from memory; its ball is 0.500 in across, its bore 0.250."""
TABLE_4 = (8.0, 14.5, 29.0)
"""What a maker's engineering page prints for size -4 of one series [deg]: in a fork, beside a spacer, beside a bolt."""
SPREAD = 1.5
"""By how much the series' own dimensions may lie off these [deg]."""
SERIES_K = {6: (9.0, 6.75, 12.7), 8: (12.0, 9.0, 15.875), 10: (14.0, 10.5, 19.05), 12: (16.0, 12.0, 22.225)}
"""Rod ends of ISO 12240-4, series K, by bore: widths of ball and housing, ball's diameter [mm], from memory."""


def test_a_makers_table_of_a_quarter_inch_rod_end() -> None:
    w, h, ball, bore = QUARTER_INCH["ball_width"], QUARTER_INCH["housing_width"], 0.5, 0.25
    told = (angle_in_fork(**QUARTER_INCH), angle_beside_spacer(w, h, ball), angle_beside_bolt(bore, h, ball))
    assert told == pytest.approx((8.97, 13.31, 30.0), abs=0.01)
    assert told == pytest.approx(TABLE_4, abs=SPREAD)


def test_the_sine_that_the_page_prints_for_a_bolt_is_a_slip() -> None:
    """Read as printed, a bolt of half the ball's diameter would leave no angle at all; the table has 29 deg."""
    as_printed = math.degrees(math.asin(0.25 / 0.5) - math.asin(0.25 / 0.5))
    assert abs(as_printed - TABLE_4[2]) > 20.0


def test_the_standards_series_tilts_by_13_to_15_deg() -> None:
    """ISO 12240-4, series K, sizes 6 to 12: about 13 to 15 deg, from makers' tables, from memory."""
    for width, housing, ball in SERIES_K.values():
        assert 13.0 <= angle_beside_spacer(width, housing, ball) <= 15.0


def test_of_a_bearing_the_tightest_neighbour_governs() -> None:
    """A fork as wide as the head stops it first, then a spacer, then the bolt alone."""
    for bore, (width, housing, ball) in SERIES_K.items():
        fork = angle_in_fork(width, housing, 2.0 * ball, 0.0)
        assert fork < angle_beside_spacer(width, housing, ball) < angle_beside_bolt(float(bore), housing, ball)


def test_the_angle_is_where_the_section_touches() -> None:
    """Turned by it, the corner of the head lies in the fork's face, the rim on the edge of the ball's flat."""
    w, h, d, c = 12.0, 9.0, 22.0, 1.0
    t = math.radians(angle_in_fork(w, h, d, c))
    assert (d / 2.0 - c) * math.sin(t) + h / 2.0 * math.cos(t) == pytest.approx(w / 2.0, abs=1e-12)
    t = math.radians(angle_beside_spacer(w, h, 15.875))
    reach = math.sqrt((15.875 / 2.0) ** 2 - (h / 2.0) ** 2)
    assert reach * math.sin(t) + h / 2.0 * math.cos(t) == pytest.approx(w / 2.0, abs=1e-12)
    t = math.radians(angle_beside_bolt(8.0, h, 15.875))
    assert reach * math.cos(t) - h / 2.0 * math.sin(t) == pytest.approx(4.0, abs=1e-12)


@pytest.mark.parametrize(
    "angle",
    [
        angle_in_fork(6.0, 7.0, 16.0, 0.0),
        angle_in_fork(20.0, 7.0, 16.0, 0.0),
        angle_beside_spacer(13.0, 6.0, 12.0),
        angle_beside_bolt(12.0, 6.0, 12.0),
        angle_beside_bolt(11.0, 9.0, 12.0),
    ],
)
def test_dimensions_that_are_no_bearings_give_no_angle(angle: float) -> None:
    assert math.isnan(angle)


KEPT = [kind for kind in KINDS if "one link" not in kind]
"""Axles whose carrier turns in one way only: a link alone may spin about its line, and the library holds that its way.
"""


@pytest.mark.parametrize("kind", KEPT)
def test_bolts_in_a_multibody_librarys_bodies(kind: str) -> None:
    """Carrier and rocker as rigid bodies of exudyn: their own rotations turn the bolts."""
    axle = KINDS[kind]()
    places = [(float(z), 0.0) for z in np.linspace(0.0, 32.0, 9)]
    places += [(32.0, float(s)) for s in np.linspace(-2.0, -20.0, 10)] if axle.has_rack else []
    half = HalfAxle(axle)
    (z, rack), state = places[-1], half.follow(places)[-1]
    motion = move(axle, AxleStates(np.array([z]), np.array([z]), np.array([rack])))
    line = state.rod_outboard - state.rod_inboard
    outboard, inboard = (
        float(np.degrees(rod_misalignment(motion.side, end, ACROSS)[..., motion.pairs.left])[0])
        for end in (End.OUTBOARD, End.INBOARD)
    )
    assert outboard == pytest.approx(off(line, state.carrier_turn @ ACROSS), abs=1e-8)
    assert inboard == pytest.approx(off(line, state.rocker_turn @ ACROSS), abs=1e-8)
    assert abs(off(line, ACROSS) - inboard) > 0.1
