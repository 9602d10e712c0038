"""`rockwright analyse` as a user meets it."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from optimiser.cli.main import main

CONFIGS = Path(__file__).parents[2] / "configs"
STUDIES = ("front", "rear", "conflict")
HEAVY = ("pymoo", "moocore", "optuna", "scipy", "matplotlib", "rich")
"""Libraries that would make a command that only reads slow to start."""


def study(name: str) -> str:
    """Path of a shipped study."""
    return str(CONFIGS / f"{name}.yaml")


def run_python(code: str) -> subprocess.CompletedProcess[str]:
    """A fresh interpreter at work on a line of code."""
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=CONFIGS.parent)


@pytest.mark.parametrize("name", STUDIES)
def test_shipped_studies_are_analysed_in_100_columns(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", study(name)]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    lines = shown.out.split("\n")
    assert [line for line in lines if len(line) > 100] == []
    for title in ("WHO WORKS WHEN", "MOTION RATIOS THROUGH HEAVE", "MOTION RATIOS THROUGH ROLL", "WHEEL ATTITUDE"):
        assert any(line.startswith(title) for line in lines), title


def test_missed_goals_end_with_0_and_are_shown(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", study("conflict")]) == 0
    shown = capsys.readouterr().out
    assert "2 of 9 held goals missed" in shown
    assert "exclude each" in shown


@pytest.mark.parametrize("name", STUDIES)
def test_json_is_one_document_and_nothing_else(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", study(name), "--json"]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    document = json.loads(shown.out)
    assert document["units"] == {"length": "mm", "angle": "deg"}
    assert ("rack" in document["sweeps"]) == (name != "rear")
    assert "NaN" not in shown.out
    assert "Infinity" not in shown.out


def test_all_shows_more_rows(capsys: pytest.CaptureFixture[str]) -> None:
    main(["analyse", study("front")])
    thinned = capsys.readouterr().out
    assert main(["analyse", study("front"), "--all"]) == 0
    assert capsys.readouterr().out.count("\n") > thinned.count("\n") + 40


def test_all_and_json_exclude_each_other(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", study("front"), "--all", "--json"]) == 2
    assert capsys.readouterr().out == ""


def test_a_faulty_file_ends_with_2_and_says_where(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = Path(study("front")).read_text(encoding="utf-8").replace("serves: roll}", "serves: rol}")
    faulty = tmp_path / "faulty.yaml"
    faulty.write_text(text, encoding="utf-8")
    assert main(["analyse", str(faulty)]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "faulty.yaml" in shown.err
    assert "serves" in shown.err


def test_a_missing_file_ends_with_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", str(tmp_path / "none.yaml")]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "none.yaml" in shown.err


def test_help_has_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", "-h"]) == 0
    assert "rockwright analyse configs/front.yaml" in capsys.readouterr().out


@pytest.mark.parametrize("words", [["analyse", study("front")], ["analyse", study("front"), "--json"], ["figures"]])
def test_nothing_heavy_is_imported(words: list[str]) -> None:
    code = (
        f"import sys\nfrom optimiser.cli.main import main\nmain({words!r})\n"
        f"sys.stderr.write(' '.join(name for name in {HEAVY!r} if name in sys.modules))"
    )
    done = run_python(code)
    assert done.returncode == 0
    assert done.stdout
    assert done.stderr == ""


@pytest.mark.parametrize("words", [["analyse", study("front"), "--all"], ["figures"]])
def test_a_reader_that_stops_early_ends_it_silently(words: list[str]) -> None:
    """A pipe that nobody reads any more, as with `| head -1`."""
    code = f"import sys\nfrom optimiser.cli.main import main\nsys.exit(main({words!r}))"
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "w") as closed:
        done = subprocess.run(
            [sys.executable, "-c", code], stdout=closed, stderr=subprocess.PIPE, check=False, cwd=CONFIGS.parent
        )
    assert done.stderr == b""
    assert done.returncode == 0
