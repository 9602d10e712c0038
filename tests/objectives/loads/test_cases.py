"""Axles under load cases: every force balances, the state is the springs' own, and what cannot be is said."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import root

from geometry.arrays import MIRROR_Y, Array, cross, dot
from geometry.axle import AntiRollBar, Axle, CornerStrut, TorsionBar
from geometry.motion import move
from geometry.side_motion import trace_side
from geometry.travel import AxleStates, heave_states
from geometry.upright import trace_upright
from objectives.fittings.fitted import Fittings
from objectives.fittings.installed import install
from objectives.fittings.loads import LoadCase
from objectives.loads.cases import CaseForces, SideForces, case_states, load_cases
from objectives.readings import FigureStatus
from objectives.strain import strain
from tests.axles import KINDS, front, front_corner, rear, travel_of, with_bars
from tests.batches import pick, scatter
from tests.fitted import CASES, case, coil, fittings_for

BALANCED = 1e-9
"""Sums are nothing to this share of the largest force, moments at a lever of 500 mm."""

AXLES: dict[str, Callable[[], Axle]] = {
    **{kind: make for kind, make in KINDS.items() if "level" not in kind},
    "torsion bars and an anti-roll bar": lambda: with_bars(front()),
    "corner struts and bars": lambda: with_bars(front_corner()),
}
"""The rocker that swings nearly level has a heave strut too weak in leverage for these cases."""


def fittings_of(kind: str) -> Fittings:
    """Springs for an axle of `AXLES`; the pullrod's, whose ratios fall, wants stiffer ones."""
    return fittings_for(AXLES[kind](), stiffer=3.0 if "pulling" in kind else 1.0)


def under_load(axle: Axle, fittings: Fittings) -> CaseForces:
    tree = case_states(travel_of(axle))
    guide = trace_side(axle, trace_upright(axle.wheel, axle.links, tree), tree)
    static = move(axle, heave_states(np.zeros(1)))
    return load_cases(guide, install(axle, fittings, static), fittings.loads.cases, travel_of(axle).wheel)


Wrench = tuple[Array, Array]
"""Force (C, 3) and moment about the origin (C, 3)."""


def acting(force: Array, point: Array) -> Wrench:
    return force, cross(point, force)


def on_chassis(axle: Axle, side: SideForces) -> list[Wrench]:
    """Everything that one side does to the chassis, but for struts across the car; left-hand axes."""
    pose, links = side.pose, side.on_chassis
    found = [acting(links[..., place, :], pose.inboard[..., place, :]) for place in range(5)]
    force, moment = acting(side.rocker.force, np.broadcast_to(pose.pivot, side.rocker.force.shape))
    found.append((force, moment + side.rocker.moment))
    found.append((np.zeros_like(force), side.wrench.shaft[..., None] * pose.spin_axis))
    for name, push in side.pushes.items():
        match axle.elements[name]:
            case CornerStrut() | AntiRollBar():
                found.append(acting(-push.force, np.broadcast_to(push.far, force.shape)))
            case TorsionBar():
                found.append((np.zeros_like(force), -push.moment[..., None] * pose.axis))
    return found


def mirrored(wrench: Wrench) -> Wrench:
    """A force is mirrored like a point, a moment the other way."""
    return wrench[0] * MIRROR_Y, -wrench[1] * MIRROR_Y


def summed(wrenches: list[Wrench]) -> Wrench:
    forces, moments = zip(*wrenches, strict=True)
    return np.sum(np.broadcast_arrays(*forces), axis=0), np.sum(np.broadcast_arrays(*moments), axis=0)


@pytest.mark.parametrize("kind", AXLES)
def test_six_sums_over_the_whole_axle(kind: str) -> None:
    # All that reaches the chassis is what the ground brings, in every case: forces and moments about the origin.
    axle = AXLES[kind]()
    loaded = under_load(axle, fittings_of(kind))
    assert np.all(loaded.settled.found)
    left, right = loaded.left, loaded.right
    chassis = summed([*on_chassis(axle, left), *map(mirrored, on_chassis(axle, right))])
    ground = summed(
        [acting(left.wrench.force, left.pose.contact), mirrored(acting(right.wrench.force, right.pose.contact))]
    )
    largest = max(np.abs(loaded.tension).max(), np.abs(loaded.rod).max(), loaded.pivot.max())
    np.testing.assert_allclose(chassis[0], ground[0], rtol=0, atol=BALANCED * largest)
    np.testing.assert_allclose(chassis[1], ground[1], rtol=0, atol=BALANCED * largest * 500)
    assert largest > 7000


