"""Files cut anywhere and bits flipped anywhere: every reader names the file, or says what the whole folder says."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from optimiser.errors import RockwrightError
from optimiser.report.doctor.examine import files_of
from optimiser.report.doctor.mend import mend
from optimiser.report.front.document import front_json
from optimiser.report.front.frame import frame
from optimiser.report.results.files import DamagedResultsError
from optimiser.report.results.folder import open_for_search
from optimiser.report.results.loading import load
from optimiser.report.results.store import read_store
from tests.report.damage import contents, put, true_state, twice_saved
from tests.report.records import front_study

MEMBERS = 2
SOME = 250
"""Truncations, and flips, of the normal run."""
FLIPS = 10_000
PRESENT = (
    "manifest.json",
    "study.yaml",
    "front-000002.csv",
    "base-000002.csv",
    "population-000002.csv",
    "growth-000002.csv",
)


@dataclass(frozen=True)
class Harm:
    """One file with other bytes."""

    file: str
    data: bytes
    what: str


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The files of a folder that holds two saves."""
    return contents(twice_saved(tmp_path_factory.mktemp("whole") / "r", MEMBERS))


def truncations(files: dict[str, bytes], count: int | None) -> Iterator[Harm]:
    """Every truncation of every file that a present save is read from, or so many of them, evenly."""
    cuts = [(name, length) for name in PRESENT for length in range(len(files[name]))]
    for name, length in cuts[:: 1 if count is None else max(1, len(cuts) // count)]:
        yield Harm(name, files[name][:length], f"{name} cut to {length} bytes")


def flips(files: dict[str, bytes], count: int) -> Iterator[Harm]:
    """So many flipped bits, over all of the files."""
    rng = np.random.default_rng(5)
    sizes = np.cumsum([0, *(len(files[name]) for name in PRESENT)])
    for bit in rng.choice(8 * sizes[-1], count, replace=False).tolist():
        place = int(np.searchsorted(sizes, bit // 8, side="right")) - 1
        name, byte = PRESENT[place], bit // 8 - int(sizes[place])
        data = bytearray(files[name])
        data[byte] ^= 1 << bit % 8
        yield Harm(name, bytes(data), f"{name}: bit {bit % 8} of byte {byte} flipped")


def answers(path: Path) -> dict[str, Callable[[], object]]:
    """What is read from a folder, each as something that can be compared; raises where it cannot be read."""
    return {
        "front": lambda: front_json(frame(read_store(path)), range(MEMBERS + 1)),
        "state": lambda: load(path).snapshot.population.tobytes() + load(path).snapshot.x.tobytes(),
        "study": lambda: load(path).study().text,
    }


def assert_no_wrong_answer(path: Path, harm: Harm, right: dict[str, object]) -> None:
    told = []
    for name, answer in answers(path).items():
        try:
            assert answer() == right[name], f"{harm.what}: a wrong {name}"
        except DamagedResultsError as error:
            told.append(str(error))
    assert told, f"{harm.what}: nobody has seen it"
    assert [text for text in told if not text.startswith(f"{path / harm.file}: ")] == [], harm.what


@pytest.mark.parametrize("count", [SOME, pytest.param(None, marks=pytest.mark.long)])
def test_every_truncation_is_named_or_changes_no_answer(
    tmp_path: Path, whole: dict[str, bytes], count: int | None
) -> None:
    path = put(tmp_path / "r", whole)
    right = {name: answer() for name, answer in answers(path).items()}
    for harm in truncations(whole, count):
        (path / harm.file).write_bytes(harm.data)
        assert_no_wrong_answer(path, harm, right)
        (path / harm.file).write_bytes(whole[harm.file])


@pytest.mark.parametrize("count", [SOME, pytest.param(FLIPS, marks=pytest.mark.long)])
def test_every_flipped_bit_is_named_or_changes_no_answer(tmp_path: Path, whole: dict[str, bytes], count: int) -> None:
    path = put(tmp_path / "r", whole)
    right = {name: answer() for name, answer in answers(path).items()}
    for harm in flips(whole, count):
        (path / harm.file).write_bytes(harm.data)
        assert_no_wrong_answer(path, harm, right)
        (path / harm.file).write_bytes(whole[harm.file])


@pytest.mark.parametrize("count", [25, pytest.param(2_000, marks=pytest.mark.long)])
def test_the_doctor_names_every_harm_and_mends_it(tmp_path: Path, whole: dict[str, bytes], count: int) -> None:
    for harm in [*truncations(whole, count), *flips(whole, count)]:
        path = put(tmp_path / "r", {**whole, harm.file: harm.data})
        assert [fault.file for fault in files_of(path).faults] == [harm.file], harm.what
        if harm.file == "study.yaml":
            with open_for_search(path, front_study(), resume=True) as folder:
                assert folder.before is not None
                assert folder.before.manifest.save == 2
        else:
            mend(path)
            assert load(path).snapshot.x.tobytes() == true_state(MEMBERS, 1)[0].x.tobytes()
        assert not files_of(path).faults
        shutil.rmtree(path / "torn", ignore_errors=True)


@pytest.mark.parametrize("count", [25, pytest.param(2_000, marks=pytest.mark.long)])
def test_no_search_goes_on_from_a_harmed_folder(tmp_path: Path, whole: dict[str, bytes], count: int) -> None:
    for harm in [*truncations(whole, count), *flips(whole, count)]:
        if harm.file == "study.yaml":
            continue  # it is written again from the study that is given
        path = put(tmp_path / "r", {**whole, harm.file: harm.data})
        with pytest.raises(RockwrightError) as refusal:
            open_for_search(path, front_study(), resume=True)
        assert isinstance(refusal.value, DamagedResultsError), harm.what
        assert {**contents(path), "lock": b""} == {**whole, harm.file: harm.data, "lock": b""}, "nothing is written"
