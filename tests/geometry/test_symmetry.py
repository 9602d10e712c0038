"""What must not change an axle's figures: mirrors, left and right swapped, a shift of the whole axle."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import (
    AntiRollBar,
    Arm,
    AxisAligned,
    AxisAngles,
    Axle,
    CornerStrut,
    CrossStrut,
    Element,
    Link,
    Mode,
    RockerAxis,
    Wheel,
)
from geometry.motion import Motion, move
from geometry.status import Status
from geometry.travel import AxleStates, heave_states, one_wheel_states
from objectives.evaluate import evaluate
from tests.axles import KINDS, front, rear, travel_of, vector, with_bars
from tests.twin import twin_rocker

UNLIKE: dict[str, Element] = {
    "heave": CrossStrut("heave", "roll_upper", Mode.HEAVE),
    "roll": CrossStrut("roll_upper", "roll_lower", Mode.ROLL),
}
"""Struts whose ends differ left and right, so that swapping sides is a change."""


def states(axle: Axle, seed: int = 2) -> AxleStates:
    rng, travel = np.random.default_rng(seed), travel_of(axle)
    left, right = rng.uniform(*travel.wheel, (2, 25))
    return AxleStates(left, right, np.zeros(25) if travel.rack is None else rng.uniform(*travel.rack, 25))


def move_points(axle: Axle, change: Callable[[Array], Array], axis: RockerAxis | None = None) -> Axle:
    """A copy of an axle with every point changed, its rocker's ends written as points."""
    rocker, placed = axle.rocker, twin_rocker(axle)
    return Axle(
        wheel=replace(axle.wheel, centre=change(axle.wheel.centre)),
        links={
            name: Link(change(link.inboard), change(link.outboard), link.follows_rack)
            for name, link in axle.links.items()
        },
        rod=replace(axle.rod, outboard=change(axle.rod.outboard)),
        rocker=replace(
            rocker,
            pivot=change(rocker.pivot),
            axis=rocker.axis if axis is None else axis,
            rod=change(placed.rod_inboard),
            pickups={name: change(at) for name, at in placed.pickups.items()},
        ),
        elements={name: moved_element(one, change) for name, one in axle.elements.items()},
    )


def moved_element(element: Element, change: Callable[[Array], Array]) -> Element:
    if isinstance(element, CornerStrut):
        return replace(element, chassis=change(element.chassis))
    if isinstance(element, AntiRollBar):
        return replace(element, pivot=change(element.pivot), end=change(element.end))
    return element


def same_struts(axle: Axle, first: Motion, second: Motion, *names: str) -> None:
    for element in axle.struts:
        for name in names:
            one, other = (getattr(motion.strut(element), name) for motion in (first, second))
            np.testing.assert_allclose(other, one, rtol=0, atol=1e-9, err_msg=f"{element}.{name}")


@pytest.mark.parametrize("kind", KINDS)
def test_front_to_back_mirrored_axles_move_alike(kind: str) -> None:
    """Mirrored in the y-z plane: same lengths, ratios and angles; toe and the rocker's turn change sign."""
    axle = KINDS[kind]()
    flip = vector(-1, 1, 1)
    mirrored = move_points(axle, lambda point: point * flip, axis=twin_rocker(axle).axis * flip)
    mirrored = replace(mirrored, wheel=Wheel(mirrored.wheel.centre, -axle.wheel.toe, axle.wheel.camber))
    where = states(axle)
    one, other = move(axle, where), move(mirrored, where)
    assert np.all(one.status == Status.OK)
    np.testing.assert_array_equal(one.status, other.status)
    np.testing.assert_allclose(other.wheel.centre, one.wheel.centre * flip, rtol=0, atol=1e-9)
    np.testing.assert_allclose(other.wheel.toe, -one.wheel.toe, rtol=0, atol=1e-12)
    np.testing.assert_allclose(other.wheel.camber, one.wheel.camber, rtol=0, atol=1e-12)
    np.testing.assert_allclose(other.rocker_angle, -one.rocker_angle, rtol=0, atol=1e-12)
    np.testing.assert_allclose(other.rod_transmission, one.rod_transmission, rtol=0, atol=1e-11)
    np.testing.assert_allclose(other.rod_tilt, one.rod_tilt, rtol=0, atol=1e-11)
    same_struts(axle, one, other, "length", "by_left", "by_right", "by_rack", "tilt_left", "transmission_left")


