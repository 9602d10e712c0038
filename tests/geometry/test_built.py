"""An axle as it is built: what its parts keep, where it settles, and that its sides may differ."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import MIRROR_Y, Array, norm
from geometry.axle import Axle
from geometry.built import built, movable
from geometry.hardpoints import place
from geometry.kernel import PLAIN
from geometry.motion import Motion, move
from geometry.side import pair_up
from geometry.side_motion import SideMotion, trace_side
from geometry.status import Status
from geometry.travel import AxleStates
from geometry.upright import trace_upright
from tests.axles import KINDS, front, with_bars

OFF = np.array([0.3, -0.4, 0.5])
NONE = np.zeros(())
STATES = AxleStates(np.array([0.0, 20.0, -15.0, 10.0]), np.array([0.0, 20.0, 15.0, 0.0]), np.array([0.0, 0, 0, 5.0]))


@pytest.mark.parametrize("kind", KINDS)
def test_an_axle_without_errors_is_the_axle(kind: str) -> None:
    axle = KINDS[kind]()
    drawn, made = move(axle, STATES), move(built(axle, {}, NONE), STATES)
    for name in axle.struts:
        assert made.strut(name).length == pytest.approx(drawn.strut(name).length, abs=1e-9)
        assert made.strut(name).by_left == pytest.approx(drawn.strut(name).by_left, abs=1e-12)


def test_rod_and_rocker_keep_their_own_sizes() -> None:
    """Whatever is off, the rod has its length, and the rocker's points lie to each other as they were made."""
    axle, off = front(), {"rocker.pivot": OFF, "rocker.pickups.heave": -OFF, "rocker.rod": 2.0 * OFF}
    drawn, made = place(axle), place(built(axle, off, np.array(0.7)))
    assert made.rod_length == pytest.approx(drawn.rod_length + 0.7, abs=1e-10)
    assert made.pivot == pytest.approx(drawn.pivot + OFF, abs=1e-12)
    assert made.rod_outboard == pytest.approx(drawn.rod_outboard, abs=1e-12)
    wanted = norm(drawn.pickups["heave"] - OFF - drawn.rod_inboard - 2.0 * OFF)
    assert norm(made.pickups["heave"] - made.rod_inboard) == pytest.approx(wanted, abs=1e-10)
    assert norm(made.pickups["heave"] - made.pivot) == pytest.approx(norm(drawn.pickups["heave"] - OFF - drawn.pivot))
    assert made.arms["roll_upper"].angle != pytest.approx(drawn.arms["roll_upper"].angle, abs=1e-4)


def test_a_rod_too_long_turns_the_rocker_as_a_travel_of_its_end_does() -> None:
    """A longer rod pushes its inner end along its line: the turn is dL / (rod's arm about the axis)."""
    axle, longer = front(), 1e-4
    drawn, made = place(axle), place(built(axle, {}, np.array(longer)))
    line = drawn.rod_inboard - drawn.rod_outboard
    arm = np.dot(line / norm(line), np.cross(drawn.axis, drawn.rod_inboard - drawn.pivot))
    turn = made.arms["heave"].angle - drawn.arms["heave"].angle
    assert turn == pytest.approx(longer / arm, rel=1e-4)


def test_a_rod_that_cannot_reach_gives_no_number() -> None:
    made = built(front(), {}, np.array([0.0, 900.0]))
    lengths = move(made, STATES)
    assert list(lengths.status[:, 0]) == [Status.OK, Status.UNREACHABLE]
    assert np.isnan(lengths.strut("heave").length[1]).all()


def test_points_of_elements_and_links_move_too() -> None:
    axle = with_bars(front())
    off = {path: OFF for path in movable(axle) if path.startswith(("elements.", "links.upper_front.inboard", "rod."))}
    made = built(axle, off, NONE)
    assert made.links["upper_front"].inboard == pytest.approx(axle.links["upper_front"].inboard + OFF)
    assert made.links["upper_front"].outboard is not OFF
    assert made.rod.outboard == pytest.approx(axle.rod.outboard + OFF)
    bar, drawn = made.anti_roll_bars["anti_roll"], axle.anti_roll_bars["anti_roll"]
    assert bar.pivot == pytest.approx(drawn.pivot + OFF)
    assert bar.end == pytest.approx(drawn.end + OFF)


def test_a_point_that_is_not_there_is_refused() -> None:
    with pytest.raises(KeyError, match="heaven"):
        built(front(), {"rocker.pickups.heaven": OFF}, NONE)


def side(axle: Axle) -> tuple[SideMotion, Motion]:
    tree, (pairs,) = pair_up(STATES)
    traced = trace_side(axle, trace_upright(axle.wheel, axle.links, tree), tree, PLAIN)
    return traced, Motion(traced, pairs)


def test_two_alike_sides_are_the_mirrored_axle() -> None:
    traced, drawn = side(front())
    both = replace(drawn, right=side(front())[0])
    for name in ("heave", "roll"):
        one, other = drawn.strut(name), both.strut(name)
        for values in ("length", "compression", "by_left", "by_right", "by_rack", "transmission_right", "tilt_right"):
            assert getattr(other, values) == pytest.approx(getattr(one, values), abs=1e-12), values
        assert (other.over_centre == one.over_centre).all()
    assert (both.status == drawn.status).all()
    assert traced.batch == ()


def test_a_strut_between_unlike_sides_runs_from_pickup_to_pickup() -> None:
    """Its length is the distance of the two ends, each where its own side takes it."""
    right, _ = side(built(front(), {"rocker.pickups.heave": OFF, "rocker.pivot": -OFF}, np.array(0.4)))
    left, drawn = side(front())
    strut = replace(drawn, right=right).strut("heave")
    near = left.pickup("heave")[0][drawn.pairs.left]
    far: Array = MIRROR_Y * right.pickup("heave")[0][drawn.pairs.right]
    assert strut.length == pytest.approx(norm(far - near), abs=1e-10)
    assert strut.compression[0] == pytest.approx(0.0, abs=1e-10)
    step = 1e-4
    moved = AxleStates(STATES.z_left, STATES.z_right + step, STATES.rack)
    tree, (pairs,) = pair_up(moved)
    upright = trace_upright(left.axle.wheel, left.axle.links, tree)
    there = Motion(trace_side(left.axle, upright, tree), pairs, trace_side(right.axle, upright, tree))
    slope = -(there.strut("heave").length - strut.length) / step
    assert strut.by_right == pytest.approx(slope, abs=1e-5)
