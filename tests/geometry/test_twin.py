"""The batch kernel against its slow readable twin, on axles thrown at random, and links that keep their length."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Axle, Link
from geometry.motion import move
from geometry.rod import carry_rod_eye
from geometry.side import pair_up
from geometry.status import Status
from geometry.travel import AxleStates
from geometry.upright import trace_upright
from tests.axles import KINDS, axis_angles, front, front_on_link, rear, travel_of, vector, with_axis
from tests.batches import scatter
from tests.twin import inboard_now, side_at, strut_length

CLOSED = 1e-9
"""Links keep their length to this at every state [mm]."""


def random_axle(seed: int) -> Axle:
    """An axle far from the shipped ones: points moved by up to 12 mm, the rocker's axis turned anyhow."""
    rng = np.random.default_rng(seed)
    base = (front, rear, front_on_link)[seed % 3]()
    axle = scatter(base, (), seed=seed, size=12.0, links=True)
    return with_axis(axle, axis_angles(rng.uniform(-50, 50), rng.uniform(-40, 40)))


def random_states(axle: Axle, seed: int, count: int = 12) -> AxleStates:
    rng, travel = np.random.default_rng(seed), travel_of(axle)
    left, right = rng.uniform(*travel.wheel, (2, count))
    rack = np.zeros(count) if travel.rack is None else rng.uniform(*travel.rack, count)
    return AxleStates(left, right, rack)


@pytest.mark.parametrize("seed", range(15))
def test_random_axles_agree_with_the_twin(seed: int) -> None:
    axle = random_axle(seed)
    states = random_states(axle, seed)
    motion = move(axle, states)
    assert np.all(motion.status == Status.OK)
    for k, (z_left, z_right, rack) in enumerate(zip(*vars(states).values(), strict=True)):
        left, right = side_at(axle, z_left, rack), side_at(axle, z_right, -rack)
        np.testing.assert_allclose(motion.wheel.centre[k], left.centre, rtol=0, atol=1e-9)
        np.testing.assert_allclose(motion.rod_outboard[k], left.rod_outboard, rtol=0, atol=1e-9)
        assert motion.rocker_angle[k] == pytest.approx(left.rocker_angle, abs=1e-11)
        for name in axle.struts:
            assert motion.strut(name).length[k] == pytest.approx(strut_length(axle, name, left, right), abs=1e-9)


def worst_link(axle: Axle, states: AxleStates) -> float:
    """Largest change of any link's length over the left-side states [mm]."""
    tree, _ = pair_up(states)
    upright = trace_upright(axle.wheel, axle.links, tree)
    worst = 0.0
    for link in axle.links.values():
        outboard = upright.carry(link.outboard)[0]
        inboard = np.array([inboard_now(link, rack) for rack in tree.rack])
        length = np.linalg.norm(outboard - inboard, axis=-1)
        worst = max(worst, float(np.abs(length - np.linalg.norm(link.outboard - link.inboard)).max()))
    return worst


@pytest.mark.parametrize("kind", KINDS)
def test_links_keep_their_length_at_every_state(kind: str) -> None:
    axle = KINDS[kind]()
    assert worst_link(axle, random_states(axle, 3, count=60)) < CLOSED


@pytest.mark.parametrize("seed", range(6))
def test_links_of_random_axles_keep_their_length(seed: int) -> None:
    axle = random_axle(seed)
    assert worst_link(axle, random_states(axle, seed, count=60)) < CLOSED


def test_a_link_that_does_not_follow_the_rack_would_be_seen() -> None:
    """Negative control: taking the rack's link for a fixed one shows up in its length."""
    axle = front()
    fixed = {name: replace(link, follows_rack=False) for name, link in axle.links.items()}
    tree, _ = pair_up(AxleStates(np.zeros(1), np.zeros(1), np.array([20.0])))
    moved = trace_upright(axle.wheel, axle.links, tree).carry(axle.links["steering"].outboard)[0]
    link = fixed["steering"]
    miss = np.linalg.norm(moved - link.inboard, axis=-1) - np.linalg.norm(link.outboard - link.inboard)
    assert np.abs(miss).max() > 1.0


@pytest.mark.parametrize("kind", KINDS)
def test_rod_and_rocker_keep_their_lengths(kind: str) -> None:
    axle = KINDS[kind]()
    motion = move(axle, random_states(axle, 5, count=60))
    inboard = motion.side.rod_inboard[0]
    eye = np.broadcast_to(motion.side.eye, inboard.shape)
    length = np.linalg.norm(eye - inboard, axis=-1)
    np.testing.assert_allclose(length, length[0], rtol=0, atol=CLOSED)
    for name in motion.side.points.arms:
        radius = np.linalg.norm(motion.side.pickup(name)[0] - axle.rocker.pivot, axis=-1)
        np.testing.assert_allclose(radius, radius[0], rtol=0, atol=CLOSED)


def rates_by_difference(axle: Axle, z: float, rack: float) -> Array:
    """Velocity of the rod's eye (3, 2) per mm of wheel travel and of rack, by differences of the twin's positions."""
    h = 1e-3
    steps = ((h, 0.0), (0.0, h))
    pairs = [(side_at(axle, z + a, rack + b), side_at(axle, z - a, rack - b)) for a, b in steps]
    return np.stack([(plus.rod_outboard - minus.rod_outboard) / (2 * h) for plus, minus in pairs], axis=-1)


@pytest.mark.parametrize("kind", ["five split links, rod on the upright", "five split links, rod on one link"])
def test_velocities_of_the_rod_eye(kind: str) -> None:
    axle = KINDS[kind]()
    tree, (pairs,) = pair_up(AxleStates(np.array([21.0]), np.array([21.0]), np.array([8.0])))
    motion = move(axle, AxleStates(np.array([21.0]), np.array([21.0]), np.array([8.0])))
    measured = rates_by_difference(axle, 21.0, 8.0)
    rate = carry_rod_eye(axle, motion.side.upright, tree)[1]
    np.testing.assert_allclose(rate[pairs.left[0]], measured, rtol=0, atol=1e-8)
    assert len(tree) == len(motion.side.tree)


def test_rod_carried_by_the_link_that_follows_the_rack() -> None:
    """The eye keeps its share of a link whose inboard end moves with the rack."""
    base = front()
    link: Link = base.links["steering"]
    eye = link.inboard + 0.8 * (link.outboard - link.inboard)
    axle = replace(base, rod=replace(base.rod, outboard=eye, carried_by=("steering",)))
    states = random_states(axle, 9)
    motion = move(axle, states)
    assert np.all(motion.status == Status.OK)
    for k, (z_left, _, rack) in enumerate(zip(*vars(states).values(), strict=True)):
        expected = side_at(axle, z_left, rack).rod_outboard
        np.testing.assert_allclose(motion.rod_outboard[k], expected, rtol=0, atol=1e-9)


def test_an_eye_beside_its_link_moves_to_its_foot() -> None:
    base = front_on_link()
    beside = replace(base, rod=replace(base.rod, outboard=base.rod.outboard + vector(0.3, 0.1, -0.2)))
    link = base.links["lower_front"]
    along = (link.outboard - link.inboard) / np.linalg.norm(link.outboard - link.inboard)
    foot = link.inboard + ((beside.rod.outboard - link.inboard) @ along) * along
    states = AxleStates(np.zeros(1), np.zeros(1), np.zeros(1))
    np.testing.assert_allclose(move(beside, states).rod_outboard[0], foot, rtol=0, atol=1e-12)
