"""`rockwright front` of several folders, `--against` another, and `--growth`: exit codes, JSON, what it imports."""

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optimiser.cli.main import main
from optimiser.report.results.folder import open_for_search
from optimiser.report.results.store import GROWTH, read_store
from optimiser.report.results.union import united
from optimiser.search.volume import nondominated, reference_of, volume
from optimiser.study.read import read_study
from tests.report.records import ROOT, front_study, nothing_found, record, saved

HEAVY = ("pymoo", "scipy", "moocore", "rich", "yaml", "numpy", "textwrap")


@pytest.fixture
def two(tmp_path: Path) -> list[str]:
    folders = []
    for seed in (1, 2):
        snapshot, figures = record(40, seed=seed)
        snapshot = replace(snapshot, reference=reference_of(snapshot.objectives))
        folders.append(str(saved(tmp_path / f"seed-{seed}", snapshot, figures)))
    return folders


def document(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    assert main(["front", *words, "--json"]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def test_the_document_is_the_union_and_says_whose_each_member_is(
    two: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    main(["front", *two, "--json"])
    found = json.loads(capsys.readouterr().out)
    union = united([read_store(Path(path)) for path in two])
    assert {member["id"]: (member["folder"], member["folder_id"]) for member in found["members"]} == {
        name: (two[origin.folder], origin.id) for name, origin in union.origins.items()
    }
    assert [one["folder"] for one in found["folders"]] == two
    assert [one["members"] for one in found["folders"]] == [40, 40]
    assert sum(one["kept"] for one in found["folders"]) == len(found["members"])
    assert found["evaluations"] == 16_000
    points = np.array([[one["objectives"][name] for name in found["objectives"]] for one in found["members"]])
    assert nondominated(points).all()
    assert found["hypervolume"] == pytest.approx(volume(points, np.array(found["reference"])), rel=1e-12)


def test_one_folder_says_nothing_of_folders(two: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    found = document(capsys, two[0])
    assert "folders" not in found
    assert main(["front", two[0]]) == 0
    out = capsys.readouterr().out
    assert "merge" not in out
    (heading,) = (line for line in out.splitlines() if line.startswith("id "))
    assert "from" not in heading


def test_the_table_names_the_folder_of_each_member_and_how_to_hand_one_over(
    two: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["front", *two, "--every", "--top", "999"]) == 0
    lines = capsys.readouterr().out.splitlines()
    union = united([read_store(Path(path)) for path in two])
    cells = [line.replace(" knee", "").split()[:2] for line in lines]
    for name, origin in union.origins.items():
        assert [str(name), str(origin.folder + 1)] in cells
    assert f"to hand one over: rockwright merge {' '.join(two)} -o results/NAME" in lines
    assert "new ids" in "\n".join(lines)
    assert "hypervolume" in lines[1]
    assert "of it came in" not in "\n".join(lines)


def test_members_of_a_union_are_compared_and_chosen_by_its_ids(
    two: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    union = united([read_store(Path(path)) for path in two])
    renamed = next(name for name, origin in union.origins.items() if origin.id != name)
    assert main(["front", *two, "--compare", "base", str(renamed), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["b"] == renamed
    assert main(["front", *two, "--compare", "base", "999999"]) == 2
    assert f"`rockwright front {' '.join(two)}` lists them" in capsys.readouterr().err


def test_another_study_ends_with_2_and_both_named(
    two: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "other.yaml").write_text(front_study().text.replace("name: ", "name: Another ", 1))
    with open_for_search(tmp_path / "other", read_study(tmp_path / "other.yaml")) as folder:
        folder.save(*record(5))
    assert main(["front", two[0], str(tmp_path / "other")]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert two[0] in err
    assert str(tmp_path / "other") in err
    assert err.count("\n") == 1


def test_nothing_found_in_any_ends_with_1(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    paths = [str(saved(tmp_path / name, *nothing_found())) for name in "ab"]
    assert main(["front", *paths]) == 1
    out, err = capsys.readouterr()
    assert "misses 2 of 7 held goals" in out
    assert "nothing feasible found yet in 16,000 candidates" in err


def test_a_front_beside_an_empty_folder_is_the_front(
    two: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    empty = str(saved(tmp_path / "empty", *nothing_found()))
    assert main(["front", two[0], empty, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["folders"][1]["members"] == 0
    assert len(found["members"]) == nondominated(record(40, seed=1)[0].objectives).sum()
    assert main(["front", empty, two[0], "--top", "1"]) == 0


def test_against_tells_what_the_other_has(two: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", two[0], "--against", two[1], "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["own"]["folder"], found["other"]["folder"]) == tuple(two)
    assert len(found["top"]) == 10
    assert found["both"]["hypervolume"] > found["own"]["hypervolume"] > 0.0
    assert main(["front", two[0], "--against", two[1], "--top", "3"]) == 0
    out = capsys.readouterr().out
    table = out.splitlines()[-3:]
    assert [line.split()[0] for line in table] == [str(one["id"]) for one in found["top"][:3]]
    assert f"what of {two[1]} adds most to {two[0]}" in " ".join(out.split())


def test_a_union_can_be_held_against_another(two: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", *two, "--against", two[1], "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["new"], found["beaten"]) == ([], [])
    assert found["own"]["share"] == pytest.approx(1.0)


def test_against_a_missing_folder_ends_with_2(two: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", two[0], "--against", f"{two[0]}-missing"]) == 2
    assert "no such results folder" in capsys.readouterr().err


def test_growth_is_a_table_and_a_plot(two: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", two[0], "--growth"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert len([line for line in out.splitlines() if line.endswith(" %")]) == 8
    assert "candidates: equal steps are equal factors" in out
    assert out.isascii()
    assert max(map(len, out.splitlines())) <= 100
    found = document(capsys, two[0], "--growth")
    assert found["growth"] == {name: read_store(Path(two[0])).growth[name] for name in GROWTH}


def test_growth_without_a_member_is_shown_and_ends_with_1(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    snapshot, figures = nothing_found()
    log = tuple(replace(point, members=0, hypervolume=0.0) for point in record(1)[0].growth)
    path = str(saved(tmp_path / "r", replace(snapshot, growth=log), figures))
    assert main(["front", path, "--growth"]) == 1
    out, err = capsys.readouterr()
    assert "8,000" in out
    assert "misses" not in out
    assert err.count("\n") == 1


def test_growth_of_several_folders_ends_with_2(two: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", *two, "--growth"]) == 2
    assert capsys.readouterr().err == "--growth shows the log of one results folder: name one\n"


@pytest.mark.parametrize("words", [["--growth", "--against", "b"], ["--growth", "--compare", "1", "2"]])
def test_one_question_at_a_time(two: list[str], words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", two[0], *words]) == 2
    assert "not allowed with" in capsys.readouterr().err


def test_growth_imports_nothing_heavy(two: list[str]) -> None:
    code = f"""
import sys
from optimiser.cli.main import main
codes = [main(["front", {two[0]!r}, "--growth", *words]) for words in ([], ["--json"])]
sys.stderr.write(repr((codes, [name for name in {HEAVY!r} if name in sys.modules])))
"""
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert run.stderr == "([0, 0], [])"


def test_a_closed_pipe_ends_silently(two: list[str]) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "w") as closed:
        code = "from optimiser.cli.main import run; run()"
        run = subprocess.run(
            [sys.executable, "-c", code, "front", two[0], "--growth"],
            stdout=closed,
            stderr=subprocess.PIPE,
            check=False,
            cwd=ROOT,
        )
    assert (run.returncode, run.stderr) == (0, b"")
