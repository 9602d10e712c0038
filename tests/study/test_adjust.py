"""Adjustments and listed values: what is read of them, and what is told of faulty ones, at its place."""

from typing import NamedTuple

import numpy as np
import pytest

from geometry.axle import Arm
from geometry.hardpoints import place
from objectives.adjustment.records import RodThread
from optimiser.study.faults import FaultsError
from optimiser.study.read import read_text
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates
from tests.study.conftest import Changed, Expect

HOLES = "{holes: [{length: 72}, {length: 76}, {length: 80}]}"
ADJUST = f"adjust:\n  rod: {{thread: 2.5, turns: [-2, 2]}}\n  rocker.pickups.heave: {HOLES}\nvary:\n"
LENGTH = "  rocker.pickups.heave.length: [60, 95]\n"
VARIED = "  rocker.pickups.heave.hole: [0, 1, 2]\n"
ANGLE = "  rocker.pickups.heave.angle: [50, 120]\n"
BOTH = {"vary:\n": ADJUST, LENGTH: VARIED}


def read(changed: Changed, pieces: dict[str, str]) -> Study:
    return read_text(changed(pieces), "study.yaml")


def test_thread_and_holes_are_read(changed: Changed) -> None:
    study = read(changed, {"vary:\n": ADJUST.replace("{length: 80}", "{length: 80, angle: 90}")})
    adjust = study.fittings.adjust
    assert adjust.rod == RodThread(2.5, (-2.0, 2.0))
    lengths = [hole["length"] for hole in adjust.holes["heave"]]
    assert lengths == [72.0, 76.0, 80.0]
    assert np.degrees(adjust.holes["heave"][0]["angle"]) == pytest.approx(76.42)
    assert adjust.holes["heave"][2]["angle"] == pytest.approx(np.pi / 2)
    assert not read(changed, {}).fittings.adjust
    assert study.fittings.adjust


def test_a_choice_is_a_variable_whose_number_in_x_is_rounded_to_a_hole(changed: Changed) -> None:
    study = read(changed, BOTH)
    place_of = [one.path for one in study.variables].index("rocker.pickups.heave.hole")
    variable = study.variables[place_of]
    assert (variable.low, variable.high, variable.value, variable.choices) == (0.0, 2.0, 1.0, (0.0, 1.0, 2.0))
    x = np.tile(base_point(study), (5, 1))
    x[:, place_of] = [0.0, 0.4, 0.6, 1.7, 2.0]
    arm = candidates(study, x).rocker.pickups["heave"]
    assert isinstance(arm, Arm)
    assert arm.length.tolist() == [72.0, 72.0, 76.0, 80.0, 80.0]
    np.testing.assert_allclose(np.degrees(arm.angle), 76.42)
    alone = candidates(study, x[3]).rocker.pickups["heave"]
    assert isinstance(alone, Arm)
    assert alone.length == 80.0
    assert "none of the holes" in study.notes[0]


@pytest.mark.parametrize("listed", ["[0, 1]", "[1, 0]", "[0, 2]", "[2, 0, 1]"])
def test_two_holes_are_a_choice_and_no_bounds(changed: Changed, listed: str) -> None:
    study = read(changed, {**BOTH, LENGTH: VARIED.replace("[0, 1, 2]", listed)})
    (variable,) = [one for one in study.variables if one.choices]
    assert variable.choices == tuple(sorted(float(number) for number in listed[1:-1].split(",")))


def test_a_number_may_take_listed_values(changed: Changed) -> None:
    study = read(changed, {LENGTH: "  rocker.pickups.heave.length: {among: [80, 72, 76]}\n"})
    (variable,) = [one for one in study.variables if one.choices]
    assert (variable.choices, variable.value) == ((72.0, 76.0, 80.0), 76.0)
    x = base_point(study)
    x[[one.choices != () for one in study.variables]] = 77.9
    arm = candidates(study, x).rocker.pickups["heave"]
    assert isinstance(arm, Arm)
    assert arm.length == 76.0


def test_a_pick_up_in_a_hole_has_no_note(changed: Changed) -> None:
    study = read(changed, {**BOTH, "heave: {length: 74.43": "heave: {length: 76"})
    assert not study.notes
    assert base_point(study)[[one.choices != () for one in study.variables]].tolist() == [1.0]


def test_holes_of_a_point_replace_its_coordinates_or_make_an_arm_of_it(changed: Changed) -> None:
    """(44, 222.476, 547.347) is the heave pick-up's place."""
    written = {"heave: {length: 74.43, angle: 76.42, offset: 34}": "heave: [44, 222.476, 547.347]"}
    given: tuple[tuple[str, list[list[float]]], ...] = (
        ("[{y: 220}, {y: 225, z: 550}, [44, 222, 540]]", [[44, 220, 547.347], [44, 225, 550], [44, 222, 540]]),
        ("[{length: 70}, {length: 74.43}]", [[44, 221.436, 543.043], [44, 222.476, 547.347]]),
    )
    for holes, moved in given:
        text = ADJUST.replace("[{length: 72}, {length: 76}, {length: 80}]", holes)
        numbers = list(range(len(moved)))
        vary = f"  rocker.pickups.heave.hole: {numbers}\n"
        study = read(changed, {**written, "vary:\n": text, LENGTH: vary, ANGLE: ""})
        x = np.tile(base_point(study), (len(moved), 1))
        x[:, [one.choices != () for one in study.variables]] = np.array(numbers)[:, None]
        np.testing.assert_allclose(place(candidates(study, x)).pickups["heave"], moved, atol=3e-3)


