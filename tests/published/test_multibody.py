"""Axles of every kind against exudyn, a general multibody library: positions to 1e-8 mm, angles to 1e-8 deg."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Axle, CornerStrut
from geometry.motion import Motion, move
from geometry.status import Status
from geometry.travel import AxleStates, grid_states, rack_states, travel_points
from tests.axles import KINDS, travel_of, with_bars
from tests.multibody import HalfAxle, HalfState

NEAR = 1e-8
"""Positions [mm] and angles [deg] agree to this."""


@pytest.fixture(params=list(KINDS))
def axle(request: pytest.FixtureRequest) -> Axle:
    return KINDS[str(request.param)]()


def all_states(axle: Axle) -> AxleStates:
    """The full states of an axle: the heave and roll grid, then the rack sweep."""
    travel = travel_of(axle)
    grid = grid_states(travel)
    if travel.rack is None:
        return grid
    rack = rack_states(travel_points(travel.rack, travel.step))
    names = ("z_left", "z_right", "rack")
    return AxleStates(*(np.concatenate([getattr(grid, name), getattr(rack, name)]) for name in names))


def follow(axle: Axle, states: AxleStates) -> dict[tuple[float, float], HalfState]:
    """The multibody model at every side state that the axle's states are made of, each reached from static."""
    wanted = {(float(z), float(s)) for z, s in zip(states.z_left, states.rack, strict=True)}
    wanted |= {(float(z), float(-s)) for z, s in zip(states.z_right, states.rack, strict=True)}
    found: dict[tuple[float, float], HalfState] = {}
    for path in (
        list(_leg(wanted, 0, 1)),
        list(_leg(wanted, 0, -1)),
        list(_leg(wanted, 1, 1)),
        list(_leg(wanted, 1, -1)),
    ):
        found.update(zip(path, HalfAxle(axle).follow(path), strict=True))
    return found


def _leg(wanted: set[tuple[float, float]], index: int, sign: int) -> Iterator[tuple[float, float]]:
    """Side states along one coordinate, from static outwards, the other coordinate at 0."""
    for state in sorted(wanted, key=lambda side: abs(side[index])):
        if state[index] * sign >= 0 and state[1 - index] == 0:
            yield state


def mirrored(point: Array) -> Array:
    return np.asarray(point * np.array([1.0, -1.0, 1.0]))


def test_positions_and_angles_over_all_states(axle: Axle) -> None:
    states = all_states(axle)
    truth = follow(axle, states)
    left = [truth[float(z), float(s)] for z, s in zip(states.z_left, states.rack, strict=True)]
    motion = move(axle, states)
    assert np.all(motion.status == Status.OK)
    assert np.ptp(states.z_left) > 80
    centre = np.array([state.centre for state in left])
    spin_axis = np.array([state.spin_axis for state in left])
    eye = np.array([state.rod_outboard for state in left])
    angle = np.array([state.rocker_angle for state in left])
    np.testing.assert_allclose(motion.wheel.centre, centre, rtol=0, atol=NEAR)
    np.testing.assert_allclose(motion.wheel.spin_axis, spin_axis, rtol=0, atol=1e-10)
    np.testing.assert_allclose(np.degrees(motion.wheel.camber), np.degrees(-np.arcsin(spin_axis[:, 2])), atol=NEAR)
    np.testing.assert_allclose(motion.rod_outboard, eye, rtol=0, atol=NEAR)
    np.testing.assert_allclose(np.degrees(motion.rocker_angle), np.degrees(angle), rtol=0, atol=NEAR)
    assert np.ptp(np.degrees(angle)) > 25


@pytest.mark.parametrize("kind", KINDS)
def test_bars_twist_by_the_turns_of_arms_and_rockers(kind: str) -> None:
    axle = with_bars(KINDS[kind]())
    z = travel_points(travel_of(axle).wheel, 3.0)
    grid = AxleStates(np.concatenate([z, z]), np.concatenate([np.roll(z, 5), -0.0 * z]), np.zeros(2 * len(z)))
    truth = follow(axle, grid)
    left, right = ([truth[float(each), 0.0] for each in side] for side in (grid.z_left, grid.z_right))
    motion, bumped = move(axle, grid), truth[float(z[z > 0.0][0]), 0.0]
    arm_sense, rocker_sense = np.sign(bumped.arms["anti_roll"]), np.sign(bumped.rocker_angle)
    arms = [one.arms["anti_roll"] - other.arms["anti_roll"] for one, other in zip(left, right, strict=True)]
    twist, angle = (motion.squeeze(name).compression for name in ("anti_roll", "torsion"))
    assert np.ptp(np.degrees(twist)) > 1.0
    np.testing.assert_allclose(np.degrees(twist), arm_sense * np.degrees(arms), rtol=0, atol=NEAR)
    turned = np.degrees([one.rocker_angle for one in left])
    np.testing.assert_allclose(np.degrees(angle), rocker_sense * turned, rtol=0, atol=NEAR)


def test_strut_lengths_between_left_and_mirrored_right(axle: Axle) -> None:
    states = all_states(axle)
    truth = follow(axle, states)
    motion = move(axle, states)
    for name, element in axle.struts.items():
        expected = [
            np.linalg.norm(
                left.pickups[element.left]
                - (element.chassis if isinstance(element, CornerStrut) else mirrored(right.pickups[element.right]))
            )
            for left, right in (
                (truth[z, s], truth[other, -s])
                for z, other, s in zip(*(values.tolist() for values in vars(states).values()), strict=True)
            )
        ]
        np.testing.assert_allclose(motion.strut(name).length, expected, rtol=0, atol=NEAR)


def test_the_model_itself_keeps_its_links(axle: Axle) -> None:
    """The multibody model is trusted only as far as its rod keeps its length and its wheel is where it was sent."""
    travel = travel_of(axle)
    truth = HalfAxle(axle).follow([(float(z), 0.0) for z in np.arange(0, travel.wheel[1], 4)])
    for lower, upper in pairwise(truth):
        assert upper.centre[2] - lower.centre[2] == pytest.approx(4.0, abs=1e-11)


def test_a_point_moved_by_a_micron_is_seen(axle: Axle) -> None:
    """Negative control: the comparison can fail. A link 0.001 mm off moves the wheel by over 1e-6 mm."""
    states = AxleStates(*(np.array([value]) for value in (20.0, 20.0, 0.0)))
    name, link = next(iter(axle.links.items()))
    off = type(link)(link.inboard + np.array([0.0, 0.001, 0.0]), link.outboard, link.follows_rack)
    changed = Axle(axle.wheel, {**axle.links, name: off}, axle.rod, axle.rocker, axle.elements)
    truth = HalfAxle(axle).go(20.0, 0.0)
    motion: Motion = move(changed, states)
    assert np.abs(motion.wheel.centre[0] - truth.centre).max() > 100 * NEAR
