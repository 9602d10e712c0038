"""Test problems of the literature, as a search sees them, and points of their known fronts.

ZDT: Zitzler, Deb and Thiele (2000). DTLZ: Deb, Thiele, Laumanns and Zitzler (2005). BNH: Binh and Korn (1997). OSY:
Osyczka and Kundu (1995). TNK: Tanaka, Watanabe, Furukawa and Tanino (1995). Welded beam: Deb (2001). All objectives are
minimised.
"""

from collections.abc import Callable

import numpy as np

from geometry.arrays import Array
from optimiser.search.problem import Batch, Problem
from optimiser.search.volume import nondominated

ZDT_VARIABLES = 30


def problem(evaluate: Callable[[Array], Batch], lower: Array, upper: Array, objectives: int = 2) -> Problem:
    """A problem that begins in the middle of its bounds."""
    names = tuple(f"x{k}" for k in range(1, len(lower) + 1))
    return Problem(names, lower, upper, (lower + upper) / 2, objectives, evaluate)


def box(evaluate: Callable[[Array], Batch], variables: int, objectives: int = 2) -> Problem:
    """A problem over the unit box."""
    return problem(evaluate, np.zeros(variables), np.ones(variables), objectives)


def free(*objectives: Array) -> Batch:
    """A batch that nothing is held against."""
    return Batch(np.stack(objectives, axis=1), np.zeros((len(objectives[0]), 0)))


def zdt1() -> Problem:
    """Convex front f2 = 1 - sqrt(f1)."""

    def evaluate(x: Array) -> Batch:
        f, g = x[:, 0], 1 + 9 * x[:, 1:].mean(axis=1)
        return free(f, g * (1 - np.sqrt(f / g)))

    return box(evaluate, ZDT_VARIABLES)


def zdt2() -> Problem:
    """Concave front f2 = 1 - f1^2."""

    def evaluate(x: Array) -> Batch:
        f, g = x[:, 0], 1 + 9 * x[:, 1:].mean(axis=1)
        return free(f, g * (1 - (f / g) ** 2))

    return box(evaluate, ZDT_VARIABLES)


def zdt3() -> Problem:
    """Front in five pieces of f2 = 1 - sqrt(f1) - f1 sin(10 pi f1)."""

    def evaluate(x: Array) -> Batch:
        f, g = x[:, 0], 1 + 9 * x[:, 1:].mean(axis=1)
        return free(f, g * (1 - np.sqrt(f / g) - f / g * np.sin(10 * np.pi * f)))

    return box(evaluate, ZDT_VARIABLES)


def zdt4() -> Problem:
    """The front of ZDT1 behind 21^9 local ones."""

    def evaluate(x: Array) -> Batch:
        f, rest = x[:, 0], x[:, 1:]
        g = 1 + 10 * rest.shape[1] + (rest**2 - 10 * np.cos(4 * np.pi * rest)).sum(axis=1)
        return free(f, g * (1 - np.sqrt(f / g)))

    lower, upper = np.full(10, -5.0), np.full(10, 5.0)
    lower[0], upper[0] = 0.0, 1.0
    return problem(evaluate, lower, upper)


def welded_beam() -> Problem:
    """Cost and end deflection of a welded beam (h, l, t, b), under shear, bending and buckling limits.

    Deb, Multi-Objective Optimization using Evolutionary Algorithms (2001), from memory.
    """

    def evaluate(x: Array) -> Batch:
        h, weld, t, b = x.T
        cost = 1.10471 * h**2 * weld + 0.04811 * t * b * (14.0 + weld)
        direct = 6000.0 / (np.sqrt(2.0) * h * weld)
        arm = np.sqrt(0.25 * (weld**2 + (h + t) ** 2))
        turning = 6000.0 * (14.0 + 0.5 * weld) * arm / (1.41421356 * h * weld * (weld**2 / 12 + 0.25 * (h + t) ** 2))
        shear = np.sqrt(direct**2 + turning**2 + weld * direct * turning / arm)
        buckling = 64746.022 * (1 - 0.0282346 * t) * t * b**3
        held = [shear / 13600 - 1, 504000 / (t**2 * b) / 30000 - 1, (h - b) / 5, 1 - buckling / 6000]
        return Batch(np.stack([cost, 2.1952 / (t**3 * b)], axis=1), np.stack(held, axis=1))

    return problem(evaluate, np.array([0.125, 0.1, 0.1, 0.125]), np.array([5.0, 10.0, 10.0, 5.0]))


