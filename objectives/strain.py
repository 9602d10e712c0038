"""The energy in an axle's springs, and what it gives at the wheels: forces, and rates in two parts.

| symbol | meaning | shape | unit |
|---|---|---|---|
| z_l, z_r | vertical travel of the left and the right wheel, bump positive | (S,) | mm |
| c, F, k | compression of an element, the force and the rate of its springs | (*B, S) | mm, N, N/mm |
| U | energy taken up since static, the sum over the elements | (*B, S) | N.mm |

A bar has rad, N.mm and N.mm/rad in place of the second row. F = dU/dc, and so dU/dz = F dc/dz, the vertical force with
which the springs press a wheel down. d2U/dz2 = k (dc/dz)^2 + F d2c/dz2, the spring part and the geometric part, is the
product rule; for one wheel, K = k IR^2 + F dIR/dz (W. F. and D. L. Milliken, Race Car Vehicle Dynamics, SAE 1995,
ch. 16, from memory).

A cross-car strut and an anti-roll bar are one element; of a corner strut and a torsion bar there is one on each side,
and the right one does at (z_l, z_r) what the left one does at (z_r, z_l).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.arrays import Array, Flags
from geometry.axle import Axle, CornerStrut, Element, TorsionBar
from geometry.motion import Motion
from geometry.side import Pairs
from geometry.squeeze import Squeeze
from objectives.fittings.fitted import Fittings
from objectives.fittings.installed import Installed, install


def strain(axle: Axle, fittings: Fittings, motion: Motion, static: Motion) -> "Strain":
    """What an axle's springs do at the states of `motion`; `static` is its motion at the one state of static.

    Raises ValueError where a spring carries the weight and none is given.
    """
    return strain_of(axle, install(axle, fittings, static), motion)


def strain_of(axle: Axle, installed: Mapping[str, Installed], motion: Motion) -> "Strain":
    """The same with the springs of each element as installed, their static forces known."""
    other_way = mirrored(motion)
    elements = {
        name: ElementStrain(
            springs, motion.squeeze(name), other_way.squeeze(name) if sided(axle.elements[name]) else None
        )
        for name, springs in installed.items()
    }
    return Strain(np.zeros(motion.status.shape), elements)


def sided(element: Element) -> bool:
    """Whether there is one of an element on each side."""
    return isinstance(element, CornerStrut | TorsionBar)


def mirrored(motion: Motion) -> Motion:
    """The axle seen in a mirror: what stands on the left of it stands on the right of `motion`."""
    return Motion(motion.side, Pairs(motion.pairs.right, motion.pairs.left))


@dataclass(frozen=True)
class Curvature:
    """A part of d2U: `left` d2U/dz_l2, `right` d2U/dz_r2, `across` d2U/dz_l dz_r (*B, S) [N/mm].

    The rates are per wheel, against heave h (both wheels +h) and roll r (left +r, right -r), in mm.
    """

    left: Array
    right: Array
    across: Array

    @property
    def heave(self) -> Array:
        """K_h = U_hh / 2 [N/mm]."""
        return np.asarray(0.5 * (self.left + self.right) + self.across)

    @property
    def roll(self) -> Array:
        """K_r = U_rr / 2 [N/mm]."""
        return np.asarray(0.5 * (self.left + self.right) - self.across)

    @property
    def cross(self) -> Array:
        """K_hr = U_hr / 2 [N/mm]: heave force per wheel by roll travel, and the other way."""
        return np.asarray(0.5 * (self.left - self.right))

    @property
    def one_wheel(self) -> Array:
        """The left wheel alone, the right one held: (K_h + K_r) / 2 + K_hr [N/mm]."""
        return self.left

    def __add__(self, other: "Curvature") -> "Curvature":
        return Curvature(self.left + other.left, self.right + other.right, self.across + other.across)


@dataclass(frozen=True)
class ElementStrain:
    """The springs of one element at S states; where there is one on each side, `_right` is the right one's squeeze."""

    springs: Installed
    _own: Squeeze
    _right: Squeeze | None = None

    @cached_property
    def compression(self) -> Array:
        """Of the element, or of the left one [mm, rad]."""
        return self._own.compression

    @cached_property
    def force(self) -> Array:
        """The springs' force on the element, or on the left one [N, N.mm], positive when they push it longer."""
        return self.springs.law.force(self._own.compression)

    @cached_property
    def force_right(self) -> Array | None:
        """That on the right one; None where there is but one element."""
        return None if self._right is None else self.springs.law.force(self._right.compression)

    @property
    def compression_right(self) -> Array | None:
        """Of the right one; None where there is but one element."""
        return None if self._right is None else self._right.compression

    @cached_property
    def solid(self) -> Flags:
        """Whether a coil on it, on either side, is solid: in truth no travel is left, and the force has no bound."""
        squeezes = [self._own] if self._right is None else [self._own, self._right]
        limit = self.springs.solid_at[..., None]
        return np.asarray(np.any([one.compression >= limit for one in squeezes], axis=0))

    @cached_property
    def energy(self) -> Array:
        """Energy taken up since static [N.mm]."""
        own = self.springs.law.energy(self._own.compression)
        return own if self._right is None else own + self.springs.law.energy(self._right.compression)

    @cached_property
    def by_left(self) -> Array:
        """dU/dz_l [N]."""
        own = self.force * self._own.by_left
        return own if self._right is None or self.force_right is None else own + self.force_right * self._right.by_right

    @cached_property
    def by_right(self) -> Array:
        """dU/dz_r [N]."""
        own = self.force * self._own.by_right
        return own if self._right is None or self.force_right is None else own + self.force_right * self._right.by_left

    @cached_property
    def spring(self) -> Curvature:
        """The part of d2U that the springs' rates give."""
        own = _spring_part(self.springs, self._own)
        return own if self._right is None else own + _turned(_spring_part(self.springs, self._right))

    @cached_property
    def geometric(self) -> Curvature:
        """The part of d2U that their forces give where the motion ratios change."""
        own = _geometric_part(self.force, self._own)
        if self._right is None or self.force_right is None:
            return own
        return own + _turned(_geometric_part(self.force_right, self._right))


