"""Several results folders of one study as one: the members of all of them that no other dominates."""

import math
import shlex
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path

import numpy as np

from geometry.arrays import Array
from optimiser.errors import RockwrightError
from optimiser.report.front.columns import Columns
from optimiser.report.results.manifest import FigureEntry, Manifest
from optimiser.report.results.store import GROWTH, Store, Table
from optimiser.search.volume import nondominated, volume


class UnequalFoldersError(RockwrightError):
    """Results folders that have no union: of different studies, of versions that count differently, or one twice."""


@dataclass(frozen=True)
class Origin:
    """Where a member of a union comes from: the folder, counted from 0, and the id that the member has there."""

    folder: int
    id: int


@dataclass(frozen=True)
class Union:
    """Several folders as one.

    `store` is what one folder with all their members would hold: counts and seconds are sums, the reference is the
    first folder's, the log of growth is its last entry alone, and no island is at work. `members` counts those of each
    folder, `origins` tells by its id where each member of the union comes from.
    """

    store: Store
    folders: tuple[Path, ...]
    members: tuple[int, ...]
    origins: Mapping[int, Origin]

    @property
    def kept(self) -> tuple[int, ...]:
        """How many members of the union come from each folder."""
        counts = Counter(origin.folder for origin in self.origins.values())
        return tuple(counts[place] for place in range(len(self.folders)))

    @property
    def renamed(self) -> tuple[int, ...]:
        """How many of these have another id in the union than in their folder."""
        counts = Counter(origin.folder for name, origin in self.origins.items() if name != origin.id)
        return tuple(counts[place] for place in range(len(self.folders)))


def united(stores: Sequence[Store]) -> Union:
    """The union of results folders, one or more, of one study.

    Of members with the same variables or the same objectives the first folder's stays. A member keeps its id unless a
    folder before its own has it for another one; then it gets a new one, above all that the folders have given.
    Raises UnequalFoldersError, naming both, where two are of different studies or the same folder.
    """
    for number, store in enumerate(stores):
        _refuse_unequal(stores[0], store)
        _refuse_twice(stores[:number], store)
    kept = _nondominated(stores)
    origins = _named(stores, kept)
    order = sorted(origins)
    figures = _figures(stores)
    rows = {Origin(place, stores[place].front.ids[row]): (place, row) for place, row in kept}
    front = _gathered(stores, [rows[origins[name]] for name in order], order, figures)
    return Union(
        _store(stores, front, figures),
        tuple(one.folder for one in stores),
        tuple(len(one.front.ids) for one in stores),
        origins,
    )


def minimised(front: Table, manifest: Manifest) -> Array:
    """(N, M) what a front makes small; with held goals alone, the smallest margin in the goals' own scales, negated."""
    columns = list(front.objectives.values())
    if not columns:
        margins = [[left / goal.scale for left in front.left[goal.figure]] for goal in manifest.held]
        columns = [[-min(row) for row in zip(*margins, strict=True)]]
    return np.array(columns, dtype=np.float64).reshape(len(columns), len(front.ids)).T.copy()


def _refuse_unequal(first: Store, other: Store) -> None:
    a, b = first.manifest, other.manifest
    if a.fingerprint != b.fingerprint:
        raise UnequalFoldersError(
            f"{first.folder} holds the results of {a.study!r} (study {a.fingerprint[:12]}), {other.folder} those of "
            f"{b.study!r} ({b.fingerprint[:12]}): folders read together hold one and the same study file"
        )
    if (a.goals, a.variables) != (b.goals, b.variables):
        raise UnequalFoldersError(
            f"{first.folder} and {other.folder} were written by versions that count the study's goals differently; "
            f"resume the older search with --resume to write it anew"
        )


def _refuse_twice(before: Sequence[Store], store: Store) -> None:
    same = [one.folder for one in before if one.folder.resolve() == store.folder.resolve()]
    if same:
        raise UnequalFoldersError(f"{same[0]} and {store.folder} are the same folder: name each once")


def _nondominated(stores: Sequence[Store]) -> list[tuple[int, int]]:
    """The (folder, row) of the members that stay, in the folders' order."""
    first: dict[tuple[float, ...], tuple[int, int]] = {}
    for place, store in enumerate(stores):
        for row, point in enumerate(_points(store.front)):
            first.setdefault(point, (place, row))
    places = list(first.values())
    objectives = [minimised(store.front, store.manifest) for store in stores]
    rows = np.array([objectives[place][row] for place, row in places]).reshape(len(places), objectives[0].shape[1])
    return [place for place, keep in zip(places, nondominated(rows), strict=True) if keep]


