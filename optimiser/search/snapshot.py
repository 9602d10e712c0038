"""What a search has found so far, as plain arrays: the record that passes between the search and the results folder.

Symbols: N members of the front, V variables, M objectives, P candidates of the population.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class GrowthPoint:
    """How far the front had come at one moment of the search.

    `evaluations` and `seconds` count from the first run's start, over all runs; `feasible` is the number of feasible
    candidates met until then, `members` and `hypervolume` are the front's (0 before there is one). `taken_out` members
    have left the front until then because they missed a held goal between the travel points.
    """

    evaluations: int
    seconds: float
    feasible: int
    members: int
    hypervolume: float
    taken_out: int = 0


@dataclass(frozen=True)
class Snapshot:
    """A search at one moment: all that is needed to show its front and to go on from it."""

    ids: NDArray[np.int64]
    """(N,) the members' names, each given once in a campaign and never again; 0 is the study's own geometry."""
    x: NDArray[np.float64]
    """(N, V) the members' variables, in the study file's units."""
    objectives: NDArray[np.float64]
    """(N, M) what is minimised, dimensionless, in the order of the study's objective goals."""
    population: NDArray[np.float64]
    """(P, V) the candidates that evolution goes on from, in the study file's units."""
    evaluations: int
    """Candidates evaluated, over all runs."""
    seconds: float
    """Time spent searching [s], over all runs."""
    next_id: int
    """The name that the next new member gets."""
    growth: tuple[GrowthPoint, ...]
    reference: NDArray[np.float64] | None
    """(M,) the hypervolume's reference point, fixed at the first front and kept; None before."""
    closest: NDArray[np.float64] | None
    """(V,) the candidate with the smallest scaled violation, where nothing is feasible yet."""
    closest_violation: float
    """Its scaled violation; infinite where no candidate is kept."""
    habits: tuple[float, ...] = ()
    """What the search has learned of its ways: see `optimiser.search.rounds.Habits`."""
    margin: tuple[float, ...] = ()
    """(H,) what is kept in hand of every held goal, in its scale, so that it holds between the travel points too; none
    before anything was learned."""
    epochs: int = 0
    """Epochs of the campaign that are part of this: all of their islands are at their end."""
    gains: tuple[float, ...] = ()
    """What each manner of island has gained: see `optimiser.search.plan.Manner`."""
    epoch: "Epoch | None" = None
    """The islands at work, whose finds are part of this too; None between two epochs."""


@dataclass(frozen=True)
class Epoch:
    """The islands of one epoch, each from the same start to its own quota, and where they stand."""

    start: Snapshot
    """What the epochs before have found."""
    quotas: tuple[int, ...]
    """Evaluations that each island has, at most."""
    enough: tuple[int, ...]
    """Evaluations after which each is at its end: the few that are left would be wasted on too small a round."""
    manners: tuple[int, ...]
    """How each goes about it: see `optimiser.search.plan.Manner`."""
    islands: tuple[Snapshot | None, ...]
    """Where each stands; None: not begun."""

    @property
    def finished(self) -> tuple[bool, ...]:
        """Which islands are at their end."""
        return tuple(
            one is not None and one.evaluations - self.start.evaluations >= enough
            for one, enough in zip(self.islands, self.enough, strict=True)
        )
