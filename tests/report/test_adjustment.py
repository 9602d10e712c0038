"""Turns and holes as they are shown, handed over and verified; the choice of a hole as a front shows it."""

import json
from dataclasses import replace
from functools import cache
from typing import cast

import numpy as np
import pytest

from geometry.axle import Axle
from geometry.hardpoints import place
from objectives.adjustment.records import Adjustments, RodThread
from objectives.adjustment.table import adjustment_table
from objectives.fittings.fitted import Fittings
from optimiser.report.analysis.adjust_document import adjustment_json
from optimiser.report.analysis.adjust_tables import adjust_tables
from optimiser.report.analysis.document import to_json
from optimiser.report.analysis.record import analyse
from optimiser.report.front.frame import frame
from optimiser.report.front.table import front_lines
from optimiser.report.handoff.document import handoff_document
from optimiser.report.handoff.text import as_text
from optimiser.report.handoff.verify import verify
from optimiser.report.results.manifest import VariableEntry
from optimiser.report.tables.cells import View
from optimiser.study.adjust_tree import adjust_in_words, adjust_tree, at_points
from optimiser.study.portrait import portray
from optimiser.study.read import read_text
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates
from tests.axles import front, front_corner, front_on_link, travel_of, with_bars
from tests.fitted import fittings_for
from tests.report.fronts import VARIABLES, store, table
from tests.report.handed_over import CONFIGS, ORIGIN, Document, at, edited, read_back, resealed, shipped

ANGLED = "adjust: {rocker.pickups.heave: {holes: [{length: 72}, {length: 76, angle: 80}]}}\n"
ADJUST = Adjustments(RodThread(2.5, (-1.0, 0.5)), {"heave": ({"length": 72.0}, {"length": 76.0})})
HOLE = "rocker.pickups.heave.hole"


@cache
def settable(name: str = "front", step: float = 13.0) -> Study:
    """A shipped study with a thread and two holes."""
    study = shipped(name, step)
    return replace(study, fittings=replace(study.fittings, adjust=ADJUST))


@cache
def handed(name: str = "front") -> Document:
    return read_back(handoff_document(settable(name), settable(name).axle, ORIGIN))


def test_json_has_every_row_with_both_states_and_what_is_to_be_re_set() -> None:
    document = json.loads(json.dumps(to_json(analyse(settable())), allow_nan=False))["adjustment"]
    assert document["held_up_by"] == "length"
    assert [row["turns"] for row in document["rod"]] == [-1.0, 0.0, 0.5]
    assert [row["rod"] for row in document["rod"]] == [-2.5, 0.0, 1.25]
    holes = document["rocker.pickups.heave"]
    assert [row["hole"] for row in holes] == [0, 1]
    assert document["rod"][2]["ride_height"] > 2.0
    assert document["rod"][0]["rod_reset"] == 2.5
    ratio = [row["held"]["heave.motion_ratio"] / document["drawn"]["heave.motion_ratio"] for row in holes]
    assert ratio[0] == pytest.approx(72.0 / 74.43, rel=1e-9)
    assert set(holes[0]["strut_reset"]) == {"heave", "roll"}
    assert set(holes[0]["settled"]) == set(document["drawn"])
    assert "adjustment" not in to_json(analyse(shipped("front", 13.0)))


@pytest.mark.parametrize("name", ["front", "front_sprung"])
def test_tables_read_within_their_width(name: str) -> None:
    study = settable(name)
    lines = list(adjust_tables(adjustment_table(study.axle, study.travel, study.fittings), View()))
    text = "\n".join(lines)
    assert max(map(len, lines)) <= 100
    assert "TURNS OF THE RODS  2.5 mm a turn" in text
    assert "HOLES OF ROCKER.PICKUPS.HEAVE" in text
    assert "0 length 72" in text
    assert "1 length 76" in text
    assert ("one rod" in text) is (name == "front_sprung")
    assert ("No spring holds the body" in text) is (name == "front")
    assert list(adjust_tables(None, View())) == []


