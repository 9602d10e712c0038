"""A results folder made of several: their union, to be shown, handed over and searched on as any other."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from geometry.arrays import Array
from optimiser.report.front.columns import Columns, encode
from optimiser.report.results.blocks import block_of
from optimiser.report.results.files import read_checked
from optimiser.report.results.folder import FolderTakenError, SavedFigures, open_for_search
from optimiser.report.results.manifest import STUDY
from optimiser.report.results.store import GROWTH, NoResultsError, Store, Table, read_store
from optimiser.report.results.union import UnequalFoldersError, Union, minimised, united
from optimiser.search.archive import CAPACITY, Archive, absorb
from optimiser.search.snapshot import GrowthPoint, Snapshot
from optimiser.study.read import read_study
from optimiser.study.study import Study


def merge(sources: Sequence[Path], out: Path, command: str = "", capacity: int = CAPACITY) -> tuple[Union, Snapshot]:
    """Write the union of results folders into a new one: the union, and what of it was kept.

    Every number is taken from the folders' files, each against its checksum; none is measured anew, and the versions
    that the new folder names are those that the numbers come from. Where the union
    has more than `capacity` members, the most crowded of them go, and the hypervolume does not fall below the first
    folder's. Raises FolderTakenError where `out` is there and not empty, UnequalFoldersError, NoResultsError or
    DamagedResultsError where the folders cannot be read as one; `out` is then not touched.
    """
    _refuse_taken(out)
    if len(sources) < 2:
        raise UnequalFoldersError(f"{', '.join(map(str, sources))}: a merge needs two results folders or more")
    stores = [read_store(path, population=True) for path in sources]
    union, study = united(stores), _study(stores)
    base = union.store.base
    if base is None:
        raise NoResultsError(f"{union.store.folder}: nothing was saved there yet; there is nothing to merge")
    kept = _kept(stores[0], union, capacity)
    snapshot = _snapshot(union.store, kept)
    figures = SavedFigures(
        members=_figures(union.store.front, kept),
        base=_first_row(base.figures),
        closest=_first_row(union.store.closest.figures) if union.store.closest else None,
        spreads={name: entry.spread for name, entry in union.store.manifest.figures.items() if entry.spread},
    )
    more = {"conflict": encode(union.store.conflict)} if union.store.conflict else {}
    with open_for_search(out, study, command=command) as folder:
        folder.versions = dict(union.store.manifest.versions)  # the numbers are theirs: a search looks at it
        folder.save(snapshot, figures, more)
    return union, snapshot


def _refuse_taken(out: Path) -> None:
    if out.exists() and not (out.is_dir() and not any(out.iterdir())):
        raise FolderTakenError(f"{out} is there already and not empty; name a new folder with -o")


def _study(stores: Sequence[Store]) -> Study:
    """The study of all, with the first folder's seed, each folder's copy of it checked."""
    for store in stores:
        read_checked(store.folder, STUDY, store.manifest.files["study"].sha256)
    return replace(read_study(stores[0].folder / STUDY), seed=stores[0].manifest.seed)


def _kept(first: Store, union: Union, capacity: int) -> Archive:
    """The members of the union that stay: those of the first folder, which all have its ids, then the others."""
    manifest, both = union.store.manifest, union.store.front
    others = np.array([union.origins[name].folder > 0 for name in both.ids], dtype=np.bool_)
    archive = Archive(
        ids=np.array(first.front.ids, dtype=np.int64),
        x=block_of(first.front.variables),
        objectives=minimised(first.front, manifest),
        next_id=manifest.next_id,
        reference=None if manifest.reference is None else np.array(manifest.reference),
        capacity=capacity,
    )
    ids = np.array(both.ids, dtype=np.int64)
    return absorb(archive, ids[others], block_of(both.variables)[others], minimised(both, manifest)[others])


def _snapshot(store: Store, kept: Archive) -> Snapshot:
    manifest, closest = store.manifest, store.closest
    return Snapshot(
        ids=kept.ids,
        x=kept.x,
        objectives=kept.objectives,
        population=block_of(store.population),
        evaluations=manifest.evaluations,
        seconds=manifest.seconds,
        next_id=manifest.next_id,
        growth=_growth(store.growth, kept),
        reference=kept.reference,
        closest=None if closest is None else block_of(closest.variables)[0],
        closest_violation=np.inf if manifest.closest_violation is None else manifest.closest_violation,
        habits=manifest.habits,
        margin=manifest.margin,
        epochs=manifest.epochs,
        gains=manifest.gains,
    )


def _growth(growth: Columns, kept: Archive) -> tuple[GrowthPoint, ...]:
    return tuple(
        GrowthPoint(int(evaluations), seconds, int(feasible), len(kept), kept.volume, int(taken_out))
        for evaluations, seconds, feasible, _, _, taken_out in zip(*(growth[name] for name in GROWTH), strict=True)
    )


def _figures(front: Table, kept: Archive) -> dict[str, Array]:
    rows = np.isin(np.array(front.ids, dtype=np.int64), kept.ids)
    return {name: np.array(column)[rows] for name, column in front.figures.items()}


def _first_row(figures: Mapping[str, Sequence[float]]) -> dict[str, float]:
    return {name: column[0] for name, column in figures.items()}
