"""The shipped axle in its room: every command takes it, and its own geometry holds what it asks for."""

import json
from pathlib import Path

import pytest

from objectives.envelope.bodies import assemble
from objectives.envelope.room import outline
from objectives.evaluate import evaluate
from objectives.goals import held, left
from optimiser.cli.main import main
from optimiser.report.results.loading import load
from optimiser.study.envelope_words import portray_room
from optimiser.study.read import read_study

SHIPPED = Path(__file__).parents[2] / "configs" / "front_room.yaml"
TRAVEL = "travel: {wheel: [-45, 48], heave: [-30, 38], roll: [-26, 26], rack: [-30, 30], step: 2}"
SHORT = "travel: {wheel: [-12, 12], heave: [-12, 12], roll: [-8, 8], rack: [-4, 4], step: 4}"


def test_ten_bodies_four_keep_outs_and_more_than_80_pairs() -> None:
    study = read_study(SHIPPED)
    envelope = study.fittings.envelope
    assert envelope is not None
    assembly = assemble(outline(study.axle, envelope))
    fixed = set(envelope.keep_out)
    assert len(fixed) == 4
    assert len({name for pair in assembly.pairs for name in pair} - fixed) == 10
    assert len(assembly.pairs) > 80


def test_its_own_geometry_holds_every_held_goal_over_the_whole_travel() -> None:
    study = read_study(SHIPPED)
    goals = held(study.goals)
    found = evaluate(study.axle, study.travel, [goal.figure for goal in goals], study.fittings).values
    room = {goal.figure: float(left(goal, found[goal.figure])) for goal in goals}
    assert {"clearance.reserve", "envelope.overstep", "roll.crosstalk.p99"} <= set(room)
    assert min(room.values()) >= 0.0, room


def test_nothing_that_stands_still_is_in_the_way_of_what_no_variable_moves() -> None:
    room = portray_room(read_study(SHIPPED))
    assert room is not None
    assert all(pair.at_static > pair.margin for pair in room.pairs)


def test_check_and_analyse_take_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(SHIPPED)]) == 0
    shown = capsys.readouterr().out
    for told in ("room", "how exactly it is built", "what can be set on the built car", "one of 0, 1, 2"):
        assert told in shown
    assert max(len(line) for line in shown.split("\n")) <= 100
    assert main(["analyse", str(SHIPPED)]) == 0
    shown = capsys.readouterr().out
    for told in (
        "CLEARANCES",
        "TURNS OF THE RODS",
        "HOLES OF ROCKER.PICKUPS.HEAVE",
        "AS BUILT",
        "all 8 held goals met",
    ):
        assert told in shown


def test_what_a_short_search_finds_is_handed_over_and_verified(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = SHIPPED.read_text(encoding="utf-8")
    assert TRAVEL in text
    study, out, file = tmp_path / "study.yaml", tmp_path / "results", tmp_path / "axle.yaml"
    study.write_text(text.replace(TRAVEL, SHORT), encoding="utf-8")
    assert main(["search", str(study), "--evaluations", "200", "--out", str(out)]) == 0
    found = load(out)
    assert set(found.snapshot.x[:, 4]) <= {0.0, 1.0, 2.0}
    assert (found.figures["clearance.reserve"] >= -1e-9).all()
    capsys.readouterr()
    assert main(["front", str(out), "--json"]) == 0
    assert all(isinstance(member["held_by"], list) for member in json.loads(capsys.readouterr().out)["members"])
    assert main(["handoff", str(out), str(found.snapshot.ids[0]), "-o", str(file)]) == 0
    assert main(["verify", str(file)]) == 0
