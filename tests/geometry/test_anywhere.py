"""States of each candidate's own: side_at gives what moving the axles one by one gives, to the links' last digits."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.anywhere import side_at
from geometry.arrays import Array, norm
from geometry.axle import AntiRollBar, Axle
from geometry.lanes import KERNEL, LANES
from geometry.motion import Motion, move
from geometry.side import Pairs, pair_up
from geometry.side_motion import SideMotion, trace_side
from geometry.status import Status
from geometry.travel import AxleStates, heave_states, travel_points
from geometry.upright import trace_upright
from tests.axles import KINDS, arm, front, front_corner, rear, travel_of, vector, with_bars
from tests.batches import pick, scatter
from tests.geometry.test_squeeze import VALUES, front_with_gap_in_bar
from tests.geometry.test_statuses import gap_loop

CLOSED = 1e-9
"""Lengths and positions agree to this [mm]."""


def traced(axle: Axle, step: float = 2.0) -> SideMotion:
    """The axle's left side through its wheel travel."""
    tree, _ = pair_up(heave_states(travel_points(travel_of(axle).wheel, step)))
    return trace_side(axle, trace_upright(axle.wheel, axle.links, tree), tree)


def own_travels(axle: Axle, shape: tuple[int, ...], seed: int = 3) -> Array:
    """Four left and four right wheel travels of each candidate."""
    low, high = travel_of(axle).wheel
    return np.random.default_rng(seed).uniform(low, high, (*shape, 8))


def paired(side: SideMotion) -> Motion:
    return Motion(side, Pairs(np.arange(4), np.arange(4, 8)))


@pytest.mark.parametrize("links", [False, True], ids=["one set of links", "links of its own"])
@pytest.mark.parametrize("shape", [(), (5,), (2, 3)], ids=str)
@pytest.mark.parametrize("kind", KINDS)
def test_states_of_their_own_are_those_of_a_loop(kind: str, shape: tuple[int, ...], links: bool) -> None:
    axle = scatter(with_bars(KINDS[kind]()), shape, links=links)
    z = own_travels(axle, shape)
    here = paired(side_at(traced(axle), z))
    assert here.status.shape == (*shape, 4)
    for index in np.ndindex(*shape):
        own = AxleStates(z[index][:4], z[index][4:], np.zeros(4))
        one = move(pick(axle, index, shape), own)
        np.testing.assert_array_equal(here.status[index], one.status)
        for name in ("rocker_angle", "rod_outboard"):
            np.testing.assert_allclose(getattr(here, name)[index], getattr(one, name), rtol=0, atol=CLOSED)
        for name in axle.elements:
            many, single = here.squeeze(name), one.squeeze(name)
            for field in ("status", *VALUES):
                found, expected = getattr(many, field)[index], getattr(single, field)
                np.testing.assert_allclose(found, expected, rtol=0, atol=CLOSED, err_msg=f"{name}.{field}")


def test_links_and_rods_keep_their_lengths() -> None:
    axle = scatter(front(), (4,), links=True)
    side = side_at(traced(axle), own_travels(axle, (4,)))
    for link in axle.links.values():
        outboard = side.upright.carry(link.outboard)[0]
        length = norm(outboard - link.inboard[..., None, :])
        np.testing.assert_allclose(length - norm(link.outboard - link.inboard)[..., None], 0.0, atol=CLOSED)
    rod = norm(side.eye - side.rod_inboard[0])
    np.testing.assert_allclose(rod - side.points.rod_length[..., None], 0.0, atol=CLOSED)
    turned = side.upright.rotation
    np.testing.assert_allclose(np.swapaxes(turned, -1, -2) @ turned - np.eye(3), 0.0, atol=1e-13)


def test_one_set_of_travels_serves_a_batch() -> None:
    axle = scatter(rear(), (3,))
    z = own_travels(axle, ())
    side = side_at(traced(axle), z)
    assert side.status.shape == (3, 8)
    spread = side_at(traced(axle), np.broadcast_to(z, (3, 8)))
    np.testing.assert_allclose(side.closing.turn.angle, spread.closing.turn.angle, rtol=0, atol=1e-14)


def test_at_the_guides_own_states_it_is_the_guide() -> None:
    axle = scatter(front(), (3,))
    guide = traced(axle)
    nodes = np.flatnonzero(guide.tree.rack == 0.0)
    side = side_at(guide, np.broadcast_to(guide.tree.travel[nodes], (3, len(nodes))))
    np.testing.assert_array_equal(side.status, guide.status[:, nodes])
    np.testing.assert_allclose(side.closing.turn.angle, guide.closing.turn.angle[:, nodes], rtol=0, atol=1e-13)


def test_outside_the_guides_travel_there_is_nothing() -> None:
    axle = scatter(with_bars(front()), (2,))
    low, high = travel_of(axle).wheel
    z = np.array([[low, low - 0.1, high, high + 0.1], [low - 50.0, 0.0, np.nan, high + 1e-10]])
    side = side_at(traced(axle), z)
    expected = [[0, 2, 0, 2], [2, 0, 2, 0]]
    np.testing.assert_array_equal(side.status, expected)
    np.testing.assert_array_equal(np.isnan(side.closing.rate[..., 0]), np.array(expected) == Status.WHEEL_LOCKED)
    np.testing.assert_array_equal(side.bar("anti_roll").status, expected)


