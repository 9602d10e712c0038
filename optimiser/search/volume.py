"""Hypervolume: how much of the space before a reference point a front dominates, all objectives minimised.

Symbols: N members, M objectives.
"""

import importlib
from typing import Protocol, cast

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import Array

BEYOND = 0.1
"""The reference lies beyond the first front's worst by this share of its range."""
EXACT_TO = 5
"""Up to so many objectives the hypervolume is exact; its cost grows steeply with each more."""
DIRECTIONS = 1 << 15
"""Directions in which the estimate above `EXACT_TO` objectives looks; always the same ones."""


class _Moocore(Protocol):
    """What is used of moocore, which carries no types."""

    def hypervolume(self, points: Array, /, ref: Array) -> float: ...

    def hv_approx(self, points: Array, /, ref: Array, *, nsamples: int, method: str) -> float: ...

    def is_nondominated(self, points: Array, /, *, keep_weakly: bool) -> NDArray[np.bool_]: ...


_MOOCORE = cast(_Moocore, importlib.import_module("moocore"))


def volume(objectives: Array, reference: Array) -> float:
    """Hypervolume of members (N, M) against `reference` (M,); 0 for none.

    A member not better than the reference in every objective adds nothing. Exact up to `EXACT_TO` objectives (Fonseca,
    Paquete and Lopez-Ibanez 2006); above, the integral over directions of Deng and Zhang (2019) on a fixed set of
    them: one front has one value, and a front that dominates another never has less.
    """
    inside = objectives[(objectives < reference).all(axis=1)]
    if not len(inside):
        return 0.0
    if objectives.shape[1] == 1:
        return float(reference[0] - inside.min())
    if objectives.shape[1] <= EXACT_TO:
        return float(_MOOCORE.hypervolume(inside, ref=reference))
    return float(_MOOCORE.hv_approx(inside, ref=reference, nsamples=DIRECTIONS, method="Rphi-FWE+"))


def reference_of(objectives: Array) -> Array:
    """The reference point (M,) that a first front (N, M), N > 0, fixes: its worst, and `BEYOND` of its range more.

    Where an objective's range is nothing, `BEYOND` of its size, or of one, takes its place.
    """
    worst, span = objectives.max(axis=0), np.ptp(objectives, axis=0)
    instead = np.maximum(np.abs(worst), 1.0)
    return np.asarray(worst + BEYOND * np.where(span > 0.0, span, instead))


def nondominated(objectives: Array) -> NDArray[np.bool_]:
    """Which of (N, M) no other dominates, as flags (N,); of equal rows only the first counts."""
    if not len(objectives):
        return np.zeros(0, dtype=np.bool_)
    return _MOOCORE.is_nondominated(objectives, keep_weakly=False)
