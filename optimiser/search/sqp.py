"""Many constrained minimax problems solved side by side, by sequential quadratic programming in a trust region.

From each start, over u in the unit box, with the weights w >= 0 of its rows and g_r = part_r - offset_r:

    minimise t   so that   g_r <= w_r t,

which is a minimax over the rows with w_r > 0, and a constraint g_r <= 0 for those with w_r = 0. The rows with w_r = 0
may be missed by e >= 0 at the price of rho e, so that every quadratic program has an answer (Fletcher, Practical
Methods of Optimization, 1987, sections 12.4 and 14.4: the exact penalty function, in the largest miss, and its
second-order correction). What a step must lower is the merit t + rho e. The Hessian of the Lagrangian is Powell's
damped BFGS (Nocedal and Wright, Numerical Optimization, 2006, procedure 18.2).

| symbol | meaning | shape |
|---|---|---|
| u, d | variables and their step | (N, V) |
| g, w | rows and their weights | (N, R) |
| J | derivatives of the rows; beside them the columns -w (of t) and -1 where w = 0 (of e) | (N, R, V + 2) |
| B | Hessian of the Lagrangian, or its stand-in | (N, V, V) |
| lam | multipliers of the rows | (N, R) |
| rho | price of a miss | (N,) |
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from geometry.arrays import Array, Codes, Flags, Indices
from objectives.goals import FAILED
from optimiser.search.derivatives import derivatives
from optimiser.search.quadratic import minimise

RADIUS, LARGEST_RADIUS, SMALLEST_RADIUS = 0.1, 0.5, 1e-8
"""Half the trust box's edge in u: at the start, at most, and where a start is given up."""
ACCEPTED, POOR, GOOD = 1e-4, 0.25, 0.75
"""Shares of the promised decrease: to accept a step, to correct it and shrink the box, to let the box grow (common
values; Nocedal and Wright, algorithm 4.1)."""
CURVATURE = 0.1
"""Diagonal of B before anything is known."""
PROXIMAL = 1e-3
"""Second derivative given to t and to e, whose steps are 0 in the end: it makes the programs strictly convex and moves
no solution."""
PRICE, LARGEST_PRICE = 10.0, 1e6
"""rho at the start and at most, for weights of which the largest is 1."""


class Ending(IntEnum):
    """How the descent from a start ended."""

    CONVERGED = 0
    """No step promises a decrease worth having."""
    UNFINISHED = 1
    """The steps allowed ran out."""
    STALLED = 2
    """The trust box shrank to nothing."""
    UNMEASURABLE = 3
    """The start itself could not be measured; it is where it was."""


RUNNING = -1


@dataclass(frozen=True)
class Rows:
    """What is asked of the parts from each start: `offset`, `weight` (N, R). `minimax`: t counts, not only e."""

    offset: Array
    weight: Array
    minimax: bool

    def take(self, starts: Indices) -> "Rows":
        """What is asked from some starts."""
        return Rows(self.offset[starts], self.weight[starts], self.minimax)

    def level(self, g: Array) -> tuple[Array, Array]:
        """t and e (N,) of rows g (N, R): the largest g / w, 0 where there is none; the largest miss, or 0."""
        aimed = self.weight > 0.0
        ratio = np.where(aimed, g, -np.inf) / np.where(aimed, self.weight, 1.0)
        t = ratio.max(axis=1, initial=-np.inf)
        return np.where(np.isfinite(t), t, 0.0), np.where(aimed, 0.0, g).max(axis=1, initial=0.0)