def test_a_rocker_that_cannot_follow_says_so_where_moving_does() -> None:
    base = with_bars(front_corner())
    axle = replace(base, rocker=replace(base.rocker, rod=arm(12, 52, 0)))
    guide = traced(axle)
    z = np.linspace(-45, 48, 400)
    side = side_at(guide, z)
    alone = move(axle, AxleStates(z, z, np.zeros(400)))
    bad = alone.status != Status.OK
    assert 0 < bad.sum() < 400
    np.testing.assert_array_equal(side.status != Status.OK, bad)
    assert Status.UNREACHABLE in side.status
    np.testing.assert_array_equal(np.isnan(side.closing.turn.cos), bad)


@pytest.mark.parametrize("opening", [1.0, 0.1, -0.1])
def test_beyond_a_gap_of_the_loop_it_is_over_centre_where_moving_is(opening: float) -> None:
    axle = gap_loop(opening)
    guide = traced(axle)
    z = np.linspace(-40, 45, 341)
    side, alone = side_at(guide, z), move(axle, AxleStates(z, z, np.zeros(341)))
    np.testing.assert_array_equal(side.status, alone.status)
    assert (Status.OVER_CENTRE in side.status) == (opening > 0.0)
    np.testing.assert_array_equal(side_at(guide, np.array([20.0, 20.4, 22.5])).status[0], Status.OK)


def test_beyond_a_gap_of_its_drop_link_a_bar_is_over_centre() -> None:
    axle = front_with_gap_in_bar()
    z = np.linspace(-40, 45, 171)
    zero = np.zeros(171, dtype=np.intp) + 80
    own = Motion(side_at(traced(axle), z), Pairs(np.arange(171), zero)).squeeze("anti_roll")
    alone = move(axle, AxleStates(z, np.full(171, z[80]), np.zeros(171))).squeeze("anti_roll")
    np.testing.assert_array_equal(own.status, alone.status)
    assert set(own.status.tolist()) == {Status.OK, Status.UNREACHABLE, Status.OVER_CENTRE}
    np.testing.assert_allclose(own.compression, alone.compression, rtol=0, atol=1e-11)


def test_links_that_lock_say_so_where_moving_does() -> None:
    base = front()
    short = {
        name: replace(link, inboard=link.outboard + 0.06 * (link.inboard - link.outboard))
        for name, link in base.links.items()
        if name.startswith("upper")
    }
    axle = replace(base, links={**base.links, **short})
    z = np.linspace(-45, 48, 300)
    side, alone = side_at(traced(axle), z), move(axle, AxleStates(z, z, np.zeros(300)))
    locked = alone.side.upright.locked[alone.pairs.left]
    assert 0 < locked.sum() < 300
    np.testing.assert_array_equal(side.status == Status.WHEEL_LOCKED, locked)


def test_a_bar_that_cannot_follow_says_so() -> None:
    base = with_bars(front())
    pickup = base.anti_roll_bars["anti_roll"].end + vector(5, -2, 90)
    short = AntiRollBar("arb", pivot=pickup + vector(-12, 0, -20), end=pickup + vector(-2, 0, -22))
    axle = replace(base, elements={**base.elements, "anti_roll": short})
    z = np.linspace(-45, 48, 200)
    here = Motion(side_at(traced(axle), z), Pairs(np.arange(200), np.zeros(200, dtype=np.intp) + 97))
    own, alone = here.squeeze("anti_roll"), move(axle, AxleStates(z, np.full(200, z[97]), np.zeros(200)))
    bad = alone.squeeze("anti_roll").status != Status.OK
    assert 0 < bad.sum() < 200
    np.testing.assert_array_equal(own.status != Status.OK, bad)


def test_it_works_in_lanes() -> None:
    axle = scatter(with_bars(front_corner()), (2, LANES), links=True)
    tree, _ = pair_up(heave_states(travel_points(travel_of(axle).wheel, 2.0)))
    guide = trace_side(axle, KERNEL.trace(axle.wheel, axle.links, tree), tree, KERNEL)
    z = own_travels(axle, (2, LANES))
    compiled, plain = paired(side_at(guide, z)), paired(side_at(traced(axle), z))
    for name in axle.elements:
        for field in VALUES:
            found, expected = (getattr(moved.squeeze(name), field) for moved in (compiled, plain))
            np.testing.assert_allclose(found, expected, rtol=0, atol=CLOSED, err_msg=f"{name}.{field}")


def test_the_guide_is_left_as_it_was() -> None:
    axle = scatter(with_bars(front()), (2,))
    guide = traced(axle)
    before = guide.pickup("arb")[0].copy()
    side_at(guide, own_travels(axle, (2,))).pickup("heave")
    np.testing.assert_array_equal(guide.pickup("arb")[0], before)
    assert guide.pickup("heave")[0].shape[-2] == len(guide.tree)


@pytest.mark.parametrize("shape", [(0,), (3, 0)])
def test_an_empty_batch_gives_empty_arrays(shape: tuple[int, ...]) -> None:
    axle = scatter(front(), shape)
    assert side_at(traced(axle), np.zeros((*shape, 8))).status.shape == (*shape, 8)
