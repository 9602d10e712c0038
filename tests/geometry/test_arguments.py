"""No public function of the two lower floors changes what it is given: each is called under guard, none left out."""

from collections.abc import Callable
from dataclasses import replace
from typing import cast

import numpy as np
import pytest

import geometry.anywhere
import geometry.arrays
import geometry.clearance
import geometry.contact
import geometry.hardpoints
import geometry.lanes
import geometry.motion
import geometry.side
import geometry.toggle
import geometry.travel
import geometry.upright
import objectives.adjustment.holes
import objectives.adjustment.table
import objectives.case_table
import objectives.catalogue.catalogue
import objectives.envelope.at_static
import objectives.envelope.program
import objectives.envelope.room
import objectives.evaluate
import objectives.figure_parts
import objectives.fit.deviations
import objectives.fit.fit
import objectives.fit.rig
import objectives.fittings.bearing
import objectives.goals
import objectives.joint_figures
import objectives.loads.program
import objectives.parts
import objectives.program
import objectives.strain
import objectives.survey
import objectives.tolerance.build
import objectives.tolerance.linear
import objectives.tolerance.program
import objectives.tolerance.toleranced
import objectives.vehicle.aero
import objectives.vehicle.asked
import objectives.vehicle.asked_dampers
import objectives.vehicle.budget
import objectives.vehicle.car_state
import objectives.vehicle.corner_springs
import objectives.vehicle.kerb
import objectives.vehicle.lap
import objectives.vehicle.mode_names
import objectives.vehicle.modes
import objectives.vehicle.platform
import objectives.vehicle.rates
import objectives.vehicle.ride_height
import objectives.vehicle.stance
import objectives.vehicle.transfer
from geometry.arrays import Array
from geometry.axle import Axle
from geometry.travel import AxleStates
from objectives.adjustment.records import Adjustments, Hole, RodThread
from objectives.fittings.fitted import Fittings
from objectives.goals import Band, Best, Goal, Limit, Miss
from objectives.survey import UprightMemory
from objectives.vehicle.aero import Aero
from objectives.vehicle.car import Targets
from tests.axles import KINDS, front, travel_of, vector, with_bars
from tests.batches import scatter
from tests.conftest import Guard
from tests.joints import stated
from tests.on_springs import FittedAxle, bars, corners, knees, under_cases
from tests.rooms import ROOM
from tests.sprung import car

GOALS: tuple[Goal, ...] = (
    Band("heave.motion_ratio", 1.1, 0.01),
    Limit("roll.crosstalk", at_most=1.0),
    Miss("roll.motion_ratio", 1.0, 0.1),
    Best("heave.crosstalk", "minimise"),
)


def work(axle: Axle) -> None:
    """Use both floors as the rest of the house does, through their modules, which are under guard."""
    travel = travel_of(axle)
    points = geometry.travel.travel_points(travel.heave, travel.step)
    for states in (geometry.travel.heave_states(points), geometry.travel.one_wheel_states(points)):
        motion = geometry.motion.move(axle, states)
        for name in axle.struts:
            assert motion.strut(name).length.shape[-1] == len(points)
        for name in axle.elements:
            assert motion.squeeze(name).curve_left.shape[-1] == len(points)
        assert geometry.anywhere.side_at(motion.side, points[:3]).status.shape[-1] == 3
        assert motion.wheel.toe.shape[-1] == motion.contact.point.shape[-2] == len(points)
    evaluation = objectives.evaluate.evaluate(axle, travel)
    assert set(evaluation.values) == set(objectives.catalogue.catalogue.figure_names(axle))


@pytest.mark.parametrize("kind", KINDS)
def test_moving_and_evaluating_change_no_argument(kind: str, guarded_floors: Guard) -> None:
    work(scatter(KINDS[kind](), (3,), links=True))
    work(KINDS[kind]())
    assert {
        "geometry.motion.move",
        "objectives.evaluate.evaluate",
        "geometry.rocker.close_loop",
    } <= guarded_floors.called


def test_every_public_function_has_been_under_guard(guarded_floors: Guard, public_functions: frozenset[str]) -> None:
    """A new public function belongs here: call it, by way of what uses it or by its own name."""
    for kind in ("five split links, tilted rocker", "two wishbones, rod on the lower", "corner struts"):
        work(scatter(KINDS[kind](), (2,), links=True))
    work(KINDS["five split links, rod on one link"]())
    work(with_bars(front()))
    small_functions(front())
    walked_uprights(front())
    compiled_kernel(front())
    every_figure(guarded_floors, front())
    springs()
    adjustments()
    as_built(guarded_floors, front())
    measured_car(front())
    clearances()
    joints()
    whole_car()
    goals()
    assert public_functions - guarded_floors.called == set()
    assert len(public_functions) > 50


