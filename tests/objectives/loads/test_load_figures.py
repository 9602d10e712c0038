"""Figures of load cases: what they read, when they are there, and that parts and searches see the same."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Axle
from objectives.case_table import case_table
from objectives.catalogue.catalogue import describe, figure_names
from objectives.evaluate import Evaluation, Evaluator, evaluate
from objectives.figure_parts import figure_parts
from objectives.fittings.fitted import NOTHING_FITTED, Fittings
from objectives.fittings.springs import OpposedSprings
from objectives.goals import Limit, violations
from objectives.parts import goal_parts
from objectives.readings import FigureStatus
from objectives.survey import Survey
from tests.axles import front, front_on_link, rear, rear_on_upper_wishbone, travel_of, with_bars
from tests.batches import pick, scatter
from tests.fitted import CASES, case, coil, fittings_for


def load_names(axle: Axle, fittings: Fittings) -> list[str]:
    found = figure_names(axle, fittings)
    return [name for name in found if name.startswith("link.") or name in OF_AXLE]


OF_AXLE = ("axle.travel_reserve", "rod.force_max", "rod.tension_max", "rod.buckling_factor", "rocker.pivot_force_max")


def measured(axle: Axle, fittings: Fittings) -> Evaluation:
    return evaluate(axle, travel_of(axle), load_names(axle, fittings), fittings)


def surveyed(axle: Axle, fittings: Fittings) -> Survey:
    return Evaluator(travel_of(axle), fittings=fittings).survey(axle)


def test_the_names_follow_what_is_fitted_and_what_carries_the_rod() -> None:
    links = [f"link.{name}.force" for name in front().links]
    assert load_names(front(), fittings_for(front())) == [*OF_AXLE, *links]
    on_link = load_names(front_on_link(), fittings_for(front()))
    assert "link.lower_front.bending" in on_link
    assert sum(name.endswith("bending") for name in on_link) == 1
    assert load_names(front(), NOTHING_FITTED) == []
    unsprung = Fittings(loads=replace(fittings_for(front()).loads, rod_tube=None))
    assert load_names(front(), unsprung) == ["rod.force_max", "rod.tension_max", *links]


def test_each_is_the_extreme_of_the_table_of_cases() -> None:
    # The table reads one case and side after the other; the figures read the whole array.
    axle, fittings = front_on_link(), fittings_for(front_on_link())
    figures = measured(axle, fittings).values
    sides = [side for row in case_table(surveyed(axle, fittings)) for side in (row.left, row.right)]
    rods = [side.rod or 0.0 for side in sides]
    assert figures["rod.force_max"] == pytest.approx(max(rods), rel=1e-12)
    assert figures["rod.tension_max"] == pytest.approx(-min(rods), rel=1e-12)
    assert figures["rocker.pivot_force_max"] == pytest.approx(max(side.pivot or 0.0 for side in sides), rel=1e-12)
    assert figures["rod.buckling_factor"] == pytest.approx(
        min(side.buckling_factor for side in sides if side.buckling_factor), rel=1e-12
    )
    bends = [side.bending["lower_front"] or 0.0 for side in sides]
    assert figures["link.lower_front.bending"] == pytest.approx(max(bends), rel=1e-12)
    for name in axle.links:
        forces = [side.links[name] or 0.0 for side in sides]
        # The carrier's outboard end may carry more than its inboard end, which the table shows.
        largest = max(forces, key=abs)
        assert abs(figures[f"link.{name}.force"]) >= abs(largest) * (1 - 1e-12)
        if name != "lower_front":
            assert figures[f"link.{name}.force"] == pytest.approx(largest, rel=1e-12)
    reserves = [min(48.0 - (side.travel or 0.0), (side.travel or 0.0) + 45.0) for side in sides]
    assert figures["axle.travel_reserve"] == pytest.approx(min(reserves), rel=1e-12)


def test_numbers_of_the_shipped_study() -> None:
    # Linear estimate: 138.9 and 95.7 N/mm per wheel carry the kerb case at 2990 / 138.9 = 21.5 mm of heave and
    # 2615 / 95.7 = 27.3 mm of roll; the rising rate holds it back by some 2 mm of each.
    fittings = fittings_for(front())
    three = {name: CASES[name] for name in ("kerb", "corner", "brake")}
    rows = case_table(surveyed(front(), replace(fittings, loads=replace(fittings.loads, cases=three))))
    kerb = rows[0]
    assert kerb.status == "ok"
    assert kerb.heave == pytest.approx(19.6, abs=0.05)
    assert kerb.roll == pytest.approx(25.6, abs=0.05)
    assert kerb.left.rod == pytest.approx(13003, abs=1)
    assert kerb.left.buckling_factor == pytest.approx(2.07, abs=0.01)
    assert kerb.elements["roll"].notes == ()
    assert [row.name for row in rows] == ["kerb", "corner", "brake"]


def test_a_batch_of_figures_is_its_members() -> None:
    axles, fittings = scatter(rear(), (3,)), fittings_for(rear())
    together = measured(axles, fittings)
    for row in range(3):
        alone = measured(pick(axles, (row,), (3,)), fittings)
        for name, value in alone.values.items():
            assert together.values[name][row] == pytest.approx(float(value), rel=1e-8), name


@pytest.mark.parametrize("build", [front, rear, front_on_link])
def test_parts_are_what_the_figures_are_the_extreme_of(build: Callable[[], Axle]) -> None:
    axle = build()
    fittings = fittings_for(axle)
    survey, figures = surveyed(axle, fittings), measured(axle, fittings)
    with_parts = 0
    for name, value in figures.values.items():
        parts = figure_parts(survey, name)
        if parts is not None:
            with_parts += 1
            extreme = parts.values.max() if parts.extreme == "largest" else parts.values.min()
            assert extreme == pytest.approx(float(value), rel=1e-12), name
            assert parts.values.shape[-1] >= 2 * len(CASES)
    assert with_parts == 5 + (len(axle.rod.carried_by) == 1)


def test_goals_on_forces_are_read_in_parts() -> None:
    axles, fittings = scatter(front(), (5,)), fittings_for(front())
    goals = [Limit("rocker.pivot_force_max", at_most=9500.0), Limit("link.upper_front.force", at_least=-5000.0)]
    survey = surveyed(axles, fittings)
    values = measured(axles, fittings).values
    largest = np.stack([part.max(axis=-1) for part in goal_parts(goals, survey)], axis=-1)
    np.testing.assert_allclose(largest, violations(goals, values), rtol=1e-9)
    assert goal_parts(goals, survey)[0].shape == (5, 2 * len(CASES))


def test_a_case_past_the_travel_warns_and_one_without_balance_voids() -> None:
    fittings = fittings_for(front())
    for load, word in ((9000.0, "past_travel"), (60e3, "no_balance")):
        heavy = {"brake": CASES["brake"], "heavy": case((0, 0, load), (0, 0, 5000.0))}
        free = replace(coil("heave", 220.0), solid_length=None)
        found = measured(
            front(),
            replace(
                fittings,
                springs={**fittings.springs, "heave": free},
                loads=replace(fittings.loads, cases=heavy),
            ),
        )
        for name in OF_AXLE:
            assert FigureStatus(int(found.status[name])).word == word
            assert np.isfinite(found.values[name]) == (word == "past_travel")


def test_a_rod_that_no_case_presses_does_not_buckle() -> None:
    axle = rear_on_upper_wishbone()
    found = measured(axle, fittings_for(axle, stiffer=3.0))
    assert found.values["rod.force_max"] < 0 < found.values["rod.tension_max"]
    assert FigureStatus(int(found.status["rod.buckling_factor"])).word == "never_pressed"
    assert np.isnan(found.values["rod.buckling_factor"])


def test_the_catalogue_explains_a_links_figures_by_pattern() -> None:
    assert describe("link.upper_front.force").name == "link.NAME.force"
    assert describe("link.NAME.bending").unit == "N.m"


def test_the_table_shows_bars_in_degrees_and_both_sides_own_springs() -> None:
    axle = with_bars(front())
    row = case_table(surveyed(axle, fittings_for(axle)))[1]
    torsion, anti_roll, heave = row.elements["torsion"], row.elements["anti_roll"], row.elements["heave"]
    assert torsion.of_bar
    assert anti_roll.of_bar
    assert not heave.of_bar
    # 20 and 25 N.m/deg, no moment at static.
    assert torsion.force == pytest.approx(20.0 * (torsion.compression or 0.0), rel=1e-12)
    assert torsion.right_force == pytest.approx(20.0 * (torsion.right_compression or 0.0), rel=1e-12)
    assert anti_roll.force == pytest.approx(25.0 * (anti_roll.compression or 0.0), rel=1e-12)
    assert anti_roll.right_force is None
    assert (anti_roll.compression or 0.0) > 1


def test_the_table_says_what_is_at_its_stop() -> None:
    fittings = fittings_for(front())
    short = replace(coil("heave", 220.0), solid_length=np.asarray(150.0))
    loose = OpposedSprings("roll", np.asarray(90.0), np.asarray(300.0))
    cases = {"bump": case((0, 0, 9000), (0, 0, 9000)), "lift": case((0, 0, 2500), (0, 0, 0))}
    fitted = replace(
        fittings,
        springs={**fittings.springs, "heave": short, "roll": loose},
        loads=replace(fittings.loads, cases=cases),
    )
    bump, lift = case_table(surveyed(front(), fitted))
    assert bump.elements["heave"].notes == ("solid",)
    assert lift.elements["roll"].notes == ("one spring slack",)


def test_a_row_without_balance_shows_no_number() -> None:
    fittings = fittings_for(front())
    free = replace(coil("heave", 220.0), solid_length=None)
    loads = replace(fittings.loads, cases={"far too much": case((0, 0, 60e3), (0, 0, 60e3))})
    survey = surveyed(front(), replace(fittings, springs={**fittings.springs, "heave": free}, loads=loads))
    (row,) = case_table(survey)
    assert row.status == "no_balance"
    assert row.heave is None
    assert row.left.rod is None
    assert row.elements["heave"].force is None
    assert set(row.left.links.values()) == {None}


def test_a_table_is_of_one_axle() -> None:
    with pytest.raises(ValueError, match="pick one"):
        case_table(surveyed(scatter(front(), (2,)), fittings_for(front())))
