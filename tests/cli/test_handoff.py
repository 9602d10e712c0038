"""`rockwright handoff` as a user meets it."""

from dataclasses import replace
from pathlib import Path

import pytest

from objectives.goals import Band, Limit
from optimiser.cli.main import main
from optimiser.report.front.frame import frame
from optimiser.report.results.store import read_store
from optimiser.study.document import load_tree
from optimiser.study.read import read_study
from tests.report.records import front_study, nothing_found, record, saved

HELD = sum(isinstance(goal, Band | Limit) for goal in front_study().goals)
MEMBERS = 4


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A results folder with four members."""
    return saved(tmp_path_factory.mktemp("results") / "front", *record(MEMBERS))


def entry(path: Path, *keys: str) -> object:
    """An entry of a file."""
    node: object = load_tree(path)
    for key in keys:
        assert isinstance(node, dict)
        node = node[key]
    return node


def test_the_base_geometry_is_the_studys_own(results: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "base.yaml"
    assert main(["handoff", str(results), "base", "-o", str(path)]) == 0
    shown = capsys.readouterr()
    assert f"the study's own geometry, {HELD} of {HELD} held goals met" in shown.out
    assert "qualified engineer" in shown.out
    assert shown.err == ""
    assert entry(path, "origin", "member") == "base"
    assert entry(path, "axle", "rocker", "pivot") == [10, 205, 475]
    zero = tmp_path / "zero.yaml"
    assert main(["handoff", str(results), "0", "-o", str(zero)]) == 0
    assert entry(zero, "axle") == entry(path, "axle")


def test_a_member_is_handed_over_with_where_it_comes_from(results: Path, tmp_path: Path) -> None:
    path = tmp_path / "member.yaml"
    store = read_store(results)
    row = frame(store).row("4")
    assert main(["handoff", str(results), "4", "-o", str(path)]) == 0
    pivot = entry(path, "axle", "rocker", "pivot")
    assert isinstance(pivot, list)
    y, z = (store.front.variables[f"rocker.pivot.{axis}"][row] for axis in "yz")
    assert pivot[1:] == [y, z]
    assert entry(path, "origin", "member") == "4"
    assert entry(path, "origin", "fingerprint") == store.manifest.fingerprint
    assert entry(path, "origin", "seed") == front_study().seed
    assert "numpy" in str(entry(path, "origin", "versions"))
    assert read_study(path).travel == front_study().travel


def test_the_knee_is_handed_over_under_its_id(results: Path, tmp_path: Path) -> None:
    path = tmp_path / "knee.yaml"
    rows = frame(read_store(results))
    assert main(["handoff", str(results), "knee", "-o", str(path)]) == 0
    assert entry(path, "origin", "member") == str(rows.table.ids[rows.knee])


def test_a_file_that_is_there_stays_unless_forced(
    results: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text("mine", encoding="utf-8")
    assert main(["handoff", str(results), "base", "-o", str(path)]) == 2
    assert "--force" in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == "mine"
    assert main(["handoff", str(results), "base", "-o", str(path), "--force"]) == 0
    assert entry(path, "kind") == "hand_off"


@pytest.mark.parametrize("name", ["99", "best", "-1", "4.0"])
def test_an_unknown_member_is_named_and_nothing_written(
    name: str, results: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "out.yaml"
    assert main(["handoff", str(results), "-o", str(path), "--", name]) == 2
    assert name in capsys.readouterr().err
    assert not path.exists()


def test_no_such_folder_ends_with_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["handoff", str(tmp_path / "gone"), "1", "-o", str(tmp_path / "out.yaml")]) == 2
    assert "rockwright search" in capsys.readouterr().err
    assert not (tmp_path / "out.yaml").exists()


def test_a_folder_to_write_to_that_is_not_there_ends_with_2(
    results: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["handoff", str(results), "base", "-o", str(tmp_path / "gone" / "out.yaml")]) == 2
    assert "gone" in capsys.readouterr().err


def test_where_nothing_was_found_the_base_is_still_handed_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    snapshot, figures = nothing_found()
    folder = saved(tmp_path / "none", replace(snapshot, next_id=1), figures)
    assert main(["handoff", str(folder), "1", "-o", str(tmp_path / "one.yaml")]) == 1
    assert "nothing feasible" in capsys.readouterr().err
    assert main(["handoff", str(folder), "base", "-o", str(tmp_path / "base.yaml")]) == 0


def test_the_output_must_be_named(results: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["handoff", str(results), "base"]) == 2
    assert "-o" in capsys.readouterr().err


def test_the_points_stand_in_a_table_too(results: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, points = tmp_path / "a.yaml", tmp_path / "a.csv"
    points.write_text("mine")
    asked = ["handoff", str(results), "base", "-o", str(path), "--points", str(points)]
    assert main(asked) == 2
    assert "a.csv is there already" in capsys.readouterr().err
    assert not path.exists()
    assert main([*asked, "--force"]) == 0
    assert "left,rocker.pivot,10.0,205.0,475.0\n" in points.read_text()
    assert "right,rocker.pivot,10.0,-205.0,475.0\n" in points.read_text()


def test_a_measuring_sheet_is_written_for_the_axle_handed_over(results: Path, tmp_path: Path) -> None:
    path, sheet = tmp_path / "front.yaml", tmp_path / "sheet.csv"
    assert main(["handoff", str(results), "base", "-o", str(path), "--measuring-sheet", str(sheet)]) == 0
    again = tmp_path / "again.csv"
    assert main(["compare", str(path), "--measuring-sheet", str(again)]) == 0
    assert sheet.read_text() == again.read_text()
    assert sheet.read_text().count("\n") > 100
    assert main(["handoff", str(results), "base", "-o", str(path), "--force"]) == 0
    assert main(["handoff", str(results), "base", "-o", str(tmp_path / "b.yaml"), "--measuring-sheet", str(sheet)]) == 2