@pytest.mark.parametrize("kind", AXLES)
def test_rockers_are_left_in_balance(kind: str) -> None:
    loaded = under_load(AXLES[kind](), fittings_of(kind))
    for side in (loaded.left, loaded.right):
        arm = 70.0
        assert np.abs(side.rocker.unbalanced).max() < BALANCED * arm * np.abs(loaded.rod).max()


@pytest.mark.parametrize("kind", ["two wishbones, rod on the lower", "torsion bars and an anti-roll bar"])
def test_the_state_is_the_one_that_a_general_solver_finds(kind: str) -> None:
    # Virtual work written anew: dU/dz of the springs against the ground's force on the moving contact points.
    axle = AXLES[kind]()
    fittings = fittings_for(axle)
    static = move(axle, heave_states(np.zeros(1)))
    loaded = under_load(axle, fittings)

    def miss(z: Array, load: LoadCase) -> Array:
        motion = move(axle, AxleStates(z[:1], z[1:], np.zeros(1)))
        swapped = move(axle, AxleStates(z[1:], z[:1], np.zeros(1)))
        springs = strain(axle, fittings, motion, static)
        left, right = (
            getattr(one.contact, "rolling" if load.brake_inboard else "locked")[0] for one in (motion, swapped)
        )
        felt = (dot(load.left, left), dot(load.right * MIRROR_Y, right))
        return np.array([springs.by_left[0] - felt[0], springs.by_right[0] - felt[1]])

    for place, load in enumerate(CASES.values()):
        found = root(miss, np.zeros(2), args=(load,), tol=1e-12)
        np.testing.assert_allclose(loaded.settled.travel[place], found.x, rtol=0, atol=1e-7)


def test_the_standing_axle_stays_where_it_is() -> None:
    # The sprung weight alone on each wheel, straight up: the contact point's own path lets it sink or rise by little.
    fittings = fittings_for(front())
    loads = replace(fittings.loads, cases={"static": case((0, 0, 2240), (0, 0, 2240))})
    loaded = under_load(front(), replace(fittings, loads=loads))
    np.testing.assert_allclose(loaded.settled.travel, 0.0, atol=0.3)
    # The crossed roll strut is not quite alike on both sides.
    np.testing.assert_allclose(loaded.settled.travel[..., 0], loaded.settled.travel[..., 1], atol=1e-4)


def test_mirrored_loads_give_mirrored_forces() -> None:
    fittings = fittings_for(front_corner())
    one, other = case((-900, -4000, 5000), (-300, -700, 1800)), case((-300, 700, 1800), (-900, 4000, 5000))
    loads = replace(fittings.loads, cases={"one": one, "other": other})
    loaded = under_load(front_corner(), replace(fittings, loads=loads))
    # The roll strut crosses from an upper to a lower pick-up: left and right differ by a little, no more.
    np.testing.assert_allclose(loaded.settled.travel[0], loaded.settled.travel[1, ::-1], atol=0.2)
    np.testing.assert_allclose(loaded.rod[0], loaded.rod[1, ::-1], rtol=5e-3)
    np.testing.assert_allclose(loaded.tension[0], loaded.tension[1, ::-1], rtol=5e-3, atol=30)


@pytest.mark.parametrize("shape", [(), (4,), (2, 3), (0,)])
def test_a_batch_equals_its_members_one_by_one(shape: tuple[int, ...]) -> None:
    axles = scatter(rear(), shape, links=True)
    fittings = fittings_for(rear())
    together = under_load(axles, fittings)
    assert together.rod.shape == (*shape, len(CASES), 2)
    assert together.overall.shape == shape
    for index in np.ndindex(shape):
        alone = under_load(pick(axles, index, shape), fittings)
        np.testing.assert_array_equal(together.status[index], alone.status)
        np.testing.assert_allclose(together.settled.travel[index], alone.settled.travel, rtol=0, atol=1e-8)
        np.testing.assert_allclose(together.rod[index], alone.rod, rtol=1e-8)
        np.testing.assert_allclose(together.tension[index], alone.tension, rtol=0, atol=1e-4)
        np.testing.assert_allclose(together.pivot[index], alone.pivot, rtol=1e-8)