class Case(NamedTuple):
    """One faulty file: what is written in place of the sound section, where the fault is shown (^^), path, words."""

    name: str
    adjust: str
    vary: str
    piece: str
    path: str
    words: tuple[str, ...]


def holes(text: str) -> str:
    return ADJUST.replace(HOLES, f"{{holes: {text}}}")


HEAVE = "rocker.pickups.heave"
CASES = [
    Case("no 0", ADJUST.replace("[-2, 2]", "[1, 2]"), "", "turns: ^^[1", "adjust.rod.turns", ("[1, 2]", "0 (as")),
    Case("no range", ADJUST.replace("[-2, 2]", "[0, 0]"), "", "turns: ^^[0", "adjust.rod.turns", ("like [-2, 2]",)),
    Case("no thread", ADJUST.replace("thread: 2.5", "thread: 0"), "", "thread: ^^0", "adjust.rod.thread", ("above 0",)),
    Case("unknown key", ADJUST.replace("thread", "pitch", 1).replace("pitch", "thread: 2, pitch"), "",
         "^^pitch", "adjust.rod.pitch", ("unknown key", "leave it out")),
    Case("unknown part", ADJUST.replace("pickups.heave:", "pickups.heav:"), "", "^^rocker.pickups.heav:",
         "adjust.rocker.pickups.heav", ("unknown part", HEAVE)),
    Case("one hole", holes("[{length: 72}]"), "", "holes: ^^[", f"adjust.{HEAVE}.holes", ("add what is missing",)),
    Case("an empty hole", holes("[{length: 72}, {}]"), "", "{length: 72}, ^^{}", f"adjust.{HEAVE}.holes[1]",
         ("without a number", "{length: 72}")),
    Case("one hole twice", holes("[{length: 72}, {length: 72.0}]"), "", "72}, ^^{length", f"adjust.{HEAVE}.holes[1]",
         ("the hole 0 again", "delete")),
    Case("two kinds", holes("[{length: 72}, {y: 200}]"), "", "72}, ^^{y", f"adjust.{HEAVE}.holes[1]",
         ("in every hole", "one way")),
    Case("no such hole", ADJUST, VARIED.replace("2]", "3]"), "hole: ^^[0", f"vary.{HEAVE}.hole", ("hole 3", "0 to 2")),
    Case("half a hole", ADJUST, VARIED.replace("2]", "1.5]"), "1, ^^1.5", f"vary.{HEAVE}.hole[2]", ("whole number",)),
    Case("a hole twice", ADJUST, VARIED.replace("2]", "1]"), "hole: ^^[0", f"vary.{HEAVE}.hole", ("1 twice", "delete")),
    Case("one choice", ADJUST, VARIED.replace("0, 1, 2", "1"), "hole: ^^[1", f"vary.{HEAVE}.hole", ("2 to 50",)),
    Case("no holes", "vary:\n", VARIED, "^^rocker.pickups.heave.hole", f"vary.{HEAVE}.hole",
         ("without holes", "adjust: {rocker.pickups.heave: {holes:")),
    Case("other holes", ADJUST, VARIED.replace("heave", "roll_upper"), "^^rocker.pickups.roll_upper.hole",
         "vary.rocker.pickups.roll_upper.hole", ("without holes", "rocker.pickups.heave.hole")),
    Case("hole and length", ADJUST, VARIED + LENGTH, "^^rocker.pickups.heave.length", f"vary.{HEAVE}.length",
         ("whose holes give the length", "delete one")),
    Case("a value twice", "vary:\n", LENGTH.replace("[60, 95]", "{among: [60, 60]}"), "among: ^^[",
         f"vary.{HEAVE}.length.among", ("60 twice",)),
    Case("a value out of range", "vary:\n", LENGTH.replace("[60, 95]", "{among: [-5, 60]}"), "among: ^^[",
         f"vary.{HEAVE}.length.among", ("above 0", "correct the values")),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_each_fault_is_told_at_its_place(changed: Changed, expect_fault: Expect, case: Case) -> None:
    text = changed({"vary:\n": case.adjust, LENGTH: case.vary or LENGTH})
    expect_fault(text, case.piece, case.path, case.words)


def test_coordinates_of_an_arm_are_told_for_every_hole(changed: Changed) -> None:
    with pytest.raises(FaultsError) as caught:
        read(changed, {"vary:\n": holes("[{z: 500}, {z: 505}]")})
    assert [fault.path for fault in caught.value.faults] == [f"adjust.{HEAVE}.holes[{at}]" for at in (0, 1)]
    assert all("written as an arm" in fault.expected for fault in caught.value.faults)