def test_turns_that_change_a_ratio_too_much_are_told() -> None:
    study = settable()
    for turns, told in (((-1.0, 1.0), False), ((-5.0, 0.0), True)):
        adjust = Adjustments(RodThread(2.5, turns))
        text = "\n".join(adjust_tables(adjustment_table(study.axle, study.travel, Fittings(adjust=adjust)), View()))
        assert ("the turns change heave.motion_ratio by up to" in text) is told


def test_corner_struts_and_unreachable_rows_have_tables_too() -> None:
    axle = front_corner()
    adjust = Adjustments(RodThread(100.0, (-1.0, 2.0)))
    lines = list(adjust_tables(adjustment_table(axle, travel_of(axle), Fittings(adjust=adjust)), View()))
    assert any(" - " in line for line in lines)
    springs = replace(fittings_for(axle), adjust=adjust)
    assert adjustment_json(adjustment_table(axle, travel_of(axle), springs))["held_up_by"] == "springs"


def test_the_section_is_written_as_it_was_read() -> None:
    tree = adjust_tree(ADJUST)
    assert tree["rod"] == {"thread": 2.5, "turns": [-1.0, 0.5]}
    assert adjust_in_words(ADJUST)[0] == "rod: 2.5 mm of length a turn, -1 to +0.5 turns from as drawn"
    portrait = portray(settable())
    assert portrait.adjust[1].startswith("rocker.pickups.heave: holes 0 (length 72), 1 (length 76")
    assert portrait.fittings["adjust"] == tree
    study = settable()
    placed = at_points(study.axle, ADJUST)
    again = read_text(as_text(handed()), "handed.yaml")
    assert again.fittings.adjust == placed
    assert at_points(again.axle, again.fittings.adjust) == placed


@pytest.mark.parametrize("name", ["rear", "front_sprung"])
def test_a_hand_off_carries_the_table_and_verifies(name: str) -> None:
    document = handed(name)
    assert [at(document, "adjustment", "rod", row, "turns") for row in range(3)] == [-1.0, 0.0, 0.5]
    found = verify(document, "handed")
    assert found.differences == ()
    assert any(path.startswith("adjustment.") for path in cast(dict[str, object], document["seals"]))


@pytest.mark.parametrize(
    "path",
    [
        ("rod", 0, "ride_height"),
        ("rod", 2, "settled", "heave.motion_ratio"),
        ("rocker.pickups.heave", 1, "held", "roll.crosstalk"),
        ("rocker.pickups.heave", 0, "rod_reset"),
        ("rocker.pickups.heave", 0, "strut_reset", "heave"),
        ("drawn", "heave.crosstalk"),
    ],
)
def test_an_edited_row_is_named_even_under_a_new_seal(path: tuple[str | int, ...]) -> None:
    whole = ("adjustment", *path)
    forged = resealed(edited(handed(), whole, lambda value: float(str(value)) * 1.001 + 1e-5))
    assert [one.path for one in verify(forged, "forged").differences] == [".".join(str(part) for part in whole)]


def test_a_hole_moved_and_a_table_left_out_are_named() -> None:
    moved = edited(handed(), ("adjust", "rocker.pickups.heave", "holes", 0, 1), lambda value: float(str(value)) + 0.1)
    paths = [one.path for one in verify(moved, "moved").differences]
    assert any(path.startswith("adjust.rocker.pickups.heave") for path in paths)
    assert any(path.startswith("adjustment.rocker.pickups.heave.0") for path in paths)
    missing = resealed({key: value for key, value in handed().items() if key != "adjustment"})
    assert [one.path for one in verify(missing, "missing").differences] == ["adjustment"]