@pytest.mark.parametrize("kind", KINDS)
def test_front_to_back_mirrored_elements_are_squeezed_alike(kind: str) -> None:
    """Struts, torsion bar and anti-roll bar, to second derivatives; and the tyres stand mirrored."""
    axle = with_bars(KINDS[kind]())
    flip = vector(-1, 1, 1)
    mirrored = move_points(axle, lambda point: point * flip, axis=twin_rocker(axle).axis * flip)
    mirrored = replace(mirrored, wheel=Wheel(mirrored.wheel.centre, -axle.wheel.toe, axle.wheel.camber))
    where = states(axle)
    one, other = move(axle, where), move(mirrored, where)
    for name in axle.elements:
        first, second = one.squeeze(name), other.squeeze(name)
        np.testing.assert_array_equal(first.status, second.status)
        for field in ("compression", "by_left", "by_right", "curve_left", "curve_right", "curve_cross"):
            found, expected = getattr(second, field), getattr(first, field)
            np.testing.assert_allclose(found, expected, rtol=0, atol=1e-9, err_msg=f"{name}.{field}")
    for field in ("point", "locked", "rolling"):
        np.testing.assert_allclose(getattr(other.contact, field), getattr(one.contact, field) * flip, rtol=0, atol=1e-9)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "corner struts"])
def test_swapped_ends_and_swapped_wheels_give_the_same_strut(kind: str) -> None:
    """A strut from A left to B right at (z_left, z_right, rack) is one from B to A at (z_right, z_left, -rack)."""
    axle = replace(KINDS[kind](), elements=UNLIKE)
    swapped = replace(axle, elements=swap(axle.elements))
    where = states(axle)
    one, other = move(axle, where), move(swapped, AxleStates(where.z_right, where.z_left, -where.rack))
    same_struts(axle, one, other, "length", "compression")
    for name in axle.elements:
        first, second = one.strut(name), other.strut(name)
        np.testing.assert_allclose(second.by_right, first.by_left, rtol=0, atol=1e-12)
        np.testing.assert_allclose(second.by_left, first.by_right, rtol=0, atol=1e-12)
        np.testing.assert_allclose(second.by_rack, -first.by_rack, rtol=0, atol=1e-12)
        np.testing.assert_allclose(second.transmission_right, first.transmission_left, rtol=0, atol=1e-11)
        np.testing.assert_allclose(second.tilt_left, first.tilt_right, rtol=0, atol=1e-11)
        assert np.abs(first.by_left - first.by_right).max() > 0.01


def swap(elements: object) -> dict[str, Element]:
    assert isinstance(elements, dict)
    return {
        name: CrossStrut(one.right, one.left, one.serves) if isinstance(one, CrossStrut) else one
        for name, one in elements.items()
    }


@pytest.mark.parametrize("build", [front, rear])
def test_swapping_left_and_right_changes_the_sign_of_roll_only(build: Callable[[], Axle]) -> None:
    axle = replace(build(), elements=UNLIKE)
    travel = travel_of(axle)
    one = evaluate(axle, travel).values
    other = evaluate(replace(axle, elements=swap(axle.elements)), travel).values
    changed = {"roll.motion_ratio", "heave.coupling"}
    ends = {"roll.progressivity": "roll.progressivity_droop", "roll.progressivity_droop": "roll.progressivity"}
    for name, value in one.items():
        twin = float(other[ends.get(name, name)])
        expected = -float(value) if name in changed else float(value)
        assert twin == pytest.approx(expected, abs=1e-9, nan_ok=True), name
    assert abs(float(one["roll.motion_ratio"])) > 0.5
    assert abs(float(one["heave.coupling"])) > 0.01


@pytest.mark.parametrize("build", [front, rear])
def test_the_right_rocker_is_the_mirrored_left(build: Callable[[], Axle]) -> None:
    """A strut with like ends does not know left from right: (a, b) and (b, a) are one state to it."""
    axle = build()
    one = move(axle, AxleStates(np.array([30.0, 12.0]), np.array([-20.0, 12.0]), np.zeros(2)))
    other = move(axle, AxleStates(np.array([-20.0, 12.0]), np.array([30.0, 12.0]), np.zeros(2)))
    first, second = one.strut("heave"), other.strut("heave")
    np.testing.assert_allclose(first.length, second.length, rtol=0, atol=1e-10)
    np.testing.assert_allclose(first.by_left, second.by_right, rtol=0, atol=1e-12)
    assert first.by_left[0] != pytest.approx(first.by_right[0], abs=1e-3)


ON_THE_GROUND = {
    "wheel.castor_offset_at_ground",
    "wheel.steering_axis_offset_at_ground",
    "wheel.jacking",
    "wheel.roll_centre_height",
    "wheel.track_change",
    "wheel.wheelbase_change",
}
"""Figures of the wheel's contact with the ground, which stays where it is."""


