"""`rockwright search` as a user meets it: exit codes, what is kept, what is refused."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from optimiser.cli.main import main
from optimiser.report.results.folder import open_for_search
from optimiser.report.results.loading import Results, load
from optimiser.report.results.store import NoResultsError
from optimiser.study.read import read_study

ROOT = Path(__file__).parents[2]
FRONT, CONFLICT = ROOT / "configs" / "front.yaml", ROOT / "configs" / "conflict.yaml"
COMMAND = [sys.executable, "-c", "from optimiser.cli.main import run; run()"]
PATIENCE = 60.0
"""How long a test waits for a process at most [s]."""


def searched(out: Path, *words: str, study: Path = FRONT) -> int:
    return main(["search", str(study), "--out", str(out), *words])


def started(out: Path, *words: str) -> subprocess.Popen[str]:
    """A search in a process of its own."""
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    return subprocess.Popen(
        [*COMMAND, "search", str(FRONT), "--out", str(out), *words],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def saved(out: Path) -> Results | None:
    """What a folder holds, once it holds members."""
    try:
        results = load(out)
    except NoResultsError:
        return None
    return results if len(results.snapshot.ids) else None


def wait_for_members(out: Path) -> Results:
    """What a running search has saved, as soon as there are members."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        results = saved(out)
        if results is not None:
            return results
        time.sleep(0.05)
    raise TimeoutError(f"no members in {out}")


def front_file(out: Path) -> bytes:
    return (out / load(out).manifest.files["front"].name).read_bytes()


def test_a_search_ends_with_the_front_s_head_and_the_next_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "results"
    assert searched(out, "--evaluations", "600") == 0
    shown = capsys.readouterr()
    assert "600 candidates" in shown.out
    assert f"rockwright front {out}" in shown.out
    assert "base" in shown.out
    assert not shown.err
    assert main(["front", str(out)]) == 0


def test_one_seed_gives_the_same_bytes_and_another_seed_others(tmp_path: Path) -> None:
    for name, seed in (("a", "3"), ("b", "3"), ("c", "4")):
        assert searched(tmp_path / name, "--evaluations", "500", "--seed", seed) == 0
    assert front_file(tmp_path / "a") == front_file(tmp_path / "b")
    assert front_file(tmp_path / "a") != front_file(tmp_path / "c")
    assert load(tmp_path / "c").manifest.seed == 4


def test_a_resumed_search_goes_on_with_its_seed_members_and_count(tmp_path: Path) -> None:
    assert searched(tmp_path, "--evaluations", "401", "--seed", "9") == 0
    first = load(tmp_path).snapshot
    assert searched(tmp_path, "--evaluations", "1001", "--resume") == 0
    second = load(tmp_path).snapshot
    assert second.evaluations == 1001
    assert second.growth[: len(first.growth)] == first.growth
    assert second.growth[-1].hypervolume > first.growth[-1].hypervolume
    assert first.reference is not None
    assert second.reference is not None
    assert first.reference.tolist() == second.reference.tolist()
    again = tmp_path / "again"
    assert searched(again, "--evaluations", "401", "--seed", "9") == 0
    assert searched(again, "--evaluations", "1001", "--resume") == 0
    assert front_file(again) == front_file(tmp_path)


def test_resume_on_a_missing_folder_starts_it(tmp_path: Path) -> None:
    assert searched(tmp_path / "new" / "deep", "--evaluations", "150", "--resume") == 0


def test_results_are_not_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert searched(tmp_path, "--evaluations", "150") == 0
    before = front_file(tmp_path)
    assert searched(tmp_path, "--evaluations", "150") == 2
    assert "--resume" in capsys.readouterr().err
    assert front_file(tmp_path) == before


def test_a_second_search_in_the_folder_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with open_for_search(tmp_path, read_study(FRONT)):
        assert searched(tmp_path, "--evaluations", "150", "--resume") == 2
    assert str(os.getpid()) in capsys.readouterr().err
    assert searched(tmp_path, "--evaluations", "150", "--resume") == 0


