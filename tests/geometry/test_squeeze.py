"""Compressions and twists of every element, and their second derivatives: against differences, loops and symmetries."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from geometry.arrays import Array
from geometry.axle import AntiRollBar, Arm, Axle, CrossStrut, Element, Mode
from geometry.lanes import KERNEL, LANES
from geometry.motion import Motion, move
from geometry.side import pair_up
from geometry.side_curve import curve_side
from geometry.side_motion import trace_side
from geometry.status import Status
from geometry.travel import AxleStates, heave_states
from tests.axles import KINDS, arm, front, front_corner, rear, travel_of, vector, with_bars
from tests.batches import pick, scatter

STEPS = (0.2, 0.1)
"""Steps of the two central differences [mm] that Richardson's extrapolation joins."""
NEAR = {False: 1e-9, True: 1e-11}
"""Agreement of derivatives asked of struts [mm/mm or 1/mm] and of bars [rad/mm or rad/mm^2]."""
VALUES = ("compression", "by_left", "by_right", "curve_left", "curve_right", "curve_cross")


def some_states(axle: Axle, seed: int = 5, count: int = 20) -> AxleStates:
    """States anywhere inside the travel, wheels and rack all moved at once, static first."""
    travel, rng = travel_of(axle), np.random.default_rng(seed)
    left, right = rng.uniform(travel.wheel[0] + 1, travel.wheel[1] - 1, (2, count))
    rack = np.zeros(count) if travel.rack is None else rng.uniform(-20, 20, count)
    left[0] = right[0] = rack[0] = 0.0
    return AxleStates(left, right, rack)


class Slopes:
    """Derivatives of what can be read of an axle's motion at some states, by central differences."""

    def __init__(self, axle: Axle, states: AxleStates) -> None:
        self._moved = {
            (side, by): move(axle, AxleStates(states.z_left + left * by, states.z_right + right * by, states.rack))
            for side, left, right in (("left", 1.0, 0.0), ("right", 0.0, 1.0))
            for by in (*STEPS, *(-step for step in STEPS))
        }

    def of(self, read: Callable[[Motion], Array], side: str) -> Array:
        """d(what is read) by the travel of the wheel on `side`: two differences, joined by Richardson."""
        coarse, fine = ((read(self._moved[side, h]) - read(self._moved[side, -h])) / (2.0 * h) for h in STEPS)
        return fine + (fine - coarse) / 3.0


def assert_near(found: Array, measured: Array, what: str, within: float) -> None:
    assert np.isfinite(measured).all(), what
    np.testing.assert_allclose(found, measured, rtol=0, atol=within, err_msg=what)


@pytest.mark.parametrize("kind", KINDS)
def test_derivatives_agree_with_differences(kind: str) -> None:
    axle = with_bars(KINDS[kind]())
    states = some_states(axle)
    motion, slopes = move(axle, states), Slopes(axle, states)
    for name in axle.elements:
        one = motion.squeeze(name)
        assert np.all(one.status == Status.OK)
        for field, of, way in (
            ("by_left", "compression", "left"),
            ("by_right", "compression", "right"),
            ("curve_left", "by_left", "left"),
            ("curve_right", "by_right", "right"),
            ("curve_cross", "by_left", "right"),
            ("curve_cross", "by_right", "left"),
        ):

            def read(moved: Motion, name: str = name, of: str = of) -> Array:
                return np.asarray(getattr(moved.squeeze(name), of))

            assert_near(getattr(one, field), slopes.of(read, way), f"{name}.{field}", NEAR[name not in axle.struts])


def test_the_tolerance_would_see_a_wrong_curve() -> None:
    """Negative control: second derivatives are large beside the tolerance, and so are their geometric parts."""
    axle = with_bars(front_corner())
    motion = move(axle, some_states(axle))
    for name, field in (
        ("corner", "curve_left"),
        ("roll", "curve_cross"),
        ("torsion", "curve_left"),
        ("anti_roll", "curve_right"),
    ):
        assert np.abs(getattr(motion.squeeze(name), field)).max() > 1e4 * NEAR[name not in axle.struts], name


