"""Spherical joints as a table."""

from collections.abc import Iterator, Sequence
from dataclasses import asdict

from optimiser.report.analysis.joint_record import JointRow
from optimiser.report.analysis.json_values import Json
from optimiser.report.tables.blocks import Block, Column, heading, short, tables
from optimiser.report.tables.cells import View, number


def joint_tables(rows: Sequence[JointRow], view: View) -> Iterator[str]:
    """How far each joint is out of true; nothing where nothing is said of one."""
    if not rows:
        return
    yield heading("Joints", "rod or strut out of the plane square to its bolt; deg; states of a rod are the left one's")
    key = Block("", [Column("joint", [short(row.name) for row in rows], left=True)])
    columns = [
        Column("static", [number(row.static, 2) for row in rows]),
        Column("largest", [number(row.largest, 2) for row in rows]),
        Column("limit", [number(row.limit, 2) for row in rows]),
        Column("left", [number(row.reserve, 2) for row in rows]),
        Column("largest at", [row.state for row in rows], left=True),
    ]
    yield from tables(key, [Block("", columns)], view.width)


def joints_json(rows: Sequence[JointRow]) -> dict[str, Json]:
    """The same for the JSON document, by name."""
    return {row.name: {key: value for key, value in asdict(row).items() if key != "name"} for row in rows}
