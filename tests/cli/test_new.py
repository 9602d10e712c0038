"""`rockwright new`: what it writes is a study that holds its own goals, with and without the sections left out."""

import re
from pathlib import Path

import pytest

from optimiser.cli.main import main
from optimiser.report.analysis.record import analyse
from optimiser.study.keys import STUDY
from optimiser.study.read import read_study, read_text
from tests.beginnings import everything, sections_left_out


@pytest.fixture
def written(tmp_path: Path) -> Path:
    path = tmp_path / "study.yaml"
    assert main(["new", "-o", str(path)]) == 0
    return path


def missed(text: str) -> list[str]:
    return [verdict.goal.figure for verdict in analyse(read_text(text, "study.yaml")).verdicts if not verdict.met]


def test_what_is_written_is_sound_and_holds_its_own_goals(written: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(written)]) == 0
    assert "My axle" in capsys.readouterr().out
    study = read_study(written)
    assert study.goals
    assert study.variables
    assert study.notes == ()
    assert missed(study.text) == []


def test_a_goal_that_is_missed_would_be_seen(written: Path) -> None:
    text = written.read_text(encoding="utf-8")
    assert missed(text.replace("{at_least: 55}", "{at_least: 75}")) == ["rocker.transmission_min"]


def test_every_section_of_a_study_stands_in_it(written: Path) -> None:
    text = written.read_text(encoding="utf-8")
    used = re.findall(r"^([a-z]+):", text, flags=re.MULTILINE)
    assert sorted([*used, *sections_left_out()]) == sorted(STUDY.keys)


@pytest.mark.parametrize("name", ["springs", "dampers", "loads", "envelope", "build", "adjust", "joints"])
def test_each_section_left_out_can_be_used(name: str, written: Path) -> None:
    text, found = written.read_text(encoding="utf-8"), sections_left_out()
    needed = found["loads"] if name == "springs" else ""
    assert read_text(text, "study.yaml").fittings != read_text(text + found[name] + needed, "study.yaml").fittings


def test_with_all_sections_in_use_the_goals_still_hold() -> None:
    study = read_text(everything(), "study.yaml")
    assert study.fittings.springs
    assert study.notes == ()
    assert missed(study.text) == []


def test_no_line_is_wider_than_a_screen(written: Path) -> None:
    assert [line for line in written.read_text(encoding="utf-8").splitlines() if len(line) > 120] == []


def test_nothing_is_written_over(written: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written.write_text("mine", encoding="utf-8")
    assert main(["new", "-o", str(written)]) == 2
    assert f"{written} is there already; name another file with -o" in capsys.readouterr().err
    assert written.read_text(encoding="utf-8") == "mine"


def test_a_folder_that_is_not_there_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "-o", str(tmp_path / "none" / "study.yaml")]) == 2
    assert "check the path" in capsys.readouterr().err


def test_the_next_step_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "study.yaml"
    assert main(["new", "-o", str(path)]) == 0
    assert capsys.readouterr().out == f"{path}: a study to begin from; next: rockwright check {path}\n"
