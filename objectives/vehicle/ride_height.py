"""Ride height against speed: where springs, tyres and downforce balance, the springs as they are, not as a line.

| symbol | meaning | unit |
|---|---|---|
| h | travel of both wheels of an axle, bump positive | mm |
| U_h | what the springs of the axle press in heave, dU/dh | N |
| W, A | sprung weight on the axle's two wheels; downforce on it | N |
| K_t, g | rate of a tyre; share by which A grows per mm that the body sinks there | N/mm, 1/mm |

U_h(h) = W + A, and the tyres give by A / (2 K_t). With A = A_0 (1 + g (h + A / (2 K_t))) it is
A_0 (1 + g h) / (1 - g A_0 / (2 K_t)). What the body sinks, h + A / (2 K_t), is the loss of ride height at the axle.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.arrays import Array
from geometry.motion import Motion, move
from geometry.travel import heave_states, travel_points
from objectives.fittings.fitted import Fittings
from objectives.strain import Strain, strain
from objectives.vehicle.car import CarAxle

CLOSE = 1e-6
"""The balance holds to this [N]."""
MOST_STEPS = 40
"""Steps of Newton's method between two travel points; halved intervals alone would need no more."""


@dataclass(frozen=True)
class RideHeight:
    """One axle at N speeds, each array (N,).

    `downforce` on the axle [N]; `travel` h and `tyre` deflection [mm], and `sink`, their sum; NaN where no travel
    inside the axle's own range balances: the car sinks onto what the springs do not tell, or without end. `rate` in
    heave per wheel there [N/mm]; `strain` and `motion` of the axle at those states.
    """

    downforce: Array
    travel: Array
    tyre: Array
    rate: Array
    strain: Strain
    motion: Motion

    @property
    def sink(self) -> Array:
        """Loss of ride height at the axle against standing still [mm]."""
        return np.asarray(self.travel + self.tyre)


def ride_height(axle: CarAxle, fittings: Fittings, downforce: Array, gain: float = 0.0) -> RideHeight:
    """Where an axle rests under `downforce` (N,) [N], given as at the static height.

    `gain` g [1/mm]. `fittings` names the sprung weight. The lowest travel that balances, among those that the axle's
    own range of wheel travel holds.
    """
    spring = _Springs(axle, fittings)
    pull = _Pull(2.0 * (fittings.loads.sprung_per_wheel or 0.0), downforce, gain, 2.0 * axle.tyre_rate)
    points = travel_points(axle.travel.wheel, axle.travel.step)
    lack = spring.press(points)[0][:, None] - pull.at(points[:, None])
    h = _refine(spring, pull, *_bracket(points, lack))
    strained, motion = spring.at(np.where(np.isnan(h), 0.0, h))
    force = np.where(np.isnan(h), np.nan, pull.at(h) - pull.weight)
    rate = np.where(np.isnan(h), np.nan, strained.curvature.heave)
    return RideHeight(force, h, force / (2.0 * axle.tyre_rate), rate, strained, motion)


@dataclass(frozen=True)
class _Springs:
    axle: CarAxle
    fittings: Fittings

    @cached_property
    def _static(self) -> Motion:
        return move(self.axle.axle, heave_states(np.zeros(1)))

    def at(self, h: Array) -> tuple[Strain, Motion]:
        motion = move(self.axle.axle, heave_states(h))
        return strain(self.axle.axle, self.fittings, motion, self._static), motion

    def press(self, h: Array) -> tuple[Array, Array]:
        """U_h (S,) and its slope."""
        strained, _ = self.at(h)
        return strained.by_left + strained.by_right, 2.0 * strained.curvature.heave


@dataclass(frozen=True)
class _Pull:
    """What the springs must hold: weight and downforce."""

    weight: float
    downforce: Array
    gain: float
    tyres: float

    @property
    def start(self) -> Array:
        """Downforce at h = 0, the tyres settled; infinite where they alone cannot hold it."""
        left = 1.0 - self.gain * self.downforce / self.tyres
        return np.where(left > 0.0, self.downforce / np.where(left > 0.0, left, 1.0), np.inf)

    def at(self, h: Array) -> Array:
        holding = np.isfinite(self.start)
        pull = self.weight + np.where(holding, self.start, 0.0) * (1.0 + self.gain * h)
        return np.where(holding, pull, np.inf)


def _bracket(points: Array, lack: Array) -> tuple[Array, Array]:
    """For each load the first two neighbours of `points` (K,) between which `lack` (K, N) rises through 0; or NaN."""
    rises = (lack[:-1] <= 0.0) & (lack[1:] > 0.0)
    first = rises.argmax(axis=0)
    found = rises.any(axis=0)
    return np.where(found, points[first], np.nan), np.where(found, points[first + 1], np.nan)


def _refine(spring: _Springs, pull: _Pull, low: Array, high: Array) -> Array:
    """Newton's method, kept inside its interval; NaN where there is none."""
    lost = np.isnan(low)
    low, high = np.where(lost, 0.0, low), np.where(lost, 0.0, high)
    h = 0.5 * (low + high)
    for _ in range(MOST_STEPS):
        press, slope = spring.press(h)
        lack = np.where(lost, 0.0, press - pull.at(h))
        if (np.abs(lack) < CLOSE).all():
            break
        low, high = np.where(lack <= 0.0, h, low), np.where(lack > 0.0, h, high)
        slope = np.where(lost, 1.0, slope - np.where(lost, 0.0, pull.start) * pull.gain)
        step = h - np.divide(lack, slope, out=np.full_like(lack, np.inf), where=slope > 0.0)
        h = np.where((step > low) & (step < high), step, 0.5 * (low + high))
    return np.where(lost, np.nan, h)
