"""A results folder made of several: what it holds, that it reads and resumes as any other, and when it is refused."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from objectives.goals import objective_values
from optimiser.report.front.frame import frame
from optimiser.report.results.files import DamagedResultsError
from optimiser.report.results.folder import FolderTakenError, SavedFigures, open_for_search
from optimiser.report.results.loading import load
from optimiser.report.results.merge import merge
from optimiser.report.results.store import NoResultsError, read_store
from optimiser.report.results.union import UnequalFoldersError, united
from optimiser.search.island import Budget, Settings, search
from optimiser.search.problem import problem_of
from optimiser.search.snapshot import Snapshot
from optimiser.search.volume import nondominated, reference_of, volume
from optimiser.study.read import read_study
from tests.report.records import ROOT, front_study, nothing_found, record, saved


def front_record(members: int, seed: int) -> tuple[Snapshot, SavedFigures]:
    """A state whose members do not dominate each other, before a reference that they lie before."""
    snapshot, figures = record(members, seed=seed)
    rows = nondominated(snapshot.objectives)
    kept = replace(
        snapshot,
        ids=snapshot.ids[rows],
        x=snapshot.x[rows],
        objectives=snapshot.objectives[rows],
        reference=reference_of(snapshot.objectives),
    )
    return kept, replace(figures, members={name: column[rows] for name, column in figures.members.items()})


@pytest.fixture
def two(tmp_path: Path) -> list[Path]:
    return [saved(tmp_path / f"seed-{seed}", *front_record(60, seed)) for seed in (1, 2)]


def test_the_new_folder_holds_the_union(two: list[Path], tmp_path: Path) -> None:
    out = tmp_path / "both"
    merge(two, out, "rockwright merge")
    union, made = united([read_store(path) for path in two]), read_store(out)
    assert made.front == union.store.front
    assert made.base == union.store.base
    assert made.growth == union.store.growth
    assert len({origin.folder for origin in union.origins.values()}) == 2


def test_its_manifest_sums_and_says_how_it_was_made(two: list[Path], tmp_path: Path) -> None:
    merge(two, tmp_path / "both", "rockwright merge A B -o both")
    parts, manifest = [read_store(path).manifest for path in two], read_store(tmp_path / "both").manifest
    assert manifest.command == "rockwright merge A B -o both"
    assert manifest.evaluations == 16_000
    assert manifest.seconds == pytest.approx(parts[0].seconds + parts[1].seconds, rel=1e-15)
    assert manifest.reference == parts[0].reference
    assert manifest.margin == tuple(map(max, zip(parts[0].margin, parts[1].margin, strict=True)))
    assert manifest.fingerprint == parts[0].fingerprint
    assert manifest.figures == parts[0].figures
    assert manifest.versions == parts[0].versions


def test_a_search_learns_that_numbers_come_from_another_version(
    two: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("optimiser.report.results.folder.platform.python_version", lambda: "99.1")
    merge(two, tmp_path / "both")
    assert read_store(tmp_path / "both").manifest.versions == read_store(two[0]).manifest.versions
    with open_for_search(tmp_path / "both", front_study(), resume=True) as folder:
        assert folder.before is not None
        assert folder.before.manifest.versions != folder.versions


def test_the_seed_is_the_first_folder_s(two: list[Path], tmp_path: Path) -> None:
    with open_for_search(tmp_path / "seeded", replace(front_study(), seed=4711)) as folder:
        folder.save(*front_record(10, 5))
    merge([tmp_path / "seeded", *two], tmp_path / "both")
    assert read_store(tmp_path / "both").manifest.seed == 4711


def test_its_figures_are_those_of_the_files_to_the_bit(two: list[Path], tmp_path: Path) -> None:
    union, _ = merge(two, tmp_path / "both")
    made, parts = load(tmp_path / "both"), [load(path) for path in two]
    for row, name in enumerate(made.snapshot.ids.tolist()):
        origin = union.origins[name]
        part = parts[origin.folder]
        (there,) = np.flatnonzero(part.snapshot.ids == origin.id)
        assert made.snapshot.x[row].tolist() == part.snapshot.x[there].tolist()
        for figure, column in made.figures.items():
            assert column[row] == part.figures[figure][there]


def test_a_merge_of_merges_is_the_merge_of_all(two: list[Path], tmp_path: Path) -> None:
    third = saved(tmp_path / "seed-3", *front_record(60, 3))
    merge(two, tmp_path / "first-two")
    merge([tmp_path / "first-two", third], tmp_path / "stepwise")
    merge([*two, third], tmp_path / "at-once")
    stepwise, at_once = (load(tmp_path / name).snapshot for name in ("stepwise", "at-once"))
    assert sorted(stepwise.x.tolist()) == sorted(at_once.x.tolist())
    assert stepwise.evaluations == at_once.evaluations == 24_000
    assert stepwise.growth[-1].hypervolume == pytest.approx(at_once.growth[-1].hypervolume, rel=1e-12)


def test_too_many_members_are_thinned_and_cover_no_less_than_the_first_folder(tmp_path: Path) -> None:
    """Numbers of which the most crowded, wherever they come from, would cover less than the first folder alone."""
    two = [saved(tmp_path / "a", *front_record(20, 13)), saved(tmp_path / "b", *front_record(60, 113))]
    alone = load(two[0]).snapshot
    _, kept = merge(two, tmp_path / "both", capacity=len(alone.ids))
    made = load(tmp_path / "both")
    assert made.snapshot.ids.tolist() == kept.ids.tolist()
    assert len(kept.ids) == made.snapshot.growth[-1].members <= len(alone.ids)
    assert np.array_equal(made.snapshot.objectives, objective_values(front_study().goals, made.figures))
    assert alone.reference is not None
    assert made.snapshot.growth[-1].hypervolume >= volume(alone.objectives, alone.reference)


def test_where_nothing_is_found_the_nearest_is_kept(tmp_path: Path) -> None:
    snapshot, figures = nothing_found()
    nearer = replace(snapshot, closest_violation=0.25)
    merge([saved(tmp_path / "a", snapshot, figures), saved(tmp_path / "b", nearer, figures)], tmp_path / "both")
    made = load(tmp_path / "both")
    assert not len(made.snapshot.ids)
    assert made.snapshot.closest_violation == 0.25
    assert made.closest is not None
    assert dict(made.closest.figures) == dict(figures.closest or {})


def test_a_search_goes_on_from_it(tmp_path: Path) -> None:
    study = read_study(ROOT / "configs" / "front.yaml")
    merge([saved(tmp_path / f"{seed}", *front_record(30, seed)) for seed in (1, 2)], tmp_path / "both")
    with open_for_search(tmp_path / "both", study, resume=True) as folder:
        assert folder.before is not None
        before = folder.before.snapshot
        *_, after = search(problem_of(study), Budget(before.evaluations + 300), Settings(7), before)
    assert after.evaluations >= before.evaluations + 300
    assert after.growth[0] == before.growth[-1]
    assert after.growth[-1].feasible >= before.growth[-1].feasible
    new = after.ids[~np.isin(after.ids, before.ids)]
    assert (new >= before.next_id).all()


@pytest.mark.parametrize("content", ["results", "other", "file"])
def test_a_folder_that_holds_anything_is_refused(content: str, two: list[Path], tmp_path: Path) -> None:
    out = tmp_path / "out"
    if content == "results":
        saved(out, *record(3))
    elif content == "other":
        out.mkdir()
        (out / "notes.txt").write_text("mine")
    else:
        out.write_text("mine")
    before = sorted(path.name for path in tmp_path.rglob("*"))
    with pytest.raises(FolderTakenError, match="not empty; name a new folder"):
        merge(two, out)
    assert sorted(path.name for path in tmp_path.rglob("*")) == before


def test_an_empty_folder_is_taken(two: list[Path], tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    merge(two, tmp_path / "out")
    assert frame(read_store(tmp_path / "out")).members


@pytest.mark.parametrize("kind", ["front", "population", "study"])
def test_a_damaged_folder_is_named_and_nothing_written(kind: str, two: list[Path], tmp_path: Path) -> None:
    file = two[1] / read_store(two[1]).manifest.files[kind].name
    file.write_bytes(file.read_bytes().replace(b"1", b"2", 1))
    with pytest.raises(DamagedResultsError, match=f"seed-2/{file.name}"):
        merge(two, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_one_folder_is_no_merge(two: list[Path], tmp_path: Path) -> None:
    with pytest.raises(UnequalFoldersError, match="needs two results folders"):
        merge(two[:1], tmp_path / "out")


def test_other_studies_and_missing_folders_leave_nothing(two: list[Path], tmp_path: Path) -> None:
    text = front_study().text
    (tmp_path / "other.yaml").write_text(text.replace("name: ", "name: Another ", 1))
    snapshot, figures = front_record(10, 4)
    with open_for_search(tmp_path / "other", read_study(tmp_path / "other.yaml")) as folder:
        folder.save(snapshot, figures)
    with pytest.raises(UnequalFoldersError, match=r"seed-1 .*other .*Another"):
        merge([two[0], tmp_path / "other"], tmp_path / "out")
    with pytest.raises(NoResultsError, match="missing"):
        merge([two[0], tmp_path / "missing"], tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_folders_of_no_save_have_nothing_to_merge(tmp_path: Path) -> None:
    for name in "ab":
        with open_for_search(tmp_path / name, front_study()):
            pass
    with pytest.raises(NoResultsError, match="nothing was saved there yet"):
        merge([tmp_path / "a", tmp_path / "b"], tmp_path / "out")