def small_functions(axle: Axle) -> None:
    points = geometry.hardpoints.place(axle)
    geometry.hardpoints.arm_of(points.rod_inboard, points.pivot, points.axis)
    geometry.arrays.rotation(vector(0.1, 0.2, 0.3))
    geometry.contact.static_contact(axle.wheel)
    geometry.travel.smaller_end((-3.0, 4.0))
    geometry.lanes.out_of_lanes(geometry.lanes.in_lanes(np.ones((3, 2))), 3)
    aligned = KINDS["five split links, aligned rocker"]()
    geometry.motion.move(aligned, geometry.travel.rack_states(np.array([-5.0, 5.0])))
    geometry.side.pair_up(AxleStates(np.array([1.0]), np.array([2.0]), np.array([3.0])))
    geometry.travel.roll_states(np.array([1.0]))
    geometry.travel.grid_states(travel_of(axle))
    objectives.survey.plan_over(travel_of(axle), geometry.travel.grid_states(travel_of(axle)))


def compiled_kernel(axle: Axle) -> None:
    batch = scatter(axle, (2, geometry.lanes.LANES), links=False)
    objectives.evaluate.Evaluator(travel_of(axle), None, geometry.lanes.KERNEL).evaluate(batch)
    many = scatter(axle, (1, geometry.lanes.LANES), links=True)
    objectives.evaluate.Evaluator(travel_of(axle), ("heave.motion_ratio",), geometry.lanes.KERNEL).evaluate(many)
    plan = objectives.survey.plan_states(travel_of(axle))
    assert objectives.program.Program(GOALS, axle, plan).run(batch).shape[0] == 2 * geometry.lanes.LANES


def walked_uprights(axle: Axle) -> None:
    """From each pose of heave to one half a millimetre on: poses that a path knows well are not walked to."""
    side = geometry.motion.move(axle, geometry.travel.heave_states(np.linspace(-8.0, 8.0, 5))).side
    travel = side.tree.state[:, 0]
    walked = geometry.upright.walk_upright(axle.wheel, axle.links, side.upright, travel, travel + 0.5)
    assert not walked.locked.any()


def every_figure(guard: Guard, axle: Axle) -> None:
    """The catalogue keeps its measures by reference: each is put under guard by hand."""
    for fitted in (knees(), corners(), bars(), under_cases(), in_room()):
        surveyed = objectives.survey.survey(fitted.axle, travel_of(axle), UprightMemory(), fittings=fitted.fittings)
        for name in objectives.catalogue.catalogue.figure_names(fitted.axle, fitted.fittings):
            figure = objectives.catalogue.catalogue.describe(name)
            measure, subject = guard(cast(Callable[..., object], figure.measure)), figure.subject_of(name)
            assert guard(figure.fitted)(fitted.fittings, subject or "")
            assert measure(surveyed) if subject is None else measure(surveyed, subject)
        assert len(objectives.case_table.case_table(surveyed)) == len(fitted.fittings.loads.cases)


def in_room() -> FittedAxle:
    return FittedAxle(front(), Fittings(envelope=ROOM, joints=stated(front())))


def joints() -> None:
    figures = ("joint.rod_outboard.angle_reserve", "joint.heave_left.angle_max")
    surveyed = objectives.survey.survey(front(), travel_of(front()), UprightMemory(), fittings=in_room().fittings)
    goals: list[Goal] = [Limit(figures[0], at_least=1.0), Best(figures[1], "minimise")]
    assert len(objectives.parts.goal_parts(goals, surveyed)) == len(goals)
    states = objectives.joint_figures.states_of(surveyed, "heave_left")
    assert states.shape[0] == objectives.joint_figures.misalignments(surveyed, "heave_left").shape[-1]
    assert objectives.fittings.bearing.angle_in_fork(12.0, 9.0, 22.0, 0.5) > 0.0
    assert objectives.fittings.bearing.angle_beside_spacer(12.0, 9.0, 15.875) > 0.0
    assert objectives.fittings.bearing.angle_beside_bolt(8.0, 9.0, 15.875) > 0.0


