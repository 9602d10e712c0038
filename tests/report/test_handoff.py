"""The hand-off file: complete, at full precision, and read again as a study."""

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.axle import AxisAligned, Axle
from geometry.hardpoints import place
from geometry.motion import move
from geometry.travel import AxleStates
from objectives.catalogue.catalogue import describe, figure_names
from objectives.evaluate import evaluate
from optimiser.report.handoff.axle_tree import axle_tree, degrees
from optimiser.report.handoff.caution import CAUTION
from optimiser.report.handoff.document import HandOffError, handoff_document, write_handoff
from optimiser.report.handoff.text import as_text
from optimiser.study.document import load_tree
from optimiser.study.read import read_study
from optimiser.study.study import Study
from tests.axles import KINDS, travel_of
from tests.report.handed_over import ORIGIN, at, branch, handed, read_back, shipped

KEYS = [
    "format",
    "kind",
    "name",
    "caution",
    "axle",
    "travel",
    "figures",
    "figure_status",
    "units",
    "goals",
    "tables",
    "eye_lengths",
    "right_side",
    "origin",
    "seals",
]


def study_of(axle: Axle, name: str = "Invented") -> Study:
    travel = replace(travel_of(axle), step=15.0)
    return Study(name, axle, travel, (), (), 1, "")


@pytest.mark.parametrize("name", ["front", "rear"])
def test_it_holds_everything_in_its_order(name: str) -> None:
    document, study = handed(name).document, shipped(name)
    assert list(document) == KEYS
    assert (document["format"], document["kind"], document["name"]) == (1, "hand_off", study.name)
    assert document["caution"] == CAUTION
    assert tuple(branch(document, "figures")) == figure_names(study.axle)
    assert branch(document, "units") == {figure: describe(figure).unit for figure in figure_names(study.axle)}
    assert at(document, "origin", "member") == "12"


def test_the_caution_says_what_must_be_said() -> None:
    for word in ("computed", "rigid parts", "qualified engineer", "sized, tested and inspected", "rules of the series"):
        assert word in CAUTION


@pytest.mark.parametrize("name", ["front", "rear"])
def test_figures_are_the_evaluators_to_the_last_digit(name: str) -> None:
    document, study = handed(name).document, shipped(name)
    evaluation = evaluate(study.axle, study.travel)
    for figure, value in branch(document, "figures").items():
        first = float(evaluation.values[figure])
        assert (value is None) == math.isnan(first)
        assert value is None or value == first
    assert at(document, "figure_status", "heave.left_right_split") == "roll_only"


def test_every_arm_is_a_point() -> None:
    rocker, points = branch(handed("front").document, "axle", "rocker"), place(shipped("front").axle)
    assert rocker["rod"] == points.rod_inboard.tolist()
    assert branch(rocker, "pickups") == {name: point.tolist() for name, point in points.pickups.items()}


def test_goals_stand_as_in_the_study_and_are_judged() -> None:
    goals = branch(handed("front").document, "goals")
    assert list(goals) == [goal.figure for goal in shipped("front").goals]
    assert goals["heave.progressivity"] == "maximise"
    band = branch(goals, "heave.motion_ratio")
    assert (band["aim"], band["within"], band["met"]) == (1.1, 0.01, True)
    assert band["left"] == pytest.approx(0.01 - abs(evaluated("front", "heave.motion_ratio") - 1.1), abs=1e-12)
    assert "at_most" not in branch(goals, "rocker.transmission_min")


def evaluated(name: str, figure: str) -> float:
    study = shipped(name)
    return float(evaluate(study.axle, study.travel, [figure]).values[figure])


def test_missed_goals_are_said_to_be_missed() -> None:
    goals = branch(handed("conflict", 20.0).document, "goals")
    assert at(goals, "heave.progressivity", "met") is False
    assert at(goals, "heave.progressivity", "left") == pytest.approx(-11.0, abs=0.01)
    assert at(goals, "roll.crosstalk", "met") is True


def test_tables_hold_every_step_of_every_sweep() -> None:
    document, axle = handed("front").document, shipped("front").axle
    assert list(branch(document, "tables")) == ["heave", "roll", "one_wheel", "rack"]
    assert list(branch(handed("rear").document, "tables")) == ["heave", "roll", "one_wheel"]
    travel = at(document, "tables", "one_wheel", "travel")
    assert isinstance(travel, list)
    assert (travel[0], travel[1], travel[-1]) == (-45, -44, 48)
    strut = move(axle, AxleStates(np.array([-44.0]), np.array([0.0]), np.array([0.0]))).strut("roll")
    assert at(document, "tables", "one_wheel", "elements", "roll", "length", 1) == pytest.approx(strut.length[0])
    assert at(document, "tables", "one_wheel", "elements", "roll", "motion_ratio", 1) == pytest.approx(strut.by_left[0])


