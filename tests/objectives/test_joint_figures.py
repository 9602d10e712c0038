"""Figures of joints: against the slow twin state by state, batches, compiled kernel, parts, and the axle as built."""

from collections.abc import Callable
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.arrays import Array
from geometry.axle import Axle
from geometry.built import built
from geometry.joints import joint_places
from geometry.lanes import KERNEL, LANES
from geometry.travel import Travel, grid_states, travel_points
from objectives.catalogue.catalogue import figure_names
from objectives.evaluate import Evaluator, evaluate, measure
from objectives.fittings.fitted import Fittings
from objectives.fittings.joints import Joint
from objectives.goals import Best, Goal, Limit, objective_values, violations
from objectives.joint_figures import misalignments, states_of
from objectives.joint_states import full_lock
from objectives.parts import goal_parts
from objectives.readings import FigureStatus
from objectives.survey import UprightMemory, survey
from objectives.tolerance.build import Build
from objectives.tolerance.linear import as_built, linearise
from tests.axles import FRONT_TRAVEL, KINDS, REAR_TRAVEL, front, front_corner, rear, vector
from tests.batches import pick, scatter
from tests.joints import ACROSS, stated, twin_misalignment

COARSE = Travel((-30.0, 30.0), (-20.0, 24.0), (-12.0, 12.0), (-20.0, 15.0), 12.0)
NO_RACK = replace(COARSE, rack=None)


def figures(axle: Axle, travel: Travel, fittings: Fittings) -> dict[str, Array]:
    names = [name for name in figure_names(axle, fittings) if name.startswith("joint.")]
    return dict(evaluate(axle, travel, names, fittings).values)


def every_state(travel: Travel) -> list[tuple[float, float, float]]:
    """Heave and roll, the rack sweep, and full rack at the ends of heave."""
    grid = grid_states(travel)
    states = [(float(a), float(b), 0.0) for a, b in zip(grid.z_left, grid.z_right, strict=True)]
    if travel.rack:
        states += [(0.0, 0.0, float(s)) for s in travel_points(travel.rack, travel.step)]
        states += [(h, h, s) for h, s in product(travel.heave, travel.rack)]
    return states


def every_side(travel: Travel) -> list[tuple[float, float]]:
    """The same for one side, and full rack either way at the ends of its own travel."""
    states = every_state(travel)
    sides = {(a, s) for a, _, s in states} | {(b, -s) for _, b, s in states}
    reached = [z for z, _ in sides]
    ends = [s * sign for s in travel.rack or () for sign in (1.0, -1.0)]
    return sorted(sides | set(product((min(reached), max(reached)), ends)))


@pytest.mark.parametrize(
    ("make", "travel"),
    [(front, COARSE), (rear, NO_RACK), (front_corner, COARSE), (KINDS["five split links, rod on one link"], COARSE)],
)
def test_the_largest_angle_is_that_of_the_slow_twin_over_every_state(make: Callable[[], Axle], travel: Travel) -> None:
    axle = make()
    told = figures(axle, travel, Fittings(joints=stated(axle)))
    for name, place in joint_places(axle).items():
        states = [(z, z, s) for z, s in every_side(travel)] if place.strut is None else every_state(travel)
        largest = max(twin_misalignment(axle, name, ACROSS, state) for state in states)
        assert told[f"joint.{name}.angle_max"] == pytest.approx(largest, abs=1e-8), name
        assert told[f"joint.{name}.angle_reserve"] == pytest.approx(20.0 - largest, abs=1e-8), name


