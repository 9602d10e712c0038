"""First and second derivatives by differences: at halved widths, extrapolated to width zero.

Richardson's scheme; the entry of the table whose neighbours agree best is taken (Ridders 1982). Widths at which a
neighbour is out of reach are passed over.
"""

import math
from collections.abc import Callable
from typing import TypeAlias

FIRST_DIFFERENCE = 2.0
"""Half-width of the first central difference [mm]; each next one is half of it."""
ROUGH = 0.5
"""Half-width of the difference that gives a rough derivative [mm]."""
DIFFERENCES = 12
"""Most central differences of one derivative."""
BENDS = 6
"""Most second differences: at smaller widths they are rounding, which may agree by chance."""
ENOUGH = 2e-12
"""Estimated error at which a first derivative is taken [mm/mm]."""
ENOUGH_BEND = 2e-14
"""Estimated error at which a second derivative is taken [1/mm]."""

Along: TypeAlias = Callable[[float], float]
"""A number along a line of states, by the travel from where its derivative is wanted [mm]; NaN out of reach."""


def slope(along: Along) -> float:
    """The first derivative at 0; NaN where the number itself is not there."""
    if math.isnan(along(0.0)):
        return math.nan
    return _extrapolated(lambda width: (along(width) - along(-width)) / (2.0 * width), ENOUGH, DIFFERENCES)


def rough_slope(along: Along) -> float:
    """The first derivative at 0 from four neighbours, to about six digits: enough to find the way."""
    one, two = ((along(width) - along(-width)) / (2.0 * width) for width in (ROUGH, 2.0 * ROUGH))
    return one + (one - two) / 3.0


def bend(along: Along) -> float:
    """The second derivative at 0; NaN where the number itself is not there."""
    here = along(0.0)
    return _extrapolated(lambda width: (along(width) - 2.0 * here + along(-width)) / width**2, ENOUGH_BEND, BENDS)


def _extrapolated(difference: Callable[[float], float], enough: float, most: int) -> float:
    rows: list[list[float]] = []
    best, error = math.nan, math.inf
    for count in range(most):
        value = difference(FIRST_DIFFERENCE / 2.0**count)
        if math.isnan(value):
            continue
        row = [value]
        for k, before in enumerate(rows[-1] if rows else [], start=1):
            row.append(row[-1] + (row[-1] - before) / (4.0**k - 1.0))
            guess = max(abs(row[k] - row[k - 1]), abs(row[k] - before))
            if guess < error:
                best, error = row[k], guess
        rows.append(row)
        if error < enough:
            break
    return best
