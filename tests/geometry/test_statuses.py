"""Every status of a state is reached, and a toggle between two travel points is found, not stepped over."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar, root
from scipy.spatial.transform import Rotation

from geometry.arrays import Array
from geometry.axle import Arm, Axle, Rocker
from geometry.motion import move
from geometry.status import Status
from geometry.toggle import toggle_margin
from geometry.travel import AxleStates, heave_states, travel_points
from geometry.upright import trace_upright
from tests.axles import FRONT_TRAVEL, arm, front, front_tilted, rear, vector
from tests.twin import Pose, rod_eye_at, side_at, twin_rocker, upright_pose

TOGGLE_NEAR = 1e-7
"""Margins to a toggle agree with a root finder's to this [mm]."""


def at(*travel: float) -> AxleStates:
    return heave_states(np.array(travel, dtype=np.float64))


def stacked(*axles: Axle) -> Axle:
    """Axles that differ in numbers alone as one batch."""
    first = axles[0]
    arms = [axle.rocker.rod for axle in axles]
    assert all(isinstance(one, Arm) for one in arms)
    rod = Arm(*(np.stack([getattr(one, field) for one in arms]) for field in ("length", "angle", "offset")))
    links = {
        name: replace(
            link,
            inboard=np.stack([one.links[name].inboard for one in axles]),
            outboard=np.stack([one.links[name].outboard for one in axles]),
        )
        for name, link in first.links.items()
    }
    return replace(first, links=links, rocker=replace(first.rocker, rod=rod))


def with_rod_arm(axle: Axle, rod: Arm) -> Axle:
    return replace(axle, rocker=replace(axle.rocker, rod=rod))


def with_locking_links(axle: Axle) -> Axle:
    """Upper links so short that they line up with the upright's motion before the wheel's travel ends."""
    short = {
        name: replace(link, inboard=link.outboard + 0.06 * (link.inboard - link.outboard))
        for name, link in axle.links.items()
        if name.startswith("upper")
    }
    return replace(axle, links={**axle.links, **short})


def gap_loop(opening: float, travel: float = 21.0) -> Axle:
    """The rear axle with a rocker whose loop opens over `opening` mm of wheel travel around `travel`, and closes again.

    The pivot lies square to the path of the rod's eye at `travel`, its arm points away from the eye: the loop is open
    while the eye is nearer to the pivot than rod less arm. A negative opening leaves it closed all the way.
    """
    base, radius = rear(), 60.0
    eye = {z: side_at(base, z).rod_outboard for z in (0.0, travel - 0.5, travel, travel + 0.5)}
    _, drift, rise = eye[travel + 0.5] - eye[travel - 0.5]
    pivot = eye[travel] - 250.0 * vector(0, rise, -drift) / np.hypot(drift, rise)

    def shortest_rod(z: float) -> float:
        """The rod with which the loop is about to open at z: arm and rod in line, the pivot between."""
        d = rod_eye_at(base, z, 0.0, upright_pose(base, z, 0.0)) - pivot
        return float(np.hypot(d[0], np.hypot(d[1], d[2]) + radius))

    nearest = float(minimize_scalar(shortest_rod, bracket=(travel - 3, travel, travel + 3), tol=1e-12).x)
    rod = shortest_rod(nearest)
    slack = 0.5 * (shortest_rod(nearest + opening / 2) + shortest_rod(nearest - opening / 2)) - rod
    rod += slack if opening > 0 else -slack

    def miss(angle: float) -> float:
        inboard = pivot + radius * vector(0, np.cos(angle), np.sin(angle))
        return float(np.linalg.norm(inboard - eye[0.0])) - rod

    away = np.arctan2(*(pivot - eye[0.0])[[2, 1]])
    angle = float(brentq(miss, away, away + np.pi / 2, xtol=1e-15))
    end = Arm(np.asarray(radius), np.asarray(angle), np.asarray(0.0))
    return replace(base, rocker=replace(base.rocker, pivot=pivot, rod=end))


