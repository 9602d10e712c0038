"""Figures of springs, dampers and bars, each measured a second time in a plain way."""

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Axle
from geometry.lanes import KERNEL, LANES
from geometry.motion import move
from geometry.squeeze import Squeeze
from geometry.travel import AxleStates, grid_states, heave_states, rack_states, roll_states, travel_points
from objectives.catalogue.catalogue import FIGURES, describe, figure_names
from objectives.evaluate import Evaluator, evaluate, measure
from objectives.fittings.fitted import NOTHING_FITTED, Fittings
from objectives.fittings.forces import law_of
from objectives.fittings.loads import Loads
from objectives.fittings.springs import CarriesWeight, CoilSpring, OpposedSprings
from objectives.goals import Goal, held, objective_values, objectives, violations
from objectives.parts import goal_parts
from objectives.readings import FigureStatus
from objectives.survey import UprightMemory, survey
from tests.axles import arm, front, travel_of
from tests.batches import pick, scatter
from tests.forms import FORMS
from tests.on_springs import FITTED, WEIGHT, FittedAxle, bars, corners, knees, number, plain, unbalanced, under_cases


def values(fitted: FittedAxle) -> Mapping[str, float]:
    found = evaluate(fitted.axle, travel_of(fitted.axle), None, fitted.fittings)
    return {name: float(value) for name, value in found.values.items()}


def word(fitted: FittedAxle, name: str) -> str:
    found = evaluate(fitted.axle, travel_of(fitted.axle), [name], fitted.fittings)
    return FigureStatus(int(found.status[name])).word


def squeezed(axle: Axle, name: str, states: AxleStates) -> Squeeze:
    return move(axle, states).squeeze(name)


def everywhere(axle: Axle, name: str) -> Array:
    """Compression over every state of heave and roll together and of the rack."""
    travel = travel_of(axle)
    grid = squeezed(axle, name, grid_states(travel)).compression
    if travel.rack is None:
        return grid
    rack = squeezed(axle, name, rack_states(travel_points(travel.rack, travel.step))).compression
    return np.concatenate([grid, rack])


STATIC = heave_states(np.zeros(1))


def test_forces_are_those_of_the_springs_alone() -> None:
    fitted = plain()
    found = values(fitted)
    ratio = found["heave.motion_ratio"]
    assert found["heave.force_static"] == pytest.approx(2 * WEIGHT / ratio)
    c = everywhere(fitted.axle, "heave")
    most = np.abs(np.maximum(2 * WEIGHT / ratio + 220 * c, 0.0)).max()
    assert found["heave.force_max"] == pytest.approx(most)
    assert found["roll.force_max"] == pytest.approx(180 * np.abs(everywhere(fitted.axle, "roll")).max())


def test_a_spring_goes_slack_at_the_travel_told() -> None:
    fitted = plain()
    found = values(fitted)
    slack = -found["heave.slack_travel"]
    assert -30 < slack < 0
    c = squeezed(fitted.axle, "heave", heave_states(np.array([slack]))).compression[0]
    assert c == pytest.approx(-found["heave.force_static"] / 220, abs=1e-7)


def test_a_spring_that_does_not_go_slack_tells_the_end_of_the_travel() -> None:
    fitted = plain()
    stiffer = CoilSpring("heave", number(100.0), CarriesWeight())
    soft = replace(fitted, fittings=replace(fitted.fittings, springs={"heave": stiffer}))
    assert values(soft)["heave.slack_travel"] == 30.0
    assert word(soft, "heave.slack_travel") == "beyond_travel"


def test_one_of_a_pair_lets_go_at_the_travel_told() -> None:
    fitted = knees()
    knee = values(fitted)["roll.knee_travel"]
    r = np.array([knee, -knee])
    c = np.abs(squeezed(fitted.axle, "roll", roll_states(r)).compression)
    assert c.max() == pytest.approx(10.0, abs=1e-7)
    firm = OpposedSprings("roll", number(90.0), number(9000.0))
    held_on = replace(fitted, fittings=replace(fitted.fittings, springs={"roll": firm}))
    assert values(held_on)["roll.knee_travel"] == 26.0
    assert word(held_on, "roll.knee_travel") == "beyond_travel"


