"""Several results folders as one: who stays, under which id, and what is summed."""

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optimiser.report.results.folder import SavedFigures, open_for_search
from optimiser.report.results.manifest import Manifest
from optimiser.report.results.store import GROWTH, Store, read_store
from optimiser.report.results.union import Origin, UnequalFoldersError, Union, minimised, united
from optimiser.search.volume import volume
from tests.report.fronts import BASE, HELD, store, table
from tests.report.records import front_study, nothing_found, record, saved

# pivot y, lower angle, heave ratio, progressivity (more is better), heave crosstalk, roll crosstalk, arm sum, sweep
GOOD = (180.0, -110.0, 1.1, 20.0, 4.0, 0.5, 300.0, 40.0)
SHORT = (190.0, -110.0, 1.1, 10.0, 4.0, 0.5, 200.0, 40.0)
WORSE = (200.0, -110.0, 1.1, 9.0, 4.0, 0.5, 210.0, 40.0)
QUIET = (210.0, -110.0, 1.1, 5.0, 0.1, 0.5, 290.0, 40.0)
ELSEWHERE = (220.0, -120.0, 1.1, 20.0, 4.0, 0.5, 300.0, 44.0)
"""As good as GOOD, another place."""


def folders(*fronts: dict[int, tuple[float, ...]]) -> list[Store]:
    """One invented folder a front, of members by id."""
    found = [store(table(list(front), list(front.values())), table([0], [BASE])) for front in fronts]
    return [replace(one, folder=Path(f"results/{name}")) for one, name in zip(found, "abcdef", strict=False)]


def rows(union: Union) -> dict[int, tuple[float, float]]:
    """Every member's pivot and angle by its id."""
    front = union.store.front
    return dict(zip(front.ids, zip(*front.variables.values(), strict=True), strict=True))


def test_what_another_folder_beats_goes() -> None:
    union = united(folders({3: GOOD, 4: WORSE}, {7: SHORT, 8: QUIET}))
    assert rows(union) == {3: GOOD[:2], 7: SHORT[:2], 8: QUIET[:2]}
    assert (union.members, union.kept, union.renamed) == ((2, 2), (1, 2), (0, 0))
    assert union.store.front.figures["rocker.arm_sum"] == [300.0, 200.0, 290.0]
    assert union.store.front.left["roll.crosstalk"] == [0.5] * 3


def test_of_one_design_and_of_equal_ones_the_first_folder_s_stays() -> None:
    union = united(folders({3: GOOD}, {9: GOOD, 10: ELSEWHERE}))
    assert rows(union) == {3: GOOD[:2]}
    assert union.origins == {3: Origin(0, 3)}


def test_an_id_stays_with_the_first_folder_that_has_it() -> None:
    union = united(folders({3: GOOD, 4: WORSE}, {3: SHORT, 4: QUIET}))
    assert union.origins == {3: Origin(0, 3), 5: Origin(1, 3), 6: Origin(1, 4)}
    assert rows(union) == {3: GOOD[:2], 5: SHORT[:2], 6: QUIET[:2]}
    assert union.renamed == (0, 2)
    assert union.store.manifest.next_id == 7


def test_one_design_under_one_id_in_both_keeps_it() -> None:
    union = united(folders({3: GOOD}, {3: GOOD, 4: SHORT}))
    assert rows(union) == {3: GOOD[:2], 4: SHORT[:2]}
    assert union.renamed == (0, 0)


def test_new_ids_are_above_all_that_a_folder_has_given() -> None:
    first, second = folders({3: GOOD}, {3: SHORT})
    union = united([first, replace(second, manifest=replace(second.manifest, next_id=500))])
    assert sorted(union.origins) == [3, 500]
    assert union.store.manifest.next_id == 501


def test_one_folder_is_itself() -> None:
    (only,) = folders({3: GOOD, 7: SHORT})
    union = united([only])
    assert union.store.front == only.front
    assert union.store.base == only.base


def test_the_set_does_not_depend_on_the_order() -> None:
    fronts: list[dict[int, tuple[float, ...]]] = [{3: GOOD, 4: WORSE}, {7: SHORT}, {3: QUIET}]
    found = [set(rows(united(folders(*order))).values()) for order in itertools.permutations(fronts)]
    assert found == [{GOOD[:2], SHORT[:2], QUIET[:2]}] * 6


def test_counts_are_sums_and_the_volume_is_the_union_s() -> None:
    union = united(folders({3: GOOD}, {7: SHORT}, {8: QUIET}))
    assert union.store.manifest.evaluations == 12_000
    assert union.store.manifest.seconds == 7.5
    assert union.store.manifest.reference == (0.0, 5.0, 40.0)
    objectives = np.array([[-20.0, 4.0, 30.0], [-10.0, 4.0, 20.0], [-5.0, 0.1, 29.0]])
    expected = volume(objectives, np.array([0.0, 5.0, 40.0]))
    last = {name: column[0] for name, column in union.store.growth.items()}
    assert last == dict(zip(GROWTH, (12_000.0, 7.5, 270.0, 3.0, expected, 6.0), strict=True))


def test_the_reference_is_the_first_that_there_is() -> None:
    first, second = folders({}, {3: GOOD})
    union = united([replace(first, manifest=replace(first.manifest, reference=None)), second])
    assert union.store.manifest.reference == second.manifest.reference
    assert rows(union) == {3: GOOD[:2]}