def _named(stores: Sequence[Store], kept: Iterable[tuple[int, int]]) -> dict[int, Origin]:
    """The members that stay, by their ids in the union."""
    points = [_points(store.front) for store in stores]
    owners: dict[int, tuple[float, ...]] = {}
    for store, there in zip(stores, points, strict=True):
        for name, point in zip(store.front.ids, there, strict=True):
            owners.setdefault(name, point)
    unused = max(chain([1 + max(owners, default=0)], (store.manifest.next_id for store in stores)))
    origins: dict[int, Origin] = {}
    for place, row in kept:
        own = stores[place].front.ids[row]
        if owners[own] == points[place][row]:
            origins[own] = Origin(place, own)
        else:
            origins[unused] = Origin(place, own)
            unused += 1
    return origins


def _points(table: Table) -> list[tuple[float, ...]]:
    """The variables of every row."""
    return list(zip(*table.variables.values(), strict=True))


def _figures(stores: Sequence[Store]) -> dict[str, FigureEntry]:
    """The figures that every folder has; one without a save has none, and does not count."""
    first, *others = [one.manifest.figures for one in stores if one.manifest.figures] or [{}]
    return {name: entry for name, entry in first.items() if all(name in other for other in others)}


def _gathered(
    stores: Sequence[Store], places: Sequence[tuple[int, int]], names: list[int], figures: Mapping[str, FigureEntry]
) -> Table:
    """The rows at (folder, row) as a table of their own, under these ids."""

    def columns(of: Callable[[Table], Columns], wanted: Iterable[str]) -> Columns:
        return {name: [of(stores[place].front)[name][row] for place, row in places] for name in wanted}

    front = stores[0].front
    return Table(
        names,
        columns(lambda table: table.variables, front.variables),
        columns(lambda table: table.objectives, front.objectives),
        columns(lambda table: table.figures, figures),
        columns(lambda table: table.left, front.left),
    )


def _store(stores: Sequence[Store], front: Table, figures: Mapping[str, FigureEntry]) -> Store:
    nearest = None if front.ids else _nearest(stores)
    manifest = _manifest(stores, front, figures, nearest)
    return Store(
        folder=Path(shlex.join(str(store.folder) for store in stores)),
        manifest=manifest,
        front=front,
        base=next((_only(store.base, figures) for store in stores if store.base), None),
        closest=_only(nearest.closest, figures) if nearest and nearest.closest else None,
        population={path: [] for path in front.variables},
        growth=_growth(stores, front, manifest),
        conflict={} if front.ids else next((store.conflict for store in stores if store.conflict), {}),
    )


def _nearest(stores: Sequence[Store]) -> Store | None:
    """The folder whose closest candidate misses its goals by the least."""
    found = [(store.manifest.closest_violation, store) for store in stores if store.closest]
    known = [(violation, store) for violation, store in found if violation is not None]
    return min(known, key=lambda one: one[0])[1] if known else None


def _manifest(
    stores: Sequence[Store], front: Table, figures: Mapping[str, FigureEntry], nearest: Store | None
) -> Manifest:
    """What belongs to the study from the first folder, counts as sums, margins as the widest that any has learned."""
    all_of = [store.manifest for store in stores]
    first = all_of[0]
    margins = [one.margin for one in all_of if one.margin]
    return Manifest(
        study=first.study,
        fingerprint=first.fingerprint,
        seed=first.seed,
        variables=first.variables,
        goals=first.goals,
        save=0,
        files={},
        figures=figures,
        evaluations=sum(one.evaluations for one in all_of),
        seconds=math.fsum(one.seconds for one in all_of),
        next_id=max(1 + max(front.ids, default=0), *(one.next_id for one in all_of)),
        reference=next((one.reference for one in all_of if one.reference), None),
        closest_violation=nearest.manifest.closest_violation if nearest else None,
        habits=next((one.habits for one in all_of if one.habits), ()),
        margin=tuple(max(column) for column in zip(*margins, strict=True)),
        epochs=max(one.epochs for one in all_of),
        gains=next((one.gains for one in all_of if one.gains), ()),
        versions=_versions(all_of),
    )


def _versions(manifests: Sequence[Manifest]) -> dict[str, str]:
    """What the numbers were computed with; several versions of one thing side by side."""
    names = dict.fromkeys(name for one in manifests for name in one.versions)
    each = {name: sorted({one.versions[name] for one in manifests if name in one.versions}) for name in names}
    return {name: ", ".join(found) for name, found in each.items()}


def _only(table: Table, figures: Iterable[str]) -> Table:
    """A table with these figures alone."""
    return replace(table, figures={name: table.figures[name] for name in figures})


def _growth(stores: Sequence[Store], front: Table, manifest: Manifest) -> Columns:
    """The log of growth: one entry of sums, but for the union's own members and hypervolume; empty if all are."""
    logs = [store.growth for store in stores if store.growth["evaluations"]]
    if not logs:
        return {name: [] for name in GROWTH}
    reference = manifest.reference
    covered = 0.0 if reference is None else volume(minimised(front, manifest), np.array(reference))
    last = {name: math.fsum(log[name][-1] for log in logs) for name in GROWTH}
    last |= {"members": float(len(front.ids)), "hypervolume": covered}
    return {name: [value] for name, value in last.items()}