def clearances() -> None:
    p, q, low, high = (vector(k, 2.0 * k, 3.0 - k) for k in range(4))
    size = np.asarray(2.0), np.asarray(3.0)
    geometry.clearance.segment_segment(p, q, low, high)
    geometry.clearance.point_segment(p, low, high)
    geometry.clearance.segment_box(p, q, low, high)
    geometry.clearance.segment_cylinder(p, q, low, vector(0, 0, 1), *size)
    geometry.clearance.cylinder_box(p, vector(0, 0, 1), *size, low, high)
    surveyed = objectives.survey.survey(front(), travel_of(front()), UprightMemory(), fittings=in_room().fittings)
    least = [Best(name, "maximise") for name in ("clearance.min", "clearance.reserve")]
    assert len(objectives.parts.goal_parts([*least, Best("envelope.overstep", "minimise")], surveyed)) == 3
    assert objectives.envelope.room.pair_names(front(), ROOM)
    assert objectives.envelope.room.pair_margins(front(), ROOM)
    batch, plan = replace(scatter(front(), (1, geometry.lanes.LANES)), wheel=front().wheel), travel_of(front())
    goals: list[Goal] = [Limit("clearance.reserve", at_least=0.0), Limit("envelope.overstep", at_most=0.0)]
    states = objectives.survey.plan_states(plan)
    assert len(objectives.envelope.program.RoomProgram(goals, batch, plan, states, ROOM).run(batch))
    assert objectives.envelope.at_static.static_clearances(front(), ROOM)


def springs() -> None:
    fitted = knees()
    static = geometry.motion.move(fitted.axle, geometry.travel.heave_states(np.zeros(1)))
    assert objectives.strain.strain(fitted.axle, fitted.fittings, static, static).energy == 0.0
    goals = [Best(name, "minimise") for name in ("heave.force_max", "heave.solid_reserve")]
    surveyed = objectives.survey.survey(fitted.axle, travel_of(fitted.axle), UprightMemory(), fittings=fitted.fittings)
    assert len(objectives.parts.goal_parts(goals, surveyed)) == 2
    on_loads: list[Goal] = [Best(name, "minimise") for name in ("rod.buckling_factor", "axle.roll_rate")]
    case = under_cases()
    batch = replace(scatter(case.axle, (1, geometry.lanes.LANES)), wheel=case.axle.wheel)
    compiled = objectives.loads.program.LoadProgram(on_loads, batch, travel_of(case.axle), case.fittings)
    assert compiled.run(batch).shape[0] == geometry.lanes.LANES


def adjustments() -> None:
    for fitted in (knees(), bars()):
        name = next(iter(fitted.axle.rocker.pickups))
        drilled: tuple[Hole, ...] = ({"length": 70.0}, {"length": 72.0})
        holes = objectives.adjustment.holes.completed(fitted.axle, name, drilled)
        assert objectives.adjustment.holes.is_polar(holes)
        adjust = Adjustments(RodThread(2.5, (-1.0, 1.0)), {name: holes})
        fittings, travel = replace(fitted.fittings, adjust=adjust), travel_of(fitted.axle)
        assert len(objectives.adjustment.table.adjustment_table(fitted.axle, travel, fittings).rod) == 3


def as_built(guard: Guard, axle: Axle) -> None:
    build = objectives.tolerance.build.Build(0.25, 0.05, 0.25)
    fittings = Fittings(build=build)
    catalogue = objectives.catalogue.catalogue
    names = [f"roll.crosstalk.{form}" for form in ("sensitivity", "rss", "worst", "p99")] + ["rocker.sweep.p01"]
    assert catalogue.asked_names(axle, fittings, names)[-len(names) :] == tuple(names)
    assert guard(catalogue.describe(names[0]).fitted)(fittings, "roll")
    assert all(
        np.isfinite(one) for one in objectives.evaluate.evaluate(axle, travel_of(axle), names, fittings).values.values()
    )
    batch, goals = scatter(axle, (1, geometry.lanes.LANES)), [Best(names[1], "minimise"), Best(names[3], "minimise")]
    program = objectives.tolerance.program.BuiltProgram(
        goals, batch, objectives.survey.plan_states(travel_of(axle)), build
    )
    assert program.run(batch).min() > 0.0
    surveyed = objectives.evaluate.Evaluator(travel_of(axle), fittings=fittings).survey(axle)
    linear = objectives.tolerance.linear.linearise(surveyed, "roll.crosstalk", build)
    assert objectives.tolerance.toleranced.governing(linear).shape == (len(linear.errors),)