def test_the_solid_reserve_is_left_at_the_most_squeezed_state() -> None:
    fitted = knees()
    found = values(fitted)
    most = everywhere(fitted.axle, "heave").max()
    assert found["heave.solid_reserve"] == pytest.approx(190 - found["heave.force_static"] / 220 - 136 - most)
    assert found["heave.solid_reserve"] < 0
    assert "roll.solid_reserve" not in found


@pytest.mark.parametrize("kind", FITTED)
def test_rates_are_slopes_of_the_wheel_forces(kind: str) -> None:
    """The vertical forces at the wheels by virtual work, from compressions and laws alone, and their differences."""
    fitted = FITTED[kind]()
    found = values(fitted)
    h = 1e-3 * np.arange(-2.0, 3.0)
    fifth = np.array([1.0, -8.0, 0.0, 8.0, -1.0]) / 12e-3
    for states, at in ((heave_states(h), "heave"), (roll_states(h), "roll")):
        left, right = wheel_forces(fitted, states)
        mean = 0.5 * (left + right) if at == "heave" else 0.5 * (left - right)
        assert found[f"axle.{at}_rate"] == pytest.approx(float(fifth @ mean), rel=1e-5), at
        crossed = 0.5 * (left - right) if at == "heave" else 0.5 * (left + right)
        assert found["axle.cross_rate"] == pytest.approx(float(fifth @ crossed), abs=1e-3)
    alone = wheel_forces(fitted, AxleStates(h, np.zeros(5), np.zeros(5)))[0]
    assert found["axle.one_wheel_rate"] == pytest.approx(float(fifth @ alone), rel=1e-5)
    track = 2 * fitted.axle.wheel.centre[1]
    per_degree = found["axle.roll_rate"] * track**2 / 2 / 1000 * np.radians(1.0)
    assert found["axle.roll_stiffness"] == pytest.approx(per_degree)


def wheel_forces(fitted: FittedAxle, states: AxleStates) -> tuple[Array, Array]:
    """Vertical force at the left and the right wheel (S,)."""
    axle, fittings = fitted.axle, fitted.fittings
    turned = AxleStates(states.z_right, states.z_left, -states.rack)
    left, right = np.zeros(len(states)), np.zeros(len(states))
    for name in axle.elements:
        here, there = squeezed(axle, name, states), squeezed(axle, name, turned)
        static = float(evaluate(axle, travel_of(axle), [_static(name, axle)], fittings).values[_static(name, axle)])
        static *= 1000.0 if name not in axle.struts else 1.0
        for spring in fittings.on(name):
            law = law_of(spring, np.asarray(static - _others(fittings, name)))
            left += law.force(here.compression) * here.by_left
            right += law.force(here.compression) * here.by_right
            if name in ("corner", "torsion"):
                right += law.force(there.compression) * there.by_left
    return left, right


def _static(name: str, axle: Axle) -> str:
    return f"{name}.force_static" if name in axle.struts else f"{name}.moment_static"


def _others(fittings: Fittings, name: str) -> float:
    """Static force of the springs on an element that do not carry the weight."""
    written = [spring for spring in fittings.on(name) if not isinstance(getattr(spring, "static", None), CarriesWeight)]
    return sum(float(law_of(spring).force(np.zeros(1))[0]) for spring in written)