def dtlz2(objectives: int, variables: int) -> Problem:
    """The part of the unit sphere with positive coordinates."""

    def evaluate(x: Array) -> Batch:
        angles = x[:, : objectives - 1] * np.pi / 2
        radius = 1 + ((x[:, objectives - 1 :] - 0.5) ** 2).sum(axis=1)
        columns = []
        for k in range(objectives):
            f = radius * np.cos(angles[:, : objectives - 1 - k]).prod(axis=1)
            columns.append(f * np.sin(angles[:, objectives - 1 - k]) if k else f)
        return free(*columns)

    return box(evaluate, variables, objectives)


def bnh() -> Problem:
    """Two discs; both objectives are squared distances."""

    def evaluate(point: Array) -> Batch:
        x, y = point.T
        objectives = np.stack([4 * x**2 + 4 * y**2, (x - 5) ** 2 + (y - 5) ** 2], axis=1)
        outside = ((x - 5) ** 2 + y**2 - 25) / 25
        inside = (7.7 - (x - 8) ** 2 - (y + 3) ** 2) / 7.7
        return Batch(objectives, np.stack([outside, inside], axis=1))

    return problem(evaluate, np.zeros(2), np.array([5.0, 3.0]))


def osy() -> Problem:
    """Six variables, six constraints, a front of five stretches along them."""

    def evaluate(x: Array) -> Batch:
        x1, x2, x3, x4, x5, x6 = x.T
        first = -(25 * (x1 - 2) ** 2 + (x2 - 2) ** 2 + (x3 - 1) ** 2 + (x4 - 4) ** 2 + (x5 - 1) ** 2)
        met = [
            (x1 + x2 - 2) / 2,
            (6 - x1 - x2) / 6,
            (2 - x2 + x1) / 2,
            (2 - x1 + 3 * x2) / 2,
            (4 - (x3 - 3) ** 2 - x4) / 4,
            ((x5 - 3) ** 2 + x6 - 4) / 4,
        ]
        return Batch(np.stack([first, (x**2).sum(axis=1)], axis=1), -np.stack(met, axis=1))

    return problem(evaluate, np.array([0.0, 0, 1, 0, 1, 0]), np.array([10.0, 10, 5, 6, 5, 10]))


def tnk() -> Problem:
    """The objectives are the variables; the front lies on a wavy constraint, in three pieces."""

    def evaluate(x: Array) -> Batch:
        wave = 1 + 0.1 * np.cos(16 * np.arctan2(x[:, 0], x[:, 1]))
        outside = wave - (x**2).sum(axis=1)
        near = (((x - 0.5) ** 2).sum(axis=1) - 0.5) / 0.5
        return Batch(x.copy(), np.stack([outside, near], axis=1))

    return problem(evaluate, np.zeros(2), np.full(2, np.pi))


def bnh_front(points: int) -> Array:
    """BNH's front, (points, 2): x = y up to 3, then y = 3."""
    x = np.linspace(0.0, 5.0, points)
    y = np.minimum(x, 3.0)
    return np.stack([4 * x**2 + 4 * y**2, (x - 5) ** 2 + (y - 5) ** 2], axis=1)


def tnk_front(points: int) -> Array:
    """TNK's front, (at most points, 2): what nothing dominates on the wavy constraint, inside the other one."""
    angle = np.linspace(0.0, np.pi / 2, points)
    radius = np.sqrt(1 + 0.1 * np.cos(16 * angle))
    f = radius[:, None] * np.stack([np.sin(angle), np.cos(angle)], axis=1)
    f = f[((f - 0.5) ** 2).sum(axis=1) <= 0.5]
    return np.asarray(f[nondominated(f)])
