"""Sensitivities as tables and for the JSON document."""

from collections.abc import Iterator, Sequence

from objectives.catalogue.catalogue import describe
from optimiser.report.analysis.json_values import Json
from optimiser.report.analysis.sensitivity import STEP, FigureSlopes, Slope
from optimiser.report.tables.blocks import Block, Column, heading, prose, short, tables
from optimiser.report.tables.cells import View, number

FIRST = 8
"""Dimensions shown of each figure where not all are asked for."""
DIGITS = 2
"""Decimals of a slope beyond those of its figure."""


def sensitivity_tables(figures: Sequence[FigureSlopes], view: View) -> Iterator[str]:
    """The largest changes of each figure, a block a figure."""
    yield heading("Sensitivity", "change of each figure that a goal asks for per mm, or degree, of a dimension")
    if not figures:
        yield from prose("the file holds no goal: name a figure under `goals` to see what moves it", view.width)
        return
    for one in figures:
        yield ""
        yield from tables(_block(one, view), [], view.width)
    yield ""
    yield from prose(
        "Largest number first; per mm and per deg do not compare. Each dimension is changed alone, but links that share"
        " an outboard point (+) share its coordinates. A figure with a kink at this very geometry shows the mean of its"
        " two slopes." + ("" if view.every_step else f" The {FIRST} largest; --all shows each."),
        view.width,
    )


def sensitivity_json(figures: Sequence[FigureSlopes]) -> dict[str, Json]:
    """The same for the JSON document, by figure, in its order."""
    return {
        "step": STEP,
        "figures": {
            one.figure: {
                "unit": one.unit,
                "value": one.value,
                "by": [
                    {
                        "path": slope.dimension.path,
                        "with": list(slope.dimension.along),
                        "per": slope.dimension.unit,
                        "slope": slope.value,
                    }
                    for slope in one.slopes
                ],
            }
            for one in figures
        },
    }


def _block(one: FigureSlopes, view: View) -> Block:
    shown, decimals = one.slopes[: None if view.every_step else FIRST], describe(one.figure).decimals
    return Block(
        f"{short(one.figure)} = {number(one.value, decimals)} {one.unit}",
        [
            Column("dimension", [_name(slope) for slope in shown], left=True),
            Column("change", [number(slope.value, decimals + DIGITS, signed=True) for slope in shown]),
            Column("", [f"{one.unit} per {slope.dimension.unit}" for slope in shown], left=True),
        ],
        gap=2,
    )


def _name(slope: Slope) -> str:
    return short(slope.dimension.path) + (" +" if slope.dimension.along else "")
