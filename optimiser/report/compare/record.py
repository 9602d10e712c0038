"""What the readings of a built car say: the fit, what it leaves open, and the axle that the car has."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Indices
from geometry.axle import Axle
from geometry.built import built
from objectives.fit.deviations import Deviation, deviations_of, points_off
from objectives.fit.fit import SEEN, Fit, fit
from objectives.tolerance.build import LEFT, RIGHT, Build, Spread
from optimiser.report.compare.measured import Sheet
from optimiser.study.study import Study

USUAL_BUILD = Build(pivots=0.5, pickups=0.5, rod_length=0.5, spread=Spread.TWO_SIGMA)
"""How exactly an axle is built whose file does not say: half a millimetre (common practice, no source)."""
DEVIATIONS = 1.959963984540054
"""Standard deviations on either side of the mean that hold 95 % of a normal distribution."""
UNTOLD = 0.95
"""A deviation that keeps this share of its spread is one that the readings do not tell."""
DOUBT = 0.01
"""The fit is doubted where chance makes the sum of squares so large in one of a hundred cars."""
SAME = 0.98
"""Other single deviations that explain this share of what the best one does explain it as well."""
MOST_WORDS = 4
"""Deviations by which a direction is named."""
LEAST_WORD = 0.25
"""A deviation is left out of a direction's name where its part is smaller than this share of the largest."""
MEAN = "mean"


@dataclass(frozen=True)
class Direction:
    """A way in which several deviations change together: (deviation, part), the largest part 1.

    `sharper`: how much more sharply the readings tell it than the build does. `size` [mm] of it is what the axle as
    fitted has, and 95 % of cars like it are within `half` of that.
    """

    parts: tuple[tuple[Deviation, float], ...]
    sharper: float
    size: float
    half: float


@dataclass(frozen=True)
class Comparison:
    """A built car beside its file."""

    sheet: Sheet
    build: Build
    stated: bool
    """Whether the file states the build."""
    fit: Fit
    halves: Array
    """(D,) [mm]: what is to be added and taken away for 95 %."""
    seen: tuple[Direction, ...]
    unseen: tuple[Direction, ...]
    untold: tuple[Deviation, ...]
    limit: float
    """A sum of squares above this is too large for build and instrument."""

    @property
    def doubtful(self) -> bool:
        """Whether readings and build do not go together."""
        return self.fit.squares > self.limit

    @property
    def best(self) -> tuple[int, ...]:
        """The deviations, by place, that alone explain most of the misfit, and as much of it as each other."""
        most = float(self.fit.explained.max())
        if most <= 0.0:
            return ()
        order = np.argsort(-self.fit.explained, kind="stable")
        return tuple(int(one) for one in order if self.fit.explained[one] >= SAME * most)


def compare(study: Study, sheet: Sheet) -> Comparison:
    """Fit a study's axle to the readings of a built car, each side on its own."""
    from scipy.special import chdtri  # noqa: PLC0415 - slow to import

    build = study.fittings.build or USUAL_BUILD
    found = fit(study.axle, sheet.measured, deviations_of(build, study.axle))
    spread = np.sqrt(np.diag(found.covariance))
    untold = spread >= UNTOLD * found.sigma
    directions = [_direction(found, row) for row in range(len(found.sigma))]
    seen = tuple(one for one, blind in zip(directions, found.blind, strict=True) if not blind)
    limit = float(chdtri(float(len(sheet.measured)), DOUBT))
    return Comparison(
        sheet=sheet,
        build=build,
        stated=study.fittings.build is not None,
        fit=found,
        halves=DEVIATIONS * spread,
        seen=seen,
        unseen=_unseen(found, np.flatnonzero(~untold)),
        untold=tuple(one for one, not_told in zip(found.deviations, untold, strict=True) if not_told),
        limit=limit,
    )


def corrected(axle: Axle, found: Fit, side: str = MEAN) -> Axle:
    """The axle as fitted. A file's right side is its left one's mirror: it has the mean of both, or one side's."""
    left, right = np.split(found.sizes, 2)
    sizes = {LEFT: left, RIGHT: right, MEAN: (left + right) / 2.0}[side]
    own = found.deviations[: len(left)]
    return built(axle, *points_off(own, sizes, LEFT))


def _direction(found: Fit, row: int) -> Direction:
    return _named(found, np.arange(len(found.sizes)), found.directions[row], float(found.seen[row]))


def _unseen(found: Fit, told: Indices) -> tuple[Direction, ...]:
    """Directions that the readings cannot see among deviations that they do tell something of, least seen first."""
    if not len(told):
        return ()
    slopes = (found.seen[:, None] * found.directions)[:, told]
    values, vectors = np.linalg.svd(slopes)[1:]
    blind = [place for place in reversed(range(len(vectors))) if values[place] < SEEN]
    return tuple(_named(found, told, vectors[place], float(values[place])) for place in blind)


def _named(found: Fit, told: Indices, along: Array, sharper: float) -> Direction:
    """The direction `along` (T,), a unit vector in sizes by sigma of the deviations `told` (T,)."""
    sigma = found.sigma[told]
    parts = along * sigma
    order = np.argsort(-np.abs(parts), kind="stable")[:MOST_WORDS]
    largest = float(parts[order[0]])
    kept = [int(one) for one in order if abs(parts[one] / largest) >= LEAST_WORD]
    return Direction(
        tuple((found.deviations[told[one]], float(parts[one]) / largest) for one in kept),
        sharper,
        size=float(along @ (found.sizes[told] / sigma)) * largest,
        half=DEVIATIONS * abs(largest) / float(np.hypot(1.0, sharper)),
    )
