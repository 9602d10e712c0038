"""What one axle is made of: plain frozen records of arrays. Only the left side is written; the right is its mirror.

Every number may carry leading batch axes, and they broadcast: an `Axle` whose pivot has shape (500, 3) and whose
other numbers have none is 500 candidate axles. Lengths in mm, angles in rad, axes ISO 8855 (x forward, y left, z up),
origin on the ground under the axle's middle at static ride height.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

import numpy as np

from geometry.arrays import Array


class Mode(StrEnum):
    """A motion of both wheels of an axle."""

    HEAVE = "heave"
    ROLL = "roll"

    @property
    def other(self) -> "Mode":
        """Roll for heave, heave for roll."""
        return Mode.ROLL if self is Mode.HEAVE else Mode.HEAVE


@dataclass(frozen=True)
class Wheel:
    """Left wheel at static: `centre` (..., 3) [mm]; `toe`, `camber` (...) [rad], toe-in and top outward positive."""

    centre: Array
    toe: Array
    camber: Array

    @property
    def loaded_radius(self) -> Array:
        """From the centre down the wheel plane to the ground at static (...) [mm]: centre_z / cos(camber)."""
        return np.asarray(self.centre[..., 2] / np.cos(self.camber))

    @property
    def spin_axis(self) -> Array:
        """Unit vector outward at static (..., 3): (sin toe cos camber, cos toe cos camber, -sin camber)."""
        toe, camber = np.broadcast_arrays(self.toe, self.camber)
        parts = [np.sin(toe) * np.cos(camber), np.cos(toe) * np.cos(camber), -np.sin(camber)]
        return np.stack(parts, axis=-1)


@dataclass(frozen=True)
class Link:
    """Two-point link from chassis to upright: `inboard`, `outboard` (..., 3) [mm]."""

    inboard: Array
    outboard: Array
    follows_rack: bool = False


@dataclass(frozen=True)
class Rod:
    """Push- or pullrod: its `outboard` eye (..., 3) [mm] and what carries it.

    `carried_by` names no link (the upright carries it), one link (the eye lies on that link's line) or two links
    that share an outboard point (the eye is fixed in that wishbone).
    """

    outboard: Array
    carried_by: tuple[str, ...] = ()


@dataclass(frozen=True)
class Arm:
    """A point of the rocker by its arm: it rides with pivot and axis.

    point = pivot + offset a + length (cos(angle) e0 + sin(angle) a x e0), a = the rocker's axis, e0 = the unit
    projection of +y (or of the rocker's `reference`) square to a. `length` is the in-plane radius.
    `length`, `offset` (...) [mm]; `angle` (...) [rad].
    """

    length: Array
    angle: Array
    offset: Array


RockerPoint: TypeAlias = Arm | Array
"""An `Arm`, or a point (..., 3) [mm] at static that stays in space when the pivot moves."""


@dataclass(frozen=True)
class AxisAngles:
    """Rocker axis by its angles [rad]: `azimuth` about +z from +x towards +y, `elevation` from the x-y plane to +z."""

    azimuth: Array
    elevation: Array


@dataclass(frozen=True)
class AxisAligned:
    """Rocker axis square to the plane through the pivot that holds the rod's outboard eye and the y direction."""


RockerAxis: TypeAlias = AxisAngles | AxisAligned | Array
"""`AxisAngles`, `AxisAligned`, or a vector (..., 3) of any length."""


@dataclass(frozen=True)
class Rocker:
    """Left rocker at static: `pivot` (..., 3) [mm], its axis, the rod's inboard eye and the struts' pick-ups by name.

    `reference` (..., 3), where given, replaces +y as the direction from which arm angles count. `settled` (...) [rad],
    of an axle as built: the angle by which the rocker stands turned from where it is drawn.
    """

    pivot: Array
    axis: RockerAxis
    rod: RockerPoint
    pickups: Mapping[str, RockerPoint]
    reference: Array | None = None
    settled: Array | None = None


@dataclass(frozen=True)
class CrossStrut:
    """Strut from the left rocker's pick-up `left` to the right rocker's pick-up `right`, there to serve one mode."""

    left: str
    right: str
    serves: Mode


@dataclass(frozen=True)
class CornerStrut:
    """Strut from a rocker's pick-up to the chassis, one on each side: `chassis` (..., 3) [mm] is the left one's."""

    left: str
    chassis: Array


@dataclass(frozen=True)
class TorsionBar:
    """Bar on each rocker's axis, its far end fixed to the chassis: it is twisted by the rocker's angle."""


@dataclass(frozen=True)
class AntiRollBar:
    """Bar across the car along y, twisted by an arm on each side that a drop link moves.

    The link goes from the rocker's pick-up `pickup` to the arm's `end` (..., 3) [mm] at static; the arm turns about the
    line along y through `pivot` (..., 3) [mm], the left one's. The right side is the mirror.
    """

    pickup: str
    pivot: Array
    end: Array


Strut: TypeAlias = CrossStrut | CornerStrut
"""An element with a length."""
Bar: TypeAlias = TorsionBar | AntiRollBar
"""An element that twists."""
Element: TypeAlias = Strut | Bar


@dataclass(frozen=True)
class Axle:
    """One axle, or a batch of them: see this module's first lines."""

    wheel: Wheel
    links: Mapping[str, Link]
    rod: Rod
    rocker: Rocker
    elements: Mapping[str, Element]

    @property
    def struts(self) -> dict[str, Strut]:
        """The elements that have a length, by name."""
        return {name: one for name, one in self.elements.items() if isinstance(one, CrossStrut | CornerStrut)}

    @property
    def anti_roll_bars(self) -> dict[str, AntiRollBar]:
        """The anti-roll bars, by name."""
        return {name: one for name, one in self.elements.items() if isinstance(one, AntiRollBar)}

    @property
    def has_rack(self) -> bool:
        """Whether a link's inboard point moves with the steering rack."""
        return any(link.follows_rack for link in self.links.values())
