"""Small dense quadratic programs, each solved by DAQP's dual active-set method.

Arnstrom, Bemporad and Axehill, IEEE Transactions on Automatic Control 67(8), 2022. Of four libraries tried on programs
like these it was the fastest, and it solved all of them.
"""

import importlib
from dataclasses import dataclass
from typing import Protocol, TypedDict, cast

import numpy as np

from geometry.arrays import Array

SOLVED = 1
"""DAQP's exit flag of an optimum."""


@dataclass(frozen=True)
class Minimum:
    """Where a quadratic program has its least value.

    `x` (n,); `rows` (m,) >= 0, what the value falls by per unit that a row's limit is let out; `box` (n,), the same of
    the bounds: negative where a lower bound holds, positive where an upper one does.
    """

    x: Array
    rows: Array
    box: Array


class _Info(TypedDict):
    lam: Array


class _Daqp(Protocol):
    """What is used of DAQP, which carries no types."""

    def solve(
        self, H: Array, f: Array, A: Array, bupper: Array, blower: Array, /
    ) -> tuple[Array, float, int, _Info]: ...


_DAQP = cast(_Daqp, importlib.import_module("daqp"))


def minimise(hessian: Array, gradient: Array, rows: Array, limits: Array, lower: Array, upper: Array) -> Minimum | None:
    """Minimise x' hessian x / 2 + gradient x over rows x <= limits and lower <= x <= upper.

    `hessian` (n, n) is positive definite; `rows` (m, n) and `limits` (m,), m may be 0; bounds (n,) may be infinite.
    None where no x meets the limits, or where the solver gives up.
    """
    below = np.concatenate([lower, np.full(len(limits), -np.inf)])
    x, _, flag, info = _DAQP.solve(hessian, gradient, rows, np.concatenate([upper, limits]), below)
    if flag != SOLVED or not np.isfinite(x).all():
        return None
    size = len(gradient)
    return Minimum(x, info["lam"][size:], info["lam"][:size])
