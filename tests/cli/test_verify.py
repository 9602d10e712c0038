"""`rockwright verify` as a user meets it."""

import json
from pathlib import Path

import pytest

from optimiser.cli.main import main
from optimiser.report.handoff.document import write_handoff
from tests.report.handed_over import CONFIGS, Document, edited, handed, nudged_pivot, without


def written(document: Document, tmp_path: Path) -> str:
    """A hand-off file with this content."""
    path = tmp_path / "handed.yaml"
    write_handoff(document, path)
    return str(path)


def test_an_honest_file_ends_with_0_and_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(handed("front", 20.0).document, tmp_path)
    assert main(["verify", path]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    assert shown.out.startswith(f"{path}: ")
    assert shown.out.count("\n") == 1
    assert "all agree, largest relative difference" in shown.out


def test_a_moved_point_ends_with_1_and_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(nudged_pivot(handed("front", 20.0).document), tmp_path)
    assert main(["verify", path]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert "entries differ" in lines[0]
    assert lines[1].split() == ["entry", "says", "recomputed"]
    assert lines[2].split()[0] == "axle.rocker.pivot"
    assert any(line.split()[0] == "figures.heave.motion_ratio" for line in lines)


def test_an_edited_target_is_the_one_thing_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    aim = ("goals", "roll.crosstalk", "at_most")
    document = edited(handed("front", 20.0).document, aim, lambda _: 1.5)
    assert main(["verify", written(document, tmp_path)]) == 1
    shown = capsys.readouterr().out
    assert "goals.roll.crosstalk.at_most" in shown
    assert "goals.roll.crosstalk.left" in shown
    assert "2 entries differ" in shown


def test_json_is_one_document_and_nothing_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document = handed("rear", 20.0).document
    assert main(["verify", written(document, tmp_path), "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["agrees"] is True
    assert record["differences"] == []
    assert record["entries"] > 100
    assert record["largest"] < record["tolerance"]
    path = tmp_path / "edited.yaml"
    write_handoff(edited(document, ("figures", "rocker.arm_sum"), lambda _: 266.151), path)
    assert main(["verify", str(path), "--json"]) == 1
    record = json.loads(capsys.readouterr().out)
    assert record["agrees"] is False
    (found,) = record["differences"]
    assert (found["path"], found["says"]) == ("figures.rocker.arm_sum", "266.151")
    assert found["recomputed"].startswith(("266.15", "266.1500000"))


@pytest.mark.parametrize("name", ["front", "conflict"])
def test_a_study_is_refused_with_the_next_step(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", str(CONFIGS / f"{name}.yaml")]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "rockwright handoff" in shown.err


def test_what_cannot_be_recomputed_ends_with_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(without(handed("front", 20.0).document, ("axle", "rocker")), tmp_path)
    assert main(["verify", path]) == 2
    shown = capsys.readouterr().err
    assert shown.startswith(f"{path}: axle.rocker: ")
    assert "hand the geometry over again" in shown


@pytest.mark.parametrize("text", ["", "a: [", "kind: hand_off", "kind: hand_off\naxle: 3\n", "&a b: *a"])
def test_what_is_no_sound_file_ends_with_2(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "odd.yaml"
    path.write_text(text, encoding="utf-8")
    assert main(["verify", str(path)]) == 2
    assert capsys.readouterr().err


def test_a_file_that_is_not_there_ends_with_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", str(tmp_path / "gone.yaml")]) == 2
    assert "gone.yaml" in capsys.readouterr().err
