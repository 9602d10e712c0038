"""How a car stands on uneven ground, by its linear rates: body, wheels and what each wheel presses, in SI units.

Four heights, front left, front right, rear left, rear right, are a bounce, a pitch, a roll and a warp (Smith and
Walker, Interconnected vehicle suspension, Proc IMechE D 219, 2005, 295-307).
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from objectives.vehicle.system import BODY, System

WHEEL_MODES = np.array([[1, 1, 1, 1], [1, 1, -1, -1], [1, -1, 1, -1], [1, -1, -1, 1]]) / 4.0
"""Bounce, pitch (front up), roll (left up) and warp of four wheels, front left, front right, rear left, rear right."""


@dataclass(frozen=True)
class Stance:
    """`body` (..., 3): heave [m], pitch, roll [rad]; `wheels` (..., n): their heights [m]; `force` (..., n): what the
    ground presses more than on the level [N]."""

    body: Array
    wheels: Array
    force: Array


def stand(system: System, ground: Array) -> Stance:
    """The car at rest on ground raised by `ground` (..., n) [m] under each wheel; the load on it unchanged.

    Raises `LinAlgError` for a car that nothing holds up.
    """
    q = ground @ np.linalg.solve(system.stiffness, system.ground).T
    return Stance(q[..., :3], q[..., 3:], _pressed(system, ground, q[..., 3:]))


def ground_stiffness(system: System) -> Array:
    """What each wheel presses by the ground's height under each, body and wheels at rest: (n, n) [N/m].

    It is the Schur complement of the body and the wheels. On four wheels its rank is 1: a rigid body that is free to
    heave, pitch and roll resists warp alone.
    """
    return stand(system, np.eye(system.ground.shape[1])).force.T


def _pressed(system: System, ground: Array, wheels: Array) -> Array:
    return np.asarray((ground - wheels) * np.diagonal(system.ground[len(BODY) :]))
