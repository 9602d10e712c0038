"""Where the islands of an unfinished epoch stand, as data files of the results folder and back, to the bit.

Beside the front, which holds what all of them have found, four files hold what a search needs to go on from exactly
there, by what they hold:

    islands     a row for each island, and one, island -1, for the start that they share: its numbers
    start       the members of the start
    finds       the members of each island, by name; those of the start, which it still has, by their id alone
    population  what evolution goes on from in each island; island -1: designs that a campaign begins with

Between two epochs there is the population alone, which is then empty or that of island -1.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import Array
from optimiser.report.front.columns import Columns, encode, kind, of_kind
from optimiser.report.results.blocks import block_of, named
from optimiser.report.results.store import BEGINNING, FINDS, ISLANDS, POPULATION
from optimiser.search.snapshot import Epoch, GrowthPoint, Snapshot

START = -1
"""The island's number that stands for the start."""


def campaign_files(snapshot: Snapshot, paths: Sequence[str], wishes: Sequence[str]) -> dict[str, bytes]:
    """The files by what they hold; `paths` name the variables, `wishes` the objectives."""
    epoch = snapshot.epoch
    if epoch is None:
        return {POPULATION: encode(_population([START], [snapshot.population], paths))}
    begun = [(number, one) for number, one in enumerate(epoch.islands) if one is not None]
    standing, names = [epoch.start, *(one for _, one in begun)], [START, *(number for number, _ in begun)]
    return {
        ISLANDS: encode(_islands(epoch, paths)),
        BEGINNING: encode({"id": epoch.start.ids.tolist(), **_members(epoch.start, paths, wishes)}),
        FINDS: encode(_finds(epoch, begun, paths, wishes)),
        POPULATION: encode(_population(names, [one.population for one in standing], paths)),
    }


def read_epoch(tables: Mapping[str, Columns], epochs: int, gains: tuple[float, ...]) -> Epoch | None:
    """The epoch that files by what they hold leave unfinished, the one after so many `epochs`; None: there is none.

    Raises ValueError or KeyError where they do not go together.
    """
    if ISLANDS not in tables:
        return None
    numbers = tables[ISLANDS]
    population = _by_island(tables[POPULATION], block_of(kind(tables[POPULATION], "variable")))
    start_members = tables[BEGINNING]
    first = _snapshot(numbers, 0, _whole(start_members["id"]), start_members, population, (epochs, gains))
    count = len(numbers["island"]) - 1
    if numbers["island"] != [START, *range(count)]:
        raise ValueError("the islands are not numbered from 0")
    finds = tables[FINDS]
    islands = tuple(
        _snapshot(numbers, row, *_found(first, finds, row - 1), population, (epochs, gains))
        if numbers["begun"][row]
        else None
        for row in range(1, count + 1)
    )
    quotas, enough, manners = (tuple(int(one) for one in numbers[name][1:]) for name in ("quota", "enough", "manner"))
    return Epoch(first, quotas, enough, manners, islands)


def read_seeds(tables: Mapping[str, Columns], variables: int) -> Array:
    """(K, V) the designs that a campaign begins with; none where they are not kept. Raises KeyError, ValueError."""
    population = tables.get(POPULATION, {})
    if "island" not in population:
        return np.zeros((0, variables))
    block = block_of(kind(population, "variable"))
    return _by_island(population, block).get(START, np.zeros((0, variables)))


def _islands(epoch: Epoch, paths: Sequence[str]) -> dict[str, Sequence[float]]:
    standing = [epoch.start, *epoch.islands]
    known = [one or epoch.start for one in standing]
    ends = [one.growth[-1] if one.growth else GrowthPoint(0, 0.0, 0, 0, 0.0) for one in known]
    columns: dict[str, Sequence[float]] = {
        "island": list(range(START, len(epoch.islands))),
        "begun": [int(one is not None) for one in standing],
        "quota": [0, *epoch.quotas],
        "enough": [0, *epoch.enough],
        "manner": [0, *epoch.manners],
        "evaluations": [one.evaluations for one in known],
        "seconds": [one.seconds for one in known],
        "feasible": [end.feasible for end in ends],
        "taken_out": [end.taken_out for end in ends],
        "next_id": [one.next_id for one in known],
        "violation": [one.closest_violation if one.closest is not None else np.nan for one in known],
    }
    columns |= _numbered("habit", [one.habits for one in known])
    columns |= _numbered("margin", [one.margin for one in known])
    columns |= _numbered("reference", [() if one.reference is None else one.reference.tolist() for one in known])
    nowhere = [np.nan] * len(paths)
    closest = np.array([nowhere if one.closest is None else one.closest.tolist() for one in known])
    return columns | of_kind("closest", named(paths, closest))