@pytest.mark.parametrize("build", [plain, corners, bars, unbalanced])
def test_rates_at_bump_are_the_slopes_there(build: Callable[[], FittedAxle]) -> None:
    fitted = build()
    found = values(fitted)
    bump, h = travel_of(fitted.axle).heave[1], 1e-3 * np.arange(-2.0, 3.0)
    fifth = np.array([1.0, -8.0, 0.0, 8.0, -1.0]) / 12e-3
    left, right = wheel_forces(fitted, heave_states(bump + h))
    at_bump = float(fifth @ (left + right)) / 2
    assert found["axle.heave_rate_rise"] == pytest.approx(100 * (at_bump / found["axle.heave_rate"] - 1), abs=1e-3)
    left, right = wheel_forces(fitted, AxleStates(bump + h, bump - h, np.zeros(5)))
    assert found["axle.roll_rate_at_bump"] == pytest.approx(float(fifth @ (left - right)) / 2, rel=1e-5)


def test_parts_of_a_rate_add_up() -> None:
    found = values(knees())
    for mode in ("heave", "roll"):
        parts = found[f"axle.{mode}_rate_spring"] + found[f"axle.{mode}_rate_geometric"]
        assert parts == pytest.approx(found[f"axle.{mode}_rate"])


def test_the_static_balance_tells_its_miss() -> None:
    assert values(plain())["axle.static_miss"] == pytest.approx(0.0, abs=1e-9)
    fitted = unbalanced()
    found = values(fitted)
    heave, roll = (squeezed(fitted.axle, name, STATIC) for name in ("heave", "roll"))
    left = 4000 * heave.by_left[0] + 200 * roll.by_left[0]
    right = 4000 * heave.by_right[0] + 200 * roll.by_right[0]
    assert found["axle.static_miss"] == pytest.approx((left + right) / 2 - 2600)
    assert found["axle.static_lean"] == pytest.approx((left - right) / 2)
    assert abs(found["axle.static_lean"]) > 50


def test_damping_is_felt_at_the_wheels_by_virtual_work() -> None:
    fitted = plain()
    found = values(fitted)
    ratio = found["heave.motion_ratio"]
    bump = np.interp(0.05 * ratio, [0.0, 0.05, 0.25], [0.0, 500.0, 1300.0]) * ratio / 2
    rebound = np.interp(0.05 * ratio, [0.0, 0.05, 0.25], [0.0, 900.0, 2600.0]) * ratio / 2
    assert found["heave.bump_force_slow"] == pytest.approx(bump)
    assert found["heave.rebound_force_slow"] == pytest.approx(rebound)
    assert found["heave.wheel_damping"] == pytest.approx((bump + rebound) / 0.1)
    corner = corners()
    own = values(corner)
    size = own["corner.motion_ratio"]
    fast = np.interp(0.25 * size, [0.0, 0.05, 0.25], [0.0, 500.0, 1300.0]) * size
    assert own["corner.bump_force_fast"] == pytest.approx(fast)


def test_bars_twist() -> None:
    fitted = bars()
    found = values(fitted)
    h = 1e-3 * np.arange(-2.0, 3.0)
    fifth = np.array([1.0, -8.0, 0.0, 8.0, -1.0]) / 12e-3
    rolled = np.degrees(squeezed(fitted.axle, "anti_roll", roll_states(h)).compression)
    heaved = np.degrees(squeezed(fitted.axle, "torsion", heave_states(h)).compression)
    assert found["anti_roll.twist_ratio"] == pytest.approx(float(fifth @ rolled), rel=1e-8)
    assert found["torsion.twist_ratio"] == pytest.approx(float(fifth @ heaved), rel=1e-8)
    most = np.degrees(np.abs(everywhere(fitted.axle, "anti_roll")).max())
    assert found["anti_roll.twist_max"] == pytest.approx(most)
    assert found["anti_roll.moment_max"] == pytest.approx(25 * most)
    assert found["torsion.moment_static"] == pytest.approx(WEIGHT / np.radians(found["torsion.twist_ratio"]) / 1000)