def test_the_widest_margin_is_kept() -> None:
    stores = [
        replace(one, manifest=replace(one.manifest, margin=margin))
        for one, margin in zip(folders({3: GOOD}, {}, {7: SHORT}), [(0.1, 0.4), (), (0.3, 0.2)], strict=True)
    ]
    assert united(stores).store.manifest.margin == (0.3, 0.4)


def test_with_held_goals_alone_the_one_with_the_most_room_stays() -> None:
    near, far = (1.0, 0.0, 1.1, 0.0, 0.0, 0.9, 0.0, 0.0), (2.0, 0.0, 1.108, 0.0, 0.0, 0.1, 0.0, 0.0)
    room = (3.0, 0.0, 1.102, 0.0, 0.0, 0.3, 0.0, 0.0)
    stores = [_held_alone(one) for one in folders({3: near, 4: far}, {3: room})]
    assert minimised(stores[0].front, stores[0].manifest) == pytest.approx(np.array([[-0.1], [-0.2]]))
    assert united(stores).store.front.variables["rocker.pivot.y"] == [3.0]


def _held_alone(one: Store) -> Store:
    manifest: Manifest = replace(one.manifest, goals=HELD, reference=(1.0,))
    return replace(one, manifest=manifest, front=replace(one.front, objectives={}))


def test_folders_of_other_studies_have_no_union() -> None:
    first, second = folders({3: GOOD}, {7: SHORT})
    other = replace(second, manifest=replace(second.manifest, study="Another axle", fingerprint="1" * 64))
    with pytest.raises(UnequalFoldersError, match=r"results/a .*'An invented axle'.*results/b .*'Another axle'"):
        united([first, other])


def test_folders_that_count_otherwise_have_no_union() -> None:
    first, second = folders({3: GOOD}, {7: SHORT})
    goals = tuple(replace(goal, scale=2.0 * goal.scale) for goal in second.manifest.goals)
    with pytest.raises(UnequalFoldersError, match="results/a and results/b were written by versions"):
        united([first, replace(second, manifest=replace(second.manifest, goals=goals))])


def test_a_folder_counts_once() -> None:
    first, _ = folders({3: GOOD}, {})
    with pytest.raises(UnequalFoldersError, match="the same folder"):
        united([first, replace(first, folder=Path("results/../results/a"))])


def test_where_nothing_is_found_the_nearest_is_the_nearest_of_all(tmp_path: Path) -> None:
    snapshot, figures = nothing_found()
    nearer = replace(snapshot, closest_violation=0.5, closest=record(1, seed=6)[0].x[0])
    paths = [saved(tmp_path / "a", snapshot, figures), saved(tmp_path / "b", nearer, figures)]
    union = united([read_store(path) for path in paths])
    assert nearer.closest is not None
    assert union.store.closest is not None
    assert [column[0] for column in union.store.closest.variables.values()] == nearer.closest.tolist()
    assert union.store.manifest.closest_violation == 0.5


def test_figures_that_only_some_folders_have_are_left_out(tmp_path: Path) -> None:
    snapshot, figures = record(5)
    members = {name: column for name, column in figures.members.items() if name != "rocker.sweep"}
    base = {name: value for name, value in figures.base.items() if name != "rocker.sweep"}
    paths = [
        saved(tmp_path / "a", *record(5, seed=2)),
        saved(tmp_path / "b", snapshot, SavedFigures(members, base)),
    ]
    union = united([read_store(path) for path in paths])
    assert "rocker.sweep" not in union.store.front.figures
    assert "rocker.sweep" not in union.store.manifest.figures
    assert union.store.base is not None
    assert list(union.store.base.figures) == list(union.store.front.figures)


def test_a_campaign_goes_on_after_the_latest_epoch(tmp_path: Path) -> None:
    states = [
        (replace(record(5, seed=seed)[0], epochs=epochs, gains=gains), record(5, seed=seed)[1])
        for seed, (epochs, gains) in enumerate([(2, ()), (5, (1.0, 0.5, 2.0)), (3, (1.0, 1.0, 1.0))], 1)
    ]
    stores = [read_store(saved(tmp_path / str(number), *state)) for number, state in enumerate(states)]
    manifest = united(stores).store.manifest
    assert (manifest.epochs, manifest.gains) == (5, (1.0, 0.5, 2.0))


def test_versions_that_differ_stand_side_by_side() -> None:
    first, second = folders({3: GOOD}, {7: SHORT})
    stores = [
        replace(one, manifest=replace(one.manifest, versions=versions))
        for one, versions in (
            (first, {"python": "3.12.1", "numpy": "2.2"}),
            (second, {"python": "3.11.9", "numpy": "2.2"}),
        )
    ]
    assert united(stores).store.manifest.versions == {"python": "3.11.9, 3.12.1", "numpy": "2.2"}


def test_a_folder_of_no_save_adds_nothing(tmp_path: Path) -> None:
    path = saved(tmp_path / "a", *record(5))
    with open_for_search(tmp_path / "b", front_study()):
        pass
    alone, both = united([read_store(path)]), united([read_store(path), read_store(tmp_path / "b")])
    assert both.store.front == alone.store.front
    assert both.store.manifest.evaluations == 8000
