"""Small dense quadratic programs, each solved by DAQP's dual active-set method.

Arnstrom, Bemporad and Axehill, IEEE Transactions on Automatic Control 67(8), 2022. Of four libraries tried on programs
like these it was the fastest, and it solved all of them.
"""

import importlib
import math
from dataclasses import dataclass
from typing import Protocol, TypedDict, cast

from geometry.arrays import Array

SOLVED = 1
"""DAQP's exit flag of an optimum."""


@dataclass(frozen=True)
class Minimum:
    """Where a quadratic program has its least value.

    `x` (n,); `prices` (n + m,), what the value falls by per unit that a limit of x, then of a row, is let out:
    negative where it is the lower limit that holds, positive where it is the upper one.
    """

    x: Array
    prices: Array


class _Info(TypedDict):
    lam: Array


class _Daqp(Protocol):
    """What is used of DAQP, which carries no types."""

    def solve(
        self, H: Array, f: Array, A: Array, bupper: Array, blower: Array, /
    ) -> tuple[Array, float, int, _Info]: ...


_DAQP = cast(_Daqp, importlib.import_module("daqp"))


def minimise(hessian: Array, gradient: Array, rows: Array, lower: Array, upper: Array) -> Minimum | None:
    """Minimise x' hessian x / 2 + gradient x where x, and rows x after it, stay within `lower` and `upper` (n + m,).

    `hessian` (n, n) is positive definite, `rows` (m, n), m may be 0, C-contiguous; limits may be infinite. None where
    no x meets them, or where the solver gives up.
    """
    x, value, flag, info = _DAQP.solve(hessian, gradient, rows, upper, lower)
    if flag != SOLVED or not math.isfinite(value):
        return None
    return Minimum(x, info["lam"])
