"""One generation of NSGA-II (Deb, Pratap, Agarwal and Meyarivan 2002) by pymoo's ask and tell.

This is the only module that touches pymoo, which carries no types. No state of pymoo outlives a generation: parents
go in as arrays and survivors come out as arrays, so that a search that was saved and one that was not go on alike.

Symbols: P parents, V variables, M objectives, H violations.
"""

import importlib
from types import ModuleType
from typing import Protocol, cast

import numpy as np

from geometry.arrays import Array
from optimiser.search.problem import Batch, Problem


class _Population(Protocol):
    def get(self, key: str) -> Array: ...

    def set(self, key: str, value: Array) -> None: ...


class _Algorithm(Protocol):
    random_state: np.random.Generator
    termination: object
    pop: _Population

    def setup(self, problem: object) -> None: ...

    def ask(self) -> _Population | None: ...

    def tell(self, *, infills: _Population) -> None: ...


class Generation:
    """Parents `x` (P, V) with what they came to, and the offspring that they have."""

    def __init__(self, problem: Problem, x: Array, batch: Batch, rng: np.random.Generator) -> None:
        self._size = len(x)
        self._algorithm = _algorithm(problem, x, batch, rng)
        self._offspring = self._algorithm.ask()

    @property
    def offspring(self) -> Array:
        """(P, V) points to be measured; fewer where the parents have no more unlike ones."""
        return self._algorithm.pop.get("X")[:0] if self._offspring is None else self._offspring.get("X")

    def survivors(self, batch: Batch) -> tuple[Array, Batch]:
        """The best P of parents and offspring, once `batch` says what the offspring came to."""
        if self._offspring is not None:
            _set(self._offspring, batch)
            self._algorithm.tell(infills=self._offspring)
        best = self._algorithm.pop
        return best.get("X"), Batch(best.get("F"), best.get("G"))


def _algorithm(problem: Problem, x: Array, batch: Batch, rng: np.random.Generator) -> _Algorithm:
    """NSGA-II with these parents ranked."""
    parents = cast(_Population, _pymoo("core.population").Population.new(X=x))
    _set(parents, batch)
    algorithm = cast(_Algorithm, _pymoo("algorithms.moo.nsga2").NSGA2(pop_size=len(x), sampling=parents, output=None))
    algorithm.termination = _pymoo("core.termination").NoTermination()
    algorithm.setup(
        _pymoo("core.problem").Problem(
            n_var=len(problem.lower),
            n_obj=problem.objectives,
            n_ieq_constr=batch.violations.shape[1],
            xl=problem.lower,
            xu=problem.upper,
        )
    )
    algorithm.random_state = rng
    algorithm.ask()
    algorithm.tell(infills=parents)
    return algorithm


def _set(population: _Population, batch: Batch) -> None:
    population.set("F", batch.objectives)
    population.set("G", batch.violations)


def _pymoo(module: str) -> ModuleType:
    """A module of pymoo, which must not print its note about uncompiled parts."""
    importlib.import_module("pymoo.config").Config.warnings["not_compiled"] = False
    return importlib.import_module(f"pymoo.{module}")
