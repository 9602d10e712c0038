"""What a search that finds nothing tells of the reason, and what is kept of it."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from optimiser.cli.main import main
from optimiser.cli.search import SEEKING_WHY
from optimiser.report.results.loading import load

ROOT = Path(__file__).parents[2]
FRONT, CONFLICT = ROOT / "configs" / "front.yaml", ROOT / "configs" / "conflict.yaml"
COMMAND = [sys.executable, "-c", "from optimiser.cli.main import run; run()"]
PATIENCE = 90.0
"""How long a test waits for a process at most [s]."""


def searched(study: Path, out: Path, *words: str) -> int:
    return main(["search", str(study), "--out", str(out), *words])


@pytest.fixture(scope="module")
def conflicted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The results of the shipped conflict."""
    out = tmp_path_factory.mktemp("conflict") / "results"
    assert searched(CONFLICT, out, "--evaluations", "30000") == 1
    return out


def test_the_conflict_is_told_again_from_the_folder(conflicted: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", str(conflicted)]) == 1
    out = capsys.readouterr().out
    why = out[out.index("Why:") :].splitlines()
    assert why[0].startswith("Why: these 2 exclude each other.")
    table = [line.split() for line in why if line.startswith(("heave.", "roll.", "rocker."))]
    assert [row[:4] for row in table[:2]] == [
        ["heave.progressivity", "at", "least", "20"],
        ["heave.crosstalk", "at", "most", "2"],
    ]
    assert "roll." not in "\n".join(why)
    assert "rocker." not in "\n".join(why)
    assert max(map(len, out.splitlines())) <= 100


def test_the_conflict_is_a_file_that_the_manifest_names_with_its_checksum(
    conflicted: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name = load(conflicted).manifest.files["conflict"].name
    text = (conflicted / name).read_text()
    assert text.startswith("gives,second,others,goal heave.progressivity,goal heave.crosstalk,variable ")
    (conflicted / name).write_text(text.replace("20.0", "10.0", 1))
    assert main(["front", str(conflicted)]) == 2
    assert name in capsys.readouterr().err
    (conflicted / name).write_text(text)


def test_goals_that_can_be_met_after_all_are_said_to_be(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    study = tmp_path / "study.yaml"
    study.write_text(FRONT.read_text().replace("pivot: [10, 205, 475]", "pivot: [10, 228, 475]"))
    assert searched(study, tmp_path / "results", "--evaluations", "1") == 1
    out, err = capsys.readouterr()
    assert SEEKING_WHY in err
    assert "All held goals can be met at once; search on, with --resume." in out


def test_ctrl_c_while_the_reason_is_sought_keeps_everything_and_ends_with_130(tmp_path: Path) -> None:
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    words = [*COMMAND, "search", str(CONFLICT), "--out", str(tmp_path / "r"), "--evaluations", "3000"]
    with subprocess.Popen(words, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stderr is not None
        for line in process.stderr:
            if SEEKING_WHY in line:
                break
        process.send_signal(signal.SIGINT)
        out, _ = process.communicate(timeout=PATIENCE)
    assert process.returncode == 130
    assert "nearest to feasible" in out
    assert "Why:" not in out
    kept = load(tmp_path / "r")
    assert kept.snapshot.evaluations == 3000
    assert kept.closest is not None
    assert "conflict" not in kept.manifest.files


def test_ctrl_c_before_that_seeks_no_reason(tmp_path: Path) -> None:
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    words = [*COMMAND, "search", str(CONFLICT), "--out", str(tmp_path / "r"), "--for", "10m"]
    with subprocess.Popen(words, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        end = time.monotonic() + PATIENCE
        while not list(tmp_path.glob("r/closest-*.csv")) and time.monotonic() < end:
            time.sleep(0.05)
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=PATIENCE)
    assert process.returncode == 130
    assert SEEKING_WHY not in err


def test_a_conflict_is_forgotten_by_the_next_save(tmp_path: Path) -> None:
    study = tmp_path / "study.yaml"
    study.write_text(FRONT.read_text().replace("pivot: [10, 205, 475]", "pivot: [10, 228, 475]"))
    assert searched(study, tmp_path / "results", "--evaluations", "1") == 1
    assert "conflict" in load(tmp_path / "results").manifest.files
    assert searched(study, tmp_path / "results", "--evaluations", "20000", "--resume") == 0
    assert "conflict" not in load(tmp_path / "results").manifest.files
