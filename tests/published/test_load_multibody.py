"""Forces against exudyn, a general multibody library: links, rod, strut, joints and pivot to 1e-6 of the largest."""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from geometry.arrays import Array, unit
from geometry.axle import Axle
from geometry.motion import move
from geometry.travel import heave_states
from objectives.loads.footing import footing
from objectives.loads.pose import SidePose, side_pose
from objectives.loads.rocker import Push, RockerForces, hold_rocker
from objectives.loads.upright import UprightForces, hold_upright, wheel_wrench
from tests.axles import KINDS
from tests.loaded_half import LoadedHalf, Reactions

NEAR = 1e-6
TRAVELS = np.array([0.0, 5.0, 10.0, 15.0, 20.0])
"""On the way to the loaded state [mm]."""
FAR = np.array([44.0, 0.0, 500.0])
"""Where the one strut that holds the axle stands on the chassis [mm]."""
FORCES = {"braking in a corner": np.array([-3000.0, -2500.0, 4000.0]), "kerb": np.array([0.0, 0.0, 7845.0])}


@dataclass(frozen=True)
class Ours:
    """One state of an axle under a force, by the package."""

    pose: SidePose
    upright: UprightForces
    rocker: RockerForces
    strut: float


def both(axle: Axle, force: Array) -> tuple[Ours, Reactions]:
    """The last of `TRAVELS` under a force, by the package and by the library, which also finds the strut's force."""
    motion = move(axle, heave_states(TRAVELS))
    index = motion.pairs.left
    pose, pickup = side_pose(motion.side, index), motion.side.pickup("heave")[0][index]
    lengths = np.linalg.norm(pickup - FAR, axis=-1)
    half = LoadedHalf(axle, "heave", FAR)
    state, reactions = half.carry(list(lengths), pose.contact[-1], force)
    np.testing.assert_allclose(state.centre, pose.centre[-1], rtol=0, atol=1e-8)
    upright = hold_upright(pose, footing(pose), wheel_wrench(pose, force, np.zeros(())))
    strut = _strut_force(pose, upright.rod, pickup)
    push = Push(strut[..., None] * unit(pickup - FAR), pickup, FAR, np.zeros(()))
    return Ours(pose, upright, hold_rocker(pose, upright.rod, [push]), float(strut[-1])), reactions


def _strut_force(pose: SidePose, rod: Array, pickup: Array) -> Array:
    """By moments about the rocker's axis."""
    pushed = (pose.axis * np.cross(pickup - pose.pivot, unit(pickup - FAR))).sum(axis=-1)
    pressed = (pose.axis * np.cross(pose.rod_inboard - pose.pivot, pose.rod)).sum(axis=-1)
    return np.asarray(rod * pressed / pushed)


CASES = [(kind, name) for kind in KINDS if kind != "corner struts" for name in FORCES]


@pytest.mark.parametrize(("kind", "name"), CASES)
def test_what_links_rod_strut_joints_and_pivot_carry(kind: str, name: str) -> None:
    axle, force = KINDS[kind](), FORCES[name]
    ours, theirs = both(axle, force)
    last = -1
    plain = [ours.upright.outer[last, place] for place in range(5) if place not in ours.pose.carriers]
    bars = np.array([*plain, -ours.upright.rod[last], -ours.strut])
    largest = np.abs(theirs.bars).max()
    np.testing.assert_allclose(bars, theirs.bars, rtol=0, atol=NEAR * largest)
    np.testing.assert_allclose(ours.rocker.force[last], theirs.pivot, rtol=0, atol=NEAR * largest)
    size = float(np.linalg.norm(ours.rocker.moment[last]))
    assert size == pytest.approx(theirs.pivot_moment, rel=NEAR)
    assert largest > 4000


@pytest.mark.parametrize("kind", [kind for kind in KINDS if KINDS[kind]().rod.carried_by])
def test_what_carries_the_rod_presses_the_upright(kind: str) -> None:
    axle, force = KINDS[kind](), FORCES["braking in a corner"]
    ours, theirs = both(axle, force)
    pose, forces, places = ours.pose, ours.upright, list(ours.pose.carriers)
    pulls = forces.outer[..., None] * unit(pose.inboard - pose.outboard)
    joint = pulls[..., places, :].sum(axis=-2) + forces.rod[..., None] * footing(pose).force
    largest = float(np.linalg.norm(theirs.joint))
    np.testing.assert_allclose(joint[-1], theirs.joint, rtol=0, atol=NEAR * largest)


def test_a_force_a_millimetre_off_is_seen() -> None:
    # Negative control: the comparison can fail.
    axle, force = KINDS["two wishbones, rod on the lower"](), FORCES["kerb"]
    ours, theirs = both(axle, force)
    pose = ours.pose
    aside = replace(pose, contact=pose.contact + np.array([1.0, 0.0, 0.0]))
    moved = hold_upright(aside, footing(aside), wheel_wrench(aside, force, np.zeros(())))
    assert abs(moved.outer[-1, 0] - theirs.bars[0]) > 1e3 * NEAR * np.abs(theirs.bars).max()
