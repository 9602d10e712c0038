"""`rockwright front`: its exit codes, its JSON, what it imports."""

import json
import math
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optimiser.cli.main import main
from optimiser.search.volume import volume
from tests.report.records import front_study, nothing_found, record, saved

HEAVY = ("pymoo", "optuna", "scipy", "moocore", "matplotlib", "rich", "yaml", "numpy")


@pytest.fixture
def results(tmp_path: Path) -> str:
    return str(saved(tmp_path / "r", *record(40, nulls=True)))


def test_the_document_has_every_member_to_the_bit(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", results, "--json"]) == 0
    out, err = capsys.readouterr()
    document, (snapshot, figures) = json.loads(out), record(40, nulls=True)
    assert err == ""
    assert document["figures"] == list(figures.members)
    assert snapshot.reference is not None
    assert document["reference"] == snapshot.reference.tolist()
    assert document["hypervolume"] == snapshot.growth[-1].hypervolume
    by_id = {member["id"]: member for member in document["members"]}
    assert sorted(by_id) == snapshot.ids.tolist()
    for row, name in enumerate(snapshot.ids.tolist()):
        member = by_id[name]
        assert list(member["variables"]) == [variable.path for variable in front_study().variables]
        assert list(member["variables"].values()) == snapshot.x[row].tolist()
        assert list(member["objectives"]) == document["objectives"]
        assert list(member["objectives"].values()) == snapshot.objectives[row].tolist()
        assert {key: math.nan if value is None else value for key, value in member["figures"].items()} == pytest.approx(
            {key: column[row] for key, column in figures.members.items()}, rel=0, abs=0, nan_ok=True
        )


def test_a_null_figure_is_null(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    main(["front", results, "--json"])
    out = capsys.readouterr().out
    assert "NaN" not in out
    assert json.loads(out)["members"][0]["figures"]["heave.left_right_split"] is None


def test_the_hypervolume_follows_from_objectives_and_reference(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    snapshot, figures = record(12)
    reference = snapshot.objectives.max(axis=0) + 1.0
    last = snapshot.growth[-1]
    grown = (*snapshot.growth[:-1], replace(last, hypervolume=volume(snapshot.objectives, reference)))
    path = saved(tmp_path / "r", replace(snapshot, reference=reference, growth=grown), figures)
    main(["front", str(path), "--json"])
    document = json.loads(capsys.readouterr().out)
    points = np.array(
        [[member["objectives"][name] for name in document["objectives"]] for member in document["members"]]
    )
    again = volume(points, np.array(document["reference"]))
    assert again == pytest.approx(document["hypervolume"], rel=1e-12)


def test_the_base_is_beside_the_members(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    main(["front", results, "--json"])
    document = json.loads(capsys.readouterr().out)
    assert 0 not in [member["id"] for member in document["members"]]
    assert document["base"]["variables"] == {variable.path: variable.value for variable in front_study().variables}
    assert document["knee"] in [member["id"] for member in document["members"]]


def test_condition_order_and_number_hold_for_the_document(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--sort", "rocker.sweep", "--where", "roll.crosstalk < 0.5", "--top", "3", "--json"]
    assert main(["front", results, *words]) == 0
    members = json.loads(capsys.readouterr().out)["members"]
    figures = record(40, nulls=True)[1].members
    chosen = np.sort(figures["rocker.sweep"][figures["roll.crosstalk"] < 0.5])[:3]
    assert [member["figures"]["rocker.sweep"] for member in members] == chosen.tolist()


def test_the_table_lists_base_and_knee(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", results, "--top", "0"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert sum(" base " in f" {line} " and line.startswith("0 base") for line in lines) == 1
    assert sum(line.split(" ")[1:2] == ["knee"] for line in lines) == 1
    assert max(len(line) for line in lines) <= 100


def test_the_first_lines_are_shown_and_the_rest_counted(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    main(["front", results])
    assert "--top 40 shows all" in capsys.readouterr().out
    main(["front", results, "--top", "40"])
    assert "shows all" not in capsys.readouterr().out


def test_two_members_are_compared(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", results, "--compare", "base", "3"]) == 0
    assert "better by the goals" in capsys.readouterr().out
    assert main(["front", results, "--compare", "0", "3", "--json"]) == 0
    document, (_, figures) = json.loads(capsys.readouterr().out), record(40, nulls=True)
    assert (document["a"], document["b"]) == (0, 3)
    sweep = {"a": figures.base["rocker.sweep"], "b": figures.members["rocker.sweep"][0], "better": None}
    assert document["differences"]["rocker.sweep"] == sweep
    assert document["differences"]["roll.crosstalk"]["better"] == 3


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--where", "roll.crostalk < 1"], "did you mean roll.crosstalk?"),
        (["--where", "roll.crosstalk"], "^"),
        (["--sort", "rocker.sweeep"], "did you mean rocker.sweep?"),
        (["--compare", "0", "99999"], "no member '99999'"),
        (["--top", "-1"], "whole number"),
        (["--top", "many"], "whole number"),
    ],
)
def test_faulty_words_end_with_2(results: str, words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", results, *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err


def test_no_such_folder_ends_with_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", str(tmp_path / "missing")]) == 2
    assert "no such results folder" in capsys.readouterr().err


def test_a_changed_file_ends_with_2(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    (Path(results) / "front-000001.csv").write_text("id\n1\n")
    assert main(["front", results]) == 2
    assert "front-000001.csv: its checksum" in capsys.readouterr().err


def test_nothing_found_ends_with_1_and_shows_the_closest(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = saved(tmp_path / "r", *nothing_found())
    assert main(["front", str(path)]) == 1
    out, err = capsys.readouterr()
    assert err.count("\n") == 1
    assert "nothing feasible found yet" in err
    assert "misses 2 of 7 held goals" in out
    assert main(["front", str(path), "--json"]) == 1
    assert capsys.readouterr().out == ""


def test_nothing_heavy_is_imported(results: str) -> None:
    code = f"""
import sys
from optimiser.cli.main import main
codes = [main(["front", {results!r}, *words]) for words in ([], ["--json"], ["--compare", "base", "knee"],
         ["--sort", "rocker.sweep", "--where", "rocker.sweep > 0"])]
sys.stderr.write(repr((codes, [name for name in {HEAVY!r} if name in sys.modules])))
"""
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stderr == "([0, 0, 0, 0], [])"