def test_full_rack_at_the_ends_of_travel_is_where_an_outboard_joint_is_worst() -> None:
    """Steer turns the bolt in the upright, travel the rod: neither alone shows the worst of it."""
    fittings = Fittings(joints={"rod_outboard": Joint(vector(1, 0, 0), 12.0)})
    surveyed = survey(front(), FRONT_TRAVEL, UprightMemory(), fittings=fittings)
    angles, states = misalignments(surveyed, "rod_outboard"), states_of(surveyed, "rod_outboard")
    assert angles.shape == (len(states),)
    left, right, rack = states[int(angles.argmax())]
    assert left == right
    assert abs(left) > 40.0
    assert abs(rack) == 30.0
    alone = angles[(states[:, 0] == 0.0) | (states[:, 2] == 0.0)]
    assert angles.max() - alone.max() > 0.15


def test_an_axle_has_the_figures_of_the_joints_that_something_is_said_of() -> None:
    fittings = Fittings(joints={"rod_inboard": Joint(None, 9.0), "heave_left": Joint()})
    names = [name for name in figure_names(front(), fittings) if name.startswith("joint.")]
    assert names == [
        "joint.rod_inboard.angle_max",
        "joint.rod_inboard.angle_reserve",
        "joint.heave_left.angle_max",
    ]
    surveyed = survey(front(), COARSE, UprightMemory(), fittings=fittings)
    for name in ("joint.heave_left.angle_reserve", "joint.roll_left.angle_max", "joint.roll_left.angle_reserve"):
        reading = measure(surveyed, name)
        assert np.isnan(reading.value)
        assert reading.status == FigureStatus.NOTHING_FITTED


def test_a_joint_of_an_axle_that_cannot_move_is_null_and_says_why() -> None:
    far = Travel((-260.0, 260.0), (-250.0, 250.0), (-4.0, 4.0), (-4.0, 4.0), 50.0)
    fittings = Fittings(joints=stated(front()))
    found = evaluate(front(), far, None, fittings)
    for name in joint_places(front()):
        assert np.isnan(found.values[f"joint.{name}.angle_max"])
        assert np.isnan(found.values[f"joint.{name}.angle_reserve"])
        assert found.status[f"joint.{name}.angle_max"] == found.status["rod.tilt_max"] != FigureStatus.OK


def test_a_batch_is_a_loop_and_the_compiled_kernel_says_the_same() -> None:
    axle = front()
    fittings, batch = Fittings(joints=stated(axle)), scatter(axle, (1, LANES), links=True, size=1.5)
    together = figures(batch, COARSE, fittings)
    compiled = Evaluator(COARSE, together, KERNEL, fittings).evaluate(batch).values
    for name, values in together.items():
        np.testing.assert_allclose(compiled[name], values, rtol=0, atol=1e-9, err_msg=name)
        assert values.shape == (1, LANES)
    for place in (0, LANES - 1):
        alone = figures(pick(batch, (0, place), (1, LANES)), COARSE, fittings)
        for name, values in together.items():
            assert values[0, place] == pytest.approx(float(alone[name]), abs=1e-9), name


def test_goals_see_the_angle_at_every_state() -> None:
    axle = scatter(front(), (3,), links=False)
    fittings = Fittings(joints=stated(front(), limit=12.0))
    goals: list[Goal] = [Limit(f"joint.{name}.angle_reserve", at_least=1.0) for name in fittings.joints]
    goals += [Best(f"joint.{name}.angle_max", "minimise") for name in fittings.joints]
    surveyed = survey(axle, COARSE, UprightMemory(), fittings=fittings)
    values = dict(evaluate(axle, COARSE, [goal.figure for goal in goals], fittings).values)
    parts = goal_parts(goals, surveyed)
    assert all(part.shape[-1] > 15 for part in parts)
    largest = np.stack([part.max(axis=-1) for part in parts], axis=-1)
    half = len(goals) // 2
    np.testing.assert_allclose(largest[:, :half], violations(goals, values), rtol=0, atol=1e-12)
    np.testing.assert_allclose(largest[:, half:], objective_values(goals, values), rtol=0, atol=1e-12)


