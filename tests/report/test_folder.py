"""Results folders: what is saved is read back to the bit, and nothing that is refused is written."""

import json
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optimiser.errors import RockwrightError
from optimiser.report.results.files import DamagedResultsError
from optimiser.report.results.folder import FolderTakenError, OtherStudyError, SavedFigures, open_for_search
from optimiser.report.results.loading import load
from optimiser.report.results.lock import FolderInUseError
from optimiser.report.results.manifest import fingerprint, previous_save
from optimiser.report.results.seal import sealed
from optimiser.report.results.store import NoResultsError
from optimiser.search.snapshot import Snapshot
from tests.report.records import front_study, nothing_found, record, saved


@pytest.mark.parametrize("members", [1, 2, 40])
@pytest.mark.parametrize("nulls", [False, True])
def test_a_state_comes_back_to_the_bit(tmp_path: Path, members: int, nulls: bool) -> None:
    snapshot, figures = record(members, nulls=nulls)
    assert differing(saved(tmp_path / "r", snapshot, figures), snapshot, figures) == []


def test_a_state_without_members_comes_back_with_its_closest_candidate(tmp_path: Path) -> None:
    snapshot, figures = nothing_found()
    path = saved(tmp_path / "r", snapshot, figures)
    assert differing(path, snapshot, figures) == []
    closest = load(path).closest
    assert closest is not None
    assert closest.figures["heave.motion_ratio"] == 1.075


def test_a_changed_number_is_seen_by_the_comparison_of_states(tmp_path: Path) -> None:
    snapshot, figures = record(5)
    path = saved(tmp_path / "r", snapshot, figures)
    moved = snapshot.x.copy()
    moved[3, 2] = np.nextafter(moved[3, 2], np.inf)
    assert differing(path, replace(snapshot, x=moved), figures) == ["x"]


def test_the_base_is_kept_beside_the_front(tmp_path: Path) -> None:
    snapshot, figures = record(3)
    base = load(saved(tmp_path / "r", snapshot, figures)).base
    assert base is not None
    assert base.x.tolist() == [variable.value for variable in front_study().variables]
    assert np.isnan(base.figures["heave.left_right_split"])
    assert base.figures["rocker.sweep"] == figures.base["rocker.sweep"]


def test_the_study_is_read_again_from_its_copy(tmp_path: Path) -> None:
    results = load(saved(tmp_path / "r", *record(2)))
    assert results.study().text == front_study().text
    assert results.study().goals == front_study().goals
    (tmp_path / "r" / "study.yaml").write_text(front_study().text + "# later\n")
    with pytest.raises(DamagedResultsError, match=r"study\.yaml: its checksum"):
        results.study()


def test_the_manifest_says_from_what_by_what_and_when(tmp_path: Path) -> None:
    path = saved(tmp_path / "r", *record(2))
    manifest = json.loads((path / "manifest.json").read_text())
    assert manifest["format"] == 2
    assert manifest["fingerprint"] == fingerprint(front_study().text)
    assert manifest["seed"] == front_study().seed
    assert manifest["command"] == "rockwright search configs/front.yaml"
    assert {"python", "numpy", "scipy", "pymoo"} <= set(manifest["versions"])
    assert manifest["started"] <= manifest["saved"]
    assert manifest["host"]
    named = {entry["name"] for entry in manifest["files"].values()}
    assert named | {"manifest.json", "manifest-previous.json", "lock"} == {entry.name for entry in path.iterdir()}


def test_a_search_goes_on_from_the_last_save(tmp_path: Path) -> None:
    snapshot, figures = record(4)
    path = saved(tmp_path / "r", snapshot, figures)
    with open_for_search(path, front_study(), resume=True) as folder:
        assert folder.before is not None
        assert folder.before.snapshot.x.tobytes() == snapshot.x.tobytes()
        later = record(9, seed=2)
        folder.save(*later)
    assert differing(path, *later) == []
    assert [file.name for file in sorted(path.glob("front-*.csv"))] == ["front-000001.csv", "front-000002.csv"]


