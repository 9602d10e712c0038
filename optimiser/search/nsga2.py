"""One generation of NSGA-II (Deb, Pratap, Agarwal and Meyarivan 2002) by pymoo's ask and tell.

This is the only module that touches pymoo, which carries no types. No state of pymoo outlives a generation: parents
go in as arrays and survivors come out as arrays, so that a search that was saved and one that was not go on alike.

Symbols: P parents, V variables, K offspring.
"""

import importlib
from types import ModuleType
from typing import Protocol, cast

import numpy as np

from geometry.arrays import Array, Indices
from optimiser.search.problem import Batch, Problem

ROW = "row"
"""The key under which an individual carries its row."""


class _Population(Protocol):
    def get(self, key: str) -> Array: ...

    def set(self, key: str, value: Array | Indices) -> None: ...


class _Algorithm(Protocol):
    random_state: np.random.Generator
    termination: object
    pop: _Population

    def setup(self, problem: object) -> None: ...

    def ask(self) -> _Population | None: ...

    def tell(self, *, infills: _Population) -> None: ...


class Generation:
    """Parents `x` (P, V) with what they came to, and the offspring that they have.

    Of two infeasible candidates the one with the smaller `Batch.total` is the better.
    """

    def __init__(self, problem: Problem, x: Array, batch: Batch, rng: np.random.Generator) -> None:
        self._parents = len(x)
        self._algorithm = _algorithm(problem, x, batch, rng)
        self._offspring = self._algorithm.ask()

    @property
    def offspring(self) -> Array:
        """(K, V) points to be measured, K = P; fewer where the parents have no more unlike ones."""
        return self._algorithm.pop.get("X")[:0] if self._offspring is None else self._offspring.get("X")

    def survivors(self, batch: Batch) -> Indices:
        """(P,) rows of the best of parents and then offspring, once `batch` (K) says what the offspring came to."""
        if self._offspring is not None:
            _tell(self._algorithm, self._offspring, batch, self._parents)
        return self._algorithm.pop.get(ROW).astype(np.intp)


def _algorithm(problem: Problem, x: Array, batch: Batch, rng: np.random.Generator) -> _Algorithm:
    """NSGA-II with these parents ranked."""
    parents = cast(_Population, _pymoo("core.population").Population.new(X=x))
    algorithm = cast(_Algorithm, _pymoo("algorithms.moo.nsga2").NSGA2(pop_size=len(x), sampling=parents, output=None))
    algorithm.termination = _pymoo("core.termination").NoTermination()
    algorithm.setup(
        _pymoo("core.problem").Problem(
            n_var=x.shape[1], n_obj=problem.objectives, n_ieq_constr=1, xl=problem.lower, xu=problem.upper
        )
    )
    algorithm.random_state = rng
    algorithm.ask()
    _tell(algorithm, parents, batch, 0)
    return algorithm


def _tell(algorithm: _Algorithm, population: _Population, batch: Batch, first: int) -> None:
    population.set("F", batch.objectives)
    population.set("G", batch.total[:, None])
    population.set(ROW, first + np.arange(len(batch)))
    algorithm.tell(infills=population)


def _pymoo(module: str) -> ModuleType:
    """A module of pymoo, which must not print its note about uncompiled parts."""
    importlib.import_module("pymoo.config").Config.warnings["not_compiled"] = False
    return importlib.import_module(f"pymoo.{module}")
