"""Motion ratios by statics alone: forces that balance on every part give the same ratios as the motion. No source
needed: virtual work, and the law of cosines for a strut on a rocker."""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from geometry.arrays import MIRROR_Y, Array
from geometry.axle import Axle, CornerStrut
from geometry.motion import Motion, move
from geometry.rod import carry_rod_eye
from geometry.travel import AxleStates, heave_states, one_wheel_states
from tests.axles import FRONT_TRAVEL, KINDS, front, front_corner, travel_of
from tests.twin import TwinSide, inboard_now, side_at, turned, twin_rocker

RESIDUAL = 1e-9
"""Virtual work balances to this, per newton in the strut."""


@dataclass(frozen=True)
class Pull:
    """A force of one newton that a strut presses with on the left rocker at a point."""

    point: Array
    force: Array


def rod_force(axle: Axle, side: TwinSide, pull: Pull) -> Array:
    """Force of the rod on what carries it: moments about the rocker's axis balance, its bearing takes the rest."""
    rocker = twin_rocker(axle)
    rod_end = rocker.pivot + _turned_rod_end(axle, side)
    line = (side.rod_outboard - rod_end) / np.linalg.norm(side.rod_outboard - rod_end)
    strut_moment = rocker.axis @ np.cross(pull.point - rocker.pivot, pull.force)
    rod_arm = rocker.axis @ np.cross(rod_end - rocker.pivot, line)
    # The rod presses the rocker with -N line and the upright with +N line: -N rod_arm + strut_moment = 0.
    return np.asarray(strut_moment / rod_arm * line)


def _turned_rod_end(axle: Axle, side: TwinSide) -> Array:
    rocker = twin_rocker(axle)
    return turned(rocker, side.rocker_angle, rocker.rod_inboard)


def wheel_force(axle: Axle, side: TwinSide, rack: float, rod: Array) -> float:
    """Vertical force at the wheel centre that holds the upright against five links along their lines and the rod."""
    columns = []
    for link in axle.links.values():
        outboard = side.centre + side.rotation @ (link.outboard - axle.wheel.centre)
        line = outboard - inboard_now(link, rack)
        columns.append(_wrench(line / np.linalg.norm(line), outboard - side.centre))
    columns.append(_wrench(np.array([0.0, 0.0, 1.0]), np.zeros(3)))
    load = _wrench(rod, side.rod_outboard - side.centre)
    return float(np.linalg.solve(np.stack(columns, axis=1), -load)[5])


def _wrench(force: Array, lever: Array) -> Array:
    return np.concatenate([force, np.cross(lever, force) / 100.0])


def strut_pull(axle: Axle, name: str, left: TwinSide, right: TwinSide) -> Pull:
    """A strut under one newton of compression presses the left rocker away from its other end."""
    element = axle.struts[name]
    start = left.pickups[element.left]
    end = element.chassis if isinstance(element, CornerStrut) else right.pickups[element.right] * MIRROR_Y
    return Pull(start, (start - end) / np.linalg.norm(start - end))


ON_UPRIGHT = [kind for kind in KINDS if not KINDS[kind]().rod.carried_by]


@pytest.mark.parametrize("kind", ON_UPRIGHT)
def test_wheel_force_per_newton_of_strut_is_the_motion_ratio(kind: str) -> None:
    # Virtual work: the upward force of the ground at a wheel is the strut's compression times dc/dz, at every state.
    axle = KINDS[kind]()
    travel = np.random.default_rng(8).uniform(*travel_of(axle).wheel, (2, 12))
    rack = np.linspace(-20, 20, 12)
    motion = move(axle, AxleStates(travel[0], travel[1], rack))
    for k, (z_left, z_right, s) in enumerate(zip(*travel, rack, strict=True)):
        left, right = side_at(axle, z_left, s), side_at(axle, z_right, -s)
        for name in axle.struts:
            force = wheel_force(axle, left, s, rod_force(axle, left, strut_pull(axle, name, left, right)))
            assert force - motion.strut(name).by_left[k] == pytest.approx(0.0, abs=RESIDUAL)