def test_only_what_is_fitted_is_listed() -> None:
    bare = figure_names(front())
    assert not [name for name in bare if name.startswith("axle.") or "force" in name or "twist" in name]
    straight = set(figure_names(plain().axle, plain().fittings)) - set(bare)
    assert {"heave.slack_travel", "axle.static_miss", "heave.wheel_damping"} <= straight
    assert not {"roll.slack_travel", "heave.knee_travel", "heave.solid_reserve"} & straight
    kneed = set(figure_names(knees().axle, knees().fittings))
    assert {"roll.knee_travel", "heave.solid_reserve"} <= kneed
    assert "roll.wheel_damping" not in kneed
    weightless = replace(unbalanced().fittings, loads=Loads(None))
    assert "axle.static_miss" not in figure_names(unbalanced().axle, weightless)
    barred = figure_names(bars().axle, bars().fittings)
    assert {"torsion.twist_ratio", "anti_roll.moment_max"} <= set(barred)
    assert not {"torsion.length_min", "anti_roll.motion_ratio", "torsion.force_max", "heave.twist_max"} & set(barred)


def test_a_figure_of_what_is_not_fitted_is_null_and_says_why() -> None:
    axle = front()
    surveyed = survey(axle, travel_of(axle), UprightMemory(), fittings=NOTHING_FITTED)
    needy = [figure for figure in FIGURES if not figure.fitted(NOTHING_FITTED, "heave") and not figure.of_link]
    ours = [figure for figure in needy if figure.of != "bar" and "case" not in figure.definition]
    assert len(ours) > 20
    for figure in ours:
        reading = measure(surveyed, figure.name.replace("E.", "heave."))
        assert np.isnan(reading.value), figure.name
        assert FigureStatus(int(reading.status)) is FigureStatus.NOTHING_FITTED, figure.name


def test_a_bar_says_why_it_has_no_length() -> None:
    fitted = bars()
    assert describe("E.length_min").void_for(fitted.axle, "torsion", fitted.fittings) == FigureStatus.OF_STRUTS
    assert describe("E.twist_max").void_for(fitted.axle, "heave", fitted.fittings) == FigureStatus.OF_BARS
    assert describe("E.force_max").void_for(fitted.axle, "roll", fitted.fittings) == FigureStatus.NOTHING_FITTED


@pytest.mark.parametrize("kind", FITTED)
def test_a_batch_is_a_loop(kind: str) -> None:
    fitted = FITTED[kind]()
    batch = scatter(fitted.axle, (2, 3), links=False, size=1.5)
    travel = travel_of(fitted.axle)
    together = evaluate(batch, travel, None, fitted.fittings)
    for index in np.ndindex((2, 3)):
        one = evaluate(pick(batch, index, (2, 3)), travel, None, fitted.fittings)
        for name, value in together.values.items():
            assert value.shape == (2, 3), name
            np.testing.assert_allclose(value[index], one.values[name], rtol=1e-8, atol=1e-7, err_msg=name)
            assert together.status[name][index] == one.status[name], name


@pytest.mark.parametrize("kind", FITTED)
def test_the_compiled_kernel_measures_the_same(kind: str) -> None:
    fitted = FITTED[kind]()
    travel, batch = travel_of(fitted.axle), scatter(fitted.axle, (1, LANES), links=False, size=1.5)
    names = figure_names(fitted.axle, fitted.fittings)
    fast = Evaluator(travel, names, KERNEL, fitted.fittings).evaluate(batch)
    slow = Evaluator(travel, names, fittings=fitted.fittings).evaluate(batch)
    for name in names:
        np.testing.assert_allclose(fast.values[name], slow.values[name], rtol=1e-8, atol=1e-7, err_msg=name)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("kind", FITTED)
def test_the_largest_part_is_the_goal(kind: str, form: str) -> None:
    fitted = FITTED[kind]()
    axle = scatter(fitted.axle, (3,), links=False)
    bare = set(figure_names(fitted.axle))
    names = [name for name in figure_names(axle, fitted.fittings) if name not in bare or "twist" in name]
    goals: list[Goal] = [FORMS[form](name) for name in names]
    evaluator = Evaluator(travel_of(axle), names, fittings=fitted.fittings)
    found = evaluator.evaluate(axle).values
    whole = objective_values(goals, found) if objectives(goals) else violations(goals, found)
    assert bool(held(goals)) != bool(objectives(goals))
    parts = np.stack([part.max(axis=-1) for part in goal_parts(goals, evaluator.survey(axle))], axis=-1)
    assert np.isfinite(whole).all()
    np.testing.assert_allclose(parts, whole, rtol=1e-9, atol=1e-9)


