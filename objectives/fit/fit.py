"""The deviations of a built axle that explain its measurements best, given how exactly it is built.

Least squares over the readings and, beside them, over the deviations themselves, each by its own standard deviation: so
what the readings do not tell stays at what the build says. With normal errors this is the most probable axle (a linear
Gaussian model, C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, section 2.1, from
memory), and its covariance that of the straight model there.

| symbol | meaning | shape |
|---|---|---|
| R, D | readings, deviations | |
| u | deviations by their standard deviations | (D,) |
| J | change of the readings per u, by their errors | (R, D) |
| s, V | singular values and right vectors of J | (D,), (D, D) |
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Flags
from geometry.axle import Axle
from objectives.fit.deviations import Deviation
from objectives.fit.rig import Measured, expected

STEP = 1e-3
"""Half the width of a difference [mm]."""
MOST_STEPS = 30
MOST_HALVINGS = 12
SETTLED = 1e-9
"""A step that lowers the sum of squares by no larger share than this is the last one."""
SEEN = 1.0
"""Singular value from which a direction counts as seen: the readings then say as much of it as the build, or more."""


@dataclass(frozen=True)
class Fit:
    """Deviations `sizes` (D,) [mm] in the order asked for, and what is known of them.

    `drawn`, `fitted` (R,) [mm]: readings less what the axle as drawn, and as fitted, would show. `squares`: the least
    sum of squares, of R degrees of freedom where build and instrument explain all. `seen` (D,), falling: how much more
    sharply the readings tell a direction than the build does; `directions` (D, D): a row each, in sizes by `sigma`.
    `alone` (D,) [mm]: each deviation where it is the only one; `explained` (D,): the share of the squares as drawn that
    it then takes away. `settled`: whether the search came to rest.
    """

    deviations: tuple[Deviation, ...]
    sizes: Array
    drawn: Array
    fitted: Array
    squares: float
    seen: Array
    directions: Array
    alone: Array
    explained: Array
    settled: bool

    @property
    def sigma(self) -> Array:
        """Standard deviations (D,) [mm] that the build states."""
        return _sigma(self.deviations)

    @property
    def covariance(self) -> Array:
        """Of `sizes` (D, D) [mm^2]."""
        scaled = self.sigma[:, None] * self.directions.T
        return np.asarray((scaled / (1.0 + self.seen**2)) @ scaled.T)

    @property
    def blind(self) -> Flags:
        """(D,): directions that the readings cannot see."""
        return np.asarray(self.seen < SEEN)

    def distance(self, sizes: Array) -> float:
        """Squared distance of other sizes (D,) [mm] from the fit, by its covariance: a chi-squared of D freedoms."""
        along = self.directions @ ((sizes - self.sizes) / self.sigma)
        return float(np.sum((1.0 + self.seen**2) * along**2))


def fit(axle: Axle, measured: Measured, deviations: tuple[Deviation, ...]) -> Fit:
    """Fit an axle (no batch axes) to readings that it can take as drawn: `expected` is finite there.

    Gauss-Newton, with steps halved until the sum of squares falls.
    """
    rig, u = _Rig(axle, measured, deviations), np.zeros(len(deviations))
    here = drawn = _Point(u, rig.left_over(u), rig.slopes(u))
    settled = False
    for _ in range(MOST_STEPS):
        there = _downhill(rig, here)
        settled = there is None or here.squares - there.squares <= SETTLED * there.squares
        here = there or here
        if settled:
            break
    values, vectors = _spectrum(here.slopes)
    alone, explained = _alone(drawn)
    sigma, error = _sigma(deviations), measured.error
    return Fit(
        deviations,
        sizes=here.u * sigma,
        drawn=drawn.left_over * error,
        fitted=here.left_over * error,
        squares=here.squares,
        seen=values,
        directions=vectors,
        alone=alone * sigma,
        explained=explained,
        settled=settled,
    )


@dataclass(frozen=True)
class _Point:
    """Deviations u (D,) with what they leave over of the readings (R,), by their errors, and J (R, D)."""

    u: Array
    left_over: Array
    slopes: Array

    @property
    def squares(self) -> float:
        return _squares(self.left_over, self.u)


@dataclass(frozen=True)
class _Rig:
    """Readings as numbers of u."""

    axle: Axle
    measured: Measured
    deviations: tuple[Deviation, ...]

    def left_over(self, u: Array) -> Array:
        read = expected(self.axle, self.measured, self.deviations, (u * _sigma(self.deviations))[None])[0]
        return np.asarray((self.measured.value - read) / self.measured.error)

    def slopes(self, u: Array) -> Array:
        """By central differences over axles built anew."""
        sigma, ups = _sigma(self.deviations), STEP * np.eye(len(u))
        read = expected(self.axle, self.measured, self.deviations, u * sigma + np.concatenate([ups, -ups]))
        per_mm = (read[: len(u)] - read[len(u) :]) / (2.0 * STEP)
        return np.asarray((per_mm * sigma[:, None] / self.measured.error).T)


def _downhill(rig: _Rig, here: _Point) -> _Point | None:
    """The next point with a smaller sum of squares; None where there is none along the step of least squares."""
    both = np.concatenate([here.slopes, np.eye(len(here.u))])
    step = np.linalg.lstsq(both, np.concatenate([here.left_over, -here.u]), rcond=None)[0]
    for halvings in range(MOST_HALVINGS):
        u = here.u + step / 2.0**halvings
        left_over = rig.left_over(u)
        if _squares(left_over, u) < here.squares:
            return _Point(u, left_over, rig.slopes(u))
    return None


def _sigma(deviations: tuple[Deviation, ...]) -> Array:
    return np.array([one.sigma for one in deviations])


def _squares(left_over: Array, u: Array) -> float:
    """Infinite where the axle does not get to a reading's state."""
    total = float(left_over @ left_over + u @ u)
    return total if np.isfinite(total) else np.inf


def _spectrum(slopes: Array) -> tuple[Array, Array]:
    """s (D,), with zeros where there are fewer readings than deviations, and V^T (D, D)."""
    values, vectors = np.linalg.svd(slopes, full_matrices=True)[1:]
    return np.concatenate([values, np.zeros(len(vectors) - len(values))]), vectors


def _alone(drawn: _Point) -> tuple[Array, Array]:
    """Each deviation as the only one: its u (D,), and the share of the squares that it takes away (D,)."""
    along, own = drawn.slopes.T @ drawn.left_over, np.sum(drawn.slopes**2, axis=0)
    total = drawn.squares
    taken = along**2 / (own + 1.0)
    return along / (own + 1.0), taken / total if total > 0.0 else np.zeros_like(taken)