@pytest.mark.parametrize("kind", KINDS)
def test_rod_force_times_its_arm_is_strut_force_times_its_arm(kind: str) -> None:
    # Forces and velocities are dual: with one newton in the strut the rod carries F = strut arm / rod arm, and both do
    # the same work. The arms are those of the angles shown: radius x sin(transmission) x cos(tilt).
    axle = KINDS[kind]()
    motion = move(axle, one_wheel_states(np.array([-30.0, -7.0, 0.0, 18.0, 35.0])))
    index = motion.pairs.left
    eye, end = (
        np.broadcast_to(at, (*motion.side.status.shape, 3))[index]
        for at in (motion.side.eye, motion.side.rod_inboard[0])
    )
    line = (eye - end) / np.linalg.norm(eye - end, axis=-1, keepdims=True)
    velocity = carry_rod_eye(axle, motion.side.upright, motion.side.tree)[1][index, :, 0]
    eye_rate = (line * velocity).sum(axis=-1)
    rod = twin_rocker(axle)
    rod_arm = _radius(axle, rod.rod_inboard) * np.sin(motion.rod_transmission) * np.cos(motion.rod_tilt)
    for name, element in axle.struts.items():
        strut = motion.strut(name)
        radius = _radius(axle, rod.pickups[element.left])
        strut_arm = radius * np.sin(strut.transmission_left) * np.cos(strut.tilt_left)
        work_in, work_out = np.abs(strut_arm / rod_arm * eye_rate), np.abs(strut.by_left)
        np.testing.assert_allclose(work_in - work_out, 0.0, rtol=0, atol=RESIDUAL)


def _radius(axle: Axle, point: Array) -> float:
    rocker = twin_rocker(axle)
    return float(np.linalg.norm(np.cross(rocker.axis, point - rocker.pivot)))


def test_a_rod_on_another_place_of_the_upright_breaks_the_balance() -> None:
    # Negative control: the same forces with the rod's eye 1 mm off do not give the axle's ratio.
    axle = front()
    off = replace(axle, rod=replace(axle.rod, outboard=axle.rod.outboard + np.array([0.0, 1.0, 0.0])))
    side = side_at(off, 0.0)
    force = wheel_force(off, side, 0.0, rod_force(off, side, strut_pull(off, "heave", side, side)))
    ratio = move(axle, heave_states(np.zeros(1))).strut("heave").by_left[0]
    assert abs(force - ratio) > 1e-5


# A strut on a rocker in one plane, by the law of cosines: L^2 = r^2 + d^2 - 2 r d cos(phi), and
# dL/dphi = r d sin(phi) / L is the distance of the strut's line from the pivot. Geometry, no source needed.


@dataclass(frozen=True)
class Triangle:
    """Pivot, pick-up and chassis eye of a corner strut that lies in its rocker's plane."""

    r: float
    d: float
    phi: Array

    @property
    def length(self) -> Array:
        return np.asarray(np.sqrt(self.r**2 + self.d**2 - 2 * self.r * self.d * np.cos(self.phi)))

    @property
    def arm(self) -> Array:
        return np.asarray(self.r * self.d * np.sin(self.phi) / self.length)


def corner_triangle(axle: Axle, motion: Motion) -> Triangle:
    element = axle.elements["corner"]
    assert isinstance(element, CornerStrut)
    rocker = twin_rocker(axle)
    pickup, chassis = rocker.pickups[element.left] - rocker.pivot, element.chassis - rocker.pivot
    # The struts' plane holds the pick-up: both ends have the same offset along the axis.
    assert pickup @ rocker.axis == pytest.approx(chassis @ rocker.axis, abs=1e-12)
    flat = [at - (at @ rocker.axis) * rocker.axis for at in (pickup, chassis)]
    at_static = np.arctan2(np.cross(flat[1], flat[0]) @ rocker.axis, flat[1] @ flat[0])
    return Triangle(float(np.linalg.norm(flat[0])), float(np.linalg.norm(flat[1])), at_static + motion.rocker_angle)


def test_a_planar_strut_follows_the_law_of_cosines() -> None:
    axle = front_corner()
    motion = move(axle, heave_states(np.arange(*FRONT_TRAVEL.wheel, 3.0)))
    strut, triangle = motion.strut("corner"), corner_triangle(axle, motion)
    np.testing.assert_allclose(strut.length, triangle.length, rtol=0, atol=1e-10)
    rate = motion.side.closing.rate[motion.pairs.left, 0]
    np.testing.assert_allclose(strut.by_left, -triangle.arm * rate, rtol=0, atol=1e-12)


def test_dl_dphi_is_the_distance_of_the_line_from_the_pivot() -> None:
    axle = front_corner()
    motion = move(axle, heave_states(np.array([-40.0, -10.0, 0.0, 20.0, 45.0])))
    triangle = corner_triangle(axle, motion)
    pickup = motion.side.pickup("heave")[0][motion.pairs.left]
    element = axle.elements["corner"]
    assert isinstance(element, CornerStrut)
    line = pickup - element.chassis
    foot = np.cross(element.chassis - axle.rocker.pivot, line)
    distance = np.abs(foot @ twin_rocker(axle).axis) / np.linalg.norm(line, axis=-1)
    np.testing.assert_allclose(np.abs(triangle.arm), distance, rtol=0, atol=1e-10)
    # Transmission: the arm's angle to the strut line has sine = distance / r.
    sine = np.sin(motion.strut("corner").transmission_left)
    np.testing.assert_allclose(sine, distance / triangle.r, rtol=0, atol=1e-12)
