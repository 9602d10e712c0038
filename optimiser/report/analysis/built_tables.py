"""The axle as built, as tables: how far errors carry each figure asked for, and which errors do."""

from collections.abc import Iterator, Sequence

from objectives.catalogue.catalogue import describe
from objectives.tolerance.build import Build, Spread
from optimiser.report.analysis.built_record import BuiltRow
from optimiser.report.tables.blocks import Block, Column, heading, prose, short, tables
from optimiser.report.tables.cells import View, number

MEANS = {
    Spread.ONE_SIGMA: "one standard deviation",
    Spread.TWO_SIGMA: "two standard deviations",
    Spread.THREE_SIGMA: "three standard deviations",
    Spread.LIMITS: "limits, even between",
}


def built_tables(rows: Sequence[BuiltRow], build: Build | None, view: View) -> Iterator[str]:
    """Everything of the axle as built; nothing where nothing is said of it."""
    if build is None or not rows:
        return
    yield heading("As built", f"errors of the build: {MEANS[build.spread]}, left and right on their own")
    yield from tables(
        Block("", [Column("figure", [short(row.figure) for row in rows], left=True)]), [_numbers(rows)], view.width
    )
    text = (
        "worst, rss: change by all tolerances at once, and by the root of the sum of squares. 1, 99 of 100: what so "
        "many built axles do not exceed. held: built axles that hold the goal."
    )
    yield from prose(text, view.width)
    for row in rows:
        if row.contributors:
            yield from prose(f"{short(row.figure)}: {_contributors(row)}", view.width, others="  ")


def _numbers(rows: Sequence[BuiltRow]) -> Block:
    def column(title: str, values: Sequence[float | None]) -> Column:
        return Column(title, [number(value, _decimals(row)) for row, value in zip(rows, values, strict=True)])

    return Block(
        "",
        [
            column("drawn", [row.nominal for row in rows]),
            column("rss", [row.rss for row in rows]),
            column("worst", [row.worst for row in rows]),
            column("1 of 100", [row.p01 for row in rows]),
            column("99 of 100", [row.p99 for row in rows]),
            Column("", [row.unit for row in rows], left=True),
            Column("held", ["" if row.met is None else f"{100.0 * row.met:.1f} %" for row in rows]),
        ],
        gap=2,
    )


def _decimals(row: BuiltRow) -> int:
    return describe(row.figure).decimals


def _contributors(row: BuiltRow) -> str:
    decimals = _decimals(row) + 1
    return ", ".join(f"{one.name} {one.slope:+.{decimals}f} {row.unit} per mm" for one in row.contributors)
