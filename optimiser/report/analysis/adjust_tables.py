"""What each turn of the rods and each hole changes, as tables, and what must be re-set with it."""

from collections.abc import Callable, Iterator, Mapping, Sequence

from objectives.adjustment.table import AdjustmentTable, Setting
from optimiser.report.tables.blocks import Block, Column, heading, prose, short, tables
from optimiser.report.tables.cells import View, number
from optimiser.study.adjust_tree import hole_in_words
from optimiser.study.variables import PICKUPS

MOST_CHANGE = 2.0
"""An adjuster of ride height should change no motion ratio by more than this [%]. Common practice, no source: 1-2 %."""
COLUMNS = {
    "motion_ratio": ("ratio\n[mm/mm]", 4),
    "twist_ratio": ("ratio\n[deg/mm]", 5),
    "progressivity": ("prog\n[%]", 2),
    "crosstalk": ("xtalk\n[%]", 3),
}
"""How the figures of a row stand in a table."""
Figures = Mapping[str, float | None]


def adjust_tables(table: AdjustmentTable | None, view: View) -> Iterator[str]:
    """The tables of all that can be set; nothing where that is nothing."""
    if table is None:
        return
    if table.rod and table.adjust.rod:
        yield heading(
            "Turns of the rods", f"{table.adjust.rod.thread:g} mm a turn; both sides alike, nothing else re-set"
        )
        key = Block("", [Column("turns", [number(row.turns, 1, signed=True) for row in table.rod])])
        yield from _rows(table, key, table.rod, lambda row: row.settled, view)
        yield from _too_much(table, view)
    for name, rows in table.holes.items():
        told = "both sides alike; ratios at the ride height as drawn"
        yield heading(f"Holes of {PICKUPS}{short(name)}", told)
        holes = table.adjust.holes[name]
        said = [hole_in_words(holes[row.hole]) for row in rows if row.hole is not None]
        key = Block("", [Column("hole", [f"{row.hole}" for row in rows]), Column("at", said, left=True)])
        yield from _rows(table, key, rows, lambda row: row.held, view)
    if table.rod or table.holes:
        yield from prose(_explained(table), view.width)


def _rows(
    table: AdjustmentTable, key: Block, rows: Sequence[Setting], figures: Callable[[Setting], Figures], view: View
) -> Iterator[str]:
    alone = [
        Column("ride height\n[mm]", [number(one.ride_height, 2, signed=True) for one in rows]),
        Column("camber\n[deg]", [number(one.camber, 3, signed=True) for one in rows]),
        Column("toe\n[deg]", [number(one.toe, 3, signed=True) for one in rows]),
    ]
    settles = Block("if left alone", alone, gap=2)
    if table.sprung:
        whose = "one rod\nalone [N]" if rows[0].hole is None else "left wheel\n[N]"
        across = Column(whose, [number(one.across, 0, signed=True) for one in rows])
        settles = Block(settles.title, [*settles.columns, across], gap=2)
    named = dict.fromkeys(name.rpartition(".")[0] for name in table.drawn)
    shown = [figures(one) for one in rows]
    blocks = [_element(table.drawn, shown, element) for element in named]
    yield from tables(key, [settles, _resets(rows), *blocks], view.width)


def _resets(rows: Sequence[Setting]) -> Block:
    """What brings back the ride height as drawn: the rods, or the struts one by one."""
    rods = (
        [Column("rods\n[mm]", [number(one.rod_reset, 2, signed=True) for one in rows])]
        if rows[0].hole is not None
        else []
    )
    struts = [
        Column(f"{short(name)}\n[mm]", [number(one.lengths[name], 2, signed=True) for one in rows])
        for name in rows[0].lengths
    ]
    return Block("longer, to keep it", [*rods, *struts], gap=2)


def _element(drawn: Figures, shown: Sequence[Figures], element: str) -> Block:
    columns = []
    for word, (title, decimals) in COLUMNS.items():
        name = f"{element}.{word}"
        if name in drawn:
            columns.append(Column(title, [number(one[name], decimals) for one in shown]))
        if name in drawn and word.endswith("ratio"):
            columns.append(Column("\n[%]", [number(_change(drawn[name], one[name]), 1, signed=True) for one in shown]))
    return Block(short(element), columns, gap=2)


def _change(before: float | None, after: float | None) -> float | None:
    return 100.0 * (after / before - 1.0) if before and after is not None else None


def _too_much(table: AdjustmentTable, view: View) -> Iterator[str]:
    """Which ratios the turns change too much."""
    for name, before in table.drawn.items():
        changes = [_change(before, row.settled[name]) for row in table.rod]
        most = max((abs(change) for change in changes if change is not None), default=0.0)
        if name.endswith("ratio") and most > MOST_CHANGE:
            told = f"the turns change {name} by up to {most:.1f} %; over {MOST_CHANGE:g} % is much for ride height"
            yield from prose(f"{told} (common practice, no source)", view.width)


def _explained(table: AdjustmentTable) -> str:
    if not table.sprung:
        return (
            "Ride height: body up positive. No spring holds the body here: it rests where the element that works "
            "in heave is as long, or as twisted, as drawn."
        )
    across = "One rod alone: what turning the left one moves onto the left wheel, the body held level in roll"
    return (
        "Ride height: body up positive, where the springs carry what they carry as drawn. "
        f"{across}, which is the most: on the car the other axle gives way. A strut that is made longer needs its "
        "spring set anew for the force that its ratio then asks for; rods need not."
    )
