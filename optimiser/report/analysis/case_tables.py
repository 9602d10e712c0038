"""Load cases of an axle as tables: where it rests in each, and what rods, rockers, springs and links then carry."""

from collections.abc import Iterator, Mapping, Sequence

from optimiser.report.analysis.case_record import CaseRow, Pair
from optimiser.report.tables.blocks import Block, Column, heading, prose, short, tables
from optimiser.report.tables.cells import View, number

REASONS = {
    "past_travel": "a wheel goes past its travel; no stop but a spring's own is reckoned with",
    "no_balance": "springs and loads come to rest nowhere near the travel",
}
"""What a case's word means."""


def case_tables(cases: Mapping[str, CaseRow], view: View) -> Iterator[str]:
    """All load cases; nothing where there is none."""
    if not cases:
        return
    yield heading("Load cases", "left / right; rod: compression positive; links: tension positive; N, mm, of bars N.m")
    rows = list(cases.values())
    key = Block("", [Column("case", [short(name) for name in cases], left=True)])
    yield from tables(key, [_state(rows), *_forces(rows)], view.width)
    yield ""
    yield from tables(key, _links(rows), view.width)
    for name, row in cases.items():
        yield from prose(_told(name, row), view.width, others="  ") if _told(name, row) else ()


def _state(rows: Sequence[CaseRow]) -> Block:
    columns = [
        Column("heave\n[mm]", [number(row.heave, 2, signed=True) for row in rows]),
        Column("roll\n[mm]", [number(row.roll, 2, signed=True) for row in rows]),
        Column("status", [row.status for row in rows], left=True),
    ]
    return Block("at rest", columns)


def _forces(rows: Sequence[CaseRow]) -> list[Block]:
    blocks = [_pair("rod", [row.rod for row in rows]), _pair("pivot", [row.pivot for row in rows])]
    return blocks + [_pair(short(name), [row.forces[name] for row in rows]) for name in rows[0].forces]


def _links(rows: Sequence[CaseRow]) -> list[Block]:
    """Each link's force, at both ends where they differ, and its bending."""
    blocks = []
    for name in rows[0].links:
        outer, inner = ([row.links[name][end] for row in rows] for end in (0, 1))
        if outer == inner:
            blocks.append(_pair(short(name), outer))
        else:
            blocks += [_pair(f"{short(name)}, outboard", outer), _pair(f"{short(name)}, inboard", inner)]
    blocks += [_pair(f"{short(name)} bends [N.m]", [row.bending[name] for row in rows]) for name in rows[0].bending]
    return blocks


def _pair(title: str, pairs: Sequence[Pair]) -> Block:
    sides = {"left": [left for left, _ in pairs], "right": [right for _, right in pairs]}
    return Block(title, [Column(side, [number(value, 0) for value in values]) for side, values in sides.items()])


def _told(name: str, row: CaseRow) -> str:
    """What there is to know of a case beside its numbers."""
    parts = [REASONS.get(row.status, "")]
    parts += [f"{stop} there" for stop in row.stops]
    said = "; ".join(part for part in parts if part)
    return f"{name}: {said}" if said else ""