def _snapshot(
    numbers: Columns,
    row: int,
    ids: NDArray[np.int64],
    members: Columns,
    population: Mapping[int, Array],
    campaign: tuple[int, tuple[float, ...]],
) -> Snapshot:
    """The state in a row of `islands`, with its members."""
    evaluations, feasible, taken_out = (int(numbers[name][row]) for name in ("evaluations", "feasible", "taken_out"))
    closest = np.array([column[row] for column in kind(numbers, "closest").values()])
    nearest = None if np.isnan(closest).any() else closest
    reference = _row(numbers, "reference", row)
    objectives = block_of(kind(members, "objective"))
    return Snapshot(
        ids=ids,
        x=block_of(kind(members, "variable")),
        objectives=objectives,
        population=population.get(int(numbers["island"][row]), np.zeros((0, len(closest)))),
        evaluations=evaluations,
        seconds=numbers["seconds"][row],
        next_id=int(numbers["next_id"][row]),
        growth=(GrowthPoint(evaluations, numbers["seconds"][row], feasible, len(ids), 0.0, taken_out),),
        reference=np.array(reference) if reference else None,
        closest=nearest,
        closest_violation=np.inf if nearest is None else numbers["violation"][row],
        habits=_row(numbers, "habit", row),
        margin=_row(numbers, "margin", row),
        epochs=campaign[0],
        gains=campaign[1],
    )


def _finds(
    epoch: Epoch, begun: Sequence[tuple[int, Snapshot]], paths: Sequence[str], wishes: Sequence[str]
) -> dict[str, Sequence[float]]:
    """Every island's members; of those that the start has too the numbers are left out."""
    islands = [np.full(len(one.ids), number) for number, one in begun]
    ids = np.concatenate([np.zeros(0, dtype=np.int64), *(one.ids for _, one in begun)])
    old = (ids < epoch.start.next_id)[:, None]
    x = np.concatenate([epoch.start.x[:0], *(one.x for _, one in begun)])
    objectives = np.concatenate([epoch.start.objectives[:0], *(one.objectives for _, one in begun)])
    x, objectives = np.where(old, np.nan, x), np.where(old, np.nan, objectives)
    return {
        "island": [number for each in islands for number in each.tolist()],
        "id": ids.tolist(),
        **of_kind("variable", named(paths, x)),
        **of_kind("objective", named(wishes, objectives)),
    }


def _found(start: Snapshot, finds: Columns, island: int) -> tuple[NDArray[np.int64], Columns]:
    """The ids and the columns of an island's members, those of the start filled in."""
    rows = np.flatnonzero(_whole(finds["island"]) == island)
    ids = _whole(finds["id"])[rows]
    places = np.minimum(np.searchsorted(start.ids, ids), max(len(start.ids) - 1, 0))
    old = np.isin(ids, start.ids)
    filled: Columns = {}
    for name, block in (("variable", start.x), ("objective", start.objectives)):
        for k, (path, column) in enumerate(kind(finds, name).items()):
            own = np.array(column)[rows]
            own[old] = block[places[old], k]
            if np.isnan(own).any():
                raise ValueError(f"a member of island {island} is not there")
            filled[f"{name} {path}"] = own.tolist()
    return ids, filled


def _members(one: Snapshot, paths: Sequence[str], wishes: Sequence[str]) -> dict[str, Sequence[float]]:
    return {
        **of_kind("variable", named(paths, one.x)),
        **of_kind("objective", named(wishes, one.objectives)),
    }


def _population(names: Sequence[int], blocks: Sequence[Array], paths: Sequence[str]) -> dict[str, Sequence[float]]:
    block = np.concatenate(blocks)
    numbers = [name for name, one in zip(names, blocks, strict=True) for _ in range(len(one))]
    return {"island": numbers, **of_kind("variable", named(paths, block))}


def _by_island(columns: Columns, block: Array) -> dict[int, Array]:
    islands = _whole(columns["island"])
    return {int(one): block[islands == one] for one in np.unique(islands)}


def _numbered(name: str, rows: Sequence[Sequence[float]]) -> dict[str, Sequence[float]]:
    """Rows of several lengths as columns `name 0`, `name 1`, ..., empty where a row is shorter."""
    width = max(len(row) for row in rows)
    padded = [[*row, *([np.nan] * (width - len(row)))] for row in rows]
    return of_kind(name, {str(k): [row[k] for row in padded] for k in range(width)})


def _row(columns: Columns, name: str, row: int) -> tuple[float, ...]:
    """What `_numbered` made of a row, back."""
    values = [column[row] for column in kind(columns, name).values()]
    return tuple(value for value in values if not np.isnan(value))


def _whole(column: Sequence[float]) -> NDArray[np.int64]:
    return np.array(column, dtype=np.int64)
