"""Many constrained minimax problems solved side by side, by sequential quadratic programming in a trust region.

From each start, over u in the unit box, with weights w >= 0 and g_r = part_r - offset_r:

    minimise t   so that   g_r <= w_r t  where w_r > 0,  and  g_r <= 0  where w_r = 0.

The latter may be missed by e >= 0 at the price rho e, so that every quadratic program has an answer; what a step must
lower is the merit t + rho e, an exact penalty function (Fletcher, Practical Methods of Optimization, 1987, sections
12.4 and 14.4). Where a step bends away from what was promised, it is corrected to second order (the same, 14.4), up to
`CORRECTIONS` times: a correction costs one candidate, new derivatives cost one for each variable. All starts advance
together, and none knows of the others.

| symbol | meaning | shape |
|---|---|---|
| u, d | variables and their step | (N, V) |
| g, w, J, B | see `optimiser.search.steps` | |
| rho | price of a miss | (N,) |
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np

from geometry.arrays import Array, Codes, Flags, Indices
from optimiser.search.curvature import updated
from optimiser.search.derivatives import derivatives
from optimiser.search.parts import unmeasured
from optimiser.search.steps import Rows, Steps, best_steps

RADIUS, LARGEST_RADIUS, SMALLEST_RADIUS = 0.3, 0.5, 1e-8
"""Half the trust box's edge in u: at the start, at most, and where a start is given up."""
TAKEN, POOR, GOOD = 1e-4, 0.25, 0.75
"""Shares of the promised decrease: to take a step; below which it is corrected and the box shrinks; above which the
box grows (common values; Nocedal and Wright 2006, algorithm 4.1)."""
CORRECTIONS = 3
"""Corrections of a poor step at most: with none, starts between narrow bands creep; more gain little."""
CURVATURE, FLOOR = 1e-2, 1e-3
"""Diagonal of B before anything is known, and what is added to it in the programs, where t counts in the size of its
gradient: over the whole box a gradient changes by so much of itself."""
PRICE, LARGEST_PRICE, REACH_PRICE = 1.0, 1e6, 100.0
"""rho at the start and at most, of misses in scaled units; and where only misses count."""
PAID, FALL, BINDING = 1.5, 0.7, 5.0
"""rho follows `PAID` times what the multipliers say, falls by no more than `FALL`, and rises by `BINDING` where a
miss is kept because it is cheap."""
MISS = 5e-6
"""A miss that is none."""
TINY = 1e-300
"""Keeps a division by nothing quiet."""


class Ending(IntEnum):
    """How the descent from a start ended."""

    CONVERGED = 0
    """No step promises a decrease worth having, or, where only misses count, nothing is missed."""
    UNFINISHED = 1
    """The steps allowed ran out."""
    STALLED = 2
    """The trust box shrank to nothing."""
    UNMEASURABLE = 3
    """The start itself could not be measured; it is where it was."""


_RUNNING = -1


