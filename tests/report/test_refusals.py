"""A system that refuses any one call of a save: the last state is readable, the reason told, the next save good."""

import os
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from optimiser.report.doctor.examine import files_of
from optimiser.report.doctor.mend import BeyondMendingError, mend
from optimiser.report.results.folder import NotSavedError, open_for_search
from optimiser.report.results.loading import load
from optimiser.report.results.store import NoResultsError
from tests.report.damage import contents, true_state, twice_saved
from tests.report.records import front_study
from tests.report.refusals import CALLS, ERRORS, Gate, refuse

MOST = 60
"""No save makes more calls of one kind."""
MEMBERS = 2


def gates(error: str, once: bool) -> list[Gate]:
    return [Gate(healthy, ERRORS[error], once) for healthy in range(MOST)]


def until_none_refuses(error: str, once: bool, attempt: Callable[[Gate], None]) -> int:
    """Attempt with the first call refused, the second, and so on until there is none to refuse; how many there were."""
    for gate in gates(error, once):
        attempt(gate)
        if not gate.refused:
            return gate.healthy
    raise AssertionError("a save that never ends")


def refusal_of(work: Callable[[], object]) -> str:
    """What is told where the system refused; nothing where it did not."""
    try:
        work()
    except (OSError, NotSavedError, BeyondMendingError) as refusal:
        return str(refusal)
    return ""


def assert_holds(path: Path, *numbers: int) -> None:
    """The folder holds the save of one of these numbers, to the bit."""
    results = load(path)
    assert results.manifest.save in numbers
    expected = true_state(MEMBERS, results.manifest.save)[0]
    assert results.snapshot.x.tobytes() == expected.x.tobytes()
    assert results.snapshot.ids.tolist() == expected.ids.tolist()


@pytest.mark.parametrize(
    ("error", "once"),
    [
        ("EIO", True),
        ("ENOSPC", False),
        pytest.param("EIO", False, marks=pytest.mark.long),
        pytest.param("ENOSPC", True, marks=pytest.mark.long),
    ],
)
@pytest.mark.parametrize("call", CALLS)
def test_every_call_of_a_save_may_be_refused(
    tmp_path: Path, call: str, error: str, once: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    reason = {"EIO": "Input/output error", "ENOSPC": "No space left on device"}[error]

    def attempt(gate: Gate) -> None:
        path = tmp_path / str(gate.healthy)
        with open_for_search(path, front_study()) as folder:
            folder.save(*true_state(MEMBERS, 1))
            folder.save(*true_state(MEMBERS, 2))
            with monkeypatch.context() as patch:
                refuse(patch, call, gate)
                told = refusal_of(lambda: folder.save(*true_state(MEMBERS, 3)))
            assert (told == "") == (gate.refused == 0)
            if told:
                assert told.startswith(f"{path}/")
                assert f"{reason}; not saved, {path} holds the save before (8000 candidates)" in told
                assert "go on with --resume" in told
            assert_holds(path, 2, 3)
            assert files_of(path).good is not None
            folder.save(*true_state(MEMBERS, 4))
        assert load(path).snapshot.x.tobytes() == true_state(MEMBERS, 4)[0].x.tobytes()
        assert not files_of(path).faults

    calls = until_none_refuses(error, once, attempt)
    assert calls >= (12 if call in ("open", "fsync") else 6), "four data files and two manifests, each and its folder"


def test_what_is_named_is_on_the_disk_before_it_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    order: list[str] = []
    sync, rename = os.fsync, os.replace

    def synced(descriptor: int) -> None:
        order.append("folder" if stat.S_ISDIR(os.fstat(descriptor).st_mode) else "file")
        sync(descriptor)

    def renamed(source: Path, target: Path) -> None:
        order.append(target.name)
        rename(source, target)

    with open_for_search(tmp_path, front_study()) as folder:
        monkeypatch.setattr(os, "fsync", synced)
        monkeypatch.setattr(os, "replace", renamed)
        folder.save(*true_state(MEMBERS, 1))
    names = order[1::3]
    assert order == [step for name in names for step in ("file", name, "folder")]
    assert names[-2:] == ["manifest-previous.json", "manifest.json"]
    assert sorted(names[:-2]) == sorted(file.name for file in tmp_path.glob("*.csv"))


@pytest.mark.parametrize("call", CALLS)
def test_a_search_that_is_resumed_after_a_refusal_goes_on_from_the_last_state(
    tmp_path: Path, call: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def attempt(gate: Gate) -> None:
        path = tmp_path / str(gate.healthy)
        with monkeypatch.context() as patch, open_for_search(path, front_study()) as folder:
            folder.save(*true_state(MEMBERS, 1))
            refuse(patch, call, gate)
            assert bool(refusal_of(lambda: folder.save(*true_state(MEMBERS, 2)))) == bool(gate.refused)
        with open_for_search(path, front_study(), resume=True) as folder:
            assert_holds(path, 1, 2)
            folder.save(*true_state(MEMBERS, 3))
        assert load(path).snapshot.x.tobytes() == true_state(MEMBERS, 3)[0].x.tobytes()
        assert not list(path.glob("*.tmp"))

    until_none_refuses("EIO", False, attempt)


@pytest.mark.parametrize("call", CALLS)
def test_every_call_of_an_opening_may_be_refused(tmp_path: Path, call: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def attempt(gate: Gate) -> None:
        path = tmp_path / str(gate.healthy)
        with monkeypatch.context() as patch:
            refuse(patch, call, gate)
            told = refusal_of(lambda: open_for_search(path, front_study()).__exit__(None, None, None))
            assert bool(told) == bool(gate.refused)
            assert not told or f"'{path}/" in told
        try:
            assert load(path).manifest.save == 0
        except NoResultsError:
            assert gate.refused
        with open_for_search(path, front_study(), resume=True) as folder:
            folder.save(*true_state(MEMBERS, 1))
        assert not files_of(path).faults

    assert until_none_refuses("ENOSPC", False, attempt) >= 2, "the study and the manifest"


@pytest.mark.parametrize("call", ["open", "write", "fsync", "replace"])
def test_every_call_of_a_mending_may_be_refused_and_the_next_one_mends(
    tmp_path: Path, call: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def attempt(gate: Gate) -> None:
        path = twice_saved(tmp_path / str(gate.healthy), MEMBERS)
        (path / "front-000002.csv").write_text("torn")
        whole = {name: data for name, data in contents(path).items() if "000001" in name}
        with monkeypatch.context() as patch:
            refuse(patch, call, gate)
            told = refusal_of(lambda: mend(path))
            assert gate.refused or not told
        assert {name: data for name, data in contents(path).items() if "000001" in name} == whole
        mend(path)
        assert not files_of(path).faults
        assert load(path).snapshot.x.tobytes() == true_state(MEMBERS, 1)[0].x.tobytes()

    until_none_refuses("EIO", False, attempt)
