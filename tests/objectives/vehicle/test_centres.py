"""Roll centre and anti-effects against closed forms, and against the statics of the links alone."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array, unit
from geometry.axle import Axle, Link
from geometry.contact import Contact
from geometry.motion import move
from geometry.travel import heave_states
from objectives.vehicle.centres import anti_effects, lateral_lift, roll_centre, side_slope
from tests.axles import KINDS, front, vector, wheel

STATIC = heave_states(np.zeros(1))


def turning_about(point: Array, direction: Array) -> Axle:
    """An axle whose wheel turns about one line at static: each link's line meets it."""
    base = front()
    links = {}
    for place, (name, link) in enumerate(base.links.items()):
        target = point + direction * 100.0 * (2 * place - 3)
        links[name] = Link(link.outboard + 0.25 * (target - link.outboard), link.outboard)
    return replace(base, links=links, wheel=wheel(vector(0, 830, 335), 0.0, 0.0))


def contact(axle: Axle) -> Contact:
    return move(axle, STATIC).contact


def test_roll_centre_lies_on_the_line_to_the_instant_centre() -> None:
    # Front view: the wheel turns about (y, z) = (-400, 150), so the line from the contact point (830, 0) to it is at
    # 150 * 830 / 1230 above the car's middle.
    found = roll_centre(contact(turning_about(vector(0, -400, 150), vector(1, 0, 0))))
    assert found == pytest.approx([150 * 830 / 1230], rel=1e-9)


def test_roll_centre_of_a_published_bad_car() -> None:
    # Study notes to Milliken and Milliken, Race Car Vehicle Dynamics, chapter 17, exercise 17.4: lines from (0, 0.44)
    # falling 8 deg and from (0, 0.20) rising 3 deg meet 1.244 m out, beyond the wheel; track 1.55 m. They print
    # 0.438 m and leave the sign out: the line through the contact point meets the car's middle below the ground.
    slope = np.tan(np.radians(8)) + np.tan(np.radians(3))
    y = 240 / slope
    z = 200 + y * np.tan(np.radians(3))
    assert (y, z) == pytest.approx((1244, 265), abs=0.5)
    axle = turning_about(vector(0, y, z), vector(1, 0, 0))
    axle = replace(axle, wheel=wheel(vector(0, 775, 335), 0.0, 0.0))
    assert roll_centre(contact(axle)) == pytest.approx([-438], abs=0.5)


def test_anti_dive_of_a_known_side_view() -> None:
    # Side view: the wheel turns about (x, z) = (-1500, 220). The contact point goes forward by 220 / 1500 as the wheel
    # rises; the wheel centre, 335 up, goes back by (335 - 220) / 1500.
    found = contact(turning_about(vector(-1500, 0, 220), vector(0, 1, 0)))
    assert side_slope(found, inboard=False) == pytest.approx([220 / 1500], rel=1e-9)
    assert side_slope(found, inboard=True) == pytest.approx([-115 / 1500], rel=1e-9)
    # Handbooks: percentage = share of braking x tan x L / h.
    anti = anti_effects((220 / 1500, 0.0), (-115 / 1500, 0.0), 0.6, 450.0, 2700.0)
    assert anti.dive == pytest.approx(100 * 0.6 * (220 / 1500) * 2700 / 450)
    assert anti.front_lift == pytest.approx(-100 * (115 / 1500) * 2700 / 450)


def test_anti_squat_and_anti_lift_of_a_rear_axle() -> None:
    # The wheel turns about a point before it and above the wheel centre: under drive the shaft's push lifts the body.
    found = contact(turning_about(vector(1500, 0, 400), vector(0, 1, 0)))
    anti = anti_effects(
        (0.0, float(side_slope(found, False)[0])), (0.0, float(side_slope(found, True)[0])), 0.6, 450, 2700
    )
    assert anti.lift == pytest.approx(100 * 0.4 * (400 / 1500) * 6)
    assert anti.squat == pytest.approx(100 * (65 / 1500) * 6)


def vertical_equal(axle: Axle, force: Array, free_wheel: bool) -> float:
    """Vertical force at the contact point that leaves the rod without force beside -`force` there, by statics.

    Five link tensions and that force hold the upright. With `free_wheel` the moment about the spin axis goes elsewhere.
    """
    at, hub = contact(axle).point[0], axle.wheel.centre
    lines = [(unit(link.inboard - link.outboard), link.outboard) for link in axle.links.values()]
    columns = [np.concatenate([u, np.cross(p - hub, u)]) for u, p in lines]
    up = vector(0, 0, 1)
    columns.append(np.concatenate([up, np.cross(at - hub, up)]))
    moment = np.cross(at - hub, force)
    if free_wheel:
        n = axle.wheel.spin_axis
        moment = moment - (moment @ n) * n
    return float(np.linalg.solve(np.stack(columns, axis=1), -np.concatenate([force, moment]))[5])


@pytest.mark.parametrize("build", KINDS.values(), ids=KINDS.keys())
def test_jacking_against_the_statics_of_the_links(build: Callable[[], Axle]) -> None:
    axle = build()
    found = contact(axle)
    assert vertical_equal(axle, vector(0, 1, 0), False) == pytest.approx(-float(lateral_lift(found)[0]), rel=1e-9)
    for inboard in (False, True):
        slope = float(side_slope(found, inboard)[0])
        rolling = contact(axle).rolling[0]
        # A vertical force with the wheel free works through `rolling` too: at the contact it hardly differs.
        scale = rolling[2] / found.locked[0, 2] if inboard else 1.0
        assert vertical_equal(axle, vector(1, 0, 0), inboard) == pytest.approx(-slope * scale, rel=1e-8)


def test_roll_centre_falls_as_the_body_sinks() -> None:
    heights = roll_centre(move(front(), heave_states(np.array([-20.0, 0.0, 20.0]))).contact)
    assert heights[0] > heights[1] > heights[2]
