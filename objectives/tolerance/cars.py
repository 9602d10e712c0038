"""The built axles that a figure is sampled on: the same for every candidate, so that what is seen is the candidates."""

from functools import lru_cache

import numpy as np

from geometry.arrays import Array

AXLES = 1024
"""How many axles are built in thought."""
SEED = 20_011
"""Where random numbers begin; an arbitrary choice, kept for good."""
FEW = 4
"""Up to so many dimensions, points spread evenly serve better than random ones."""


@lru_cache(maxsize=32)
def standard_axles(dimensions: int) -> Array:
    """Numbers (D, AXLES), each row with mean 0 and deviation 1 as if normal, and none correlated with another.

    Up to `FEW` rows they are Hammersley's set: the first row stratified, the others Roberts' additive recurrence (The
    Unreasonable Effectiveness of Quasirandom Sequences, 2018, from memory). Beyond that they are drawn by a generator
    whose numbers are promised to stay as they are: 99 of 100 is then known to some 3 % of what errors do to a figure.
    """
    drawn = _even(dimensions) if dimensions <= FEW else np.random.RandomState(SEED).standard_normal((AXLES, dimensions))
    if dimensions:
        drawn = drawn - drawn.mean(axis=0)
        drawn = np.linalg.solve(np.linalg.cholesky(drawn.T @ drawn / AXLES), drawn.T).T
    found = np.ascontiguousarray(drawn.T)
    found.setflags(write=False)
    return found


def quantile(values: Array, share: float) -> Array:
    """The value (*B) that a share of `values` (*B, AXLES) does not exceed; NaN where one of them is NaN.

    Each value stands for the middle of its own AXLES-th part (A. Hazen's rule).
    """
    return np.asarray(np.quantile(values, share, axis=-1, method="hazen"))


def _even(dimensions: int) -> Array:
    from scipy.special import ndtri  # noqa: PLC0415 - slow to import, and few ask

    count = np.arange(AXLES)[:, None]
    root = 2.0
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / FEW)
    spread = np.mod(0.5 + (count + 1.0) * root ** -np.arange(1.0, FEW), 1.0)
    return np.asarray(ndtri(np.concatenate([(count + 0.5) / AXLES, spread], axis=1)[:, :dimensions]))