def test_every_status_in_one_call() -> None:
    base = front()
    short = with_rod_arm(base, arm(12, 52, 0))
    locking = with_locking_links(base)
    axle = stacked(base, short, locking)
    status = move(axle, at(0, 40, -40)).status
    assert status[0].tolist() == [Status.OK] * 3
    assert status[1, 0] == Status.OK
    assert (status[1, 1:] == Status.UNREACHABLE).any()
    assert status[2, 0] == Status.OK
    assert (status[2, 1:] == Status.WHEEL_LOCKED).any()


def test_all_four_words_from_one_batch() -> None:
    """One call, three axles: a sound one, one whose loop opens and closes again, one whose links lock; and beyond."""
    base = rear()
    opening = gap_loop(1.0)
    axle = stacked(base, opening, with_locking_links(base))
    pivots = np.stack([one.rocker.pivot for one in (base, opening, base)])
    axle = replace(axle, rocker=replace(axle.rocker, pivot=pivots))
    words = {Status(int(code)).word for code in move(axle, at(0, 20, 21, 22, 45, -45)).status.ravel()}
    assert words == {"ok", "unreachable", "over_centre", "wheel_locked"}


@pytest.mark.parametrize("opening", [1.0, 0.3, 0.1])
def test_a_loop_that_opens_between_two_travel_points_is_over_centre_beyond(opening: float) -> None:
    axle = gap_loop(opening)
    travel = np.arange(0.0, 41.0, 2.0)
    status = move(axle, heave_states(travel)).status
    assert np.all(status[travel <= 20] == Status.OK)
    assert np.all(status[travel >= 22] == Status.OVER_CENTRE)
    assert np.all(move(axle, at(0, -10, -40)).status == Status.OK)


@pytest.mark.parametrize("opening", [-1.0, -0.3, -0.1])
def test_a_loop_that_almost_opens_stays_closed(opening: float) -> None:
    """Negative control: the same loop a hair longer never opens, and no state is taken from it."""
    status = move(gap_loop(opening), heave_states(np.arange(-10.0, 41.0, 2.0))).status
    assert np.all(status == Status.OK)


def test_the_gap_is_found_from_far_apart_states() -> None:
    assert move(gap_loop(1.0), at(45.0)).status[0] == Status.OVER_CENTRE
    assert move(gap_loop(1.0), at(45.0, 20.0)).status.tolist() == [Status.OVER_CENTRE, Status.OK]
    assert move(gap_loop(-1.0), at(45.0)).status[0] == Status.OK


def test_inside_the_gap_the_rod_cannot_reach() -> None:
    assert move(gap_loop(1.0), at(21.0)).status[0] == Status.UNREACHABLE


def test_the_right_side_counts_as_much_as_the_left() -> None:
    axle = gap_loop(1.0)
    states = AxleStates(np.array([30.0, 0.0, 0.0]), np.array([0.0, 30.0, 0.0]), np.zeros(3))
    assert move(axle, states).status.tolist() == [Status.OVER_CENTRE, Status.OVER_CENTRE, Status.OK]


def test_numbers_are_nan_exactly_where_a_state_is_not_ok() -> None:
    axle = stacked(front(), with_rod_arm(front(), arm(12, 52, 0)), with_locking_links(front()))
    motion = move(axle, at(0, 25, 40, -40))
    bad = motion.status != Status.OK
    assert 0 < bad.sum() < bad.size
    strut = motion.strut("heave")
    for value in (motion.rocker_angle, motion.rod_tilt, strut.length, strut.by_left, strut.by_rack, strut.tilt_left):
        np.testing.assert_array_equal(np.isnan(value), bad)
    np.testing.assert_array_equal(np.isnan(motion.rod_outboard).all(axis=-1), bad)


def test_a_strut_past_its_own_centre_is_that_struts_alone() -> None:
    base = front()
    pickups = {**base.rocker.pickups, "heave": arm(74.43, 10, 34)}
    axle = replace(base, rocker=replace(base.rocker, pickups=pickups))
    motion = move(axle, heave_states(travel_points(FRONT_TRAVEL.wheel, 3.0)))
    assert np.all(motion.status == Status.OK)
    over = motion.strut("heave").over_centre
    # The strut lies level: its arm's height above the pivot changes sign where the arm has turned by -10 deg.
    np.testing.assert_array_equal(over, np.degrees(motion.rocker_angle) < -10.0)
    assert 0 < over.sum() < over.size
    assert not motion.strut("roll").over_centre.any()