@dataclass(frozen=True)
class Strain:
    """All springs of an axle at S states, arrays (*B, S); NaN where the axle's status is not OK.

    `elements`: those that springs act on.
    """

    _nothing: Array
    elements: Mapping[str, ElementStrain]

    @cached_property
    def energy(self) -> Array:
        """U [N.mm], 0 at static."""
        return sum((one.energy for one in self.elements.values()), self._nothing)

    @cached_property
    def by_left(self) -> Array:
        """dU/dz_l [N]: how hard the springs press the left wheel down."""
        return sum((one.by_left for one in self.elements.values()), self._nothing)

    @cached_property
    def by_right(self) -> Array:
        """dU/dz_r [N]."""
        return sum((one.by_right for one in self.elements.values()), self._nothing)

    @cached_property
    def spring(self) -> Curvature:
        """The spring part of d2U."""
        return sum((one.spring for one in self.elements.values()), self._no_curvature)

    @cached_property
    def geometric(self) -> Curvature:
        """The geometric part of d2U."""
        return sum((one.geometric for one in self.elements.values()), self._no_curvature)

    @cached_property
    def curvature(self) -> Curvature:
        """d2U [N/mm]: both parts."""
        return self.spring + self.geometric

    @property
    def forces(self) -> dict[str, Array]:
        """The springs' force on each element (*B, S), the left one's where there are two [N, N.mm]."""
        return {name: one.force for name, one in self.elements.items()}

    @property
    def _no_curvature(self) -> Curvature:
        return Curvature(self._nothing, self._nothing, self._nothing)


def _spring_part(springs: Installed, squeeze: Squeeze) -> Curvature:
    rate = springs.law.slope(squeeze.compression)
    left, right = squeeze.by_left, squeeze.by_right
    return Curvature(rate * left**2, rate * right**2, rate * left * right)


def _geometric_part(force: Array, squeeze: Squeeze) -> Curvature:
    return Curvature(force * squeeze.curve_left, force * squeeze.curve_right, force * squeeze.curve_cross)


def _turned(part: Curvature) -> Curvature:
    """A part of the right one, written for the axle itself: its left wheel is the right one."""
    return Curvature(part.right, part.left, part.across)
