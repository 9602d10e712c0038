"""A study as the rest of the house sees it: what is asked of an axle."""

import hashlib
from dataclasses import dataclass

from geometry.axle import Axle
from geometry.travel import Travel
from objectives.fittings.fitted import NOTHING_FITTED, Fittings
from objectives.goals import Goal

DEFAULT_ISLANDS = 8
"""Enough for eight workers, few enough that each is large."""


@dataclass(frozen=True)
class Variable:
    """A number of the axle that the search may change.

    `path` as written under `vary`, from `axle` down (`rocker.pickups.heave.angle`); `low`, `high` and `value` (the
    study's own) in the file's units (mm, deg). `choices`, where there are any, are all the values that it may take,
    rising; of a path that ends in `hole` they are numbers of holes, counted from 0.
    """

    path: str
    low: float
    high: float
    value: float
    choices: tuple[float, ...] = ()


@dataclass(frozen=True)
class Study:
    """What a study file, or the study part of a hand-off, asks for."""

    name: str
    axle: Axle
    travel: Travel
    variables: tuple[Variable, ...]
    goals: tuple[Goal, ...]
    seed: int
    text: str
    """The file as it was read, so that a results folder can keep a copy of it."""
    notes: tuple[str, ...] = ()
    """What the reader did that the user should know: the rod's eye moved onto its link, a start outside its bounds."""
    fittings: Fittings = NOTHING_FITTED
    islands: int = DEFAULT_ISLANDS
    """How many islands an epoch of its search has: more workers than that are of no use."""
    """Its springs, dampers and loads."""

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the file's bytes, in hexadecimal."""
        return hashlib.sha256(self.text.encode("utf-8")).hexdigest()
