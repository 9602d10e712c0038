"""The quadratic programs of many starts: the best step of each, in its trust box, by what is known at its point.

From each start, over the step d in its box,

    minimise  minimax t + price e + d' B d / 2   so that   g_r + J_r d <= w_r t  where w_r > 0,  <= e  where w_r = 0.

| symbol | meaning | shape |
|---|---|---|
| g, w | rows and their weights, w >= 0 | (N, R) |
| J | derivatives of the rows, and beside them -w (of t) and -1 where w = 0 (of e) | (N, R, V + 2) |
| B | Hessian | (N, V, V) |
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Flags, Indices
from optimiser.search.quadratic import minimise

PROXIMAL = 1e-3
"""Second derivative given to the steps of t and of e, which are 0 in the end: it makes the programs strictly convex
and moves no solution. Less for an e that is large, which would drown the rest."""
NEAR = 0.05
"""A row is asked from the start where it may lead after so much of the change that the box allows it. Any other that
the answer misses is then asked too: this number costs or saves time, it changes no answer."""
MISSED = 1e-9
"""By how much an answer may miss a row that it was not asked."""


@dataclass(frozen=True)
class Rows:
    """What is asked of N starts: `offset`, `weight` (N, R). `minimax`: t counts; without it, only e does."""

    offset: Array
    weight: Array
    minimax: bool

    def take(self, starts: Indices) -> "Rows":
        """What is asked of some starts."""
        return Rows(self.offset[starts], self.weight[starts], self.minimax)

    def level(self, g: Array) -> tuple[Array, Array]:
        """t and e (N,) of rows g (N, R): the largest g / w, 0 where no row is weighed; the largest miss, or 0."""
        weighed = self.weight > 0.0
        ratio = np.where(weighed, g, -np.inf) / np.where(weighed, self.weight, 1.0)
        t = ratio.max(axis=1, initial=-np.inf)
        return np.where(np.isfinite(t), t, 0.0), np.where(weighed, 0.0, g).max(axis=1, initial=0.0)


@dataclass(frozen=True)
class Steps:
    """Steps of N starts: `solved` (N,), whether there is one, `step` (N, V) and its multipliers.

    `rows` (N, R) >= 0; `box` (N, V), negative where the box holds from below, positive where from above.
    """

    solved: Flags
    step: Array
    rows: Array
    box: Array


def best_steps(asked: Rows, g: Array, slopes: Array, hessian: Array, price: Array, lower: Array, upper: Array) -> Steps:
    """The best steps of N starts with rows `g`, `slopes` = J, `price` (N,) of a miss, in boxes (N, V)."""
    size, variables = lower.shape
    quadratic = np.zeros((size, variables + 2, variables + 2))
    t, e = asked.level(g)
    quadratic[:, :-2, :-2] = hessian
    quadratic[:, -2, -2], quadratic[:, -1, -1] = PROXIMAL, PROXIMAL / np.maximum(e, 1.0)
    linear = np.zeros((size, variables + 2))
    linear[:, -2], linear[:, -1] = asked.minimax, price
    limits = asked.weight * t[:, None] - g
    low = np.concatenate([lower, np.full((size, 1), -np.inf), np.zeros((size, 1)), np.full(g.shape, -np.inf)], axis=1)
    high = np.concatenate([upper, np.full((size, 2), np.inf), limits], axis=1)
    x, prices = np.zeros((size, variables + 2)), np.zeros(low.shape)
    solved, left = np.ones(size, dtype=np.bool_), np.arange(size)
    chosen = np.concatenate([np.ones((size, variables + 2), np.bool_), _near(asked, g, slopes, lower, upper)], axis=1)
    while len(left):
        some = chosen[left]
        numbers = low[left][some], high[left][some]
        asked_slopes = slopes[left][some[:, variables + 2 :]]
        ends = np.cumsum(some.sum(axis=1))
        answer, first = np.zeros(len(numbers[0])), 0
        for place, (k, end) in enumerate(zip(left.tolist(), ends.tolist(), strict=True)):
            span, before = slice(first, end), place * (variables + 2)
            rows = asked_slopes[first - before : end - before - variables - 2]
            found = minimise(quadratic[k], linear[k], rows, numbers[0][span], numbers[1][span])
            solved[k], first = found is not None, end
            if found is not None:
                x[k], answer[span] = found.x, found.prices
        present = np.zeros(some.shape)
        present[some] = answer
        prices[left] = present
        left = left[solved[left]]
        missed = (slopes[left] @ x[left, :, None])[:, :, 0] > limits[left] + MISSED
        missed &= ~chosen[left, variables + 2 :]
        chosen[left, variables + 2 :] |= missed
        left = left[missed.any(axis=1)]
    return Steps(solved, x[:, :-2], prices[:, variables + 2 :], prices[:, :variables])


def _near(asked: Rows, g: Array, slopes: Array, lower: Array, upper: Array) -> Flags:
    """Rows (N, R) that may be the largest, or missed, not far from where nothing moves."""
    reach = np.maximum(-lower, upper)
    change = NEAR * (np.abs(slopes[:, :, :-2]) @ reach[:, :, None])[:, :, 0]
    t, e = asked.level(g - change)
    leads = g + change >= asked.weight * t[:, None]
    return np.where(asked.weight > 0.0, leads, g + change >= e[:, None])