def test_links_that_do_not_vary_stay_out_of_the_batch() -> None:
    axles = scatter(front(), (3,))
    together = under_load(axles, fittings_for(front()))
    for row in range(3):
        alone = under_load(pick(axles, (row,), (3,)), fittings_for(front()))
        np.testing.assert_allclose(together.pivot[row], alone.pivot, rtol=1e-8)


def test_a_wheel_past_its_travel_keeps_its_numbers_and_says_so() -> None:
    fittings = fittings_for(front())
    soft = replace(fittings, springs={**fittings.springs, "heave": coil("heave", 160.0)})
    loads = replace(soft.loads, cases={"brake": CASES["brake"], "bump": case((0, 0, 9000), (0, 0, 4200))})
    loaded = under_load(front(), replace(soft, loads=loads))
    assert [FigureStatus(code).word for code in loaded.status] == ["ok", "past_travel"]
    assert loaded.overall == FigureStatus.PAST_TRAVEL
    assert loaded.reserve[1].min() < 0 < loaded.reserve[0].min()
    assert np.all(np.isfinite(loaded.rod))


def test_springs_that_cannot_hold_a_case_come_to_no_balance() -> None:
    fittings = fittings_for(front())
    loads = replace(fittings.loads, cases={**CASES, "far too much": case((0, 0, 60e3), (0, 0, 60e3))})
    free = coil("heave", 220.0)
    no_stop = replace(fittings, springs={**fittings.springs, "heave": replace(free, solid_length=None)}, loads=loads)
    loaded = under_load(front(), no_stop)
    assert [FigureStatus(code).word for code in loaded.status] == ["ok"] * 5 + ["no_balance"]
    assert loaded.overall == FigureStatus.NO_BALANCE


def test_a_solid_spring_carries_what_is_asked_and_is_named() -> None:
    # 190 mm free, 19 mm squeezed at static: solid 61 mm further at 110 mm. Longer when solid, it is soon at its stop.
    fittings = fittings_for(front())
    short = replace(coil("heave", 220.0), solid_length=np.asarray(150.0))
    loads = replace(
        fittings.loads, cases={"bump": case((0, 0, 9000), (0, 0, 9000)), "light": case((0, 0, 3000), (0, 0, 3000))}
    )
    loaded = under_load(front(), replace(fittings, springs={**fittings.springs, "heave": short}, loads=loads))
    assert np.all(loaded.settled.found)
    np.testing.assert_array_equal(loaded.settled.strain.elements["heave"].solid, [True, False])
    stroke = 190 - 4072 / 220 - 150
    squeezed = loaded.settled.strain.elements["heave"].compression
    assert squeezed[0] == pytest.approx(stroke, abs=0.3)


def test_an_axle_without_springs_is_loaded_at_static() -> None:
    axle = front()
    loaded = under_load(axle, Fittings(loads=fittings_for(axle).loads))
    np.testing.assert_array_equal(loaded.settled.travel, 0.0)
    assert np.all(loaded.status == FigureStatus.OK)
    assert loaded.rod[0, 0] > 7845


def test_a_candidate_that_cannot_be_leaves_the_others_alone() -> None:
    # The second of three rods is too short to reach at static already.
    axle = front()
    eye = np.array([axle.rod.outboard, [10.0, 742.0, 206.0], axle.rod.outboard])
    pivot = np.array([axle.rocker.pivot] * 3)
    axles = replace(axle, rod=replace(axle.rod, outboard=eye), rocker=replace(axle.rocker, pivot=pivot))
    lined_up = replace(axles.rocker, rod=np.stack([_arm_end(axle), _in_line(axle), _arm_end(axle)]))
    loaded = under_load(replace(axles, rocker=lined_up), fittings_for(axle))
    sound = under_load(axle, fittings_for(axle))
    assert loaded.overall[0] == loaded.overall[2] == FigureStatus.OK
    assert loaded.overall[1] == FigureStatus.UNREACHABLE
    np.testing.assert_allclose(loaded.pivot[[0, 2]], np.stack([sound.pivot] * 2), rtol=1e-9)


def _arm_end(axle: Axle) -> Array:
    return np.asarray(axle.rocker.pivot + 76 * np.array([0, np.cos(np.radians(52)), np.sin(np.radians(52))]))


def _in_line(axle: Axle) -> Array:
    """A rod end on the line from pivot to eye: rod and arm lined up at static, no branch to follow."""
    line = (axle.rod.outboard - axle.rocker.pivot) * np.array([0, 1, 1])
    return np.asarray(axle.rocker.pivot + 76 * line / np.linalg.norm(line))
