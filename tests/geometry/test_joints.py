"""Misalignment of joints: closed forms in a plane, the slow twin on every kind of axle, batches, mirrors, failures."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import MIRROR_Y, Array
from geometry.axle import Axle, CornerStrut, CrossStrut, Link, Mode, Rocker, Rod, Wheel
from geometry.joints import End, JointPlace, joint_places, rod_misalignment, strut_misalignment
from geometry.motion import Motion, move
from geometry.status import Status
from geometry.travel import AxleStates, heave_states
from tests.axles import KINDS, front, front_corner, rear, travel_of, vector
from tests.batches import pick, scatter
from tests.joints import ACROSS, twin_misalignment


def misalignment(motion: Motion, name: str, bolt: Array | None) -> Array:
    """Of a joint by its name, in degrees; a rod's the left one's."""
    place = joint_places(motion.side.axle)[name]
    if place.strut is None:
        return np.degrees(rod_misalignment(motion.side, place.end, bolt))[..., motion.pairs.left]
    return np.degrees(strut_misalignment(motion, place, bolt, motion.strut(place.strut).length))


def some_states(axle: Axle, count: int = 6, seed: int = 4) -> AxleStates:
    """Both wheels and the rack anywhere in their ranges."""
    rng, travel = np.random.default_rng(seed), travel_of(axle)
    left, right = rng.uniform(*travel.wheel, (2, count))
    return AxleStates(left, right, np.zeros(count) if travel.rack is None else rng.uniform(*travel.rack, count))


def parallelogram() -> Axle:
    """Level, parallel links of 100 mm across the car: the upright goes on a circle about (600, 300) without turning."""
    ends = {"a": (100, 0, 400), "b": (-100, 0, 400), "c": (100, 0, 200), "d": (-100, 0, 200), "e": (150, 150, 300)}
    links = {name: Link(vector(x, 600, z), vector(far, 700, z)) for name, (x, far, z) in ends.items()}
    rocker = Rocker(vector(0, 400, 500), vector(1, 0, 0), vector(0, 420, 560), {"end": vector(0, 420, 560)})
    wheel = Wheel(vector(0, 800, 300), np.asarray(0.0), np.asarray(0.0))
    elements = {"corner": CornerStrut("end", vector(0, 400, 350))}
    return Axle(wheel, links, Rod(vector(0, 700, 300)), rocker, elements)


def planar(z: float) -> tuple[float, float, tuple[float, float]]:
    """Direction of the rod in the y-z plane, rocker's angle [rad] and the rod's end (y, z), by the law of cosines."""
    pivot, end, radius = (400.0, 500.0), (420.0, 560.0), math.hypot(20.0, 60.0)
    rod = math.dist(end, (700.0, 300.0))

    def reach(height: float) -> tuple[float, tuple[float, float]]:
        eye = 600.0 + math.sqrt(100.0**2 - height**2), 300.0 + height
        away = math.dist(eye, pivot)
        opening = math.acos((radius**2 + away**2 - rod**2) / (2.0 * radius * away))
        return math.atan2(eye[1] - pivot[1], eye[0] - pivot[0]) + opening, eye

    (start, _), (now, eye) = reach(0.0), reach(z)
    assert start == pytest.approx(math.atan2(60.0, 20.0), abs=1e-12)
    tip = pivot[0] + radius * math.cos(now), pivot[1] + radius * math.sin(now)
    return math.atan2(eye[1] - tip[1], eye[0] - tip[0]), now - start, tip


@pytest.mark.parametrize("z", [-60.0, -17.5, 0.0, 11.0, 24.0])
@pytest.mark.parametrize("skew", [0.0, 3.0, -20.0])
def test_in_a_plane_a_bolt_askew_is_off_by_a_closed_form(z: float, skew: float) -> None:
    """A bolt of (cos s, sin s, 0) is off by asin |sin s cos(line - turn of its part)|."""
    motion = move(parallelogram(), heave_states(np.array([z])))
    bolt = 7.0 * vector(math.cos(math.radians(skew)), math.sin(math.radians(skew)), 0.0)
    rod, turn, tip = planar(z)
    strut = math.atan2(350.0 - tip[1], 400.0 - tip[0])
    lines = {"rod_outboard": rod, "rod_inboard": rod - turn, "corner_left": strut - turn, "corner_chassis": strut}
    for name, line in lines.items():
        told = math.degrees(math.asin(abs(math.sin(math.radians(skew)) * math.cos(line))))
        assert misalignment(motion, name, bolt)[0] == pytest.approx(told, abs=1e-10), name
    assert abs(turn) > 0.1 or z == 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_the_slow_twin_agrees_on_every_joint(kind: str) -> None:
    axle = KINDS[kind]()
    states = some_states(axle)
    motion = move(axle, states)
    for name, place in joint_places(axle).items():
        bolts = [ACROSS, None] if place.end.on_rocker else [ACROSS]
        for bolt in bolts:
            rows = zip(states.z_left, states.z_right, states.rack, strict=True)
            told = [twin_misalignment(axle, name, bolt, (float(a), float(b), float(c))) for a, b, c in rows]
            np.testing.assert_allclose(misalignment(motion, name, bolt), told, rtol=0, atol=1e-8, err_msg=name)
            assert bolt is None or max(told) > 2.0


@pytest.mark.parametrize("kind", KINDS)
def test_without_a_bolt_it_is_the_tilt_out_of_the_rockers_plane(kind: str) -> None:
    axle = KINDS[kind]()
    motion = move(axle, some_states(axle))
    np.testing.assert_allclose(misalignment(motion, "rod_inboard", None), np.degrees(motion.rod_tilt), atol=1e-12)
    for name, place in joint_places(axle).items():
        if place.strut is not None and place.end is not End.CHASSIS:
            strut = motion.strut(place.strut)
            tilt = strut.tilt_left if place.end is End.LEFT else strut.tilt_right
            np.testing.assert_allclose(misalignment(motion, name, None), np.degrees(tilt), atol=1e-12)


def test_a_bolt_is_a_line_of_no_length_and_no_sense() -> None:
    motion = move(front(), some_states(front()))
    for name in joint_places(front()):
        once = misalignment(motion, name, ACROSS)
        np.testing.assert_allclose(misalignment(motion, name, -40.0 * ACROSS), once, rtol=0, atol=1e-12)


@pytest.mark.parametrize("shape", [(), (3,), (2, 2)])
@pytest.mark.parametrize("make", [front, rear, front_corner, KINDS["five split links, rod on one link"]])
def test_a_batch_is_a_loop(shape: tuple[int, ...], make: Callable[[], Axle]) -> None:
    axle = make()
    batch, states = scatter(axle, shape, links=True), some_states(axle)
    together = move(batch, states)
    for index in np.ndindex(shape):
        alone = move(pick(batch, index, shape), states)
        for name in joint_places(axle):
            whole = np.broadcast_to(misalignment(together, name, ACROSS), (*shape, len(states)))
            np.testing.assert_allclose(whole[index], misalignment(alone, name, ACROSS), rtol=0, atol=1e-9)


def test_sides_swapped_swap_the_ends_of_a_strut() -> None:
    """A strut from other pick-ups, at the mirrored states, with the mirrored bolt: left becomes right."""
    axle = replace(front(), elements={"odd": CrossStrut("heave", "roll_upper", Mode.HEAVE)})
    other = replace(front(), elements={"odd": CrossStrut("roll_upper", "heave", Mode.HEAVE)})
    states = some_states(axle)
    swapped = AxleStates(states.z_right, states.z_left, -states.rack)
    one, two = move(axle, states), move(other, swapped)
    left, right = misalignment(one, "odd_left", ACROSS), misalignment(two, "odd_right", MIRROR_Y * ACROSS)
    np.testing.assert_allclose(left, right, rtol=0, atol=1e-10)
    assert np.abs(left - misalignment(two, "odd_right", ACROSS)).max() > 1.0


def test_a_wishbone_that_leans_along_its_hinge_never_turns_a_bolt_on_it() -> None:
    """A bolt along the hinge of the wishbone that carries the rod stays where it is."""
    axle = rear()
    hinge = axle.links["lower_rear"].inboard - axle.links["lower_front"].inboard
    motion = move(axle, some_states(axle))
    line = motion.side.eye - motion.side.rod_inboard[0]
    still = np.degrees(np.arcsin(np.abs(line @ hinge) / (np.linalg.norm(line, axis=-1) * np.linalg.norm(hinge))))[
        motion.pairs.left
    ]
    np.testing.assert_allclose(misalignment(motion, "rod_outboard", hinge), still, rtol=0, atol=1e-10)


def test_names_are_of_the_rod_and_of_the_ends_that_a_strut_has() -> None:
    assert list(joint_places(front())) == [
        *("rod_outboard", "rod_inboard", "heave_left", "heave_right", "roll_left", "roll_right")
    ]
    places = joint_places(front_corner())
    assert places["corner_chassis"] == JointPlace("corner", End.CHASSIS)
    assert "corner_right" not in places
    assert not places["corner_chassis"].end.on_rocker
    assert not places["rod_outboard"].end.on_rocker


def test_off_the_rocker_a_bolt_must_be_given() -> None:
    for axle, name in ((front(), "rod_outboard"), (front_corner(), "corner_chassis")):
        with pytest.raises(ValueError, match="needs a bolt"):
            misalignment(move(axle, heave_states(np.zeros(1))), name, None)
    motion = move(front(), heave_states(np.zeros(1)))
    with pytest.raises(KeyError):
        strut_misalignment(motion, JointPlace("corner", End.LEFT), None, np.ones(1))


def test_where_a_side_cannot_be_there_is_no_angle() -> None:
    motion = move(front(), heave_states(np.array([0.0, 400.0])))
    assert motion.status[1] != Status.OK
    for name in joint_places(front()):
        angles = misalignment(motion, name, ACROSS)
        assert np.isfinite(angles).tolist() == [True, False], name
