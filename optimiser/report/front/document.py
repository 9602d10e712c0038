"""The front as plain data for other programs: full precision, null where a figure has no value."""

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, TypeAlias

from optimiser.report.front.columns import Columns, nullable
from optimiser.report.front.frame import Frame

if TYPE_CHECKING:
    from optimiser.report.results.union import Union

Plain: TypeAlias = "bool | int | float | str | list[Plain] | dict[str, Plain] | None"


def front_json(front: Frame, rows: Sequence[int], union: "Union | None" = None) -> str:
    """One JSON document: the members among `rows`, in that order, and what belongs to the whole front.

    `objectives` of a member are minimised and dimensionless: of all members, in the order of the document's own
    `objectives` and with `reference`, they give `hypervolume` again; a study of held goals alone has neither. `base`
    is the study's own geometry, a member or not. `held_by`: the pairs of bodies whose clearance leaves a candidate no
    room, the nearest first: `clearance`, and `kept` of it at least [mm]. Of the union of several folders, each member
    says its `folder` and its `folder_id` there, and `folders` how many `members` each has, how many of these are
    `kept`, and how many of those `renamed`.
    """
    manifest, growth = front.store.manifest, front.store.growth
    records = [record | origin for record, origin in zip(_records(front), _origins(front, union), strict=True)]
    document: dict[str, Plain] = {
        "study": manifest.study,
        "fingerprint": manifest.fingerprint,
        "figures": list(front.table.figures),
        "objectives": list(front.table.objectives),
        "members": [records[row] for row in rows if row < front.members],
        **({} if union is None else {"folders": _folders(union)}),
        "hypervolume": growth["hypervolume"][-1] if growth["hypervolume"] and manifest.objectives else None,
        "reference": list(manifest.reference) if manifest.reference and manifest.objectives else None,
        "knee": front.table.ids[front.knee],
        "base": None if front.base is None else records[front.base],
        "evaluations": manifest.evaluations,
        "seconds": manifest.seconds,
        "growth": {name: list(column) for name, column in growth.items()},
    }
    return json.dumps(document, allow_nan=False)


def _folders(union: "Union") -> list[Plain]:
    """What each folder brings."""
    columns = zip(union.folders, union.members, union.kept, union.renamed, strict=True)
    return [
        {"folder": str(folder), "members": members, "kept": kept, "renamed": renamed}
        for folder, members, kept, renamed in columns
    ]


def _origins(front: Frame, union: "Union | None") -> list[dict[str, Plain]]:
    """Where each row comes from; nothing of one that is no member, or where there is one folder."""
    origins = {} if union is None else union.origins
    folders = () if union is None else union.folders
    return [
        {"folder": str(folders[origins[name].folder]), "folder_id": origins[name].id} if name in origins else {}
        for name in front.table.ids
    ]


def _records(front: Frame) -> list[dict[str, Plain]]:
    """Every row of a front as an entry of the document."""
    table = front.table
    parts = (_rows(table.variables), _rows(table.figures), _rows(table.objectives), _held_by(front))
    return [
        {"id": name, "variables": variables, "figures": figures, "objectives": objectives, "held_by": pairs}
        for name, variables, figures, objectives, pairs in zip(table.ids, *parts, strict=True)
    ]


def _held_by(front: Frame) -> list[list[Plain]]:
    """The pairs of bodies that hold each row."""
    return [
        [{"pair": near.pair, "clearance": near.clearance, "kept": near.kept} for near in front.touching(row)]
        for row in range(len(front.table.ids))
    ]


def _rows(columns: Columns) -> list[dict[str, Plain]]:
    """Columns turned into rows by name."""
    cells = ([nullable(value) for value in column] for column in columns.values())
    return [dict(zip(columns, row, strict=True)) for row in zip(*cells, strict=True)]