@pytest.mark.parametrize("kind", KINDS)
def test_upright_eye_and_rocker_curves_agree_with_differences(kind: str) -> None:
    axle = KINDS[kind]()
    states = some_states(axle, 6)
    point = vector(30, 700, 150)

    def curves(moved: Motion) -> tuple[Array, Array]:
        return curve_side(moved.side, moved.pairs.left).upright.carry(point)[1:]

    def rates(moved: Motion) -> Array:
        here = curve_side(moved.side, moved.pairs.left)
        return np.concatenate([curves(moved)[0], here.rate[..., None]], axis=-1)

    motion = move(axle, states)
    found = np.concatenate([curves(motion)[1], curve_side(motion.side, motion.pairs.left).curve[:, None]], axis=-1)
    assert_near(found, Slopes(axle, states).of(rates, "left"), kind, NEAR[False])
    np.testing.assert_allclose(
        curve_side(motion.side, motion.pairs.left).rate,
        motion.side.closing.rate[..., motion.pairs.left, 0],
        rtol=0,
        atol=1e-14,
    )


def test_struts_squeeze_as_their_lengths_say() -> None:
    axle = front_corner()
    motion = move(axle, some_states(axle))
    for name in axle.struts:
        squeeze, strut = motion.squeeze(name), motion.strut(name)
        for field in ("compression", "by_left", "by_right"):
            np.testing.assert_array_equal(getattr(squeeze, field), getattr(strut, field))


@pytest.mark.parametrize("shape", [(), (12,), (3, 4), (0,)], ids=str)
@pytest.mark.parametrize("kind", KINDS)
def test_a_batch_equals_a_loop(kind: str, shape: tuple[int, ...]) -> None:
    axle = scatter(with_bars(KINDS[kind]()), shape, links=True)
    states = some_states(axle, count=6)
    batch = move(axle, states)
    for name in axle.elements:
        many = batch.squeeze(name)
        for field in ("status", *VALUES):
            assert np.shape(getattr(many, field)) == (*shape, 6), f"{name}.{field}"
        for index in np.ndindex(*shape):
            one = move(pick(axle, index, shape), states).squeeze(name)
            for field in ("status", *VALUES):
                found, expected = getattr(many, field)[index], getattr(one, field)
                np.testing.assert_allclose(found, expected, rtol=1e-9, atol=1e-10, err_msg=f"{name}.{field}")


def test_curves_of_compiled_uprights_in_lanes_are_the_plain_ones() -> None:
    axle = scatter(with_bars(front_corner()), (2, LANES), links=True)
    tree, (pairs,) = pair_up(some_states(axle, count=6))
    compiled = Motion(trace_side(axle, KERNEL.trace(axle.wheel, axle.links, tree), tree, KERNEL), pairs)
    plain = move(axle, some_states(axle, count=6))
    for name in axle.elements:
        for field in VALUES:
            found, expected = (getattr(moved.squeeze(name), field) for moved in (compiled, plain))
            np.testing.assert_allclose(found, expected, rtol=1e-9, atol=1e-10, err_msg=f"{name}.{field}")


def test_numbers_are_nan_where_the_axle_cannot_be() -> None:
    base = with_bars(front_corner())
    axle = replace(base, rocker=replace(base.rocker, rod=arm(12, 52, 0)))
    states = some_states(axle, count=40)
    motion = move(axle, states)
    bad = motion.status != Status.OK
    assert 0 < bad.sum() < 40
    for name in axle.elements:
        squeeze = motion.squeeze(name)
        np.testing.assert_array_equal(squeeze.status[bad], motion.status[bad])
        for field in VALUES:
            np.testing.assert_array_equal(np.isnan(getattr(squeeze, field)), bad, err_msg=f"{name}.{field}")