def test_as_built_a_bolt_settles_with_its_rocker() -> None:
    """A rod 1 mm long turns the rocker, and what is bolted to it, by some 0.8 deg: so says an axle drawn that way."""
    axle, build = front(), Build(0.0, 0.0, 0.5)
    joints = {name: Joint(vector(1.0, 0.4, 0.3), 20.0) for name in ("rod_inboard", "heave_left", "heave_right")}
    surveyed = survey(axle, COARSE, UprightMemory(), fittings=Fittings(joints=joints, build=build))
    errors = linearise(surveyed, "joint.heave_left.angle_max", build).errors
    assert {error.path for error in errors} == {"rod.length"} or len(errors) == 2
    longer = as_built(surveyed, errors, np.ones((1, len(errors))))
    settled = built(axle, {}, np.asarray(1.0)).rocker.settled
    assert settled is not None
    assert 0.5 < abs(float(np.degrees(settled))) < 1.5
    drawn = built(axle, {}, np.asarray(1.0))
    drawn = replace(drawn, rocker=replace(drawn.rocker, settled=None))
    turn = Rotation.from_rotvec(float(settled) * vector(1, 0, 0))
    mirror = vector(1, -1, 1)
    for name, joint in joints.items():
        assert joint.bolt is not None
        seen = mirror if name == "heave_right" else np.ones(3)
        turned = Joint(seen * turn.apply(seen * joint.bolt), 20.0)
        again = evaluate(drawn, COARSE, [f"joint.{name}.angle_max"], Fittings(joints={name: turned}))
        told = measure(longer, f"joint.{name}.angle_max").value[0]
        assert told == pytest.approx(float(again.values[f"joint.{name}.angle_max"]), abs=1e-9), name
        unturned = evaluate(drawn, COARSE, [f"joint.{name}.angle_max"], Fittings(joints={name: joint}))
        assert abs(float(unturned.values[f"joint.{name}.angle_max"]) - told) > 0.05, name


@pytest.mark.parametrize("name", ["joint.rod_inboard.angle_max", "joint.roll_left.angle_max"])
def test_the_spread_of_built_axles_is_that_of_axles_solved_with_their_errors(name: str) -> None:
    axle, build = rear(), Build(0.25, 0.1, 0.25)
    fittings = Fittings(joints=stated(axle), build=build)
    surveyed = survey(axle, REAR_TRAVEL, UprightMemory(), fittings=fittings)
    linear = linearise(surveyed, name, build)
    sizes = np.random.default_rng(3).normal(0.0, 0.1, (40, len(linear.errors)))
    solved = measure(as_built(surveyed, linear.errors, sizes), name).value
    if name.startswith("joint.rod"):
        mirrored = [(error.path, error.axis) for error in linear.errors]
        half = len(mirrored) // 2
        swapped = np.concatenate([sizes[:, half:], sizes[:, :half]], axis=1)
        solved = np.maximum(solved, measure(as_built(surveyed, linear.errors, swapped), name).value)
    told = (linear.parts + sizes @ linear.slopes.T).max(axis=-1)
    assert np.ptp(solved) > 0.03
    np.testing.assert_allclose(told, solved, rtol=0, atol=0.02 * np.ptp(solved))


def test_full_lock_is_both_ways_at_the_ends_of_either_wheels_travel() -> None:
    """Of an uneven rack: the right side meets the negative of what the left one meets."""
    lock = full_lock(COARSE)
    assert lock is not None
    met = {(float(z), float(s)) for z, s in lock.tree.state[lock.sides]}
    assert met == set(product((-24.0, -20.0, 24.0), (-20.0, -15.0, 15.0, 20.0)))
    left, right = (lock.tree.state[side].tolist() for side in (lock.pairs.left, lock.pairs.right))
    assert left == [[-20.0, -20.0], [-20.0, 15.0], [24.0, -20.0], [24.0, 15.0]]
    assert right == [[z, -s] for z, s in left]
    assert full_lock(NO_RACK) is None
