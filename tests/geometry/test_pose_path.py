"""The upright's path between known states: what Newton's method finds there, to rounding, and NaN beyond a lock."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.anywhere import side_at
from geometry.arrays import pick_states
from geometry.axle import Axle
from geometry.pose_path import poses_of, trace_path, upright_of
from geometry.side import pair_up
from geometry.side_motion import SideMotion, trace_side
from geometry.travel import heave_states, travel_points
from geometry.upright import trace_upright
from geometry.upright_curve import curve_upright
from tests.axles import KINDS, front, rear, travel_of
from tests.batches import scatter

ROUNDING = 1e-11
"""Newton's method itself counts links as closed at this miss [mm]."""


def traced(axle: Axle, step: float) -> SideMotion:
    tree, _ = pair_up(heave_states(travel_points(travel_of(axle).wheel, step)))
    return trace_side(axle, trace_upright(axle.wheel, axle.links, tree), tree)


def locking() -> Axle:
    """The front axle with upper links so short that they lock within the wheel's travel."""
    base = front()
    short = {
        name: replace(link, inboard=link.outboard + 0.06 * (link.inboard - link.outboard))
        for name, link in base.links.items()
        if name.startswith("upper")
    }
    return replace(base, links={**base.links, **short})


@pytest.mark.parametrize("kind", ["five split links, rod on the upright", "two wishbones, rod on the lower"])
@pytest.mark.parametrize("step", [4.0, 2.0])
def test_between_states_it_is_where_newton_finds_the_upright(kind: str, step: float) -> None:
    axle = KINDS[kind]()
    guide = traced(axle, step)
    z = np.random.default_rng(2).uniform(*travel_of(axle).wheel, 60)
    tree, (pairs,) = pair_up(heave_states(z))
    fine = curve_upright(axle.links, trace_upright(axle.wheel, axle.links, tree), tree, pairs.left)
    for found, true in zip(guide.path.at(z), poses_of(fine), strict=True):
        np.testing.assert_allclose(found, true, rtol=0, atol=ROUNDING)
    again = upright_of(axle.wheel.centre, *guide.path.at(z))
    np.testing.assert_allclose(again.rate[..., 0], fine.upright.rate[..., 0], rtol=0, atol=ROUNDING)
    assert again.curve is not None
    np.testing.assert_allclose(again.curve, fine.curve, rtol=0, atol=ROUNDING)


def test_at_its_own_states_it_is_exact() -> None:
    guide = traced(rear(), 4.0)
    pose, slope, _ = guide.path.at(guide.path.travel)
    upright = guide.upright
    np.testing.assert_allclose(pose[:, 0], upright.centre[guide.path.nodes], rtol=0, atol=1e-12)
    np.testing.assert_allclose(slope[:, 0], upright.rate[guide.path.nodes, :3, 0], rtol=0, atol=1e-14)


def test_coarse_states_are_not_trusted_but_walked() -> None:
    """At neighbours of 50 mm the path misses the links by far more than rounding; side_at gives the upright all the
    same."""
    axle = rear()
    tree, _ = pair_up(heave_states(travel_points(travel_of(axle).wheel, 2.0)))
    fine = trace_side(axle, trace_upright(axle.wheel, axle.links, tree), tree)
    few = np.flatnonzero(np.isin(tree.travel, [-50.0, 0.0, 50.0]))
    coarse = replace(
        tree,
        travel=tree.travel[few],
        rack=tree.rack[few],
        parent=np.zeros(3, dtype=np.intp),
        seed=np.zeros(3, dtype=np.intp),
        generations=(np.array([0]), np.array([1, 2])),
        seed_generations=(np.array([0]), np.array([1, 2])),
    )
    wide = trace_side(axle, trace_upright(axle.wheel, axle.links, coarse), coarse)
    z = np.array([-31.0, -12.0, 17.0, 42.0])
    assert np.abs(wide.path.at(z)[0] - fine.path.at(z)[0]).max() > 1e-6
    one, other = side_at(wide, z), side_at(fine, z)
    np.testing.assert_allclose(one.upright.centre, other.upright.centre, rtol=0, atol=1e-10)
    np.testing.assert_allclose(one.upright.rate[..., 0], other.upright.rate[..., 0], rtol=0, atol=1e-12)
    np.testing.assert_allclose(one.closing.turn.angle, other.closing.turn.angle, rtol=0, atol=1e-12)


def test_beyond_a_lock_the_path_is_nan() -> None:
    guide = traced(locking(), 2.0)
    locked = guide.upright.locked[guide.path.nodes]
    assert 0 < locked.sum() < len(locked)
    bad = locked[:-1] | locked[1:]
    middle = 0.5 * (guide.path.travel[:-1] + guide.path.travel[1:])
    np.testing.assert_array_equal(np.isnan(guide.path.at(middle)[0]).any(axis=(-1, -2)), bad)


def test_a_guide_of_static_alone_gives_static() -> None:
    axle = front()
    tree, _ = pair_up(heave_states(np.zeros(1)))
    guide = trace_side(axle, trace_upright(axle.wheel, axle.links, tree), tree)
    side = side_at(guide, np.array([0.0, 1.0]))
    np.testing.assert_array_equal(side.status == 0, [True, False])
    np.testing.assert_allclose(side.upright.centre[0], axle.wheel.centre, rtol=0, atol=1e-12)


def test_a_batch_of_paths_is_a_loop_of_paths() -> None:
    axle = scatter(front(), (2, 3), links=True)
    guide = traced(axle, 4.0)
    z = np.random.default_rng(3).uniform(-40, 40, (2, 3, 5))
    pose = guide.path.at(z)[0]
    for index in np.ndindex(2, 3):
        upright = replace(
            guide.upright,
            centre=guide.upright.centre[index],
            rotation=guide.upright.rotation[index],
            rate=guide.upright.rate[index],
            locked=guide.upright.locked[index],
            reached=guide.upright.reached[index],
            static_centre=np.broadcast_to(guide.upright.static_centre, (2, 3, 3))[index],
        )
        links = {
            name: replace(
                link,
                inboard=np.broadcast_to(link.inboard, (2, 3, 3))[index],
                outboard=np.broadcast_to(link.outboard, (2, 3, 3))[index],
            )
            for name, link in axle.links.items()
        }
        one = trace_path(links, upright, guide.tree).at(z[index])[0]
        np.testing.assert_allclose(pose[index], one, rtol=0, atol=1e-13)


@pytest.mark.parametrize("own", [(), (4,), (3, 1), (3, 4)])
def test_picked_states_are_those_of_a_loop(own: tuple[int, ...]) -> None:
    rng = np.random.default_rng(1)
    values, index = rng.normal(size=(*own, 7, 2)), rng.integers(0, 7, (3, 4, 5))
    found = pick_states(values, index, 1)
    whole = np.broadcast_to(values, (3, 4, 7, 2))
    for i, j, k in np.ndindex(3, 4, 5):
        np.testing.assert_array_equal(found[i, j, k], whole[i, j, index[i, j, k]])
