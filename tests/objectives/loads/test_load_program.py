"""The compiled pass over rates and load cases says what its slow twin says, figure by figure, and knows its limits."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Axle
from geometry.lanes import LANES
from objectives.catalogue.catalogue import figure_names
from objectives.evaluate import Evaluator
from objectives.fittings.fitted import NOTHING_FITTED, Fittings
from objectives.fittings.springs import CarriesWeight, CurveSpring, SeriesSprings
from objectives.goals import Band, Best, Goal, Limit, Miss
from objectives.loads.program import LoadProgram
from objectives.parts import goal_parts
from tests.axles import arm, front, front_corner, front_on_link, rear, rear_on_upper_wishbone, travel_of, with_bars
from tests.batches import scatter
from tests.fitted import CASES, case, coil, fittings_for

RATES = [
    "axle.heave_rate",
    "axle.heave_rate_spring",
    "axle.heave_rate_geometric",
    "axle.roll_rate",
    "axle.roll_rate_spring",
    "axle.roll_rate_geometric",
    "axle.one_wheel_rate",
    "axle.cross_rate",
    "axle.roll_stiffness",
    "axle.heave_rate_rise",
    "axle.roll_rate_at_bump",
]
LOADS = ["axle.travel_reserve", "rod.force_max", "rod.tension_max", "rod.buckling_factor", "rocker.pivot_force_max"]
GOALS: list[Goal] = [Limit(name, at_most=1.0) for name in (*RATES, *LOADS)]


def links_of(axle: Axle) -> list[Goal]:
    """Goals on every figure of the links."""
    found = figure_names(axle, fittings_for(axle))
    return [Limit(name, at_most=1.0) for name in found if name.startswith("link.")]


def in_lanes(axle: Axle, blocks: int = 2) -> Axle:
    """A batch laid out in lanes around an axle, wheel and links as they are."""
    return replace(scatter(axle, (blocks, LANES)), wheel=axle.wheel)


def torsion_only() -> Axle:
    """The front axle on its struts and a torsion bar."""
    axle = with_bars(front())
    return replace(axle, elements={name: one for name, one in axle.elements.items() if name != "anti_roll"})


def same_as_twin(axle: Axle, fittings: Fittings, goals: list[Goal]) -> int:
    """Compare the parts of every goal of a batch; returns how many are numbers."""
    program = LoadProgram(goals, axle, travel_of(axle), fittings)
    assert program.known == tuple(range(len(goals)))
    fast = program.run(axle)
    twin = goal_parts(goals, Evaluator(travel_of(axle), fittings=fittings).survey(axle))
    slow = np.concatenate([part.reshape(len(fast), -1) for part in twin], axis=-1)
    assert [part.shape[-1] for part in twin] == list(program.sizes)
    np.testing.assert_allclose(fast, slow, rtol=1e-9, atol=1e-8)
    return int(np.isfinite(fast).sum())


AXLES: dict[str, Callable[[], Axle]] = {
    "upright": front,
    "wishbone": rear,
    "one link": front_on_link,
    "corner struts": front_corner,
    "torsion bars": torsion_only,
}


@pytest.mark.parametrize("kind", AXLES)
def test_every_figure_of_a_batch(kind: str) -> None:
    axle = in_lanes(AXLES[kind]())
    goals = [*GOALS, *links_of(AXLES[kind]())]
    assert same_as_twin(axle, fittings_for(AXLES[kind]()), goals) > 0.9 * 2 * LANES * len(goals)


def test_links_alone() -> None:
    goals = links_of(front_on_link())
    assert goals[3].figure == "link.lower_front.bending"
    assert same_as_twin(in_lanes(front_on_link()), fittings_for(front_on_link()), goals) > 0


def test_the_eye_may_stay_where_it_is() -> None:
    axle = replace(in_lanes(front()), rod=front().rod)
    assert same_as_twin(axle, fittings_for(front()), GOALS) > 0


@pytest.mark.parametrize("form", ["band", "miss", "most", "least", "small", "large"])
def test_every_form_of_goal(form: str) -> None:
    forms: dict[str, Goal] = {
        "band": Band("rocker.pivot_force_max", 9000.0, 100.0),
        "miss": Miss("axle.roll_rate", 95.0, 1.0),
        "most": Limit("rod.force_max", at_most=12e3),
        "least": Limit("axle.travel_reserve", at_least=1.0),
        "small": Best("rocker.pivot_force_max", "minimise"),
        "large": Best("rod.buckling_factor", "maximise"),
    }
    assert same_as_twin(in_lanes(front(), 1), fittings_for(front()), [forms[form]]) > 0


def test_solid_springs_knees_and_rubbers() -> None:
    fittings = fittings_for(front())
    rubber = CurveSpring("heave", np.asarray(15.0), np.array([[0.0, 0.0], [5.0, 400.0], [10.0, 1500.0]]))
    short = replace(coil("heave", 220.0), solid_length=np.asarray(140.0))
    loads = replace(fittings.loads, cases={**CASES, "lift": case((0, 0, 2500), (0, 0, 0))})
    fitted = Fittings({**fittings.springs, "heave": short, "rubber": rubber}, loads=loads)
    assert same_as_twin(in_lanes(front()), fitted, GOALS) > 0


def test_a_static_force_that_misses_the_weight() -> None:
    fittings = fittings_for(front())
    wrong = replace(fittings, springs={**fittings.springs, "heave": coil("heave", 220.0, static=3500.0)})
    assert same_as_twin(in_lanes(front()), wrong, GOALS) > 0


def test_candidates_that_cannot_be_and_cases_without_rest_are_null_alike() -> None:
    # Arms so short that the loop opens within or before the travel, and a case that no candidate can carry.
    axle = in_lanes(front())
    lengths = np.linspace(8.0, 76.0, 2 * LANES).reshape(2, LANES)
    rocker = replace(axle.rocker, rod=replace(arm(76, 52, 0), length=lengths))
    free = replace(coil("heave", 220.0), solid_length=None)
    fittings = fittings_for(front())
    springs = {**fittings.springs, "heave": free}
    assert same_as_twin(replace(axle, rocker=rocker), replace(fittings, springs=springs), GOALS) > 0
    heavy = replace(fittings.loads, cases={"far too much": case((0, 0, 60e3), (0, 0, 60e3))})
    assert same_as_twin(axle, Fittings(springs, loads=heavy), [Limit("rod.force_max", at_most=1.0)]) == 0


def test_a_rest_on_a_crest_is_none() -> None:
    # No roll spring, and a heave strut whose force tips the axle over: level in heave, but it would not stay.
    axle = in_lanes(rear_on_upper_wishbone())
    fittings = fittings_for(rear_on_upper_wishbone(), stiffer=3.0)
    loads = replace(fittings.loads, cases={"brake": CASES["brake"]})
    tipping = Fittings({"heave": fittings.springs["heave"]}, loads=loads)
    assert same_as_twin(axle, tipping, [Limit("rod.tension_max", at_most=1.0)]) == 0
    held = Fittings(fittings.springs, loads=loads)
    assert same_as_twin(axle, held, [Limit("rod.tension_max", at_most=1.0)]) > 0


def test_a_candidate_does_not_depend_on_its_batch() -> None:
    axle, fittings = in_lanes(front()), fittings_for(front())
    program = LoadProgram(GOALS, axle, travel_of(axle), fittings)
    both = program.run(axle)
    pickups = {
        name: replace(end, length=end.length[1:], angle=end.angle[1:], offset=end.offset[1:])
        for name, end in axle.rocker.pickups.items()
        if not isinstance(end, np.ndarray)
    }
    rod = axle.rocker.rod
    assert not isinstance(rod, np.ndarray)
    rocker = replace(
        axle.rocker,
        pivot=axle.rocker.pivot[1:],
        rod=replace(rod, length=rod.length[1:], angle=rod.angle[1:], offset=rod.offset[1:]),
        pickups=pickups,
    )
    second = replace(axle, rod=replace(axle.rod, outboard=axle.rod.outboard[1:]), rocker=rocker)
    np.testing.assert_array_equal(program.run(second), both[LANES:])


def test_only_what_is_fitted_is_known() -> None:
    axle = in_lanes(front())
    fittings = fittings_for(front())
    no_cases = replace(fittings, loads=replace(fittings.loads, cases={}))
    no_tube = replace(fittings, loads=replace(fittings.loads, rod_tube=None))
    link = "link.upper_front.force"
    goals: list[Goal] = [*GOALS, Limit("heave.motion_ratio", at_most=1.0), Limit(link, at_most=1.0)]

    def known(fitted: Fittings) -> set[str]:
        return {goals[place].figure for place in LoadProgram(goals, axle, travel_of(axle), fitted).known}

    assert known(fittings) == {*RATES, *LOADS, link}
    assert known(no_cases) == set(RATES)
    assert known(no_tube) == {*RATES, *LOADS, link} - {"rod.buckling_factor"}
    assert known(NOTHING_FITTED) == set()


def test_what_the_pass_has_not_is_left_to_the_twin() -> None:
    fittings = fittings_for(front())
    links = scatter(front(), (2, LANES), links=True)
    assert LoadProgram(GOALS, links, travel_of(front()), fittings).known == ()
    barred = in_lanes(with_bars(front()))
    assert LoadProgram(GOALS, barred, travel_of(front()), fittings_for(with_bars(front()))).known == ()
    series = SeriesSprings("heave", (np.asarray(150.0), np.asarray(400.0)), np.asarray(20.0), CarriesWeight())
    bent = replace(fittings, springs={**fittings.springs, "heave": series})
    assert LoadProgram(GOALS, in_lanes(front()), travel_of(front()), bent).known == ()


def test_series_springs_with_a_given_force_are_known() -> None:
    fittings = fittings_for(front())
    series = SeriesSprings("heave", (np.asarray(900.0), np.asarray(300.0)), np.asarray(8.0), np.asarray(4077.0))
    fitted = replace(fittings, springs={**fittings.springs, "heave": series})
    assert same_as_twin(in_lanes(front()), fitted, GOALS) > 0
