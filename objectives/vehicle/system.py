"""A car as masses, springs and dampers: its matrices by small motions about static, in SI units (m, kg, s, N, rad).

| symbol | meaning | shape | unit |
|---|---|---|---|
| q | heave of the body, its pitch, its roll, height of each wheel | (3 + n,) | m, rad, rad, m |
| T | wheel travels by q: travel = height of the wheel - height of the body above it | (n, 3 + n) | - |
| S, D | stiffness and damping of the suspension by wheel travels | (n, n) | N/m, N.s/m |

The body's height at a wheel (x, y) from its centre of mass is z - pitch x + roll y (ISO 8855: positive pitch is nose
down, positive roll lifts the left side). K = T' S T + tyres, C = T' D T, M is diagonal.

Source: any text of vibrations, e.g. Rao, Mechanical Vibrations, chapter 6 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array

BODY = ("heave", "pitch", "roll")
"""Names of the body's three coordinates."""


@dataclass(frozen=True)
class Body:
    """The sprung mass: `mass` [kg], moments of inertia about its centre of mass, `pitch` and `roll` [kg.m2]."""

    mass: float
    pitch: float
    roll: float


@dataclass(frozen=True)
class WheelSet:
    """The n wheels of a car, each array (n,): position `x`, `y` [m] from the sprung mass, `mass` [kg], `tyre` [N/m]."""

    names: tuple[str, ...]
    x: Array
    y: Array
    mass: Array
    tyre: Array


@dataclass(frozen=True)
class System:
    """A linear system: `names` of its N coordinates; `mass`, `damping`, `stiffness` (N, N), symmetric.

    `ground` (N, n): force on each coordinate by each wheel's ground height [N/m].
    """

    names: tuple[str, ...]
    mass: Array
    damping: Array
    stiffness: Array
    ground: Array

    def keep(self, names: Sequence[str]) -> "System":
        """The system with only these coordinates free, in this order; the others are held still.

        Raises `ValueError` for a name that is not there.
        """
        unknown = sorted(set(names) - set(self.names))
        if unknown:
            raise ValueError(f"no coordinate {unknown[0]}: one of {', '.join(self.names)}")
        rows = [self.names.index(name) for name in names]
        square = np.ix_(rows, rows)
        kept = (self.mass[square], self.damping[square], self.stiffness[square])
        return System(tuple(names), *kept, self.ground[rows])


def assemble(body: Body, wheels: WheelSet, stiffness: Array, damping: Array) -> System:
    """A car of n wheels: 3 + n coordinates, the body's (`BODY`) first.

    `stiffness`, `damping` (n, n): the suspension by wheel travels [N/m, N.s/m], see `axle_block`. Four wheels give the
    seven degrees of freedom of a car; two, with `System.keep`, a half car; one a quarter car.
    """
    travel = np.concatenate([-body_heights(wheels), np.eye(len(wheels.x))], axis=1)
    tyres = np.concatenate([np.zeros((3, len(wheels.x))), np.diag(wheels.tyre)])
    elastic = travel.T @ stiffness @ travel
    elastic[3:, 3:] += np.diag(wheels.tyre)
    mass = np.diag(np.concatenate([[body.mass, body.pitch, body.roll], wheels.mass]))
    return System((*BODY, *wheels.names), mass, travel.T @ damping @ travel, elastic, tyres)


def body_heights(wheels: WheelSet) -> Array:
    """Height of the body at each wheel by its heave, pitch and roll: (n, 3)."""
    return np.stack([np.ones_like(wheels.x), -wheels.x, wheels.y], axis=1)


def axle_block(heave: float, roll: float, cross: float = 0.0) -> Array:
    """One axle's matrix by the travels of its left and right wheel (2, 2), from its rates per wheel.

    `heave` K_h = U_hh / 2, `roll` K_r = U_rr / 2, `cross` K_hr = U_hr / 2, h both wheels and r the left up, the right
    down; so z_left = h + r, z_right = h - r. The same for damping. Units as given.
    """
    own, other = (heave + roll) / 2.0, (heave - roll) / 2.0
    return np.array([[own + cross, other], [other, own - cross]])


def two_axles(front: Array, rear: Array) -> Array:
    """The matrix (4, 4) of a car whose axles are not tied to each other, in the order front left, right, rear left,
    right."""
    none = np.zeros((2, 2))
    return np.block([[front, none], [none, rear]])
