"""A save at any moment of a kill or of a refusing system: the last save that was told as done is still there."""

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from optimiser.report.results.folder import NotSavedError, SavedFigures, open_for_search
from optimiser.report.results.loading import load
from optimiser.search.snapshot import Snapshot
from tests.report.records import front_study, record, saved

LONGEST_LIFE = 0.12
"""Seconds that a searching process lives at most before it is killed, every fourth one after its first save."""


def state(number: int) -> tuple[Snapshot, SavedFigures]:
    """The state of one save, known again by its number."""
    return record(4 + number % 5, seed=number)


def save_for_ever(path: Path, told: int) -> None:
    """Save state after state, writing each save's number into the pipe `told` once it is done."""
    with open_for_search(path, front_study(), resume=True) as folder:
        number = 0 if folder.before is None else folder.before.manifest.save
        while True:
            number += 1
            folder.save(*state(number))
            os.write(told, number.to_bytes(4, "big"))


def last_told(reading: int) -> int:
    """The last number that came through the pipe; 0 where none did."""
    data = b""
    while chunk := os.read(reading, 4096):
        data += chunk
    return int.from_bytes(data[-4:], "big")


@pytest.mark.parametrize("kills", [20, pytest.param(200, marks=pytest.mark.long)])
def test_kills_at_random_moments_lose_no_saved_member(tmp_path: Path, kills: int) -> None:
    path, rng, told = tmp_path / "r", np.random.default_rng(7), 0
    for life in range(kills):
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                save_for_ever(path, writing)
            finally:
                os._exit(1)
        os.close(writing)
        if life % 4 == 0:
            told = int.from_bytes(os.read(reading, 4), "big")
        time.sleep(rng.uniform(0.0, LONGEST_LIFE))
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        assert os.WIFSIGNALED(status), "the searching process ended by itself"
        told = last_told(reading) or told
        os.close(reading)
        told = assert_holds(path, told)
    assert told >= kills / 4


def assert_holds(path: Path, told: int) -> int:
    """The folder holds the save told last, or the one after it, whole; its number."""
    if not told and not (path / "manifest.json").exists():
        return 0
    results = load(path)
    number = results.manifest.save
    assert told <= number <= told + 1
    if number:
        snapshot, _ = state(number)
        assert results.snapshot.ids.tolist() == snapshot.ids.tolist()
        assert results.snapshot.x.tobytes() == snapshot.x.tobytes()
    return number


CALLS: dict[str, Callable[..., object]] = {
    "open": os.open,
    "fsync": os.fsync,
    "replace": os.replace,
}


@pytest.mark.parametrize("call", CALLS)
def test_a_refusing_system_leaves_the_last_state(tmp_path: Path, call: str, monkeypatch: pytest.MonkeyPatch) -> None:
    path = saved(tmp_path / "r", *state(1))
    refusals = 0
    for healthy in range(100):
        with open_for_search(path, front_study(), resume=True) as folder:
            before = load(path).manifest.save
            with monkeypatch.context() as patch:
                patch.setattr(os, call, failing_after(healthy, CALLS[call]))
                try:
                    folder.save(*state(before + 1))
                    break
                except NotSavedError:
                    refusals += 1
            assert_holds(path, before)
            assert not list(path.glob("*.tmp"))
    assert refusals >= 4, "each changed file and the manifest must have been refused once"
    assert load(path).manifest.save == before + 1
    assert_holds(path, before + 1)


def failing_after(healthy: int, call: Callable[..., object]) -> Callable[..., object]:
    """A system call that works so many times and then refuses."""
    calls = iter(range(healthy))

    def wrapped(*args: object, **kwargs: object) -> object:
        if next(calls, None) is None:
            raise OSError(28, "no room")
        return call(*args, **kwargs)

    return wrapped


def test_a_search_goes_on_saving_after_a_refusal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_for_search(tmp_path / "r", front_study()) as folder:
        folder.save(*state(1))
        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", failing_after(3, os.fsync))
            with pytest.raises(NotSavedError, match=r"\.csv: no room; not saved.*candidates.*--resume"):
                folder.save(*state(2))
        folder.save(*state(3))
    assert load(tmp_path / "r").snapshot.x.tobytes() == state(3)[0].x.tobytes()


def test_a_reader_beside_a_busy_search_always_reads_a_whole_save(tmp_path: Path) -> None:
    path = saved(tmp_path / "r", *state(1))
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            save_for_ever(path, writing)
        finally:
            os._exit(1)
    os.close(writing)
    try:
        os.read(reading, 4)
        seen = set()
        for _ in range(40):
            results = load(path)
            seen.add(results.manifest.save)
            assert results.snapshot.x.tobytes() == state(results.manifest.save)[0].x.tobytes()
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(reading)
    assert len(seen) > 1
