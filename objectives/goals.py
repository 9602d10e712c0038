"""Goals: what an axle's figures are asked to be.

A goal is held (it must be met) or an objective (to be made as good as the held goals allow). Here, and nowhere else,
every objective is turned into something to minimise and every held goal into scaled, dimensionless violations.
"""

from dataclasses import dataclass
from typing import Literal, TypeAlias


@dataclass(frozen=True)
class Band:
    """Held: `figure` lies within `within` of `aim`."""

    figure: str
    aim: float
    within: float


@dataclass(frozen=True)
class Limit:
    """Held: `figure` is at most and / or at least a value; at least one of the two is given."""

    figure: str
    at_most: float | None = None
    at_least: float | None = None


@dataclass(frozen=True)
class Miss:
    """Objective: the distance of `figure` from `aim`, in units of `scale`, made small."""

    figure: str
    aim: float
    scale: float


@dataclass(frozen=True)
class Best:
    """Objective: `figure` made small or large."""

    figure: str
    direction: Literal["minimise", "maximise"]


Held: TypeAlias = Band | Limit
Objective: TypeAlias = Miss | Best
Goal: TypeAlias = Held | Objective
