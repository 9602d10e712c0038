"""The root nearest to 0 of something that is given by derivatives of solved lengths."""

import math
from collections.abc import Callable

from scipy.optimize import brentq

from optimiser.report.handoff.second_reading.slopes import rough_slope, slope
from optimiser.report.handoff.second_reading.sprung import Derivative

NEAR, NUDGE = 1e-6, 1e-2
"""Width to which a root is bracketed, and the one over which what is to vanish is found to grow [mm]."""


def root_near(miss: Callable[[float, Derivative], float], below: float, above: float, stride: float) -> float:
    """The root nearest to 0 between -below and above; NaN where none is found.

    The way is found by rough derivatives; two steps of Newton's, whose error is squared each time, make it exact.
    """

    def rough(x: float) -> float:
        return miss(x, rough_slope)

    found = _nearest_root(rough, below, above, stride)
    for _ in range(2 if math.isfinite(found) else 0):
        steep = (rough(found + NUDGE) - rough(found - NUDGE)) / (2.0 * NUDGE)
        found -= miss(found, slope) / steep
    return found


def _nearest_root(miss: Callable[[float], float], below: float, above: float, stride: float) -> float:
    ends = [(0.0, miss(0.0))] * 2
    if math.isnan(ends[0][1]) or ends[0][1] == 0.0:
        return ends[0][1]
    for step in range(1, math.ceil(max(below, above) / stride) + 1):
        for side, limit in ((0, -below), (1, above)):
            at, before = ends[side]
            there = max(limit, -step * stride) if side == 0 else min(limit, step * stride)
            found = miss(there) if there != at else before
            if found * before <= 0.0:
                return float(brentq(miss, min(at, there), max(at, there), xtol=NEAR))
            ends[side] = there, found
    return math.nan