def test_the_chosen_hole_is_handed_over_as_the_geometry_and_the_holes_stay() -> None:
    """The first hole keeps the angle that is written, whichever hole is chosen."""
    text = (CONFIGS / "front.yaml").read_text()
    for vary in ("rocker.pickups.heave.length", "rocker.pickups.heave.angle"):
        text = "\n".join(line for line in text.split("\n") if not line.startswith(f"  {vary}:"))
    chosen = read_text(text.replace("vary:\n", f"{ANGLED}vary:\n  {HOLE}: [0, 1]\n"), "angled.yaml")
    x = np.tile(base_point(chosen), (2, 1))
    x[:, 0] = [0.0, 1.0]
    document = read_back(handoff_document(chosen, candidates(chosen, x[1]), ORIGIN))
    holes = np.array(at(document, "adjust", "rocker.pickups.heave", "holes"), dtype=np.float64)
    chosen_point = np.array(at(document, "axle", "rocker", "pickups", "heave"), dtype=np.float64)
    np.testing.assert_allclose(chosen_point, holes[1], atol=1e-12)
    np.testing.assert_allclose(holes, place(candidates(chosen, x)).pickups["heave"], atol=1e-12)
    row = at(document, "adjustment", "rocker.pickups.heave", 1, "ride_height")
    assert float(str(row)) == pytest.approx(0.0, abs=1e-9)


def test_a_front_shows_the_choice_and_calls_it_no_bound() -> None:
    low, high = 0.0, 2.0
    rows = [(low, -110, 1.1, 5.0, 2.0, 0.5, 280, 40), (high, -110, 1.1, 6.0, 2.5, 0.5, 270, 40)]
    held = store(table([1, 2], rows), base=table([0], [(1.0, -110, 1.1, 4.0, 2.0, 0.5, 290, 40)]))
    chosen = (replace(VARIABLES[0], low=low, high=high, choices=(0.0, 1.0, 2.0)), VARIABLES[1])
    shown = frame(replace(held, manifest=replace(held.manifest, variables=chosen)))
    assert [shown.bounds(row) for row in range(2)] == [(), ()]
    text = front_lines(shown, [0, 1], None, 2, 100)
    assert "rocker.pivot.y is 0 in 50 %, 1 in 0.0 %, 2 in 50 % of the members" in text
    head = next(line for line in text if line.startswith("id"))
    assert head.split()[1] == "y"
    unlisted = frame(
        replace(
            held,
            manifest=replace(held.manifest, variables=(VariableEntry("rocker.pivot.y", low, high, 1.0), chosen[1])),
        )
    )
    assert len(unlisted.bounds(0)) == 1


def test_what_one_rod_moves_across_is_recomputed_too() -> None:
    path = ("adjustment", "rod", 2, "load_across")
    forged = resealed(edited(handed("front_sprung"), path, lambda value: float(str(value)) + 0.01))
    assert [one.path for one in verify(forged, "forged").differences] == ["adjustment.rod.2.load_across"]


KINDS: dict[str, Axle] = {
    "bars": with_bars(front()),
    "corner struts": front_corner(),
    "a rod on a link": front_on_link(),
}


@pytest.mark.parametrize("sprung", [False, True], ids=["bare", "sprung"])
@pytest.mark.parametrize("kind", KINDS)
def test_both_readings_agree_on_every_kind_of_element_and_on_rods_that_hardly_reach(kind: str, sprung: bool) -> None:
    axle = KINDS[kind]
    springs = fittings_for(axle) if sprung else Fittings()
    pickup = next(iter(axle.rocker.pickups))
    adjust = Adjustments(RodThread(40.0, (-2.0, 1.0)), {pickup: ({"length": 70.0}, {"length": 78.0})})
    bare = replace(springs, loads=replace(springs.loads, cases={}, rod_tube=None), adjust=adjust)
    study = Study("An invented axle", axle, replace(travel_of(axle), step=13.0), (), (), 1, "", fittings=bare)
    document = read_back(handoff_document(study, axle, ORIGIN))
    assert verify(document, "handed").differences == ()
    heights = [at(document, "adjustment", "rod", row, "ride_height") for row in range(4)]
    assert heights[0] is None
    assert float(str(heights[3])) > 50.0
