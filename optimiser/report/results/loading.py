"""A results folder as arrays: what a search goes on from, and what a hand-off takes a member from."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import numpy as np

from geometry.arrays import Array
from optimiser.report.results.blocks import block_of
from optimiser.report.results.epochs import read_epoch, read_seeds
from optimiser.report.results.files import DamagedResultsError, read_checked
from optimiser.report.results.manifest import MANIFEST, STUDY, Manifest
from optimiser.report.results.store import GROWTH, Store, Table, read_store
from optimiser.search.snapshot import Epoch, GrowthPoint, Snapshot
from optimiser.study.study import Study

T = TypeVar("T")


@dataclass(frozen=True)
class Candidate:
    """One candidate: `x` (V,) in the study file's units, and its figures by name (NaN: null)."""

    x: Array
    figures: Mapping[str, float]


@dataclass(frozen=True)
class Results:
    """A results folder at its last save.

    `figures` holds one array (N,) a figure, NaN where null, in the order of `snapshot.ids`; `base` is the study's own
    geometry, whether it is a member or not, and `closest` the candidate nearest to feasible; None where not saved.
    """

    store: Store
    """The folder's contents as plain columns."""
    snapshot: Snapshot
    figures: Mapping[str, Array]
    base: Candidate | None
    closest: Candidate | None

    @property
    def manifest(self) -> Manifest:
        """What the folder holds, from what, by what."""
        return self.store.manifest

    def study(self) -> Study:
        """The study that was searched, from the folder's copy. Raises DamagedResultsError or the reader's faults."""
        from optimiser.study.read import read_study  # noqa: PLC0415 - a YAML reader that only some callers need

        read_checked(self.store.folder, STUDY, self.manifest.files["study"].sha256)
        return read_study(self.store.folder / STUDY)


def load(path: Path) -> Results:
    """Read a results folder; one that a search is writing to is read as of its last save.

    Raises NoResultsError where there is none, DamagedResultsError, naming the file, where one is missing or changed.
    """
    store = read_store(path, population=True)
    manifest = store.manifest
    closest = _candidate(store.closest)
    snapshot = Snapshot(
        ids=np.array(store.front.ids, dtype=np.int64),
        x=block_of(store.front.variables),
        objectives=block_of(store.front.objectives),
        population=_seeds(store),
        evaluations=manifest.evaluations,
        seconds=manifest.seconds,
        next_id=manifest.next_id,
        growth=_growth(store),
        reference=None if manifest.reference is None else np.array(manifest.reference),
        closest=None if closest is None else closest.x,
        closest_violation=np.inf if manifest.closest_violation is None else manifest.closest_violation,
        habits=manifest.habits,
        margin=manifest.margin,
        epochs=manifest.epochs,
        gains=manifest.gains,
        epoch=_epoch(store),
    )
    figures = {name: np.array(column) for name, column in store.front.figures.items()}
    return Results(store, snapshot, figures, _candidate(store.base), closest)


def _seeds(store: Store) -> Array:
    return _read(store, lambda: read_seeds(store.campaign, len(store.manifest.variables)))


def _epoch(store: Store) -> Epoch | None:
    return _read(store, lambda: read_epoch(store.campaign, store.manifest.epochs, store.manifest.gains))


def _read(store: Store, read: Callable[[], T]) -> T:
    try:
        return read()
    except (ValueError, KeyError, IndexError) as error:
        raise DamagedResultsError(
            store.folder / MANIFEST, f"names files of a campaign that do not go together ({error})"
        ) from error


def _candidate(table: Table | None) -> Candidate | None:
    if table is None:
        return None
    return Candidate(block_of(table.variables)[0], {name: column[0] for name, column in table.figures.items()})


def _growth(store: Store) -> tuple[GrowthPoint, ...]:
    return tuple(
        GrowthPoint(int(evaluations), seconds, int(feasible), int(members), hypervolume, int(taken_out))
        for evaluations, seconds, feasible, members, hypervolume, taken_out in zip(
            *(store.growth[name] for name in GROWTH), strict=True
        )
    )
