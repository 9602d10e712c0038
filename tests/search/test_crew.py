"""Crews: workers in processes of their own find what one process finds, killed or not."""

import os
import signal
import threading
import time
from collections.abc import Callable

import pytest

from optimiser.search.crew import DEATHS, Alone, Tools, Workers, WorkersLostError
from optimiser.search.snapshot import Snapshot
from tests.islands import bnh_tools, explored, same, small_islands
from tests.processes import children_of

ENOUGH = 6_000


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    small_islands(monkeypatch)


def alone() -> Snapshot:
    return explored(ENOUGH, crew=Alone(bnh_tools()))


def children() -> list[int]:
    """Process numbers of this process's workers."""
    return [child for child in children_of(os.getpid()) if _spawned(child)]


def _spawned(number: int) -> bool:
    try:
        with open(f"/proc/{number}/cmdline") as stream:
            return "spawn_main" in stream.read()
    except OSError:
        return False


class Killer:
    """Kills a worker every so often, while it is entered."""

    def __init__(self, every: float) -> None:
        self._every, self._over, self.kills = every, threading.Event(), 0
        self._thread = threading.Thread(target=self._kill)

    def __enter__(self) -> "Killer":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def _kill(self) -> None:
        while not self._over.wait(self._every):
            for number in children()[:1]:
                os.kill(number, signal.SIGKILL)
                self.kills += 1


def test_workers_find_what_one_process_finds() -> None:
    with Workers(bnh_tools, 2) as crew:
        assert same(explored(ENOUGH, crew=crew), alone())
    assert not children()


def test_workers_killed_on_the_way_change_nothing() -> None:
    expected = alone()
    with Workers(bnh_tools, 2) as crew:
        explored(1_500, crew=crew)  # until they are there
        with Killer(every=4.0) as killer:
            while not killer.kills:
                assert same(explored(ENOUGH, crew=crew), expected)
    assert killer.kills


def test_workers_stop_when_they_are_told_to_and_go_on_to_the_same_end() -> None:
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > 12

    with Workers(bnh_tools, 2) as crew:
        state = explored(ENOUGH, crew=crew, stop=stop)
    assert state.evaluations < ENOUGH
    with Workers(bnh_tools, 3) as crew:
        assert same(explored(ENOUGH, state, crew), alone())


def broken_tools() -> Tools:
    os._exit(9)


def test_workers_that_die_again_and_again_are_given_up_with_a_word_on_what_to_do() -> None:
    with Workers(broken_tools, 1) as crew, pytest.raises(WorkersLostError, match=f"{DEATHS} workers.*--resume"):
        explored(ENOUGH, crew=crew)


def orphan(make: Callable[[], Tools], told: int) -> None:
    """A process that is killed while its workers are at work: it says who they are first."""
    crew = Workers(make, 2)
    os.write(told, " ".join(map(str, children())).encode())
    explored(10**9, crew=crew)


def test_workers_end_when_the_process_that_they_work_for_is_killed() -> None:
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            orphan(bnh_tools, writing)
        finally:
            os._exit(1)
    os.close(writing)
    workers = [int(number) for number in os.read(reading, 4096).split()]
    os.close(reading)
    time.sleep(3.0)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    assert len(workers) == 2
    for _ in range(600):
        if not any(_alive(number) for number in workers):
            break
        time.sleep(0.1)
    assert not any(_alive(number) for number in workers)


def _alive(number: int) -> bool:
    try:
        with open(f"/proc/{number}/stat") as stream:
            return stream.read().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
