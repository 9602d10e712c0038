"""A comparison as tables: residuals, deviations with their confidence, what is seen and what is not."""

from collections.abc import Iterator, Sequence

import numpy as np

from geometry.arrays import Array
from objectives.fit.deviations import Deviation
from optimiser.report.compare.record import Comparison, Direction
from optimiser.report.tables.blocks import Block, Column, heading, prose, tables
from optimiser.report.tables.cells import View, number, place

WORST = 12
"""Readings shown where not all are asked for."""
FIRST = 8
"""Directions shown where not all are asked for."""
TELLING = 0.25
"""A dimension that alone takes away less than this share of the squares explains nothing."""
FAR = 2.0
"""A residual of more than so many errors is marked."""


def comparison_tables(found: Comparison, view: View) -> Iterator[str]:
    """Everything that a comparison found, in the order in which it is read."""
    yield from _summary(found, view)
    yield from _readings(found, view)
    yield from _deviations(found, view)
    yield from _directions(found, view)


def _summary(found: Comparison, view: View) -> Iterator[str]:
    fit, rows = found.fit, found.sheet.rows
    yield heading("Built car", f"readings: {len(rows)}; rows left empty: {found.sheet.empty}")
    yield (
        f"readings less what the axle shows, root mean square: as drawn {number(_rms(fit.drawn), 3)} mm, "
        f"as fitted {number(_rms(fit.fitted), 3)} mm"
    )
    yield from prose(_best(found), view.width)
    yield from prose(_verdict(found), view.width)
    if not fit.settled:
        yield from prose(
            "the fit did not come to rest: look for a reading that is far off, and leave it out", view.width
        )


def _best(found: Comparison) -> str:
    fit = found.fit
    share = float(fit.explained.max())
    if share < TELLING:
        return f"no dimension alone explains what is missed: the best takes away {_percent(share)} of the squares"
    first, *others = found.best
    alike = f"; as well: {', '.join(fit.deviations[other].name for other in others)}" if others else ""
    return (
        f"one dimension explains most: {_said(fit.deviations[first], fit.alone[first])}, alone, takes away "
        f"{_percent(share)} of the sum of squares{alike}"
    )


def _verdict(found: Comparison) -> str:
    squares = f"{number(found.fit.squares, 1)} for {len(found.sheet.rows)} readings"
    if found.doubtful:
        return (
            f"DOUBTFUL: the sum of squares, in errors, is {squares}, and chance brings more than "
            f"{number(found.limit, 1)} in one of a hundred cars: build and instrument do not explain these readings. "
            f"Look at the readings marked * first, then at `build` and at parts that count as given, the links first."
        )
    return f"build and instrument explain the readings: the sum of squares, in errors, is {squares}"


def _readings(found: Comparison, view: View) -> Iterator[str]:
    errors = found.sheet.measured.error
    order = np.argsort(-np.abs(found.fit.fitted / errors), kind="stable")
    shown = sorted(order.tolist() if view.every_step else order[:WORST].tolist())
    rows = [found.sheet.rows[one] for one in shown]
    yield heading("Readings", "measured less shown [mm]" + ("" if view.every_step else f"; the {len(rows)} worst"))
    yield from tables(
        Block(
            "",
            [
                Column("line", [str(row.line) for row in rows]),
                Column("sweep", [row.sweep for row in rows], left=True),
                Column("travel", [place(row.travel, signed=True) for row in rows]),
                Column("element", [row.strut for row in rows], left=True),
                Column("kind", ["compression" if row.compressed else "length" for row in rows], left=True),
                Column("measured", [number(row.value, 3) for row in rows]),
                Column("as drawn", [number(found.fit.drawn[one], 3, signed=True) for one in shown]),
                Column("as fitted", [number(found.fit.fitted[one], 3, signed=True) for one in shown]),
                Column("error", [number(row.error, 3) for row in rows]),
                Column("", ["*" if abs(found.fit.fitted[one]) > FAR * errors[one] else "" for one in shown]),
            ],
            gap=2,
        ),
        [],
        view.width,
    )


def _deviations(found: Comparison, view: View) -> Iterator[str]:
    fit = found.fit
    untold = {one.name for one in found.untold}
    shown = [row for row, one in enumerate(fit.deviations) if view.every_step or one.name not in untold]
    yield heading("Deviations", "built less drawn, 95 % of cars like this within +-; spread: what the build says, 95 %")
    scale = np.array([one.per_mm for one in fit.deviations])
    spread = found.halves / np.sqrt(np.diag(fit.covariance)) * fit.sigma
    if shown:
        yield from tables(
            Block(
                "",
                [
                    Column("dimension", [fit.deviations[row].name for row in shown], left=True),
                    Column("deviation", [number((fit.sizes * scale)[row], 4, signed=True) for row in shown]),
                    Column("+-", [number((found.halves * scale)[row], 4) for row in shown]),
                    Column("spread", [number((spread * scale)[row], 4) for row in shown]),
                    Column("", [fit.deviations[row].unit for row in shown], left=True),
                ],
                gap=2,
            ),
            [],
            view.width,
        )
    if found.untold:
        yield from prose(f"not told by these readings at all: {_list([one.name for one in found.untold])}", view.width)
    if not found.stated:
        yield from prose(
            "the file states no `build`: 0.5 mm on each coordinate and rod, two sigma, is taken", view.width
        )


def _directions(found: Comparison, view: View) -> Iterator[str]:
    yield heading(
        "Seen", f"{len(found.seen)} of {len(found.fit.seen)} directions, told better than by the build; parts in mm"
    )
    yield from _lines(found.seen, view, sized=True)
    yield heading("Not seen", "directions that these readings hardly show, among what they tell something of")
    yield from _lines(found.unseen, view, sized=False)


def _lines(directions: Sequence[Direction], view: View, *, sized: bool) -> Iterator[str]:
    shown = directions if view.every_step else directions[:FIRST]
    for one in shown:
        words = ", ".join(f"{part:+.2f} {deviation.name}" for deviation, part in one.parts)
        size = f": by {number(one.size, 4, signed=True)} +- {number(one.half, 4)} mm" if sized else ""
        yield from prose(f"{words}{size}", view.width, "- ", "  ")
    if len(shown) < len(directions):
        yield f"  and {len(directions) - len(shown)} more; --all shows each"
    if not directions:
        yield "  none"


def _said(one: Deviation, size: float) -> str:
    return f"{one.name} {number(size * one.per_mm, 3, signed=True)} {one.unit}"


def _percent(share: float) -> str:
    return number(100.0 * share, 0, " %")


def _rms(values: Array) -> float:
    return float(np.sqrt(np.mean(values**2)))


def _list(names: Sequence[str]) -> str:
    return ", ".join(names)
