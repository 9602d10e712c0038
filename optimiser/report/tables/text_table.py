"""Plain text tables: columns side by side under headings of up to three lines and a rule."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from optimiser.report.tables.screen import NULL

GAP = 1
"""Blanks between two columns."""
VARIABLE_DECIMALS = 3
"""Digits of a variable [mm or deg] behind the point: less is no difference that can be built."""


@dataclass(frozen=True)
class Column:
    """A column: its heading's lines, a cell a row, and whether it stands to the left."""

    heading: tuple[str, str, str]
    cells: Sequence[str]
    left: bool = False

    @property
    def width(self) -> int:
        """Characters of its widest line."""
        return max(len(text) for text in (*self.heading, *self.cells))


def column(heading: str, cells: Sequence[str], left: bool = False) -> Column:
    """A column whose heading is one line."""
    return Column(("", "", heading), cells, left)


def spread(columns: Sequence[Column], gap: int = GAP) -> list[str]:
    """The lines of a table; heading lines that are empty throughout are left out."""
    texts = [[*one.heading, "-" * one.width, *one.cells] for one in columns]
    lines = [
        (" " * gap)
        .join(
            text.ljust(one.width) if one.left else text.rjust(one.width) for one, text in zip(columns, row, strict=True)
        )
        .rstrip()
        for row in zip(*texts, strict=True)
    ]
    return [line for line in lines[:3] if line] + lines[3:]


def figures(value: float | None, decimals: int, signed: bool = False) -> str:
    """A number to so many decimals, its sign always or where negative; `NULL` for None and NaN; never "-0.0"."""
    if value is None or math.isnan(value):
        return NULL
    text = f"{value:{'+' if signed else ''}.{decimals}f}"
    return text.lstrip("+-") if float(text) == 0.0 else text