def test_where_nothing_is_feasible_the_closest_is_shown_with_both_goals_that_it_misses(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert searched(tmp_path, "--evaluations", "4000", study=CONFLICT) == 1
    lines = capsys.readouterr().out.splitlines()
    start = next(k for k, line in enumerate(lines) if line.startswith("---"))
    missed = [line.split()[0] for line in lines[start + 1 : lines.index("", start)]]
    assert {"heave.progressivity", "heave.crosstalk"} <= set(missed)
    closest = load(tmp_path).closest
    assert closest is not None
    assert closest.figures["heave.crosstalk"] > 2.0
    assert closest.figures["heave.progressivity"] < 20.0


@pytest.mark.parametrize("key", ["vary", "goals"])
def test_a_study_that_varies_or_asks_nothing_is_refused_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], key: str
) -> None:
    text = FRONT.read_text()
    start = text.index(f"\n{key}:") + 1
    end = min(place for place in (text.find("\ngoals:", start), text.find("\nsearch:", start)) if place > 0) + 1
    study = tmp_path / "study.yaml"
    study.write_text(text[:start] + text[end:])
    assert searched(tmp_path / "out", study=study) == 2
    assert key in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "words", [["--for", "soon"], ["--evaluations", "0"], ["--evaluations", "1.5"], ["--seed", "-1"], ["--for", "0"]]
)
def test_bad_numbers_are_refused(tmp_path: Path, words: list[str]) -> None:
    assert searched(tmp_path / "out", *words) == 2
    assert not (tmp_path / "out").exists()


def test_for_ends_the_run_in_time(tmp_path: Path) -> None:
    assert searched(tmp_path, "--for", "1s") == 0
    assert 1.0 <= load(tmp_path).snapshot.seconds < 10.0


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_ctrl_c_keeps_all_that_was_found(tmp_path: Path, number: signal.Signals) -> None:
    process = started(tmp_path, "--for", "10m")
    then = wait_for_members(tmp_path).snapshot
    process.send_signal(number)
    out, err = process.communicate(timeout=PATIENCE)
    assert process.returncode == 130, err
    assert "members from" in out
    now = load(tmp_path).snapshot
    assert now.evaluations >= then.evaluations
    assert now.growth[-1].hypervolume >= then.growth[-1].hypervolume
    assert searched(tmp_path, "--evaluations", str(now.evaluations + 100), "--resume") == 0


def test_a_second_ctrl_c_ends_at_once_and_loses_nothing_saved(tmp_path: Path) -> None:
    process = started(tmp_path, "--for", "10m")
    then = wait_for_members(tmp_path).snapshot
    for _ in range(2):
        process.send_signal(signal.SIGINT)
        time.sleep(0.02)
    process.communicate(timeout=PATIENCE)
    assert process.returncode == 130
    assert load(tmp_path).snapshot.evaluations >= then.evaluations


@pytest.mark.long
def test_a_hundred_kills_lose_no_saved_member(tmp_path: Path) -> None:
    survive_kills(tmp_path, 100)


def survive_kills(out: Path, kills: int) -> None:
    """Kill a search again and again at random moments; each time its folder reads, and has not gone back."""
    moments = random.Random(11)
    evaluations, hypervolume = 0, 0.0
    for _ in range(kills):
        process = started(out, "--for", "10m", "--resume")
        wait_for_news(out, evaluations)
        time.sleep(moments.uniform(0.0, 1.0))
        process.kill()
        process.communicate(timeout=PATIENCE)
        snapshot = load(out).snapshot
        assert snapshot.evaluations > evaluations
        assert snapshot.growth[-1].hypervolume >= hypervolume
        assert main(["front", str(out), "--top", "1"]) == 0
        evaluations, hypervolume = snapshot.evaluations, snapshot.growth[-1].hypervolume


def wait_for_news(out: Path, evaluations: int) -> None:
    """Wait until a running search has saved more evaluations than these."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        results = saved(out)
        if results is not None and results.snapshot.evaluations > evaluations:
            return
        time.sleep(0.02)
    raise TimeoutError(f"no news in {out}")