@pytest.mark.parametrize("build", [front, rear])
def test_swapped_ends_and_swapped_wheels_give_the_same_squeeze(build: Callable[[], Axle]) -> None:
    base = build()

    def of(left: str, right: str) -> Axle:
        elements: dict[str, Element] = {"odd": CrossStrut(left, right, Mode.ROLL)}
        return replace(base, elements=elements)

    states = some_states(base)
    one = move(of("heave", "roll_lower"), states).squeeze("odd")
    swapped = AxleStates(states.z_right, states.z_left, -states.rack)
    other = move(of("roll_lower", "heave"), swapped).squeeze("odd")
    for field, twin in zip(
        VALUES, ("compression", "by_right", "by_left", "curve_right", "curve_left", "curve_cross"), strict=True
    ):
        np.testing.assert_allclose(getattr(other, twin), getattr(one, field), rtol=0, atol=1e-10, err_msg=field)
    assert np.abs(one.curve_left - one.curve_right).max() > 1e-4


def test_an_anti_roll_bar_is_odd_and_a_torsion_bar_knows_its_own_wheel_alone() -> None:
    axle = with_bars(front())
    states = some_states(axle)
    one, other = move(axle, states), move(axle, AxleStates(states.z_right, states.z_left, -states.rack))
    bar, twin = one.squeeze("anti_roll"), other.squeeze("anti_roll")
    np.testing.assert_allclose(twin.compression, -bar.compression, rtol=0, atol=1e-12)
    np.testing.assert_allclose(twin.by_right, -bar.by_left, rtol=0, atol=1e-12)
    np.testing.assert_allclose(twin.curve_right, -bar.curve_left, rtol=0, atol=1e-12)
    alone = move(axle, AxleStates(states.z_left, np.zeros(len(states)), states.rack)).squeeze("torsion")
    np.testing.assert_allclose(one.squeeze("torsion").curve_left, alone.curve_left, rtol=0, atol=1e-12)
    assert np.all(alone.by_right == 0.0)


@pytest.mark.parametrize("kind", KINDS)
def test_signs_are_those_of_bump_and_of_roll(kind: str) -> None:
    """In bump a torsion bar is wound up; with the left wheel up and the right one down a bar's twist is positive."""
    for flip in (1.0, -1.0):
        axle = with_bars(KINDS[kind]())
        bar = axle.anti_roll_bars["anti_roll"]
        length = (bar.end - bar.pivot) * vector(flip, 1, 1)
        axle = replace(axle, elements={**axle.elements, "anti_roll": replace(bar, pivot=bar.end - length)})
        roll = move(axle, AxleStates(np.array([2.0, -2.0]), np.array([-2.0, 2.0]), np.zeros(2)))
        for name in ("anti_roll", "torsion"):
            assert np.all(np.sign(roll.squeeze(name).compression) == [1, -1]), name
        heave = move(axle, AxleStates(np.array([5.0]), np.array([5.0]), np.zeros(1)))
        assert heave.squeeze("anti_roll").compression[0] == pytest.approx(0.0, abs=1e-14)


def test_a_bar_twists_as_a_hand_solved_arm() -> None:
    """The arm's end stays at the drop link's length from the pick-up, on its circle about y, nearest to static."""
    axle = with_bars(front())
    bar = axle.anti_roll_bars["anti_roll"]
    motion = move(axle, AxleStates(np.array([0.0, 25.0, -30.0]), np.zeros(3), np.zeros(3)))
    pickups = motion.side.pickup("arb")[0][motion.pairs.left]
    arm0 = bar.end - bar.pivot
    link = np.linalg.norm(pickups[0] - bar.end)
    for pickup, twist in zip(pickups, motion.squeeze("anti_roll").compression, strict=True):

        def end(turn: float) -> Array:
            c, s = np.cos(turn), np.sin(turn)
            return bar.pivot + vector(c * arm0[0] + s * arm0[2], arm0[1], c * arm0[2] - s * arm0[0])

        angles = np.linspace(-0.8, 0.8, 3201)
        misses = [float(np.linalg.norm(pickup - end(turn)) - link) for turn in angles]
        crossing = [i for i in range(len(angles) - 1) if misses[i] * misses[i + 1] <= 0.0]
        roots = [angles[i] - misses[i] * 0.0005 / (misses[i + 1] - misses[i]) for i in crossing]
        nearest = min(roots, key=abs)
        assert abs(twist) == pytest.approx(abs(nearest), abs=1e-6)
    assert abs(motion.squeeze("anti_roll").compression[1]) > 0.05