@pytest.mark.parametrize("there", [False, True])
def test_resuming_an_empty_or_missing_folder_starts_it(tmp_path: Path, there: bool) -> None:
    path = tmp_path / "a" / "b"
    if there:
        path.mkdir(parents=True)
    with open_for_search(path, front_study(), resume=True) as folder:
        assert folder.before is None
    assert load(path).snapshot.x.shape == (0, len(front_study().variables))


def test_results_are_not_overwritten(tmp_path: Path) -> None:
    state = record(4)
    path = saved(tmp_path / "r", *state)
    with pytest.raises(FolderTakenError, match=r"--resume.*--out"):
        open_for_search(path, front_study())
    assert differing(path, *state) == []


def test_another_study_is_refused_by_name(tmp_path: Path) -> None:
    path = saved(tmp_path / "r", *record(4))
    other = replace(front_study(), name="Another car", text=front_study().text.replace("205", "206", 1))
    with pytest.raises(OtherStudyError, match=r"'Two-seat track car, front'.*'Another car'"):
        open_for_search(path, other, resume=True)


@pytest.mark.parametrize("resume", [False, True])
def test_a_folder_of_something_else_is_left_alone(tmp_path: Path, resume: bool) -> None:
    (tmp_path / "letters.txt").write_text("dear")
    with pytest.raises(FolderTakenError, match=r"letters\.txt"):
        open_for_search(tmp_path, front_study(), resume=resume)
    assert [entry.name for entry in tmp_path.iterdir()] == ["letters.txt"]


def test_a_file_in_the_folders_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / "r").write_text("")
    with pytest.raises(FolderTakenError, match="is a file"):
        open_for_search(tmp_path / "r", front_study())


@pytest.mark.parametrize("name", ["lock", "manifest.json", "study.yaml", "front-000001.csv", "manifest.json.tmp"])
def test_links_inside_the_folder_are_refused_and_not_followed(tmp_path: Path, name: str) -> None:
    path = saved(tmp_path / "r", *record(2))
    outside = tmp_path / "outside"
    outside.write_text("precious")
    (path / name).unlink(missing_ok=True)
    (path / name).symlink_to(outside)
    with pytest.raises(DamagedResultsError, match="is a link"):
        open_for_search(path, front_study(), resume=True)
    assert outside.read_text() == "precious"
    if name in ("manifest.json", "front-000001.csv"):
        with pytest.raises(DamagedResultsError, match="is a link"):
            load(path)


def test_a_link_to_the_folder_itself_is_followed(tmp_path: Path) -> None:
    state = record(2)
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "real")
    saved(tmp_path / "link", *state)
    assert differing(tmp_path / "real", *state) == []


def test_a_second_search_is_refused_and_told_who_holds_the_folder(tmp_path: Path) -> None:
    with open_for_search(tmp_path / "r", front_study()):
        with pytest.raises(FolderInUseError, match=rf"process id {os.getpid()} on \S+, started 20"):
            open_for_search(tmp_path / "r", front_study(), resume=True)
        assert not load(tmp_path / "r").snapshot.ids.size
    open_for_search(tmp_path / "r", front_study(), resume=True).__exit__(None, None, None)


def test_a_refused_search_lets_go_of_the_folder(tmp_path: Path) -> None:
    path = saved(tmp_path / "r", *record(1))
    with pytest.raises(FolderTakenError):
        open_for_search(path, front_study())
    with open_for_search(path, front_study(), resume=True) as folder:
        assert folder.before is not None


