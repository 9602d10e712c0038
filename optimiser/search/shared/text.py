"""States of a search as text that a database keeps, and back, to the bit: JSON, whose numbers are written in full.

Of members that both sides know already, those of an epoch's start, the id alone is written.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import Array
from optimiser.search.snapshot import Epoch, GrowthPoint, Snapshot

Json: TypeAlias = "bool | int | float | str | list[Json] | dict[str, Json] | None"


class StrangeTextError(ValueError):
    """A text that says no state of a search."""


@dataclass(frozen=True)
class Plan:
    """An epoch as it was decided, none of it begun, and the versions of the programs that its numbers come from."""

    epoch: Epoch
    versions: Mapping[str, str]


def plan_text(plan: Plan) -> str:
    """A plan as text."""
    epoch = plan.epoch
    return json.dumps(
        {
            "versions": dict(plan.versions),
            "quotas": epoch.quotas,
            "enough": epoch.enough,
            "manners": epoch.manners,
            "start": _entries(epoch.start, 0),
        }
    )


def plan_of(text: str) -> Plan:
    """The plan that a text says. Raises StrangeTextError."""
    try:
        table = _table(json.loads(text))
        start = _snapshot(_table(table["start"]), None)
        quotas, enough, manners = (_whole(table[name]) for name in ("quotas", "enough", "manners"))
        if not len(quotas) == len(enough) == len(manners):
            raise ValueError("islands that differ in number")
        versions = {name: str(version) for name, version in _table(table["versions"]).items()}
    except (ValueError, KeyError, TypeError, IndexError, RecursionError) as error:
        raise StrangeTextError(f"no plan of an epoch ({error})") from error
    return Plan(Epoch(start, quotas, enough, manners, (None,) * len(quotas)), versions)


def found_text(start: Snapshot, island: Snapshot) -> str:
    """Where an island of an epoch stands, as text; `start` is the epoch's."""
    return json.dumps(_entries(replace(island, growth=island.growth[-1:]), start.next_id))


def found_of(start: Snapshot, text: str) -> Snapshot:
    """What `found_text` was made of, of its growth the last point alone. Raises StrangeTextError."""
    try:
        return _snapshot(_table(json.loads(text)), start)
    except (ValueError, KeyError, TypeError, IndexError, RecursionError) as error:
        raise StrangeTextError(f"not what an island has found ({error})") from error


def _entries(one: Snapshot, known: int) -> dict[str, Json]:
    """A state as entries; of members with an id below `known`, the id alone."""
    new = one.ids >= known
    return {
        "ids": one.ids.tolist(),
        "x": one.x[new].tolist(),
        "objectives": one.objectives[new].tolist(),
        "population": one.population.tolist(),
        "width": list(one.x.shape[1:] + one.objectives.shape[1:]),
        "evaluations": one.evaluations,
        "seconds": one.seconds,
        "next_id": one.next_id,
        "growth": [
            [point.evaluations, point.seconds, point.feasible, point.members, point.hypervolume, point.taken_out]
            for point in one.growth
        ],
        "reference": None if one.reference is None else one.reference.tolist(),
        "closest": None if one.closest is None else one.closest.tolist(),
        "closest_violation": one.closest_violation if np.isfinite(one.closest_violation) else None,
        "habits": list(one.habits),
        "margin": list(one.margin),
        "epochs": one.epochs,
        "gains": list(one.gains),
    }


def _snapshot(table: Mapping[str, Json], start: Snapshot | None) -> Snapshot:
    """The state that entries say; members that they name alone are those of `start`."""
    variables, objectives = _whole(table["width"])
    ids = np.array(_whole(table["ids"]), dtype=np.int64)
    new = np.full(len(ids), True) if start is None else ids >= start.next_id
    x = _filled(_block(table["x"], variables), ids, new, None if start is None else (start.ids, start.x))
    values = _block(table["objectives"], objectives)
    closest, violation = table["closest"], table["closest_violation"]
    return Snapshot(
        ids=ids,
        x=x,
        objectives=_filled(values, ids, new, None if start is None else (start.ids, start.objectives)),
        population=_block(table["population"], variables),
        evaluations=_whole([table["evaluations"]])[0],
        seconds=_floats([table["seconds"]])[0],
        next_id=_whole([table["next_id"]])[0],
        growth=tuple(_point(row) for row in _list(table["growth"])),
        reference=None if table["reference"] is None else np.array(_floats(table["reference"])),
        closest=None if closest is None else np.array(_floats(closest)),
        closest_violation=np.inf if violation is None else _floats([violation])[0],
        habits=_floats(table["habits"]),
        margin=_floats(table["margin"]),
        epochs=_whole([table["epochs"]])[0],
        gains=_floats(table["gains"]),
    )


def _filled(
    rows: Array, ids: NDArray[np.int64], new: NDArray[np.bool_], start: tuple[NDArray[np.int64], Array] | None
) -> Array:
    """The rows of all members: `rows` of the `new` ones, those of the start of the others."""
    full = np.zeros((len(ids), rows.shape[1]))
    full[new] = rows
    if start is not None and not new.all():
        places = {int(name): row for row, name in enumerate(start[0])}
        full[~new] = start[1][[places[int(name)] for name in ids[~new]]]
    return full


def _point(row: Json) -> GrowthPoint:
    evaluations, seconds, feasible, members, hypervolume, taken_out = _floats(row)
    return GrowthPoint(int(evaluations), seconds, int(feasible), int(members), hypervolume, int(taken_out))


def _block(value: Json, width: int) -> Array:
    """Rows of `width` numbers: (rows, width)."""
    rows = [_floats(row) for row in _list(value)]
    return np.array(rows, dtype=np.float64).reshape(len(rows), width)


def _floats(value: Json) -> tuple[float, ...]:
    numbers = [one for one in _list(value) if isinstance(one, int | float) and not isinstance(one, bool)]
    if len(numbers) != len(_list(value)):
        raise TypeError("something else than numbers")
    return tuple(float(one) for one in numbers)


def _whole(value: Json) -> tuple[int, ...]:
    numbers = [one for one in _list(value) if isinstance(one, int) and not isinstance(one, bool)]
    if len(numbers) != len(_list(value)):
        raise TypeError("something else than whole numbers")
    return tuple(numbers)


def _list(value: Json) -> list[Json]:
    if not isinstance(value, list):
        raise TypeError(f"{str(value)[:40]!r} is no list")
    return value


def _table(value: Json) -> dict[str, Json]:
    if not isinstance(value, dict):
        raise TypeError(f"{str(value)[:40]!r} is no table")
    return value