def test_a_geometry_that_cannot_move_has_null_figures_and_says_so() -> None:
    fitted = knees()
    short = replace(fitted.axle, rocker=replace(fitted.axle.rocker, rod=arm(12, 52, 0)))
    found = evaluate(short, travel_of(short), None, fitted.fittings)
    for name in ("heave.force_max", "heave.slack_travel", "roll.knee_travel", "heave.solid_reserve"):
        assert np.isnan(found.values[name]), name
        assert FigureStatus(int(found.status[name])).word in ("unreachable", "over_centre"), name


def test_a_weight_that_hangs_on_nothing_is_told() -> None:
    fitted = plain()
    pickups = {**fitted.axle.rocker.pickups, "heave": arm(60, 0, 0)}
    idle = replace(fitted, axle=replace(fitted.axle, rocker=replace(fitted.axle.rocker, pickups=pickups)))
    for name in ("heave.force_static", "axle.heave_rate", "axle.static_miss", "heave.slack_travel"):
        assert np.isnan(values(idle)[name])
        assert word(idle, name) == "no_motion"


def test_springs_may_differ_from_candidate_to_candidate() -> None:
    fitted = knees()
    rng = np.random.default_rng(6)
    rates, preloads = rng.uniform(150, 250, 5), rng.uniform(300, 1200, 5)
    lengths = rng.uniform(130, 140, 5)

    def springs(rate: Array, preload: Array, length: Array) -> Fittings:
        heave = CoilSpring("heave", rate, CarriesWeight(), number(190.0), length)
        both = {**fitted.fittings.springs, "heave": heave, "roll": OpposedSprings("roll", number(90.0), preload)}
        return replace(fitted.fittings, springs=both)

    axle, travel = scatter(fitted.axle, (5,), links=False, size=1.0), travel_of(fitted.axle)
    together = evaluate(axle, travel, None, springs(rates, preloads, lengths))
    for index in range(5):
        alone = springs(*(np.asarray(each[index]) for each in (rates, preloads, lengths)))
        one = evaluate(pick(axle, (index,), (5,)), travel, None, alone)
        for name, value in together.values.items():
            np.testing.assert_allclose(value[index], one.values[name], rtol=1e-8, atol=1e-7, err_msg=name)


def test_no_candidates_have_no_figures() -> None:
    fitted = knees()
    found = evaluate(scatter(fitted.axle, (0,), links=False), travel_of(fitted.axle), None, fitted.fittings)
    assert all(value.shape == (0,) for value in found.values.values())


@pytest.mark.parametrize("build", [plain, knees, corners, bars, under_cases])
def test_a_goal_has_as_many_parts_for_candidates_that_fail(build: Callable[[], FittedAxle]) -> None:
    fitted = build()
    short = replace(fitted.axle, rocker=replace(fitted.axle.rocker, rod=arm(12, 52, 0)))
    travel, names = travel_of(fitted.axle), figure_names(fitted.axle, fitted.fittings)
    evaluator = Evaluator(travel, names, fittings=fitted.fittings)
    none = scatter(fitted.axle, (0,), links=False)
    for form in FORMS.values():
        goals = [form(name) for name in names]
        sizes = [
            [part.shape[-1] for part in goal_parts(goals, evaluator.survey(axle))] for axle in (fitted.axle, short)
        ]
        assert sizes[0] == sizes[1]
        assert max(sizes[0]) > 100
    assert [part.shape[0] for part in goal_parts(goals, evaluator.survey(none))] == [0] * len(goals)
