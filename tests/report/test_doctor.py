"""The doctor names what is damaged, finds numbers that do not follow from their variables, and goes back one save."""

import json
import os
import signal
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optimiser.report.doctor.document import health_json
from optimiser.report.doctor.examine import Health, examine
from optimiser.report.doctor.lines import health_lines
from optimiser.report.doctor.mend import BeyondMendingError, mend
from optimiser.report.results.files import DamagedResultsError
from optimiser.report.results.folder import open_for_search
from optimiser.report.results.loading import load
from optimiser.report.results.lock import FolderInUseError
from optimiser.report.results.store import NoResultsError
from tests.report.damage import contents, refusing, true_state, twice_saved
from tests.report.records import front_study, record, saved

MEMBERS = 6
LATEST = [
    "base-000002.csv",
    "front-000002.csv",
    "growth-000002.csv",
    "manifest.json",
    "population-000002.csv",
]
HARMS = ["flip", "cut", "empty", "gone", "link", "folder"]


def harm(file: Path, kind: str) -> None:
    """Damage a file in one of several ways."""
    data = bytearray(file.read_bytes())
    data[len(data) // 3] ^= 1
    changed = {"flip": bytes(data), "cut": bytes(data[: len(data) // 2]), "empty": b""}
    if kind in changed:
        file.write_bytes(changed[kind])
        return
    file.unlink()
    if kind == "link":
        file.symlink_to("/etc/hostname")
    elif kind == "folder":
        file.mkdir()


def save_of(path: Path) -> int:
    return load(path).manifest.save


def assert_is_the_first(path: Path) -> None:
    """The folder holds its first save to the bit, and a search goes on from it."""
    assert load(path).snapshot.x.tobytes() == true_state(MEMBERS, 1)[0].x.tobytes()
    with open_for_search(path, front_study(), resume=True) as folder:
        folder.save(*true_state(MEMBERS, 3))
    assert examine(path).well
    assert load(path).snapshot.x.tobytes() == true_state(MEMBERS, 3)[0].x.tobytes()


def test_a_whole_folder_is_well_and_stays_untouched(tmp_path: Path) -> None:
    before = contents(twice_saved(tmp_path, MEMBERS))
    health = examine(tmp_path)
    assert health.well
    assert not health.faults
    assert health.good is health.present
    assert health.before is not None
    assert health.before.whole
    assert health.recomputed is not None
    assert health.recomputed.others == ("base",)
    assert mend(tmp_path) == ()
    assert contents(tmp_path) | {"lock": b""} == before | {"lock": b""}


def test_a_folder_of_one_save_and_one_of_none_are_well(tmp_path: Path) -> None:
    with open_for_search(tmp_path / "r", front_study()) as folder:
        assert examine(tmp_path / "r").well
        folder.save(*true_state(2))
        assert examine(tmp_path / "r").well


@pytest.mark.parametrize("name", LATEST)
@pytest.mark.parametrize("kind", HARMS)
def test_damage_to_the_last_save_leaves_the_one_before(tmp_path: Path, name: str, kind: str) -> None:
    twice_saved(tmp_path, MEMBERS)
    harm(tmp_path / name, kind)
    files = contents(tmp_path)
    health = examine(tmp_path)
    assert [fault.file for fault in health.faults] == [name]
    assert not health.well
    assert health.good is health.before
    assert health.recomputed is not None
    assert not health.recomputed.differences
    assert contents(tmp_path) == files, "an examination writes nothing"
    assert mend(tmp_path)
    assert examine(tmp_path).well
    assert save_of(tmp_path) == 1
    assert_is_the_first(tmp_path)


@pytest.mark.parametrize("kind", HARMS)
def test_mending_throws_nothing_away_and_follows_no_link(tmp_path: Path, kind: str) -> None:
    twice_saved(tmp_path, MEMBERS)
    harm(tmp_path / "growth-000002.csv", kind)
    files = {name: data for name, data in contents(tmp_path).items() if name in LATEST}
    mend(tmp_path)
    assert contents(tmp_path / "torn") == files
    assert (tmp_path / "torn" / "growth-000002.csv").is_symlink() == (kind == "link")


@pytest.mark.parametrize("name", ["manifest-previous.json", "front-000001.csv", "growth-000001.csv"])
@pytest.mark.parametrize("kind", ["flip", "gone", "link"])
def test_damage_to_the_save_before_leaves_the_last_one(tmp_path: Path, name: str, kind: str) -> None:
    twice_saved(tmp_path, MEMBERS)
    harm(tmp_path / name, kind)
    health = examine(tmp_path)
    assert health.good is health.present
    if (name, kind) != ("manifest-previous.json", "gone"):  # a folder that was saved once has none either
        assert [fault.file for fault in health.faults] == [name]
        mend(tmp_path)
    assert examine(tmp_path).well
    assert save_of(tmp_path) == 2


@pytest.mark.parametrize("kind", ["flip", "gone"])
def test_damage_to_both_saves_is_told_with_what_is_whole_and_nothing_is_changed(tmp_path: Path, kind: str) -> None:
    twice_saved(tmp_path, MEMBERS)
    for name in ("front-000001.csv", "growth-000002.csv"):
        harm(tmp_path / name, kind)
    files = contents(tmp_path)
    health = examine(tmp_path)
    assert health.good is None
    text = "\n".join(health_lines(health))
    assert "whole in save 2: front-000002.csv, base-000002.csv, population-000002.csv" in text
    with pytest.raises(BeyondMendingError, match="no save of it is whole"):
        mend(tmp_path)
    assert contents(tmp_path) | {"lock": b""} == files | {"lock": b""}


@pytest.mark.parametrize("kind", HARMS)
def test_a_damaged_study_is_named_and_resuming_brings_it_back(tmp_path: Path, kind: str) -> None:
    twice_saved(tmp_path, MEMBERS)
    harm(tmp_path / "study.yaml", kind)
    health = examine(tmp_path)
    assert [fault.file for fault in health.faults] == ["study.yaml"]
    assert health.recomputed is None
    assert "--resume    (brings study.yaml back" in health_lines(health)[-1]
    if kind == "folder":
        (tmp_path / "study.yaml").rmdir()
    mend(tmp_path)
    open_for_search(tmp_path, front_study(), resume=True).__exit__(None, None, None)
    assert examine(tmp_path).well


@pytest.mark.parametrize("wrong", ["figure", "objective", "variable", "base", "null"])
def test_a_number_that_does_not_follow_from_its_variables_is_found(tmp_path: Path, wrong: str) -> None:
    snapshot, figures = true_state(MEMBERS)
    crosstalk = figures.members["roll.crosstalk"].copy()
    crosstalk[2] = np.nan if wrong == "null" else crosstalk[2] * (1.0 + 1e-4)
    objectives, x = snapshot.objectives.copy(), snapshot.x.copy()
    objectives[2, 0] += 1e-3
    x[2, 1] += 0.01
    if wrong in ("figure", "null"):
        figures = replace(figures, members={**figures.members, "roll.crosstalk": crosstalk})
    elif wrong == "base":
        figures = replace(figures, base={**figures.base, "roll.crosstalk": 3.0})
    snapshot = replace(
        snapshot,
        x=x if wrong == "variable" else snapshot.x,
        objectives=objectives if wrong == "objective" else snapshot.objectives,
    )
    health = examine(saved(tmp_path / "r", snapshot, figures))
    assert not health.faults
    assert not health.well
    assert health.recomputed is not None
    named = {one.candidate for one in health.recomputed.differences}
    assert named == {"base" if wrong == "base" else str(snapshot.ids[2])}
    entries = {one.entry for one in health.recomputed.differences}
    if wrong == "variable":
        assert len(entries) > 10
    else:
        assert ("objective heave.progressivity" if wrong == "objective" else "roll.crosstalk") in entries
        assert len(entries) <= 2, "the number, and what is left of its goal"
    assert "wrong number" in health_lines(health)[0]


def test_numbers_of_nothing_are_found_by_the_hundred(tmp_path: Path) -> None:
    health = examine(saved(tmp_path / "r", *record(30)), members=4)
    assert health.recomputed is not None
    assert len(health.recomputed.differences) > 4 * 20
    assert len(health_lines(health)) < 30


def test_the_choice_of_members_follows_from_the_seed_and_is_told(tmp_path: Path) -> None:
    path = saved(tmp_path / "r", *true_state(40))
    chosen = [examine(path, members, seed).recomputed for members, seed in ((5, 1), (5, 1), (5, 2), (99, 1), (0, 1))]
    ids = [found.ids for found in chosen if found is not None]
    assert ids[0] == ids[1] != ids[2]
    assert [len(one) for one in ids] == [5, 5, 5, 40, 0]
    assert ids[3] == tuple(load(path).snapshot.ids)
    told = " ".join(health_lines(examine(path, 5, 2)))
    assert f"5 of 40 members ({' '.join(map(str, ids[2]))}; --seed 2)" in told


def test_the_json_document_says_the_same(tmp_path: Path) -> None:
    twice_saved(tmp_path, MEMBERS)
    whole = json.loads(health_json(examine(tmp_path)))
    assert whole["well"]
    assert [save["save"] for save in whole["saves"]] == [2, 1]
    assert whole["recomputed"]["differences"] == []
    harm(tmp_path / "front-000002.csv", "flip")
    told = json.loads(health_json(examine(tmp_path)))
    assert not told["well"]
    assert told["good"] == "manifest-previous.json"
    assert told["faults"] == [
        {"file": "front-000002.csv", "what": "its checksum is not the manifest's: the file was changed or torn"}
    ]


def test_what_is_left_behind_and_what_is_foreign_is_no_fault(tmp_path: Path) -> None:
    twice_saved(tmp_path, MEMBERS)
    for name in ("front-000003.csv", "manifest.json.tmp", "notes.txt"):
        (tmp_path / name).write_text("torn")
    health = examine(tmp_path)
    assert health.well
    assert health.unnamed == ("front-000003.csv", "manifest.json.tmp")
    assert health.foreign == ("notes.txt",)


def test_a_link_that_no_save_names_is_a_fault_and_is_taken_out(tmp_path: Path) -> None:
    twice_saved(tmp_path, MEMBERS)
    (tmp_path / "notes").symlink_to("/etc")
    assert [fault.file for fault in examine(tmp_path).faults] == ["notes"]
    mend(tmp_path)
    assert examine(tmp_path).well
    assert (tmp_path / "torn" / "notes").is_symlink()


@pytest.mark.parametrize("name", ["lock", "torn"])
def test_mending_writes_through_no_link(tmp_path: Path, name: str) -> None:
    path, outside = twice_saved(tmp_path / "r", MEMBERS), tmp_path / "outside"
    outside.mkdir()
    harm(path / "front-000002.csv", "flip")
    (path / name).unlink(missing_ok=True)
    (path / name).symlink_to(outside)
    with pytest.raises(DamagedResultsError, match=f"{name}: is a link"):
        mend(path)
    assert not list(outside.iterdir())


def test_nobody_mends_under_a_running_search(tmp_path: Path) -> None:
    with open_for_search(tmp_path, front_study()) as folder:
        for seed in (1, 2):
            folder.save(*true_state(MEMBERS, seed))
        harm(tmp_path / "front-000002.csv", "flip")
        with pytest.raises(FolderInUseError, match=f"process id {os.getpid()}"):
            mend(tmp_path)
    assert mend(tmp_path)


def test_a_mending_that_is_cut_short_is_taken_up_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for healthy in range(20):
        path = twice_saved(tmp_path / str(healthy), MEMBERS)
        harm(path / "front-000002.csv", "flip")
        with monkeypatch.context() as patch:
            patch.setattr(os, "replace", refusing(os.replace, healthy))
            try:
                mend(path)
                break
            except OSError:
                pass
        mend(path)
        assert examine(path).well
        assert save_of(path) == 1
    assert healthy >= len(LATEST)


def test_the_doctor_beside_a_busy_search_finds_it_well(tmp_path: Path) -> None:
    twice_saved(tmp_path, MEMBERS)
    child = os.fork()
    if child == 0:
        try:
            with open_for_search(tmp_path, front_study(), resume=True) as folder:
                while True:
                    folder.save(*true_state(MEMBERS, 1))
                    folder.save(*true_state(MEMBERS + 1, 2))
        finally:
            os._exit(1)
    try:
        seen: list[Health] = [examine(tmp_path, members=0) for _ in range(25)]
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
    assert [health.faults for health in seen if not health.well] == []
    assert len({health.present.manifest.save for health in seen if health.present and health.present.manifest}) > 1


@pytest.mark.parametrize("made", ["nothing", "empty", "file", "begun"])
def test_what_is_no_results_folder_is_refused(tmp_path: Path, made: str) -> None:
    path = tmp_path / "r"
    if made == "file":
        path.write_text("")
    elif made != "nothing":
        path.mkdir()
    if made == "begun":
        (path / "lock").write_text("")
        (path / "study.yaml").write_text("")
    for work in (examine, mend):
        with pytest.raises(NoResultsError, match="rockwright search"):
            work(path)