class Descent:
    """The state of all descents, which `run` brings to their ends.

    No step is taken in the variables `fixed` (V,).

    After it: `u` (N, V), `parts` (N, R), `ending` (N,) of `Ending`, `steps` (N,) taken, `multipliers` (N, R) >= 0 and
    `bounds` (N, V), negative at a lower bound, positive at an upper one, what t (or REACH_PRICE e) falls by per unit
    that a row or a bound is let out; `evaluations` spent.
    """

    def __init__(
        self,
        measure: Callable[[Array], Array],
        u: Array,
        rows: Rows,
        tolerance: float,
        fixed: Flags | None = None,
        corrections: int = CORRECTIONS,
    ) -> None:
        size, variables = u.shape
        self._fixed = np.zeros(variables, dtype=np.bool_) if fixed is None else fixed
        self._measure, self._rows, self._corrections = measure, rows, corrections
        self.u, self.evaluations = u.copy(), 0
        self.parts = self._counted(self.u)
        self.ending: Codes = np.where(unmeasured(self.parts), Ending.UNMEASURABLE, _RUNNING).astype(np.int8)
        self.steps = np.zeros(size, dtype=np.intp)
        self.multipliers, self.bounds = np.zeros(self.parts.shape), np.zeros(u.shape)
        self._tolerance, self._scale = np.full(size, tolerance), np.ones(size)
        self._slopes = np.zeros((size, self.parts.shape[1], variables + 2))
        self._hessian = np.tile(CURVATURE * np.eye(variables), (size, 1, 1))
        self._step, self._moved, self._fresh = np.zeros(u.shape), np.ones(size, np.bool_), np.ones(size, np.bool_)
        self._radius = np.full(size, RADIUS)
        self._price = np.full(size, PRICE if rows.minimax else REACH_PRICE)

    def run(self, steps: int) -> None:
        """Take up to so many steps from every start."""
        self._begin()
        for _ in range(steps):
            live = self._live()
            if not len(live):
                break
            self._learn(live[self._moved[live]])
            self._advance(live)
        self.ending[self._live()] = Ending.UNFINISHED
        self.multipliers *= self._scale[:, None]
        self.bounds *= self._scale[:, None]

    def _counted(self, u: Array) -> Array:
        self.evaluations += len(u)
        return self._measure(u)

    def _live(self) -> Indices:
        """Starts that have not ended; those that only had to meet what is held end here."""
        if not self._rows.minimax:
            met = self._rows.level(self.parts - self._rows.offset)[1] <= 0.0
            self.ending[met & (self.ending == _RUNNING)] = Ending.CONVERGED
        return np.flatnonzero(self.ending == _RUNNING)

    def _begin(self) -> None:
        """First derivatives; then t is counted in the size of its own gradient, so that no constant here has a unit."""
        live, rows = self._live(), self._rows
        self._learn(live)
        if rows.minimax:
            w, steep = rows.weight[live], np.linalg.norm(self._slopes[live, :, :-2], axis=2)
            size = (steep * w).sum(axis=1) / np.maximum((w * w).sum(axis=1), TINY)
            self._scale[live] = np.where(size > 0.0, size, 1.0)
        self._tolerance /= self._scale
        self._rows = replace(rows, weight=rows.weight * self._scale[:, None])
        self._slopes[:, :, -2] = -self._rows.weight
        self._slopes[:, :, -1] = np.where(rows.weight == 0.0, -1.0, 0.0)

    def _learn(self, moved: Indices) -> None:
        """Take derivatives where a start has moved, and from their change what they say of B."""
        if not len(moved):
            return
        slopes = derivatives(self._counted, self.u[moved], self.parts[moved], fixed=self._fixed)
        known = self.steps[moved] > 0
        old = moved[known]
        change = slopes[known] - self._slopes[old, :, :-2]
        turned = (self.multipliers[old, None, :] @ change)[:, 0, :]
        self._hessian[old] = updated(self._hessian[old], self._step[old], turned, self._fresh[old])
        self._fresh[old] = False
        self._slopes[moved, :, :-2] = slopes
        self._moved[moved] = False

    def _advance(self, live: Indices) -> None:
        """Propose a step from every start, measure and correct it, and take it where it is good."""
        found = self._solve(live, self.parts[live] - self._rows.offset[live])
        self._give_up(live[~found.solved])
        live, step = live[found.solved], found.step[found.solved]
        self._note(live, found)
        before = self._merit(live, self.parts[live])
        promised = before - self._promise(live, step)
        going = ~self._finish(live, promised) & (promised > 0.0)
        if going.any():
            trial = _Trial(step[going], *self._try(live[going], step[going], before[going]))
            self._take(live[going], trial, before[going], promised[going])
        self._reprice(live, promised)

    def _solve(self, live: Indices, g: Array) -> Steps:
        """Best steps of starts whose rows are `g` where nothing moves."""
        radius, u = self._radius[live, None], self.u[live]
        lower, upper = np.maximum(-radius, -u), np.minimum(radius, 1.0 - u)
        hessian = self._hessian[live] + FLOOR * np.eye(u.shape[1])
        return best_steps(self._rows.take(live), g, self._slopes[live], hessian, self._price[live], lower, upper)

    def _give_up(self, lost: Indices) -> None:
        """Where a program has no answer, B starts anew and the box shrinks."""
        self._hessian[lost], self._fresh[lost] = CURVATURE * np.eye(self.u.shape[1]), True
        self._shrink(lost, 0.25 * self._radius[lost])

    def _shrink(self, starts: Indices, radius: Array) -> None:
        self._radius[starts] = radius
        self.ending[starts[radius < SMALLEST_RADIUS]] = Ending.STALLED

    def _note(self, live: Indices, found: Steps) -> None:
        """Keep the multipliers, of the bounds where it is these that hold and not the trust box."""
        rows, box, radius = found.rows[found.solved], found.box[found.solved], self._radius[live, None]
        inside = np.where(box < 0.0, self.u[live] > radius, 1.0 - self.u[live] > radius)
        self.multipliers[live], self.bounds[live] = rows, np.where(inside, 0.0, box)

    def _reprice(self, live: Indices, promised: Array) -> None:
        """Let the price of a miss follow what the multipliers say; raise it where a miss is kept as it is cheap."""
        if not self._rows.minimax:
            return
        price = self._price[live]
        paid = np.where(self._rows.weight[live] == 0.0, self.multipliers[live], 0.0).sum(axis=1)
        cheap = (paid > 0.99 * price) | ((promised <= self._tolerance[live]) & (paid > 0.0))
        self._price[live] = np.minimum(
            np.where(cheap, BINDING * price, np.maximum(FALL * price, PAID * paid)), LARGEST_PRICE
        )

    def _merit(self, live: Indices, parts: Array) -> Array:
        rows = self._rows.take(live)
        t, e = rows.level(parts - rows.offset)
        return t * rows.minimax + self._price[live] * e

    def _linear(self, live: Indices, step: Array) -> Array:
        return np.asarray((self._slopes[live, :, :-2] @ step[:, :, None])[:, :, 0])

    def _promise(self, live: Indices, step: Array) -> Array:
        """The merit that a step promises."""
        curved = 0.5 * (step[:, None, :] @ self._hessian[live] @ step[:, :, None])[:, 0, 0]
        return self._merit(live, self.parts[live] + self._linear(live, step)) + curved

    def _finish(self, live: Indices, promised: Array) -> Flags:
        """Which starts are at their end: not those with a miss that a higher price may mend."""
        rows = self._rows.take(live)
        missed = (rows.level(self.parts[live] - rows.offset)[1] > MISS) & rows.minimax
        finished = (promised <= self._tolerance[live]) & (~missed | (self._price[live] >= LARGEST_PRICE))
        self.ending[live[finished]] = Ending.CONVERGED
        return np.asarray(finished)

    def _try(self, live: Indices, step: Array, before: Array) -> tuple[Array, Array, Array]:
        u = np.where(self._fixed, self.u[live], np.clip(self.u[live] + step, 0.0, 1.0))
        parts = self._counted(u)
        return u, parts, np.where(unmeasured(parts), -np.inf, before - self._merit(live, parts))

    def _take(self, live: Indices, trial: "_Trial", before: Array, promised: Array) -> None:
        best = self._corrected(live, trial, before, promised)
        ratio, size, radius = best.gained / promised, np.abs(trial.step).max(axis=1), self._radius[live]
        taken = ratio > TAKEN
        grown = np.where((ratio > GOOD) & (size > 0.9 * radius), np.minimum(2.0 * radius, LARGEST_RADIUS), radius)
        self._shrink(live, np.where(ratio < POOR, np.where(taken, 0.5, 0.25) * size, grown))
        moved = live[taken]
        self._step[moved] = best.u[taken] - self.u[moved]
        self.u[moved], self.parts[moved], self._moved[moved] = best.u[taken], best.parts[taken], True
        self.steps[moved] += 1

    def _corrected(self, live: Indices, trial: "_Trial", before: Array, promised: Array) -> "_Trial":
        """The best of every start's trial and its corrections."""
        best, last = trial, trial
        for _ in range(self._corrections):
            poor = np.flatnonzero((best.gained < POOR * promised) & ~unmeasured(last.parts))
            if not len(poor):
                break
            starts = live[poor]
            g = last.parts[poor] - self._rows.offset[starts] - self._linear(starts, last.step[poor])
            found = self._solve(starts, g)
            poor, starts, step = poor[found.solved], starts[found.solved], found.step[found.solved]
            last = last.with_rows(poor, _Trial(step, *self._try(starts, step, before[poor])))
            better = np.flatnonzero(last.gained > best.gained)
            best = best.with_rows(better, last.take(better))
        return best


@dataclass(frozen=True)
class _Trial:
    """Steps that were measured: where they lead, the parts there, and the decrease of the merit."""

    step: Array
    u: Array
    parts: Array
    gained: Array

    def take(self, rows: Indices) -> "_Trial":
        return _Trial(self.step[rows], self.u[rows], self.parts[rows], self.gained[rows])

    def with_rows(self, rows: Indices, other: "_Trial") -> "_Trial":
        """This with some rows from another."""
        mixed = _Trial(self.step.copy(), self.u.copy(), self.parts.copy(), self.gained.copy())
        mixed.step[rows], mixed.u[rows], mixed.parts[rows], mixed.gained[rows] = (
            other.step,
            other.u,
            other.parts,
            other.gained,
        )
        return mixed
