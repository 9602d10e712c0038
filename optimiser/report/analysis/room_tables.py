"""The nearest pairs of bodies as a table."""

from collections.abc import Iterator, Sequence

from optimiser.report.analysis.json_values import Json
from optimiser.report.analysis.room_record import NearPair
from optimiser.report.tables.blocks import Block, Column, heading, short, tables
from optimiser.report.tables.cells import View, number


def room_tables(pairs: Sequence[NearPair], view: View) -> Iterator[str]:
    """The nearest pairs; nothing where there is none."""
    if not pairs:
        return
    yield heading("Clearances", "the nearest pairs of bodies, over all states; mm; negative: they foul")
    key = Block("", [Column("pair", [short(pair.name) for pair in pairs], left=True)])
    columns = [
        Column("clearance", [number(pair.clearance, 2) for pair in pairs]),
        Column("margin", [number(pair.margin, 2) for pair in pairs]),
        Column("nearest at", [pair.state for pair in pairs], left=True),
    ]
    yield from tables(key, [Block("", columns)], view.width)


def pairs_json(pairs: Sequence[NearPair]) -> list[Json]:
    """The same for the JSON document."""
    return [{"pair": one.name, "clearance": one.clearance, "margin": one.margin, "state": one.state} for one in pairs]