def test_a_child_process_does_not_keep_the_folder(tmp_path: Path) -> None:
    reading, writing = os.pipe()
    alive, living = os.pipe()
    with open_for_search(tmp_path / "r", front_study()):
        child = os.fork()
        if child == 0:
            os.write(living, b"x")
            os.read(reading, 1)
            os._exit(0)
        os.read(alive, 1)
    try:
        with open_for_search(tmp_path / "r", front_study(), resume=True) as folder:
            assert folder.before is not None
    finally:
        os.write(writing, b"x")
        os.waitpid(child, 0)
        for descriptor in (reading, writing, alive, living):
            os.close(descriptor)


@pytest.mark.parametrize("kind", ["front", "base", "population", "growth"])
@pytest.mark.parametrize("harm", ["flip", "cut", "gone", "empty"])
def test_a_harmed_file_is_named(tmp_path: Path, kind: str, harm: str) -> None:
    path = saved(tmp_path / "r", *record(3))
    file = path / f"{kind}-000001.csv"
    data = bytearray(file.read_bytes())
    data[len(data) // 2] ^= 1
    if harm == "gone":
        file.unlink()
    else:
        file.write_bytes({"flip": bytes(data), "cut": bytes(data[:-7]), "empty": b""}[harm])
    with pytest.raises(DamagedResultsError, match=file.name) as caught:
        load(path)
    assert caught.value.exit_code == 2


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        "[" * 100_000,
        '{"format": 1}',
        '{"format": 2}',
        "\xff",
        "9" * 5000,
    ],
)
def test_a_manifest_that_does_not_read_is_named(tmp_path: Path, text: str) -> None:
    path = saved(tmp_path / "r", *record(3))
    (path / "manifest.json").write_bytes(text.encode("latin-1"))
    with pytest.raises(DamagedResultsError, match=r"manifest\.json"):
        load(path)
    with pytest.raises(DamagedResultsError, match=r"manifest\.json"):
        open_for_search(path, front_study(), resume=True)


@pytest.mark.parametrize("name", ["../secret.csv", "/etc/passwd", "front-1.csv/..", "lock", ""])
def test_a_manifest_leads_nowhere_else(tmp_path: Path, name: str) -> None:
    path = saved(tmp_path / "r", *record(3))
    manifest = json.loads((path / "manifest.json").read_text())
    manifest["files"]["front"]["name"] = name
    write_manifest(path, manifest)
    with pytest.raises(DamagedResultsError, match="no name of a data file"):
        load(path)


def test_files_that_do_not_go_together_are_refused(tmp_path: Path) -> None:
    path = saved(tmp_path / "r", *record(3))
    manifest = json.loads((path / "manifest.json").read_text())
    manifest["variables"][0]["path"] = "rocker.pivot.x"
    write_manifest(path, manifest)
    with pytest.raises(DamagedResultsError, match=r"do not go together.*rocker\.pivot\.x"):
        load(path)


@pytest.mark.parametrize("made", [False, True])
def test_what_is_no_results_folder_is_refused(tmp_path: Path, made: bool) -> None:
    path = tmp_path / "r"
    if made:
        path.mkdir()
    with pytest.raises(NoResultsError, match="rockwright search") as caught:
        load(path)
    assert isinstance(caught.value, RockwrightError)
    assert caught.value.exit_code == 2


def test_what_a_kill_left_behind_is_swept_by_the_next_search(tmp_path: Path) -> None:
    state = record(3)
    path = saved(tmp_path / "r", *state)
    strays = [
        "manifest-previous.json.tmp",
        "front-000002.csv",
        "front-000002.csv.tmp",
        "manifest.json.tmp",
        "growth-000007.csv",
    ]
    for name in strays:
        (path / name).write_text("torn")
    (path / "notes.txt").write_text("an engineer's own")
    open_for_search(path, front_study(), resume=True).__exit__(None, None, None)
    assert not [name for name in strays if (path / name).exists()]
    assert (path / "notes.txt").exists()
    assert differing(path, *state) == []