def measured_car(axle: Axle) -> None:
    """One reading, of a car whose rods alone may be off."""
    rods = objectives.fit.deviations.deviations_of(objectives.tolerance.build.Build(rod_length=0.5), axle)
    states, told = (
        geometry.travel.heave_states(np.array([10.0])),
        (np.array([False]), np.array([430.0]), np.array([0.1])),
    )
    found = objectives.fit.fit.fit(axle, objectives.fit.rig.Measured(states, ("heave",), ("left",), *told), rods)
    assert found.sizes.shape == (2,)
    assert not objectives.fit.deviations.points_off(rods, found.sizes, "left")[0]


def whole_car() -> None:
    vehicle = objectives.vehicle
    given = car(targets=Targets(front_heave_frequency=3.2, roll_gradient=1.2, front_roll_share=0.53))
    state = vehicle.car_state.car_at_static(given)
    assert len(vehicle.mode_names.name_modes(vehicle.modes.modes(state.system))) == 7
    assert vehicle.stance.ground_stiffness(state.system).shape == (4, 4)
    assert vehicle.kerb.strike_wheel(given.front, given.front.fittings, 20.0).force[0] > 0.0
    held = vehicle.lap.axle_in_lap(state, 0, (vehicle.lap.Manoeuvre("corner", (0.0, 0.0), 1.0, 0.0),))[0]
    assert vehicle.budget.budget(state, 0, (14.0, 9.0, 13.0, 17.0)).left < held.bump_left
    assert vehicle.budget.lets_go(state, 0, held.travel[0]) > 1.0
    assert vehicle.platform.cornering(state)
    assert vehicle.platform.braking(state)
    assert vehicle.asked.asked_rates(state)
    assert vehicle.asked_dampers.asked_dampers(state)
    assert vehicle.corner_springs.on_corner_springs(state)
    rates = np.array([40.0, 50.0])
    assert len(vehicle.rates.in_series(rates, rates)) == 2
    assert len(vehicle.rates.roll_stiffness(vehicle.rates.wheel_rate_for(rates, rates), rates)) == 2
    assert len(vehicle.rates.warp_stiffness(rates, rates)) == 2
    aero = Aero(lift_area=3.2, front_share=0.44)
    push = vehicle.aero.downforce(aero, rates)[0]
    assert len(vehicle.aero.effective_rate(rates, push)) == 2
    assert len(vehicle.ride_height.ride_height(given.front, given.front.fittings, push).travel) == 2
    assert vehicle.transfer.stiffness_for(state.rolling, 0.4, 0.02, (0.5, 0.5)) > 0.0


def goals() -> None:
    values: dict[str, Array] = {name: np.array([1.0, np.nan]) for name in (goal.figure for goal in GOALS)}
    objectives.goals.objective_values(GOALS, values)
    objectives.goals.violations(GOALS, values)
    for goal in GOALS:
        objectives.goals.scale_of(goal)
    for held in objectives.goals.held(GOALS):
        objectives.goals.left(held, values[held.figure])
    assert objectives.goals.objectives(GOALS)
    axle = front()
    surveyed = objectives.evaluate.Evaluator(travel_of(axle)).survey(axle)
    objectives.parts.goal_parts(GOALS, surveyed)
    objectives.figure_parts.figure_parts(surveyed, "heave.crosstalk")
    objectives.catalogue.catalogue.describe("heave.motion_ratio")


@pytest.mark.parametrize(
    "culprit",
    [lambda a: a.__setitem__(0, 9.0), lambda a: a[::-1].sort(), lambda a: np.add(a, 1.0, out=a)],
    ids=["an element", "its order", "in place"],
)
def test_the_guard_sees_a_change(guard: Guard, culprit: Callable[[Array], object]) -> None:
    """Negative control: a function that writes into its argument fails under guard."""

    def write(axle: Axle) -> None:
        culprit(axle.rocker.pivot)

    with pytest.raises(AssertionError, match="changed its arguments"):
        guard(write)(front())


def test_the_guard_sees_a_key_added(guard: Guard) -> None:
    def write(values: dict[str, float]) -> None:
        values["more"] = 1.0

    with pytest.raises(AssertionError, match="make-up"):
        guard(write)({"one": 1.0})
