"""The archive: what gets in, what stays, and what never changes, against a slow twin."""

import numpy as np
import pytest

from geometry.arrays import Array
from optimiser.search.archive import Archive, empty, insert, knee, with_reference
from optimiser.search.volume import nondominated, volume


def filled(objectives: Array, batch: int = 10, capacity: int = 10_000) -> Archive:
    """An archive that was offered the rows in batches; `x` of a row is its number."""
    archive = empty(1, objectives.shape[1], capacity)
    rows = np.arange(len(objectives), dtype=np.float64)[:, None]
    for start in range(0, len(objectives), batch):
        archive = insert(archive, rows[start : start + batch], objectives[start : start + batch])
    return archive


def kept_one_by_one(objectives: Array) -> list[int]:
    """The slow twin: rows that stay when each is compared with every member."""
    members: list[int] = []
    for row, f in enumerate(objectives):
        if not any((objectives[member] <= f).all() for member in members):
            members = [member for member in members if not (f <= objectives[member]).all()] + [row]
    return members


def some(seed: int, members: int = 300, objectives: int = 3) -> Array:
    return np.random.default_rng(seed).random((members, objectives)).round(2)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("batch", [1, 7, 300])
def test_archive_agrees_with_its_slow_twin(seed: int, batch: int) -> None:
    objectives = some(seed)
    archive = filled(objectives, batch)
    assert archive.x[:, 0].tolist() == kept_one_by_one(objectives)
    assert np.array_equal(archive.objectives, objectives[kept_one_by_one(objectives)])


def test_the_front_does_not_depend_on_the_order() -> None:
    objectives = some(1)
    shuffled = np.random.default_rng(2).permutation(objectives)
    assert {tuple(f) for f in filled(objectives).objectives} == {tuple(f) for f in filled(shuffled).objectives}


def test_ids_rise_stay_and_are_never_given_twice() -> None:
    seen: dict[int, tuple[float, ...]] = {}
    archive = empty(1, 3)
    for k, batch in enumerate(np.split(some(3), 30)):
        archive = insert(archive, np.full((len(batch), 1), float(k)), batch)
        assert (np.diff(archive.ids) > 0).all()
        for name, f in zip(archive.ids.tolist(), archive.objectives.tolist(), strict=True):
            assert seen.setdefault(name, tuple(f)) == tuple(f)
    assert archive.next_id == max(seen) + 1


def test_of_equal_members_the_older_stays() -> None:
    archive = insert(empty(1, 2), np.array([[1.0], [2.0]]), np.ones((2, 2)))
    archive = insert(archive, np.array([[3.0]]), np.ones((1, 2)))
    assert archive.x.tolist() == [[1.0]]
    assert archive.next_id == 1


def test_nothing_offered_changes_nothing() -> None:
    archive = insert(empty(2, 2), np.zeros((0, 2)), np.zeros((0, 2)))
    assert len(archive) == 0
    assert archive.volume == 0.0
    assert archive.reference is None


def test_an_archive_is_a_value() -> None:
    first = filled(some(4, 50))
    before = first.objectives.copy()
    insert(first, np.zeros((1, 1)), np.zeros((1, 3)))
    assert np.array_equal(first.objectives, before)


def test_the_reference_is_fixed_at_the_first_front() -> None:
    assert with_reference(empty(1, 2)).reference is None
    first = with_reference(insert(empty(1, 2), np.zeros((2, 1)), np.array([[0.0, 1.0], [1.0, 0.0]])))
    later = with_reference(insert(first, np.zeros((1, 1)), np.array([[-5.0, 9.0]])))
    assert first.reference is not None
    assert later.reference is first.reference


@pytest.mark.parametrize("improving", [True, False])
@pytest.mark.parametrize("objectives", [1, 2, 3, 4, 6])
def test_a_full_archive_keeps_extremes_and_never_loses_volume(objectives: int, improving: bool) -> None:
    rng = np.random.default_rng(objectives)
    archive, lowest, before = empty(1, objectives, 40), np.full(objectives, np.inf), 0.0
    for scale in np.linspace(1.3 if improving else 1.0002, 1.0, 25):
        raw = np.abs(rng.normal(size=(60, objectives)))
        f = scale - raw / np.linalg.norm(raw, axis=1)[:, None]
        archive = with_reference(insert(archive, np.zeros((60, 1)), f))
        assert len(archive) <= 40
        assert nondominated(np.concatenate([archive.objectives, f]))[: len(archive)].all()
        assert archive.reference is not None
        now = volume(archive.objectives, archive.reference)
        assert now >= before * (1 - 1e-12)
        assert (archive.objectives.min(axis=0) <= lowest).all()
        lowest, before = archive.objectives.min(axis=0), now


def test_thinning_keeps_the_extremes_and_the_knee_of_all_and_levels_the_crowd() -> None:
    t = np.concatenate([np.linspace(0, 1, 50), 0.7 + 1e-4 * np.arange(1, 400)])
    circle = 1 - np.stack([np.sin(t * np.pi / 2), np.cos(t * np.pi / 2)], axis=1)
    archive = insert(empty(1, 2, 60), t[:, None], circle)
    assert len(archive) == 60
    for row in (*circle.argmin(axis=0), knee(circle)):
        assert circle[row].tolist() in archive.objectives.tolist()
    crowd = (archive.x[:, 0] > 0.7) & (archive.x[:, 0] < 0.74)
    assert crowd.sum() < 20


def test_the_knee_is_the_member_nearest_to_the_best_of_all() -> None:
    assert knee(np.array([[0.0, 10.0], [0.3, 4.0], [0.6, 3.9], [1.0, 0.0]])) == 1
    assert knee(np.array([[5.0, 5.0]])) == 0
