"""One wheel of an axle thrown up by a kerb, with its springs as they are: rubbers, knees and solid coils counted.

| symbol | meaning | unit |
|---|---|---|
| b | height of the kerb under the left tyre | mm |
| z_l, z_r | travels of the wheels in a body that has not moved yet | mm |
| P_l, P_r | what the springs press the wheels down with, more than at static | N |

The tyres press with K_t (b - z_l) and -K_t z_r: P_l = K_t (b - z_l), P_r = -K_t z_r. The wheels' own inertia is left
out: the kerb is long enough for them to come to rest on it, and too short for the body to move.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.arrays import Array
from geometry.motion import Motion, move
from geometry.travel import AxleStates, heave_states
from objectives.fittings.fitted import Fittings
from objectives.strain import Strain, strain
from objectives.vehicle.car import CarAxle

CLOSE = 1e-6
"""The balance holds to this [N]."""
MOST_STEPS = 60
"""Steps of Newton's method; each is halved until it brings the balance nearer."""
SHORTEST = 1e-9
"""A step below this [mm] that brings the balance no nearer ends at the axle's range."""


@dataclass(frozen=True)
class Struck:
    """`travel` of the left and the right wheel [mm] and `force` of the ground on each tyre more than at static [N].

    `strain`: the axle's springs there, one state. NaN where that lies beyond the axle's range of wheel travel.
    """

    travel: Array
    force: Array
    strain: Strain


def strike_wheel(axle: CarAxle, fittings: Fittings, height: float) -> Struck:
    """The left wheel on a kerb of `height` [mm], the body still. `fittings` names the sprung weight."""
    trial = _Trial(axle, fittings, move(axle.axle, heave_states(np.zeros(1))), height)
    z = np.zeros(2)
    lack, strained = trial.lack(z)
    for _ in range(MOST_STEPS):
        if np.abs(lack).max() < CLOSE:
            return Struck(z, axle.tyre_rate * (trial.ground - z), strained)
        step = -np.linalg.solve(trial.stiffness(strained), lack)
        while not trial.nearer(z + step, lack):
            step = 0.5 * step
            if np.abs(step).max() < SHORTEST:
                return Struck(np.full(2, np.nan), np.full(2, np.nan), strained)
        z = z + step
        lack, strained = trial.lack(z)
    return Struck(np.full(2, np.nan), np.full(2, np.nan), strained)


@dataclass(frozen=True)
class _Trial:
    axle: CarAxle
    fittings: Fittings
    static: Motion
    height: float

    @property
    def ground(self) -> Array:
        return np.array([self.height, 0.0])

    @cached_property
    def rest(self) -> Array:
        return _pressed(strain(self.axle.axle, self.fittings, self.static, self.static))

    def nearer(self, z: Array, lack: Array) -> bool:
        """Whether the axle can be at `z`, and lacks less there."""
        low, high = self.axle.travel.wheel
        inside = z.min() >= low and z.max() <= high
        return bool(inside and np.abs(self.lack(z)[0]).max() < np.abs(lack).max())

    def lack(self, z: Array) -> tuple[Array, Strain]:
        """What the tyres do not hold (2,) at wheel travels `z` (2,); NaN where the axle cannot be."""
        states = AxleStates(z[:1], z[1:], np.zeros(1))
        strained = strain(self.axle.axle, self.fittings, move(self.axle.axle, states), self.static)
        return _pressed(strained) - self.rest - self.axle.tyre_rate * (self.ground - z), strained

    def stiffness(self, strained: Strain) -> Array:
        rate = strained.curvature
        own = [[rate.left[0], rate.across[0]], [rate.across[0], rate.right[0]]]
        return np.array(own) + self.axle.tyre_rate * np.eye(2)


def _pressed(strained: Strain) -> Array:
    return np.array([strained.by_left[0], strained.by_right[0]])
