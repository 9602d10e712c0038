"""Springs as a study writes them: frozen records. What they do stands in `objectives.fittings.forces`.

A spring acts on one element, by name `on`. On a cross-car strut or an anti-roll bar there is one of it; on a corner
strut or a torsion bar there is one on each side. c is the element's compression from static: mm, or for a bar its
twist in degrees; the force that goes with it is N, or for a bar the moment N.m. Forces are positive when the spring
pushes its element longer, and rates are their increase per c.

Numbers may carry batch axes that broadcast with the axle's.
"""

from dataclasses import dataclass
from typing import TypeAlias

from geometry.arrays import Array


@dataclass(frozen=True)
class CarriesWeight:
    """The static force that holds the sprung weight up, by virtual work; one spring of an axle at most."""


@dataclass(frozen=True)
class CoilSpring:
    """F = static + rate c, at least 0 unless it `pulls`.

    `rate` [N/mm]; `free_length`, `solid_length` [mm] or None: its length at static is free_length - static / rate, and
    it is solid where c takes it to its solid length. `static` [N].
    """

    on: str
    rate: Array
    static: Array | CarriesWeight
    free_length: Array | None = None
    solid_length: Array | None = None
    pulls: bool = False


@dataclass(frozen=True)
class OpposedSprings:
    """Two equal springs against each other, neither of which can pull: F = max(F0 + k c, 0) - max(F0 - k c, 0).

    `rate` k [N/mm] of each; `preload` F0 [N] at static, negative for a dead band of 2 |F0| / k.
    """

    on: str
    rate: Array
    preload: Array


@dataclass(frozen=True)
class CurveSpring:
    """A rubber, or any other spring by its curve: nothing up to `gap` [mm] of compression, then F(c - gap).

    `points` (n, 2): compression beyond the gap [mm] and force [N], from (0, 0), both rising; straight between them and
    beyond the last.
    """

    on: str
    gap: Array
    points: Array


@dataclass(frozen=True)
class SeriesSprings:
    """Two springs end to end, of which the first is solid after its own compression of `solid_at` [mm] from free.

    `rates` (first, second) [N/mm]; together they cannot pull. `static` [N]; `solid_at` counts from no force.
    """

    on: str
    rates: tuple[Array, Array]
    solid_at: Array
    static: Array | CarriesWeight


@dataclass(frozen=True)
class TorsionSpring:
    """The rate of a torsion bar on the rocker's axis: M = static + rate c, c the rocker's angle [deg] in bump's sense.

    `rate` [N.m/deg], `static` [N.m].
    """

    on: str
    rate: Array
    static: Array | CarriesWeight


@dataclass(frozen=True)
class BarSpring:
    """The rate of an anti-roll bar between its arms: M = rate c, c its twist [deg]. `rate` [N.m/deg]."""

    on: str
    rate: Array


Spring: TypeAlias = CoilSpring | OpposedSprings | CurveSpring | SeriesSprings | TorsionSpring | BarSpring
