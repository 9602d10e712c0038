"""Which bodies hold a row of a front: those whose clearance is the least of all pairs, each less its margin."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from optimiser.report.results.manifest import Manifest

LESS_MARGINS = {"clearance.reserve": True, "clearance.min": False}
"""Figures that are the least over all pairs of bodies, and whether of clearances less their margins."""
KIND = "clearance."
TOUCHING = 0.05
"""A clearance that is above its limit by no more than this holds [mm]: so exactly are clearances known."""


@dataclass(frozen=True)
class Near:
    """Two bodies, `pair` as in `heave_to_rod`: their clearance, and what is to be kept of it [mm]."""

    pair: str
    clearance: float
    kept: float

    @property
    def left(self) -> float:
        """What is left of the clearance [mm]."""
        return self.clearance - self.kept


def nearest(manifest: Manifest, figures: Mapping[str, Sequence[float]], figure: str, row: int) -> tuple[Near, ...]:
    """All pairs, the nearest first, if `figure` is the least over all pairs; else none. Nulls are left out.

    What is kept is the margin, or what the goal on the figure asks for beyond it.
    """
    if figure not in LESS_MARGINS:
        return ()
    floor = max((_floor(goal.asks) for goal in manifest.held if goal.figure == figure), default=0.0)
    found = []
    for name, entry in manifest.figures.items():
        if _is_pair(name) and not math.isnan(figures[name][row]):
            kept = floor + (entry.margin if LESS_MARGINS[figure] else 0.0)
            found.append(Near(name.removeprefix(KIND), figures[name][row], kept))
    return tuple(sorted(found, key=lambda near: near.left))


def _floor(asks: Mapping[str, float | str]) -> float:
    """The least that a held goal lets a figure be; 0 where it sets no lower limit."""
    if "aim" in asks:
        return float(asks["aim"]) - float(asks["within"])
    return float(asks.get("at_least", 0.0))


def _is_pair(name: str) -> bool:
    """Whether a figure is the clearance of one pair, of the axle as drawn."""
    return name.startswith(KIND) and name not in LESS_MARGINS and name.count(".") == 1
