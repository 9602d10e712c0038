"""`rockwright search` where the system refuses to write, or others search already: told in a line, nothing lost."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

from optimiser.cli.main import main
from optimiser.report.results.loading import load
from optimiser.report.results.store import NoResultsError
from tests.report.refusals import CALLS, ERRORS, Gate, refuse
from tests.report.rights import mount, small_disk

ROOT = Path(__file__).parents[2]
FRONT = ROOT / "configs" / "front.yaml"
COMMAND = [sys.executable, "-c", "from optimiser.cli.main import run; run()", "search", str(FRONT)]
MOMENTS = [(0.05 * step, error) for step in range(17) for error in ERRORS]
"""How far a search has come, as a share of its calls, when the system refuses, and with what."""
PATIENCE = 300.0
"""How long a test waits for processes at most [s]."""


def searched(out: Path, evaluations: int, *words: str) -> int:
    return main(["search", str(FRONT), "--out", str(out), "--evaluations", str(evaluations), "--workers", "1", *words])


def saves(out: Path) -> int:
    """The number of a folder's save; 0 where it holds none yet."""
    try:
        return load(out).manifest.save
    except NoResultsError:
        return 0


def assert_told(err: str, out: Path, reason: str) -> None:
    """The last line, and no other, tells the file, the reason and the next step."""
    line = err.splitlines()[-1]
    assert line.startswith(f"{out}/"), err
    assert reason in line
    assert "the room on the disk" in line
    assert "Traceback" not in err
    assert "defect" not in err


@pytest.mark.parametrize(
    "moments", [((0.5, "ENOSPC"),), pytest.param(MOMENTS, marks=pytest.mark.long)], ids=["some", "many"]
)
@pytest.mark.parametrize("call", CALLS)
def test_a_refused_call_ends_the_search_with_its_reason_and_resuming_goes_on(
    tmp_path: Path,
    call: str,
    moments: Sequence[tuple[float, str]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr("optimiser.cli.search.SAVE_EVERY", 1e9)  # so that all runs make as many saves
    counted = Gate(10**9)
    with monkeypatch.context() as patch:
        refuse(patch, call, counted)
        assert searched(tmp_path / "whole", 150) == 0
    for place, (share, error) in enumerate(moments):
        out, gate = tmp_path / str(place), Gate(int(share * counted.calls), ERRORS[error], once=place % 2 == 0)
        capsys.readouterr()
        with monkeypatch.context() as patch:
            refuse(patch, call, gate)
            assert searched(out, 150) == 2
        assert gate.refused
        assert_told(capsys.readouterr().err, out, os.strerror(ERRORS[error]))
        before = saves(out)
        assert searched(out, 300, "--resume") == 0
        assert saves(out) > before
        assert main(["doctor", str(out)]) == 0


def test_a_full_disk_ends_the_search_and_resuming_goes_on_once_there_is_room(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with small_disk(tmp_path / "disk", 4) as disk:
        out = disk / "r"
        for kilobytes in (4, 16, 48):
            assert not mount("-o", f"remount,size={kilobytes}k", str(disk))
            assert searched(out, 300, "--resume") == 2
            assert_told(capsys.readouterr().err, out, "No space left on device")
        assert not mount("-o", "remount,size=8m", str(disk))
        assert searched(out, 300, "--resume") == 0
        assert main(["doctor", str(out)]) == 0


def signed(out: Path) -> int:
    """The process id in a folder's lock, as soon as there is one."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        try:
            return int(json.loads((out / "lock").read_text())["pid"])
        except (OSError, ValueError):
            time.sleep(0.05)
    raise TimeoutError(f"nobody searches in {out}")


def wait_for_a_save(out: Path) -> None:
    end = time.monotonic() + PATIENCE
    while not saves(out):
        assert time.monotonic() < end, f"nothing is saved in {out}"
        time.sleep(0.05)


@pytest.mark.parametrize("count", [5, pytest.param(50, marks=pytest.mark.long)])
def test_of_many_searches_started_at_once_one_runs_and_the_others_name_it(tmp_path: Path, count: int) -> None:
    out = tmp_path / "r"
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    processes = [
        subprocess.Popen(
            [*COMMAND, "--out", str(out), "--for", "1h", "--workers", "1", "--resume"],
            env=environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(count)
    ]
    holder = signed(out)
    refused = [process for process in processes if process.pid != holder]
    try:
        told = [process.communicate(timeout=PATIENCE)[1] for process in refused]
        assert len(refused) == count - 1
        assert {process.returncode for process in refused} == {2}
        host = os.uname().nodename
        assert [err for err in told if f"process id {holder} on {host}, started 20" not in err] == []
        assert [err for err in told if err.count("\n") != 1 or not err.startswith(f"{out}: ")] == []
        runner = next(process for process in processes if process.pid == holder)
        assert runner.poll() is None
        wait_for_a_save(out)
        runner.send_signal(signal.SIGINT)
        runner.communicate(timeout=PATIENCE)
        assert runner.returncode == 130
    finally:
        for process in processes:
            process.kill()
            process.communicate()
    assert saves(out) > 0
    assert main(["doctor", str(out)]) == 0