@pytest.mark.parametrize("kind", KINDS)
def test_a_shift_along_x_and_z_changes_heights_alone(kind: str) -> None:
    axle = KINDS[kind]()
    by = vector(137.0, 0.0, 41.5)
    shifted = move_points(axle, lambda point: point + by)
    assert np.abs(shifted.rocker.pivot - axle.rocker.pivot - by).max() < 1e-12
    travel = travel_of(axle)
    one, other = evaluate(axle, travel), evaluate(shifted, travel)
    assert np.isfinite([float(value) for value in one.values.values()]).sum() > 20
    for name, value in one.values.items():
        if name in ON_THE_GROUND:
            continue
        rise = 41.5 if name == "rocker.top_height" else 0.0
        assert float(other.values[name]) == pytest.approx(float(value) + rise, abs=1e-8, nan_ok=True), name
        assert other.status[name] == one.status[name], name


def test_a_shift_along_y_is_not_rigid() -> None:
    """Negative control: moved outward, the two halves part, and cross-car struts grow by twice the shift."""
    axle = front()
    shifted = move_points(axle, lambda point: point + vector(0, 5, 0))
    travel = travel_of(axle)
    one, other = (
        float(evaluate(a, travel, ["heave.length_static"]).values["heave.length_static"]) for a in (axle, shifted)
    )
    assert other - one == pytest.approx(10.0, abs=0.5)


@pytest.mark.parametrize("kind", KINDS)
def test_arms_and_points_are_two_ways_to_write_one_rocker(kind: str) -> None:
    axle = KINDS[kind]()
    where = states(axle)
    one, other = move(axle, where), move(move_points(axle, lambda point: point), where)
    np.testing.assert_allclose(other.rocker_angle, one.rocker_angle, rtol=0, atol=1e-12)
    same_struts(axle, one, other, "length", "by_left", "by_right", "by_rack")


def test_axis_vectors_of_any_length_and_their_angles_are_one_axis() -> None:
    base = front()
    turned = replace(base, rocker=replace(base.rocker, axis=AxisAngles(np.asarray(0.3), np.asarray(-0.2))))
    axis = 7.5 * vector(np.cos(0.2) * np.cos(0.3), np.cos(0.2) * np.sin(0.3), -np.sin(0.2))
    same = replace(base, rocker=replace(base.rocker, axis=axis))
    where = states(base)
    same_struts(base, move(turned, where), move(same, where), "length", "by_left")


def test_the_reversed_axis_turns_the_same_rocker_the_other_way() -> None:
    base = front()
    reverse = move_points(base, lambda point: point, axis=vector(-1, 0, 0))
    where = states(base)
    one, other = move(base, where), move(reverse, where)
    np.testing.assert_allclose(other.rocker_angle, -one.rocker_angle, rtol=0, atol=1e-12)
    same_struts(base, one, other, "length", "by_left", "by_right", "by_rack", "tilt_left", "transmission_right")


def test_an_aligned_rocker_holds_the_rod_in_its_plane_at_static() -> None:
    axle = KINDS["five split links, aligned rocker"]()
    assert isinstance(axle.rocker.axis, AxisAligned)
    motion = move(axle, heave_states(np.array([0.0, 30.0])))
    assert np.degrees(motion.rod_tilt[0]) == pytest.approx(0.0, abs=1e-9)
    assert np.degrees(motion.rod_tilt[1]) > 0.05
    axis = twin_rocker(axle).axis
    assert motion.side.points.axis == pytest.approx(axis, abs=1e-15)
    assert axis[1] == 0.0
    assert axis[0] > 0.0


def test_a_reference_replaces_y_as_the_zero_of_arm_angles() -> None:
    base = front()
    placed = twin_rocker(base)
    turned = {
        name: replace(end, angle=end.angle - np.pi / 2)
        for name, end in base.rocker.pickups.items()
        if isinstance(end, Arm)
    }
    rod = base.rocker.rod
    assert isinstance(rod, Arm)
    rocker = replace(
        base.rocker, reference=placed.e1 * 3.0, rod=replace(rod, angle=rod.angle - np.pi / 2), pickups=turned
    )
    where = states(base)
    same_struts(base, move(base, where), move(replace(base, rocker=rocker), where), "length", "by_left", "by_rack")


def test_a_corner_strut_knows_its_own_wheel_alone() -> None:
    axle = KINDS["corner struts"]()
    travel = np.array([0.0, 20.0, -20.0])
    one, both = move(axle, one_wheel_states(travel)).strut("corner"), move(axle, heave_states(travel)).strut("corner")
    np.testing.assert_allclose(one.length, both.length, rtol=0, atol=1e-10)
    assert np.all(one.by_right == 0.0)
    assert np.isnan(one.transmission_right).all()
