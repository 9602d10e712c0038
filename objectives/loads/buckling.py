"""Buckling of a straight tube with pinned ends, long or short.

| symbol | meaning | unit |
|---|---|---|
| E, S | modulus; yield stress | N/mm^2 |
| A, I, k | area; second moment of area; radius of gyration, sqrt(I / A) | mm^2, mm^4, mm |
| L | length between the eyes | mm |

Euler, P = pi^2 E I / L^2, holds above (L/k)_1 = sqrt(2 pi^2 E / S), where it reaches half the yield stress. Below it,
where pushrods lie, Johnson's parabola P = A S (1 - S (L/k)^2 / (4 pi^2 E)) is the lower; the two touch at (L/k)_1.
(J. E. Shigley, Mechanical Engineering Design, ch. 4, from memory: end-condition constant C = 1.)
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from objectives.fittings.loads import RodTube


@dataclass(frozen=True)
class Section:
    """A cross-section: `area` [mm^2] and `second_moment` of area [mm^4]."""

    area: float
    second_moment: float


def tube_section(tube: RodTube) -> Section:
    """The section of a round tube."""
    outer, inner = tube.outer, tube.outer - 2.0 * tube.wall
    return Section(np.pi / 4.0 * (outer**2 - inner**2), np.pi / 64.0 * (outer**4 - inner**4))


def buckling_load(tube: RodTube, length: Array) -> Array:
    """Compression (...) [N] at which a tube of `length` (...) [mm] buckles: Euler's or Johnson's, whichever holds."""
    section = tube_section(tube)
    slender = length * np.sqrt(section.area / section.second_moment)
    euler = euler_load(tube.modulus, section.second_moment, length)
    johnson = johnson_load(tube.modulus, tube.yield_stress, section.area, slender)
    return np.where(slender > transition(tube.modulus, tube.yield_stress), euler, johnson)


def euler_load(modulus: float, second_moment: float, length: Array) -> Array:
    """Euler's load (...) [N] of a long column with pinned ends."""
    return np.asarray(np.pi**2 * modulus * second_moment / length**2)


def johnson_load(modulus: float, yield_stress: float, area: float, slender: Array) -> Array:
    """Johnson's load (...) [N] of a short column of slenderness L/k (...) with pinned ends."""
    return np.asarray(area * yield_stress * (1.0 - yield_stress * slender**2 / (4.0 * np.pi**2 * modulus)))


def transition(modulus: float, yield_stress: float) -> float:
    """The slenderness (L/k)_1 above which Euler holds and below which Johnson does."""
    return float(np.sqrt(2.0 * np.pi**2 * modulus / yield_stress))
