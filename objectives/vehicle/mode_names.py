"""What moves in each mode of a four-wheeled car, by name, and how purely: shares of the mode's kinetic energy."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from objectives.vehicle.modes import Modes
from objectives.vehicle.system import BODY

HOPS = ("front hop", "front hop, opposite", "rear hop", "rear hop, opposite")
"""Both wheels of an axle together, or one up and the other down."""
MOTIONS = (*BODY, *HOPS)
"""The seven pure motions of a car, by which its modes are named."""


@dataclass(frozen=True)
class NamedMode:
    """One mode: `name`, the motion with the largest share; `purity`, that share; `shares` of all motions, sum 1.

    `frequency` [Hz], undamped; `damped` [Hz] and `ratio` of its damped eigenvalues. `node` [m]: how far before the
    sprung mass's centre the body stays still; NaN where it does not pitch. `shape`: heave [m], pitch, roll [rad] of the
    body and the heights of the four wheels [m], scaled so that the largest is 1.
    """

    name: str
    purity: float
    shares: Mapping[str, float]
    frequency: float
    damped: float
    ratio: float
    node: float
    shape: tuple[float, ...]


def name_modes(found: Modes) -> tuple[NamedMode, ...]:
    """The seven modes of a car as `assemble` lays it out: body, then front left, right, rear left, right.

    The kinetic energy of two wheels of one mass is that of their mean and of half their difference: so its shares sum
    to 1 over `MOTIONS`. Raises `ValueError` for another number of coordinates.
    """
    if found.shape.shape != (len(MOTIONS), len(MOTIONS)):
        raise ValueError("a car has seven coordinates")
    hertz, damped = found.frequency / (2 * np.pi), found.damped / (2 * np.pi)
    return tuple(
        _named(row, _shares(found.energy[row], found.shape[row]), found, hertz, damped) for row in range(len(MOTIONS))
    )


def _named(row: int, shares: Array, found: Modes, hertz: Array, damped: Array) -> NamedMode:
    first = int(shares.argmax())
    return NamedMode(
        name=MOTIONS[first],
        purity=float(shares[first]),
        shares={name: float(share) for name, share in zip(MOTIONS, shares, strict=True)},
        frequency=float(hertz[row]),
        damped=float(damped[row]),
        ratio=float(found.ratio[row]),
        node=_node(found.shape[row]),
        shape=tuple((found.shape[row] / np.abs(found.shape[row]).max()).tolist()),
    )


def _shares(energy: Array, shape: Array) -> Array:
    """Shares of the seven motions: the wheels' energy of each axle split into together and opposite."""
    hops = []
    for left, right in ((3, 4), (5, 6)):
        both = energy[left] + energy[right]
        together, opposite = (shape[left] + shape[right]) ** 2, (shape[left] - shape[right]) ** 2
        whole = together + opposite
        hops += [both * together / whole, both * opposite / whole] if whole > 0.0 else [0.0, 0.0]
    return np.array([*energy[:3], *hops])


def _node(shape: Array) -> float:
    """Where z - pitch x = 0 [m]."""
    heave, pitch = shape[0], shape[1]
    return float(heave / pitch) if abs(pitch) > 1e-9 * np.abs(shape).max() else np.nan
