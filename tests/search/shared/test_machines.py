"""Machines that share a campaign through a real PostgreSQL server: killed or cut off, they find what one finds."""

import os
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path

import optuna
import pytest
from optuna.storages import RDBStorage
from optuna.trial import FrozenTrial, TrialState

from optimiser.search.campaign import unbegun
from optimiser.search.crew import Alone
from optimiser.search.island import Budget
from optimiser.search.shared.board import MACHINE, PLAN, Board
from optimiser.search.shared.part import part_taken
from optimiser.search.shared.patience import Patience
from optimiser.search.shared.text import plan_of
from optimiser.search.snapshot import Snapshot
from tests import machine
from tests.islands import SETTINGS, bnh_tools, explored, same, small_islands
from tests.server import Server

ROOT = Path(__file__).parents[3]
ENOUGH = 12_000
"""Evaluations of an opening and more than two epochs."""
PATIENCE = 90.0
"""How long a test waits for a process at most [s]."""


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    small_islands(monkeypatch)


@cache
def alone() -> Snapshot:
    """What one process finds, without a server."""
    return explored(ENOUGH)


class Machine:
    """A machine of the campaign: a process with workers of its own, all in one group."""

    def __init__(self, address: str, out: Path, workers: int) -> None:
        self.out = out
        words = [address, str(ENOUGH), str(workers), str(out)]
        self._process = subprocess.Popen(
            [sys.executable, machine.__file__, *words],
            env=os.environ | {"PYTHONPATH": str(ROOT)},
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
        self.number = self._process.pid

    def send(self, what: signal.Signals) -> None:
        """Send a signal to the machine's every process."""
        os.killpg(self.number, what)

    def said(self) -> str:
        """Wait for the end, and return what it told."""
        _, said = self._process.communicate(timeout=PATIENCE)
        return said

    def end(self) -> Snapshot:
        """Wait for the end, and return the last state."""
        said = self.said()
        assert self._process.returncode == 0, said
        return plan_of(self.out.read_text(encoding="utf-8")).epoch.start


def trials(address: str) -> dict[str, list[FrozenTrial]]:
    """All trials of the campaign but the plans, by epoch."""
    storage = RDBStorage(address)
    names = optuna.get_all_study_names(storage)
    every = {name: optuna.load_study(study_name=name, storage=storage).trials for name in names}
    storage.engine.dispose()
    return {name: [one for one in each if one.params["island"] != PLAN] for name, each in every.items()}


def running(address: str, number: int) -> int:
    """How many islands a machine is at."""
    everything = [one for each in trials(address).values() for one in each]
    own = [one for one in everything if str(one.user_attrs.get(MACHINE, "")).endswith(f" {number}")]
    return sum(one.state is TrialState.RUNNING for one in own)


def until(happens: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE
    while not happens():
        assert time.monotonic() < end, "it does not happen"
        time.sleep(0.1)


def joined(address: str) -> Snapshot:
    """What a machine in this process comes to that joins the campaign."""
    patience = Patience(lambda _: None, lambda: False)
    with Board(address, machine.CAMPAIGN) as board:
        crew, begin = Alone(bnh_tools()), unbegun(2, 2)
        *_, state = part_taken(board, crew, Budget(ENOUGH), SETTINGS, begin, machine.VERSIONS, patience)
    return state


def assert_each_island_counts_once(address: str) -> None:
    epochs = trials(address)
    assert len(epochs) > 3
    for name, each in epochs.items():
        complete = Counter(one.params["island"] for one in each if one.state is TrialState.COMPLETE)
        assert set(complete.values()) <= {1}, name
        assert set(complete) == {one.params["island"] for one in each}, name
        assert all(one.state.is_finished() for one in each)


@pytest.mark.usefixtures("small")
def test_a_machine_killed_and_a_server_restarted_lose_nothing_and_count_nothing_twice(
    server: Server, tmp_path: Path
) -> None:
    address = server.database()
    lost, left = (Machine(address, tmp_path / name, workers=4) for name in ("lost", "left"))
    until(lambda: running(address, lost.number) > 1 and running(address, left.number) > 1)
    lost.send(signal.SIGKILL)
    lost.said()
    server.stop()
    time.sleep(2.0)
    server.start()
    assert same(left.end(), alone())
    assert_each_island_counts_once(address)
    states = Counter(one.state for each in trials(address).values() for one in each)
    assert states[TrialState.FAIL] > 1
    assert same(joined(address), alone())  # a machine that comes late reads what the others have found


@pytest.mark.long
@pytest.mark.usefixtures("small")
def test_a_machine_that_was_paused_finds_its_islands_given_away_and_ends_as_the_others(
    server: Server, tmp_path: Path
) -> None:
    address = server.database()
    paused = Machine(address, tmp_path / "paused", workers=2)
    until(lambda: running(address, paused.number) > 0)
    paused.send(signal.SIGSTOP)
    assert same(Machine(address, tmp_path / "other", workers=2).end(), alone())
    paused.send(signal.SIGCONT)
    assert same(paused.end(), alone())
    assert_each_island_counts_once(address)