def test_the_save_before_stays_beside_the_present_one_and_no_other(tmp_path: Path) -> None:
    states = [record(4, seed=seed) for seed in (1, 2, 3)]
    with open_for_search(tmp_path, front_study()) as folder:
        for state in states:
            folder.save(*state)
    previous = previous_save(tmp_path)
    assert previous is not None
    assert (previous.save, load(tmp_path).manifest.save) == (2, 3)
    assert sorted({file.stem[-6:] for file in tmp_path.glob("*-*.csv")}) == ["000002", "000003"]
    (tmp_path / "manifest-previous.json").replace(tmp_path / "manifest.json")
    assert differing(tmp_path, *states[1]) == []


def test_two_alike_saves_share_no_file(tmp_path: Path) -> None:
    state = record(4)
    with open_for_search(tmp_path, front_study()) as folder:
        folder.save(*state)
        folder.save(*state)
    (tmp_path / "front-000002.csv").unlink()
    (tmp_path / "manifest-previous.json").replace(tmp_path / "manifest.json")
    assert differing(tmp_path, *state) == []


@pytest.mark.parametrize("saves", [1, 2])
def test_a_search_does_not_begin_anew_over_files_whose_manifest_is_gone(tmp_path: Path, saves: int) -> None:
    with open_for_search(tmp_path, front_study()) as folder:
        for _ in range(saves):
            folder.save(*record(4))
    (tmp_path / "manifest.json").unlink()
    files = sorted(tmp_path.iterdir())
    with pytest.raises(DamagedResultsError, match=r"manifest\.json: missing beside .*rockwright doctor"):
        open_for_search(tmp_path, front_study(), resume=True)
    assert sorted(tmp_path.iterdir()) == files


@pytest.mark.parametrize("harm", ["gone", "changed"])
def test_resuming_brings_the_copy_of_the_study_back(tmp_path: Path, harm: str) -> None:
    path = saved(tmp_path / "r", *record(2))
    (path / "study.yaml").unlink()
    if harm == "changed":
        (path / "study.yaml").write_text(front_study().text.replace("205", "206", 1))
    with open_for_search(path, front_study(), resume=True):
        assert load(path).study().text == front_study().text


def test_a_manifest_of_the_format_before_reads_without_a_checksum(tmp_path: Path) -> None:
    state = record(3)
    path = saved(tmp_path / "r", *state)
    manifest = json.loads((path / "manifest.json").read_text())
    del manifest["sha256"]
    (path / "manifest.json").write_text(json.dumps(manifest | {"format": 1}))
    assert differing(path, *state) == []
    (path / "manifest.json").write_text(json.dumps(manifest))
    with pytest.raises(DamagedResultsError, match="its checksum is not its own"):
        load(path)


def test_an_infinite_number_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    state = record(3)
    path = saved(tmp_path / "r", *state)
    broken = replace(state[0], x=np.full_like(state[0].x, np.inf))
    with open_for_search(path, front_study(), resume=True) as folder, pytest.raises(ValueError, match="infinite"):
        folder.save(broken, state[1])
    assert differing(path, *state) == []


def write_manifest(path: Path, manifest: dict[str, object]) -> None:
    """Put a manifest in place that says something else, with a checksum of its own."""
    entries = {key: value for key, value in manifest.items() if key != "sha256"}
    (path / "manifest.json").write_bytes(sealed(json.dumps(entries, indent=1).encode()))


def differing(path: Path, snapshot: Snapshot, figures: SavedFigures) -> list[str]:
    """What a folder holds otherwise than this state, every number to the bit."""
    results = load(path)
    found = results.snapshot
    pairs: dict[str, tuple[object, object]] = {
        name: (_bits(getattr(found, name)), _bits(getattr(snapshot, name))) for name in Snapshot.__dataclass_fields__
    }
    pairs |= {name: (_bits(results.figures[name]), _bits(column)) for name, column in figures.members.items()}
    return [name for name, (a, b) in pairs.items() if a != b]


def _bits(value: object) -> object:
    if isinstance(value, np.ndarray):
        return value.shape, value.dtype.str, value.tobytes()
    return value
