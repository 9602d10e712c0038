"""The room that an axle has, as a study writes it: frozen records. Lengths in mm, points in the car's axes."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from geometry.arrays import Array

ROD, ROCKER, LINKS, WHEEL = "rod", "rocker", "links", "wheel"
"""Bodies that every axle may have, beside its struts; `links` sizes all five."""


@dataclass(frozen=True)
class KeepOutCylinder:
    """A cylinder that nothing may touch, from `first` to `last` (3,).

    It is taken with round ends, a little larger than it is.
    """

    first: Array
    last: Array
    diameter: float


@dataclass(frozen=True)
class KeepOutBox:
    """A box along the axes that nothing may touch, from `low` to `high` (3,)."""

    low: Array
    high: Array


KeepOut: TypeAlias = KeepOutCylinder | KeepOutBox


@dataclass(frozen=True)
class WheelSize:
    """The wheel as a cylinder with flat ends about its centre, on its spin axis."""

    diameter: float
    width: float


@dataclass(frozen=True)
class Margins:
    """Clearances to be kept: of a body that moves from a fixed one, and of two that move."""

    to_fixed: float
    to_moving: float


@dataclass(frozen=True)
class Envelope:
    """`diameters` of capsules by body: `rod`, `rocker` (the thickness of its arms), `links`, and struts by name.

    `low`, `high` (3,): bounds of every inboard point of the left side, infinite where nothing bounds it.
    """

    diameters: Mapping[str, float] = field(default_factory=dict)
    wheel: WheelSize | None = None
    keep_out: Mapping[str, KeepOut] = field(default_factory=dict)
    low: Array = field(default_factory=lambda: np.full(3, -np.inf))
    high: Array = field(default_factory=lambda: np.full(3, np.inf))
    margins: Margins | None = None

    @property
    def has_bodies(self) -> bool:
        """Whether any body moves in it."""
        return bool(self.diameters) or self.wheel is not None

    @property
    def is_bounded(self) -> bool:
        """Whether any coordinate of an inboard point has a bound."""
        return bool(np.isfinite(self.low).any() or np.isfinite(self.high).any())
