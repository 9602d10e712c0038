"""The tyre's contact point: on the ground at static, lowest of the wheel's plane, moving as virtual work has it."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array, dot, norm
from geometry.axle import Axle, Link, Wheel
from geometry.contact import static_contact
from geometry.motion import move
from geometry.travel import AxleStates, heave_states
from tests.axles import KINDS, front, rear, vector, wheel
from tests.batches import pick, scatter

TRAVEL = np.array([0.0, -38.0, -11.0, 17.0, 42.0])


def states(axle: Axle) -> AxleStates:
    rack = np.array([0.0, 12.0, -20.0, 0.0, 7.0]) if axle.has_rack else np.zeros(5)
    return AxleStates(TRAVEL, TRAVEL[::-1].copy(), rack)


def test_loaded_radius_is_measured_in_the_wheel_plane() -> None:
    leaning = wheel(vector(0, 800, 300), 0.0, -60.0)
    assert leaning.loaded_radius == pytest.approx(600.0, abs=1e-9)
    np.testing.assert_allclose(static_contact(leaning), [0.0, 800 + 300 * np.sqrt(3), 0.0], atol=1e-9)


@pytest.mark.parametrize("toe", [-3.0, 0.0, 4.0])
@pytest.mark.parametrize("camber", [-4.0, 0.0, 2.0])
def test_at_static_it_lies_on_the_ground_in_the_wheel_plane(toe: float, camber: float) -> None:
    one = wheel(vector(5, 820, 330), toe, camber)
    point = static_contact(one)
    lever = point - one.centre
    assert point[2] == pytest.approx(0.0, abs=1e-12)
    assert dot(lever, one.spin_axis) == pytest.approx(0.0, abs=1e-12)
    assert norm(lever) == pytest.approx(float(one.loaded_radius), abs=1e-12)
    if camber < 0.0:
        assert point[1] > one.centre[1], "top inward, foot outward"


@pytest.mark.parametrize("kind", KINDS)
def test_it_is_the_lowest_point_of_the_wheel_at_every_state(kind: str) -> None:
    axle = KINDS[kind]()
    motion = move(axle, states(axle))
    axis, centre = motion.wheel.spin_axis, motion.wheel.centre
    lever = motion.contact.point - centre
    np.testing.assert_allclose(dot(lever, axis), 0.0, atol=1e-10)
    np.testing.assert_allclose(norm(lever), axle.wheel.loaded_radius, rtol=0, atol=1e-10)
    for turn in (-0.01, 0.01):
        beside = np.cos(turn) * lever + np.sin(turn) * np.cross(axis, lever)
        assert np.all(beside[:, 2] > lever[:, 2])


@pytest.mark.parametrize("kind", KINDS)
def test_locked_it_moves_as_the_upright_does(kind: str) -> None:
    """The point of the upright that is there, followed over small travels by its own coordinates in the upright."""
    axle = KINDS[kind]()
    where = states(axle)
    motion = move(axle, where)
    upright, index = motion.side.upright, motion.pairs.left
    for k, i in enumerate(index):
        own = upright.rotation[i].T @ (motion.contact.point[k] - upright.centre[i]) + axle.wheel.centre

        def at(by: float, k: int = k, own: Array = own) -> Array:
            shifted = AxleStates(where.z_left[k : k + 1] + by, where.z_right[k : k + 1], where.rack[k : k + 1])
            moved = move(axle, shifted)
            return np.asarray(moved.side.upright.carry(own)[0][moved.pairs.left[0]])

        coarse, fine = ((at(h) - at(-h)) / (2 * h) for h in (0.2, 0.1))
        np.testing.assert_allclose(motion.contact.locked[k], fine + (fine - coarse) / 3, rtol=0, atol=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_rolling_leaves_out_the_turn_about_the_spin_axis_alone(kind: str) -> None:
    axle = KINDS[kind]()
    motion = move(axle, states(axle))
    contact, index = motion.contact, motion.pairs.left
    axis, spin = motion.wheel.spin_axis, motion.side.upright.rate[index, 3:, 0]
    lever = contact.point - motion.wheel.centre
    about = dot(spin, axis)[:, None] * np.cross(axis, lever)
    np.testing.assert_allclose(contact.locked - contact.rolling, about, rtol=0, atol=1e-13)


def test_parallel_equal_links_move_the_contact_as_the_centre() -> None:
    """Three links along y and two along x, all level, carry the upright straight up: locked and rolling alike."""
    links = {
        name: Link(vector(x, 300, z), vector(x, 700, z))
        for name, x, z in (("a", 100, 450), ("b", -100, 450), ("c", 0, 200))
    }
    links |= {name: Link(vector(-300, 700, z), vector(0, 700, z)) for name, z in (("d", 320), ("e", 240))}
    standing = Wheel(vector(0, 800, 330), np.asarray(0.0), np.asarray(-0.02))
    axle = replace(rear(), wheel=standing, links=links, rod=replace(rear().rod, carried_by=()))
    motion = move(axle, heave_states(np.array([0.0])))
    np.testing.assert_allclose(motion.contact.locked[0], [0.0, 0.0, 1.0], atol=1e-12)
    np.testing.assert_allclose(motion.contact.rolling[0], [0.0, 0.0, 1.0], atol=1e-12)


def test_a_batch_equals_a_loop() -> None:
    axle = scatter(front(), (3, 2), links=True)
    where = states(axle)
    batch = move(axle, where).contact
    for index in np.ndindex(3, 2):
        one = move(pick(axle, index, (3, 2)), where).contact
        for name in ("point", "locked", "rolling"):
            np.testing.assert_allclose(getattr(batch, name)[index], getattr(one, name), rtol=0, atol=1e-9)
