"""`rockwright figures` as a user meets it, and the examples that it gives."""

import json
from collections.abc import Callable
from dataclasses import replace

import pytest

from geometry.axle import Axle, CornerStrut
from objectives.catalogue.catalogue import FIGURES, describe
from objectives.catalogue.figure import Figure
from objectives.evaluate import evaluate
from objectives.fittings.fitted import NOTHING_FITTED, Fittings
from objectives.fittings.springs import OpposedSprings
from objectives.readings import FigureStatus
from optimiser.cli.main import main
from optimiser.report.tables.catalogue import EXAMPLES, example, null_rule
from optimiser.study.read import read_text
from tests.axles import FRONT_TRAVEL, arm, front, front_corner
from tests.cli.test_analyse import CONFIGS
from tests.on_springs import knees, number


def test_the_catalogue_names_every_figure_with_its_unit(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["figures"]) == 0
    lines = capsys.readouterr().out.split("\n")
    assert [line for line in lines if len(line) > 100] == []
    assert len(FIGURES) > 20
    for figure in FIGURES:
        (row,) = (line for line in lines if line.split()[:1] == [figure.name])
        assert row.split()[1] == figure.unit


def test_one_figure_is_explained_by_its_pattern_and_by_its_full_name(capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("E.motion_ratio", "heave.motion_ratio"):
        assert main(["figures", name]) == 0
        shown = capsys.readouterr().out
        assert shown.startswith(name)
        assert "heave.motion_ratio: {aim: 1.1, within: 0.01}" in shown
        assert "mm/mm" in shown
        for term in ("unit", "definition", "source", "null", "goal"):
            assert f"\n{term} " in shown


def test_an_unknown_name_ends_with_2_and_a_suggestion(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["figures", "heave.crostalk"]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "heave.crosstalk" in shown.err


def test_json_holds_the_whole_catalogue_or_one_figure(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["figures", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert [figure["name"] for figure in document["figures"]] == [figure.name for figure in FIGURES]
    assert main(["figures", "rocker.sweep", "--json"]) == 0
    (figure,) = json.loads(capsys.readouterr().out)["figures"]
    assert figure == {
        "name": "rocker.sweep",
        "unit": "deg",
        "definition": describe("rocker.sweep").definition,
        "source": describe("rocker.sweep").source,
    }


SPRUNG = """
springs:
  heave: {on: heave, kind: coil, rate: 220, free_length: 190, solid_length: 110, static: carries_weight}
  roll: {on: roll, kind: opposed, rate: 90, preload: 2400}
  torsion: {on: torsion, kind: torsion, rate: 5, static: 0}
dampers:
  heave: {points: [[-0.25, -2600], [0, 0], [0.25, 1300]]}
loads:
  sprung_per_wheel: 2240
  cases:
    kerb: {left: [0, 0, 7845], right: [0, 0, 2615]}
  rod_tube: {outer: 20, wall: 2, modulus: 205000, yield: 700}
"""
ROOM = """
envelope:
  margins: {moving_to_fixed: 5, moving_to_moving: 3}
  inside: {z_max: 640}
  bodies: {heave: {diameter: 46}, rod: {diameter: 20}}
"""


JOINTS = """
joints: {rod_outboard: {bolt: [1, 0, 0], limit: 12}}
"""


def fitted_front(carried_by: str) -> str:
    """The shipped front study without its goals, its rod carried so, with a torsion bar and something of all fitted."""
    start = (CONFIGS / "front.yaml").read_text(encoding="utf-8").split("springs:")[0].split("goals:")[0]
    eye = "[30.4, 730, 175.4]" if carried_by == "lower_front" else "[10, 742, 206]"
    return (
        start.replace("carried_by: upright", f"carried_by: {carried_by}")
        .replace("outboard: [10, 742, 206]", f"outboard: {eye}")
        .replace("  elements:\n", "  elements:\n    torsion: {kind: torsion_bar}\n")
    ) + SPRUNG


@pytest.mark.parametrize("figure", FIGURES, ids=[figure.name for figure in FIGURES])
def test_the_example_goal_is_one_that_a_study_may_hold(figure: Figure) -> None:
    element = {"bar": "torsion"}.get(figure.of, "roll" if figure.roll_only or "knee" in figure.name else "heave")
    name = element + figure.name[1:] if figure.of_element else figure.name
    carrier = "lower_front" if figure.of_carrier else "upright"
    name = (
        name.replace("joint.NAME", "joint.rod_outboard").replace("NAME", "lower_front").replace("PAIR", "heave_to_rod")
    )
    room = ROOM if name.startswith(("clearance.", "envelope.", "inboard.")) else ""
    room += JOINTS if figure.of_joint else ""
    read = read_text(f"{fitted_front(carrier)}{room}goals:\n  {name}: {example(figure)}\n", "example.yaml")
    by_themselves = {"clearance.reserve", "envelope.overstep", "joint.rod_outboard.angle_reserve"} if room else set()
    assert [goal.figure for goal in read.goals if goal.figure not in by_themselves - {name}] == [name]


def test_every_example_belongs_to_a_figure() -> None:
    assert set(EXAMPLES) <= {figure.name.split(".")[-1] for figure in FIGURES}


@pytest.mark.parametrize("make", [front, front_corner], ids=["cross-car", "corner"])
def test_every_word_of_a_null_figure_is_in_its_rule(make: Callable[[], Axle]) -> None:
    axle = make()
    trouble = words_of_trouble(axle, NOTHING_FITTED)
    assert any(isinstance(element, CornerStrut) for element in axle.elements.values()) == (
        "not_decoupled" in trouble.values()
    )


def test_every_word_of_a_fitted_figure_is_in_its_rule() -> None:
    fitted = knees()
    firm = OpposedSprings("roll", number(90.0), number(9000.0))
    springs = {**fitted.fittings.springs, "roll": firm}
    assert "beyond_travel" in words_of_trouble(fitted.axle, replace(fitted.fittings, springs=springs)).values()
    pickups = {**fitted.axle.rocker.pickups, "heave": arm(60, 0, 0)}
    idle = replace(fitted.axle, rocker=replace(fitted.axle.rocker, pickups=pickups))
    trouble = words_of_trouble(idle, fitted.fittings)
    assert trouble["axle.heave_rate"] == "no_motion"


def words_of_trouble(axle: Axle, fittings: Fittings) -> dict[str, str]:
    """The word of each figure that is not ok, each found in its own rule."""
    evaluation = evaluate(axle, FRONT_TRAVEL, None, fittings)
    words = {name: FigureStatus(int(code)).word for name, code in evaluation.status.items()}
    trouble = {name: word for name, word in words.items() if word != "ok"}
    assert trouble
    for name, word in trouble.items():
        assert word in null_rule(describe(name)), name
    return trouble
