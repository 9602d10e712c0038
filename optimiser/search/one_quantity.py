"""Which objectives of a front are one quantity: they rise and fall together over all of it.

Two such objectives ask for the same members; a search that weighs both looks half of its time for nothing. Objectives
that run against each other are none of them: that is a trade, however close.

Symbols: N members, M objectives.
"""

import numpy as np
from scipy.stats import rankdata

from geometry.arrays import Array, Flags

NEARLY_ONE = 0.98
"""Objectives whose rank correlation is beyond this are one quantity."""
FEWEST = 50
"""Fewer members than this say nothing that a search should follow."""


def surplus(objectives: Array) -> Flags:
    """Which objectives (M,) of members (N, M) are one quantity with an objective before them that is not itself one.

    By Spearman's rank correlation; an objective that is the same throughout is one with nothing.
    """
    size, count = objectives.shape
    spare = np.zeros(count, dtype=np.bool_)
    if size < FEWEST or count < 2:
        return spare
    ranks = rankdata(objectives, axis=0)
    ranks -= ranks.mean(axis=0)
    length = np.linalg.norm(ranks, axis=0)
    alike = (ranks.T @ ranks) > NEARLY_ONE * np.outer(length, length)
    for later in range(1, count):
        spare[later] = np.any(alike[later, :later] & ~spare[:later])
    return spare