def test_the_right_side_is_the_left_one_mirrored() -> None:
    document = handed("rear").document
    for *path, last in (["links", "toe_link", "outboard"], ["rod", "outboard"], ["rocker", "pickups", "roll_lower"]):
        left, right = (at(branch(document, side, *path), last) for side in ("axle", "right_side"))
        assert isinstance(left, list)
        assert right == [left[0], -float(str(left[1])), left[2]]


def test_eye_lengths_are_those_of_the_figures_and_a_rod_keeps_its_length() -> None:
    document = handed("front").document
    rod = branch(document, "eye_lengths", "rod")
    assert rod["static"] == rod["min"] == rod["max"]
    assert rod["static"] == pytest.approx(float(place(shipped("front").axle).rod_length), abs=1e-12)
    assert at(document, "eye_lengths", "roll", "max") == at(document, "figures", "roll.length_max")


@pytest.mark.parametrize("kind", KINDS)
def test_a_hand_off_of_any_kind_is_read_back_as_the_same_axle(kind: str, tmp_path: Path) -> None:
    axle = KINDS[kind]()
    study = study_of(axle)
    path = tmp_path / "handed over.yaml"
    write_handoff(handoff_document(study, axle, ORIGIN), path)
    back = read_study(path)
    assert back.travel == study.travel
    assert back.variables == ()
    first, again = evaluate(axle, study.travel), evaluate(back.axle, back.travel)
    assert set(first.values) == set(again.values)
    for name, value in first.values.items():
        assert np.allclose(value, again.values[name], rtol=1e-9, atol=1e-9, equal_nan=True), name


def test_goals_are_read_back_as_they_were(tmp_path: Path) -> None:
    study = shipped("front", 20.0)
    path = tmp_path / "out.yaml"
    write_handoff(handoff_document(study, study.axle, ORIGIN), path)
    assert read_study(path).goals == study.goals


def test_an_aligned_axis_is_written_as_the_vector_that_it_was() -> None:
    axle = KINDS["five split links, aligned rocker"]()
    assert isinstance(axle.rocker.axis, AxisAligned)
    rocker = axle_tree(axle)["rocker"]
    assert isinstance(rocker, dict)
    assert rocker["axis"] == place(axle).axis.tolist()


@pytest.mark.parametrize("angle", [0.05, -2.2, 0.15, 0.0, 1.0, 45.0, -4.6, -3.85, -1.15])
def test_angles_come_back_as_they_were_written(angle: float) -> None:
    assert degrees(float(np.radians(angle))) == angle


@pytest.mark.parametrize("name", ["1e3", "12", "no", "3.5", "~", "a: b", "line\nbreak", "Zwölf", "- x", "#1", "'"])
def test_any_name_is_read_back_as_text(name: str, tmp_path: Path) -> None:
    path = tmp_path / "out.yaml"
    path.write_text(as_text({"name": name}), encoding="utf-8")
    assert load_tree(path) == {"name": name}
    assert read_back({"name": name}) == {"name": name}


@pytest.mark.parametrize("number", [0.1, 1e-7, 1.9978447591662007e-05, 1e22, -0.0, 123456789.12345679, 5, None, True])
def test_numbers_come_back_to_the_last_bit(number: float | bool | None, tmp_path: Path) -> None:
    path = tmp_path / "out.yaml"
    path.write_text(as_text({"n": [number, number]}), encoding="utf-8")
    assert load_tree(path) == {"n": [number, number]}


def test_lists_stand_in_lines_and_there_is_no_alias() -> None:
    text = as_text(handed("front").document)
    assert re.search(r"^    pivot: \[10\.0, 205\.0, 475\.0\]$", text, re.MULTILINE)
    assert not re.search(r"[&*]id\d", text)
    assert text.startswith("#")


def test_a_file_is_not_overwritten_unless_forced(tmp_path: Path) -> None:
    path = tmp_path / "out.yaml"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(HandOffError, match="--force"):
        write_handoff({"a": 1}, path)
    assert path.read_text(encoding="utf-8") == "mine"
    write_handoff({"a": 1}, path, force=True)
    assert load_tree(path) == {"a": 1}
    assert [entry.name for entry in tmp_path.iterdir()] == ["out.yaml"]


def test_a_file_too_long_to_be_read_again_is_not_written(tmp_path: Path) -> None:
    with pytest.raises(HandOffError, match=re.escape("travel.step")):
        write_handoff({"figures": [1.0] * 100_000}, tmp_path / "out.yaml")
    assert list(tmp_path.iterdir()) == []