def test_a_loop_that_lines_up_at_static_has_no_branch() -> None:
    base = front()
    rocker: Rocker = base.rocker
    towards = base.rod.outboard - rocker.pivot
    angle = np.arctan2(towards[2], towards[1])
    lined_up = with_rod_arm(base, Arm(np.asarray(76.0), np.asarray(angle), np.asarray(0.0)))
    assert np.all(move(lined_up, at(0.0, 10.0)).status != Status.OK)


def toggle_of(axle: Axle, wheel: tuple[float, float]) -> tuple[float, bool, int]:
    found = toggle_margin(axle, partial(trace_upright, axle.wheel, axle.links), wheel)
    return float(found.margin), bool(found.beyond), int(found.status)


def reserve_at(axle: Axle, z: float, start: Pose) -> tuple[float, Pose]:
    """How far rod and arm are from lining up [mm], seen along the axis, and the pose: below 0 the loop is open."""
    rocker = twin_rocker(axle)
    pose = upright_pose(axle, z, 0.0, start)
    inboard = rocker.rod_inboard - rocker.pivot
    d = rod_eye_at(axle, z, 0.0, pose) - rocker.pivot
    out = (d - inboard) @ rocker.axis
    level, radius = (np.linalg.norm(at - (at @ rocker.axis) * rocker.axis) for at in (d, inboard))
    flat = np.sqrt(rocker.rod_length**2 - out**2)
    return float(min(radius + flat - level, level - abs(flat - radius))), pose


def first_toggle(axle: Axle, end: float) -> float:
    """Wheel travel of the first toggle beyond `end`, by small steps and a root finder on the twin, or 100 mm beyond."""
    step = float(np.copysign(0.5, end))
    z, pose = 0.0, (axle.wheel.centre, np.eye(3))
    while abs(z) < abs(end) + 100:
        reserve, found = reserve_at(axle, z + step, pose)
        if reserve < 0:
            return toggle_between(axle, z, z + step, pose)
        z, pose = z + step, found
    return z


def toggle_between(axle: Axle, low: float, high: float, start: Pose) -> float:
    return float(brentq(lambda z: reserve_at(axle, z, start)[0], low, high, xtol=1e-13))


@pytest.mark.parametrize(
    ("build", "rod"),
    [(front, arm(42, 52, 0)), (front, arm(45, 20, 0)), (front_tilted, arm(44, 70, 5)), (rear, arm(50, 85, -8))],
    ids=["short arm", "low arm", "tilted", "high arm"],
)
def test_toggle_margin_is_where_a_root_finder_finds_it(build: Callable[[], Axle], rod: Arm) -> None:
    axle = with_rod_arm(build(), rod)
    wheel = (-20.0, 20.0)
    margin, beyond, status = toggle_of(axle, wheel)
    expected = min(first_toggle(axle, wheel[1]) - wheel[1], wheel[0] - first_toggle(axle, wheel[0]))
    assert (beyond, status) == (False, Status.OK)
    assert margin == pytest.approx(expected, abs=TOGGLE_NEAR)


def test_toggle_margin_where_the_loop_only_dips_open() -> None:
    """A loop that opens for half a millimetre and closes again is a toggle at its opening."""
    axle = gap_loop(0.5, travel=41.0)
    margin, beyond, _ = toggle_of(axle, (-10.0, 25.0))
    assert not beyond
    expected = toggle_between(axle, 39.0, 41.0, (axle.wheel.centre, np.eye(3)))
    assert margin == pytest.approx(expected - 25.0, abs=1e-5)


def link_misses(axle: Axle, pose: Array) -> Array:
    """How far each link is from its length; pose (6,): shift of the wheel centre [mm], turn about x, y, z [rad/100]."""
    static = axle.wheel.centre
    rotation = Rotation.from_rotvec(pose[3:] / 100).as_matrix()
    lines = [static + pose[:3] + rotation @ (one.outboard - static) - one.inboard for one in axle.links.values()]
    lengths = [np.linalg.norm(one.outboard - one.inboard) for one in axle.links.values()]
    return np.asarray(np.linalg.norm(lines, axis=1) - np.array(lengths))


