"""Searches killed at random moments: what was saved is there, the next one goes on, and the end is the unbroken one's.

A killed search is the whole command in a process that was forked with everything imported, so that there can be many.
Its workers, where it has any, are spawned by it as always.
"""

import os
import signal
import time
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest

from optimiser.cli import search as command
from optimiser.cli.main import main
from optimiser.report.results.loading import load
from optimiser.report.results.lock import LOCK
from optimiser.report.results.store import NoResultsError
from optimiser.search import island, plan
from tests.processes import children_of

FRONT = Path(__file__).parents[2] / "configs" / "front.yaml"
ENOUGH = "60000"
LONGEST = 0.2
"""A search lives at most so long [s] before it is killed; one with workers, which have to start, 30 times as long."""


@pytest.fixture(autouse=True)
def often(monkeypatch: pytest.MonkeyPatch) -> None:
    """Save many times a second, in islands so small that several epochs pass."""
    monkeypatch.setattr(command, "SAVE_EVERY", 0.02)
    monkeypatch.setattr(command, "SAVE_SHARE", 0.5)
    monkeypatch.setattr(island, "SOONEST", 0.02)
    monkeypatch.setattr(plan, "OPENING", 6_000)
    monkeypatch.setattr(plan, "SMALLEST", 2_000)
    monkeypatch.setattr(plan, "TOO_FEW", 1_000)


def searching(out: Path, workers: int) -> int:
    """The process number of a search that goes on in `out`, leader of a group of its own."""
    child = os.fork()
    if child:
        return child
    try:
        os.setpgid(0, 0)
        nowhere = os.open(os.devnull, os.O_RDWR)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        words = ["search", str(FRONT), "--evaluations", ENOUGH, "--out", str(out), "--resume"]
        main([*words, "--workers", str(workers)])
    finally:
        os._exit(0)


def members(out: Path) -> dict[int, tuple[float, ...]]:
    """The saved members' variables by their names; none where nothing was saved yet."""
    try:
        snapshot = load(out).snapshot
    except NoResultsError:
        return {}
    return dict(zip(snapshot.ids.tolist(), map(tuple, snapshot.x.tolist()), strict=True))


def front_of(out: Path) -> bytes:
    return (out / load(out).manifest.files["front"].name).read_bytes()


def killed(out: Path, rng: np.random.Generator, workers: int) -> None:
    """Start a search and kill it, one of its workers, or all of them, at a random moment; nobody is left at work."""
    child = searching(out, workers)
    time.sleep(rng.uniform(0.0, LONGEST * (1 if workers == 1 else 30)))
    others = list(children_of(child))
    if others and rng.random() < 0.5:
        with suppress(ProcessLookupError):  # it may have ended by itself since
            os.kill(others[rng.integers(len(others))], signal.SIGKILL)
        time.sleep(rng.uniform(0.0, LONGEST))
    if rng.random() < 0.5:
        os.kill(child, signal.SIGKILL)
    else:
        os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)


@pytest.mark.parametrize(
    "kills", [60, pytest.param(200, marks=pytest.mark.long), pytest.param(2000, marks=pytest.mark.long)]
)
def test_kills_lose_no_saved_member_and_change_no_end(tmp_path: Path, kills: int) -> None:
    whole = tmp_path / "whole"
    assert main(["search", str(FRONT), "--evaluations", ENOUGH, "--out", str(whole), "--workers", "1"]) == 0
    rng, out, ends = np.random.default_rng(11), tmp_path / "r0", 0
    for life in range(kills):
        before = members(out)
        killed(out, rng, workers=2 if life % 25 == 9 else 1)
        after = members(out)
        assert all(after.get(name, x) == x for name, x in before.items())
        assert sum(name in after for name in before) >= 0.5 * len(before)  # the others are dominated by now
        if after and load(out).manifest.evaluations >= int(ENOUGH):
            assert front_of(out) == front_of(whole)
            ends, out = ends + 1, tmp_path / f"r{life + 1}"
    assert main(["search", str(FRONT), "--evaluations", ENOUGH, "--out", str(out), "--resume", "--workers", "1"]) == 0
    assert front_of(out) == front_of(whole)
    assert {entry.name for entry in out.iterdir() if entry.suffix == ".tmp"} == set()
    assert (out / LOCK).exists()