def test_a_drop_link_that_cannot_reach_voids_its_bar_alone() -> None:
    base = with_bars(front())
    pickup = base.anti_roll_bars["anti_roll"].end + vector(5, -2, 90)
    short = AntiRollBar("arb", pivot=pickup + vector(-12, 0, -20), end=pickup + vector(-2, 0, -22))
    axle = replace(base, elements={**base.elements, "anti_roll": short})
    travel = np.linspace(-40, 44, 43)
    motion = move(axle, AxleStates(travel, np.zeros(43), np.zeros(43)))
    assert np.all(motion.status == Status.OK)
    bar = motion.squeeze("anti_roll")
    bad = bar.status != Status.OK
    assert Status.UNREACHABLE in bar.status
    assert not bad[np.abs(travel) < 1.5].any()
    for field in VALUES:
        np.testing.assert_array_equal(np.isnan(getattr(bar, field)), bad)
    assert np.all(motion.squeeze("torsion").status == Status.OK)
    swapped = move(axle, AxleStates(np.zeros(43), travel, np.zeros(43))).squeeze("anti_roll")
    np.testing.assert_array_equal(swapped.status, bar.status)


def front_with_gap_in_bar() -> Axle:
    """The front axle with a bar whose drop link is too long while the pick-up passes its arm's pivot near 20 mm."""
    base = with_bars(front())
    path = move(base, heave_states(np.array([0.0, 20.0])))
    static, passing = path.side.pickup("arb")[0][path.pairs.left]
    pivot = passing - vector(40, 0, 0)

    def end(turn: float) -> Array:
        return np.asarray(pivot + 30.0 * vector(np.cos(turn), 0, np.sin(turn)))

    turn = brentq(lambda turn: float(np.linalg.norm(static - end(turn))) - 70.05, np.pi, 1.5 * np.pi)
    return replace(base, elements={**base.elements, "anti_roll": AntiRollBar("arb", pivot, end(turn))})


def test_beyond_a_gap_of_its_drop_link_a_bar_is_over_centre() -> None:
    axle = front_with_gap_in_bar()
    travel = np.linspace(-40, 44, 85)
    status = move(axle, AxleStates(travel, np.zeros(85), np.zeros(85))).squeeze("anti_roll").status
    assert np.all(status[travel <= 10] == Status.OK)
    gap = status == Status.UNREACHABLE
    assert gap.sum() > 3
    assert np.all(status[travel > travel[gap].max()] == Status.OVER_CENTRE)
    assert travel[gap].max() < 35


def test_a_strut_over_its_centre_says_so_and_keeps_its_numbers() -> None:
    base = front()
    rocker = replace(base.rocker, pickups={**base.rocker.pickups, "flat": Arm(*(np.asarray(x) for x in (70, -0.1, 0)))})
    axle = replace(base, rocker=rocker, elements={"flat": CrossStrut("flat", "flat", Mode.HEAVE)})
    motion = move(axle, AxleStates(np.linspace(-40, 44, 22), np.linspace(-40, 44, 22), np.zeros(22)))
    squeeze = motion.squeeze("flat")
    np.testing.assert_array_equal(squeeze.status == Status.OVER_CENTRE, motion.strut("flat").over_centre)
    assert Status.OVER_CENTRE in squeeze.status
    assert np.isfinite(squeeze.curve_left).all()


def test_an_element_that_is_not_there_is_a_key_error() -> None:
    motion = move(with_bars(front()), some_states(front()))
    with pytest.raises(KeyError):
        motion.squeeze("corner")
    with pytest.raises(KeyError):
        motion.strut("torsion")