def lock_of(axle: Axle, way: float) -> float:
    """Wheel travel at which the links lock, on the way up (1) or down (-1).

    There the travel is extreme along the upright's path. The path is followed by its own length, in place of travel,
    so that nothing is singular at the extreme, which a scalar search then finds.
    """

    def along(start: Array, tangent: Array, length: float) -> Array:
        def misses(pose: Array) -> Array:
            return np.append(link_misses(axle, pose), (pose - start) @ tangent - length)

        found = root(misses, start + length * tangent, options={"xtol": 1e-14})
        assert np.abs(misses(found.x)).max() < 1e-9
        return np.asarray(found.x)

    pose, tangent = np.zeros(6), np.array([0.0, 0.0, way, 0.0, 0.0, 0.0])
    while True:
        slopes = np.stack([link_misses(axle, pose + 1e-4 * e) - link_misses(axle, pose - 1e-4 * e) for e in np.eye(6)])
        direction = np.linalg.svd(slopes.T)[2][-1]
        tangent = direction * np.sign(direction @ tangent)
        if tangent[2] * way < 0:
            break
        last, pose = (pose, tangent), along(pose, tangent, 2.0)

    def height(length: float) -> float:
        return -way * float(along(*last, length)[2])

    peak = minimize_scalar(height, bounds=(0.0, 4.0), method="bounded", options={"xatol": 1e-10})
    return -way * float(peak.fun)


def with_short_upper_links(base: Axle) -> Axle:
    """The axle with its upper links at 0.3 of their length: they lock soon."""
    links = {
        name: replace(link, inboard=link.outboard + 0.3 * (link.inboard - link.outboard))
        if name.startswith("upper")
        else link
        for name, link in base.links.items()
    }
    return replace(base, links=links)


def test_a_loop_that_opens_just_before_the_links_lock_is_found() -> None:
    """Close to a lock the eye runs ever faster: the loop may open in the very step in which the links lock."""
    wheel, lengths = (-30.0, 30.0), np.linspace(30.0, 60.0, 61)
    base = with_short_upper_links(rear())
    axle = with_rod_arm(base, Arm(lengths, np.radians(52.0), np.asarray(0.0)))
    found = toggle_margin(axle, partial(trace_upright, base.wheel, base.links), wheel)
    lock = min(lock_of(base, 1.0) - wheel[1], wheel[0] - lock_of(base, -1.0))
    just_before = (found.margin > lock - 2.0) & (found.margin < lock - 1e-3)
    assert just_before.sum() >= 2
    for length, margin in zip(lengths[just_before], found.margin[just_before], strict=True):
        one = with_rod_arm(base, Arm(np.asarray(length), np.radians(52.0), np.asarray(0.0)))
        ends = [(wheel[0] - margin) + 1e-3, (wheel[0] - margin) - 1e-3, (wheel[1] + margin) - 1e-3, wheel[1] + margin]
        before_low, beyond_low, before_high, beyond_high = move(one, at(*ends[:3], ends[3] + 1e-3)).status
        assert before_low == before_high == Status.OK
        assert max(beyond_low, beyond_high) != Status.OK


def test_toggle_margin_where_the_links_lock_first() -> None:
    axle = with_short_upper_links(rear())
    wheel = (-30.0, 30.0)
    margin, beyond, status = toggle_of(axle, wheel)
    assert (beyond, status) == (False, Status.OK)
    locks = lock_of(axle, 1.0) - wheel[1], wheel[0] - lock_of(axle, -1.0)
    assert margin == pytest.approx(min(locks), abs=1e-6)


def test_nothing_found_is_100_mm_and_said_so() -> None:
    base = front()
    axle = replace(base, rocker=replace(base.rocker, pivot=vector(10, 180, 475), rod=arm(140, 52, 0)))
    margin, beyond, status = toggle_of(axle, (-5.0, 5.0))
    assert beyond == (margin == 100.0)
    assert status == Status.OK


def test_a_toggle_inside_the_range_gives_no_margin() -> None:
    margin, beyond, status = toggle_of(with_rod_arm(front(), arm(12, 52, 0)), (-45.0, 48.0))
    assert np.isnan(margin)
    assert not beyond
    assert status == Status.UNREACHABLE
