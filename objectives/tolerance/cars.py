"""The built axles that a figure is sampled on: the same for every candidate, so that what is seen is the candidates."""

from functools import lru_cache

import numpy as np

from geometry.arrays import Array

AXLES = 1024
"""How many axles are built in thought. The 99 of 100 is then known to about a tenth of the standard deviation."""
SEED = 20_011
"""Where the random numbers begin; an arbitrary choice, kept for good."""


@lru_cache(maxsize=32)
def standard_errors(errors: int) -> Array:
    """Errors (E, AXLES) of the axles, each normal with mean 0 and deviation 1, and none correlated with another.

    Means and covariances of the sample are these exactly, so that a figure that is one linear number has the deviation
    that the root of the sum of squares gives. Drawn by a generator whose numbers are promised to stay as they are.
    """
    drawn = np.random.RandomState(SEED).standard_normal((AXLES, errors))
    if errors == 0:
        return drawn.T
    drawn -= drawn.mean(axis=0)
    factor = np.linalg.cholesky(drawn.T @ drawn / AXLES)
    found = np.linalg.solve(factor, drawn.T)
    found.setflags(write=False)
    return found


def quantile(values: Array, share: float) -> Array:
    """The value (*B) that a share of `values` (*B, AXLES) does not exceed; NaN where one of them is NaN."""
    return np.asarray(np.quantile(values, share, axis=-1))
