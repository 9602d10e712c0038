"""Islands under way in a results folder: what is read back is what was saved, to the bit, and damage is named."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optimiser.report.results.files import DamagedResultsError, sha256, write_durably
from optimiser.report.results.loading import load
from optimiser.report.results.manifest import MANIFEST, DataFile, dump, read_manifest
from optimiser.search.snapshot import Epoch, GrowthPoint, Snapshot
from tests.islands import same
from tests.report.records import record, saved


def under_way(islands: int = 3, seed: int = 1) -> Snapshot:
    """An invented state within an epoch: the first island has not begun, the others have members of the start too."""
    whole, _ = record(12, seed)
    names = np.arange(1, 13)
    start = replace(whole, ids=names, next_id=13, epochs=2, gains=(1.0, 0.5, 0.25), growth=whole.growth[-1:])
    start = replace(start, closest_violation=np.inf)
    rng = np.random.default_rng(seed)

    def island(number: int) -> Snapshot | None:
        if not number:
            return None
        own, _ = record(5, seed + number)
        old = np.sort(rng.choice(12, 4 + number, replace=False))
        point = GrowthPoint(start.evaluations + 100 * number, 9.5 + number, 90 + number, 0, 0.0, 30 + number)
        return replace(
            own,
            ids=np.concatenate([names[old], 13 + number + 8 * np.arange(5)]),
            x=np.concatenate([start.x[old], own.x]),
            objectives=np.concatenate([start.objectives[old], own.objectives]),
            evaluations=point.evaluations,
            seconds=point.seconds,
            next_id=13 + number + 40,
            growth=(point,),
            reference=start.reference,
            closest_violation=np.inf,
            habits=(0.1, 0.2, 0.3, 64.0),
            epochs=2,
            gains=start.gains,
        )

    each = tuple(island(number) for number in range(islands))
    epoch = Epoch(start, (1000,) * islands, (900,) * islands, (0, 1, 2)[:islands], each)
    return replace(whole, population=start.population, epochs=2, gains=start.gains, epoch=epoch)


@pytest.mark.parametrize("seed", range(3))
def test_islands_under_way_are_read_back_to_the_bit(tmp_path: Path, seed: int) -> None:
    state = under_way(seed=seed)
    back = load(saved(tmp_path / "r", state, record(12, seed)[1])).snapshot
    assert same(back, state)
    assert back.epoch is not None
    assert state.epoch is not None
    for one, other in zip(back.epoch.islands[1:], state.epoch.islands[1:], strict=True):
        assert one is not None
        assert other is not None
        assert one.growth[-1].feasible == other.growth[-1].feasible
        assert one.growth[-1].taken_out == other.growth[-1].taken_out


def test_islands_without_a_member_keep_their_closest(tmp_path: Path) -> None:
    empty, figures = record(0)
    start = replace(empty, next_id=1, growth=(), closest_violation=np.inf)
    island = replace(start, closest=np.full(len(start.population[0]), 2.5), closest_violation=0.75, evaluations=9_000)
    state = replace(start, epoch=Epoch(start, (9_500,), (9_400,), (0,), (island,)))
    back = load(saved(tmp_path / "r", state, figures)).snapshot
    assert back.epoch is not None
    (kept,) = back.epoch.islands
    assert kept is not None
    assert kept.closest is not None
    assert kept.closest.tolist() == [2.5] * len(kept.closest)
    assert kept.closest_violation == 0.75
    assert back.epoch.start.closest is None
    assert back.epoch.start.closest_violation == np.inf


def test_between_two_epochs_only_designs_to_begin_with_are_kept(tmp_path: Path) -> None:
    state, figures = record(6)
    back = load(saved(tmp_path / "r", state, figures)).snapshot
    assert back.epoch is None
    assert np.array_equal(back.population, state.population)


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        ("islands", lambda text: text.replace("island,begun", "begun,island", 1)),
        ("islands", lambda text: "\n".join(text.split("\n")[:2] + text.split("\n")[3:])),
        (
            "finds",
            lambda text: "\n".join(line for line in text.split("\n") if not line.startswith("2,13"))[:-40] + "\n",
        ),
        ("start", lambda text: "\n".join(text.split("\n")[:4]) + "\n"),
        ("population", lambda text: text.replace("island,", "land,", 1)),
    ],
)
def test_files_of_islands_that_do_not_go_together_are_named(tmp_path: Path, kind: str, change: object) -> None:
    """A file that was changed together with its checksum, as only a defect or a hand would."""
    assert callable(change)
    path = saved(tmp_path / "r", under_way(), record(12)[1])
    manifest = read_manifest(path)
    data = change((path / manifest.files[kind].name).read_text()).encode()
    write_durably(path, manifest.files[kind].name, data)
    files = {**manifest.files, kind: DataFile(manifest.files[kind].name, sha256(data))}
    write_durably(path, MANIFEST, dump(replace(manifest, files=files)))
    with pytest.raises(DamagedResultsError):
        load(path)
