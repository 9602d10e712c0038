"""Numbers as table cells, and which rows of a long table are shown."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from geometry.travel import INSIDE, Range
from optimiser.report.tables.screen import NULL, PLAIN_WIDTH

MOST_ROWS = 13
"""Regular rows of a table that is to be read at a glance."""
SMALLEST_RATIO = 0.1
"""A wheel/spring ratio is shown where the motion ratio is at least this large [mm/mm]: else it tells nothing."""


def number(value: float | None, decimals: int, unit: str = "", signed: bool = False) -> str:
    """A number to so many decimals, its sign always or where negative; `NULL` for None and NaN; never "-0.0"."""
    if value is None or not np.isfinite(value):
        return NULL
    rounded = round(float(value), decimals) + 0.0
    return f"{rounded:{'+' if signed and rounded else ''}.{decimals}f}{unit}"


def place(travel: float, signed: bool = False) -> str:
    """A travel point [mm] without needless zeros."""
    return f"{travel + 0.0:{'+' if signed and travel else ''}g}"


def inverse(ratio: float, decimals: int) -> str:
    """Wheel travel per element compression of a motion ratio; `NULL` where the element hardly moves."""
    return number(1.0 / ratio if abs(ratio) >= SMALLEST_RATIO else None, decimals)


def span(ends: Range) -> str:
    """A range as `-30 to 38`."""
    return f"{ends[0]:g} to {ends[1]:g}"


@dataclass(frozen=True)
class View:
    """How much of an analysis is shown: every step of the travel or a few; in how many columns of the screen."""

    every_step: bool = False
    width: int = PLAIN_WIDTH


def thinned(points: Array, states: Sequence[str], step: float, every_step: bool) -> list[int]:
    """Which of rising travel `points` (N,) to show: the ends, zero, every k-th step, and where the state changes.

    `states`: what each point is like, in words. `step`: the study's [mm]. k is the smallest that leaves at most
    `MOST_ROWS` rows before those where the state changes.
    """
    if every_step:
        return list(range(len(points)))
    k = max(1, (len(points) - 3) // (MOST_ROWS + 1))  # no smaller one leaves so few rows
    while len(regular := _regular(points, k * step)) > MOST_ROWS:
        k += 1
    edges = {row for after in range(1, len(points)) if states[after] != states[after - 1] for row in (after - 1, after)}
    return sorted(regular | edges)


def _regular(points: Array, spacing: float) -> set[int]:
    """The ends, and each point on a whole multiple of `spacing`."""
    whole = np.abs(points - spacing * np.round(points / spacing)) < INSIDE * max(1.0, spacing)
    return {0, len(points) - 1} | {int(row) for row in np.flatnonzero(whole)}
