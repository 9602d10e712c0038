"""Dampers as a study writes them: frozen records. One acts on the element of its own name."""

from dataclasses import dataclass
from typing import TypeAlias

from geometry.arrays import Array


@dataclass(frozen=True)
class DamperCurve:
    """Force against speed: `points` (n, 2), speed [m/s] and force [N], both rising, compression positive.

    Straight between the points and beyond the last ones; through (0, 0).
    """

    points: Array


@dataclass(frozen=True)
class DampingRatio:
    """Asks for the coefficient that gives the element's mode this share of critical damping."""

    ratio: Array


Damper: TypeAlias = DamperCurve | DampingRatio