class Descent:
    """The state of all descents, which `run` brings to their ends.

    After it: `u` (N, V), `parts` (N, R), `ending` (N,), `steps` (N,) taken, `multipliers` (N, R) >= 0 and `box` (N, V)
    (negative at a lower bound, positive at an upper one) per unit of u, `evaluations` spent.
    """

    def __init__(self, measure: Callable[[Array], Array], u: Array, rows: Rows, tolerance: float) -> None:
        size, variables = u.shape
        self._measure, self._rows, self._tolerance = measure, rows, tolerance
        self.u, self.evaluations = u.copy(), 0
        self.parts = self._counted(self.u)
        self.multipliers, self.box = np.zeros(self.parts.shape), np.zeros(u.shape)
        self.steps = np.zeros(size, dtype=np.intp)
        self.ending: Codes = np.where((self.parts >= FAILED).any(axis=1), Ending.UNMEASURABLE, RUNNING).astype(np.int8)
        self._slopes = np.zeros((size, self.parts.shape[1], variables + 2))
        self._slopes[:, :, variables] = -rows.weight
        self._slopes[:, :, variables + 1] = np.where(rows.weight == 0.0, -1.0, 0.0)
        self._hessian = np.tile(CURVATURE * np.eye(variables), (size, 1, 1))
        self._step = np.zeros(u.shape)
        self._moved, self._learned = np.ones(size, dtype=np.bool_), np.zeros(size, dtype=np.bool_)
        self._radius, self._price = np.full(size, RADIUS), np.full(size, PRICE)

    def run(self, steps: int) -> None:
        """Take up to so many steps from every start."""
        for _ in range(steps):
            live = np.flatnonzero(self.ending == RUNNING)
            if not self._rows.minimax:
                live = self._still_missing(live)
            if not len(live):
                return
            self._learn(live[self._moved[live]])
            self._advance(live)
        self.ending[self.ending == RUNNING] = Ending.UNFINISHED

    def _counted(self, u: Array) -> Array:
        self.evaluations += len(u)
        return self._measure(u)

    def _still_missing(self, live: Indices) -> Indices:
        rows = self._rows.take(live)
        met = rows.level(self.parts[live] - rows.offset)[1] <= 0.0
        self.ending[live[met]] = Ending.CONVERGED
        return live[~met]

    def _learn(self, moved: Indices) -> None:
        """Take the derivatives where a start has moved, and what they say of the Hessian."""
        variables = self.u.shape[1]
        slopes = derivatives(self._counted, self.u[moved], self.parts[moved])
        known = self.steps[moved] > 0
        change = slopes[known] - self._slopes[moved[known], :, :variables]
        turned = (self.multipliers[moved[known], None, :] @ change)[:, 0, :]
        old = moved[known]
        self._hessian[old] = _updated(self._hessian[old], self._step[old], turned, ~self._learned[old])
        self._learned[old] = True
        self._slopes[moved, :, :variables] = slopes
        self._moved[moved] = False

    def _advance(self, live: Indices) -> None:
        """Propose a step from every start, measure them all, correct the poor ones, and take those that are good."""
        rows, g = self._rows.take(live), self.parts[live] - self._rows.offset[live]
        solved, step = self._solve(live, g)
        live, rows, g, step = live[solved], rows.take(np.flatnonzero(solved)), g[solved], step[solved]
        before = self._merit(live, rows.level(g))
        promised = before - self._model(live, rows, g, step)
        finished = self._finish(live, rows, g, promised, step, before)
        going = np.flatnonzero(~finished)
        live, rows, g, step = live[going], rows.take(going), g[going], step[going]
        before, promised = before[going], promised[going]
        if not len(live):
            return
        u, parts, gained = self._try(live, rows, before, step)
        ratio = gained / promised
        poor = np.flatnonzero(ratio < POOR)
        if len(poor):
            bent = parts[poor] - rows.offset[poor] - self._linear(live[poor], step[poor])
            solved, corrected = self._solve(live[poor], bent, keep=False)
            poor, corrected = poor[solved], corrected[solved]
            u_2, parts_2, gained_2 = self._try(live[poor], rows.take(poor), before[poor], corrected)
            better = gained_2 > gained[poor]
            chosen = poor[better]
            u[chosen], parts[chosen] = u_2[better], parts_2[better]
            ratio[chosen] = gained_2[better] / promised[chosen]
        self._move(live, u, parts, step, ratio)

    def _try(self, live: Indices, rows: Rows, before: Array, step: Array) -> tuple[Array, Array, Array]:
        u = np.clip(self.u[live] + step, 0.0, 1.0)
        parts = self._counted(u)
        return u, parts, before - self._merit(live, rows.level(parts - rows.offset))

    def _move(self, live: Indices, u: Array, parts: Array, step: Array, ratio: Array) -> None:
        taken, size = ratio > ACCEPTED, np.abs(step).max(axis=1)
        at_edge = size > 0.9 * self._radius[live]
        grown = np.where((ratio > GOOD) & at_edge, np.minimum(2.0 * self._radius[live], LARGEST_RADIUS), self._radius[live])
        self._radius[live] = np.where(ratio < POOR, 0.5 * np.where(taken, size, 0.5 * size), grown)
        self.steps[live] += taken
        moved = live[taken]
        self._step[moved] = u[taken] - self.u[moved]
        self.u[moved], self.parts[moved], self._moved[moved] = u[taken], parts[taken], True
        self.ending[live[self._radius[live] < SMALLEST_RADIUS]] = Ending.STALLED

    def _finish(self, live: Indices, rows: Rows, g: Array, promised: Array, step: Array, before: Array) -> Flags:
        """Which starts are at their end; the price of a miss rises where one is left."""
        small = promised <= self._tolerance * np.maximum(1.0, np.abs(rows.level(g)[0]))
        missed = rows.level(g)[1] > self._tolerance
        dear = self._price[live] >= LARGEST_PRICE
        finished = small & (~missed | dear | (not rows.minimax))
        self.ending[live[finished]] = Ending.CONVERGED
        return np.asarray(finished)

    def _merit(self, live: Indices, level: tuple[Array, Array]) -> Array:
        t, e = level
        return t * self._rows.minimax + self._price[live] * e

    def _linear(self, live: Indices, step: Array) -> Array:
        return np.asarray((self._slopes[live, :, :-2] @ step[:, :, None])[:, :, 0])

    def _model(self, live: Indices, rows: Rows, g: Array, step: Array) -> Array:
        """The merit that a step promises (N,)."""
        curved = 0.5 * (step[:, None, :] @ self._hessian[live] @ step[:, :, None])[:, 0, 0]
        return self._merit(live, rows.level(g + self._linear(live, step))) + curved

    def _solve(self, live: Indices, g: Array, keep: bool = True) -> tuple[Flags, Array]:
        """Steps (N, V) of starts whose rows are `g` where nothing moves, and whether there is one.

        Where the quadratic program has no answer, B starts anew and the box shrinks.
        """
        size, variables = self.u[live].shape
        rows, slopes = self._rows.take(live), self._slopes[live]
        t = rows.level(g)[0]
        radius = self._radius[live, None]
        lower, upper = np.zeros((size, variables + 2)), np.full((size, variables + 2), np.inf)
        lower[:, :-2], upper[:, :-2] = np.maximum(-radius, -self.u[live]), np.minimum(radius, 1.0 - self.u[live])
        lower[:, -2] = -np.inf
        hessian = np.zeros((size, variables + 2, variables + 2))
        hessian[:, :-2, :-2], hessian[:, -2, -2], hessian[:, -1, -1] = self._hessian[live], PROXIMAL, PROXIMAL
        gradient = np.zeros((size, variables + 2))
        gradient[:, -2], gradient[:, -1] = self._rows.minimax, self._price[live]
        limits = rows.weight * t[:, None] - g
        near = self._near(rows, g, slopes, np.maximum(-lower, upper)[:, :-2])
        solved, step = np.zeros(size, dtype=np.bool_), np.zeros((size, variables))
        for k in range(size):
            chosen = np.flatnonzero(near[k])
            found = minimise(hessian[k], gradient[k], slopes[k, chosen], limits[k, chosen], lower[k], upper[k])
            if found is None:
                continue
            solved[k], step[k] = True, found.x[:-2]
            if keep:
                self.multipliers[live[k]] = 0.0
                self.multipliers[live[k], chosen] = found.rows
                self.box[live[k]] = found.box[:-2]
        if keep:
            lost = live[~solved]
            self._hessian[lost], self._learned[lost] = CURVATURE * np.eye(variables), False
            self._radius[lost] *= 0.25
            self.ending[lost[self._radius[lost] < SMALLEST_RADIUS]] = Ending.STALLED
            inner = (self.box[live] < 0.0) & (self.u[live] > radius) | (self.box[live] > 0.0) & (1.0 - self.u[live] > radius)
            self.box[live] = np.where(inner, 0.0, self.box[live])
            if self._rows.minimax:
                paid = np.where(rows.weight == 0.0, self.multipliers[live], 0.0).sum(axis=1)
                self._price[live] = np.clip(np.maximum(self._price[live], 2.0 * paid), 0.0, LARGEST_PRICE)
        return solved, step

    @staticmethod
    def _near(rows: Rows, g: Array, slopes: Array, reach: Array) -> Flags:
        """Rows (N, R) that may be the largest, or missed, somewhere in the box: linearly, no other can matter."""
        change = (np.abs(slopes[:, :, :-2]) @ reach[:, :, None])[:, :, 0]
        aimed = rows.weight > 0.0
        low = rows.level(g - change)
        return np.where(aimed, g + change >= rows.weight * low[0][:, None], g + change >= low[1][:, None])


def _updated(hessian: Array, step: Array, turned: Array, fresh: Flags) -> Array:
    """B (N, V, V) after steps (N, V) that turned the gradient of the Lagrangian by `turned` (N, V)."""
    along = (step * turned).sum(axis=1)
    size = (step * step).sum(axis=1)
    first = np.clip(np.where(along > 0.0, (turned * turned).sum(axis=1) / np.where(along > 0.0, along, 1.0), 0.0), 1e-2, 1e2)
    hessian = np.where((fresh & (along > 0.0))[:, None, None], first[:, None, None] * np.eye(step.shape[1]), hessian)
    bent = (hessian @ step[:, :, None])[:, :, 0]
    curved = (step * bent).sum(axis=1)
    damped = along < 0.2 * curved
    theta = np.where(damped, 0.8 * curved / np.where(damped, curved - along, 1.0), 1.0)[:, None]
    r = theta * turned + (1.0 - theta) * bent
    new = hessian - bent[:, :, None] * bent[:, None, :] / curved[:, None, None] + r[:, :, None] * r[:, None, :] / (step * r).sum(axis=1)[:, None, None]
    return np.where((size > 0.0)[:, None, None], new, hessian)
