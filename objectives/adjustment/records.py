"""What the built axle can be set to, as a study writes it: frozen records."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

Hole: TypeAlias = Mapping[str, float]
"""The numbers of a pick-up that a hole puts in place of its own: `length`, `angle`, `offset`, or `x`, `y`, `z`; all
others stay. All holes of one pick-up give the same ones. Numbers are as inside: mm, rad."""

POLAR, COORDINATES = ("length", "angle", "offset"), ("x", "y", "z")


@dataclass(frozen=True)
class RodThread:
    """How the rods are set: `thread` [mm] of length a turn, `turns` (lowest, highest) from as drawn, longer is +.

    A rod with a right-hand thread at one end and a left-hand one at the other grows by both pitches: 2.5 mm a turn on
    M8 x 1.25, 2 mm on M6 x 1.
    """

    thread: float
    turns: tuple[float, float]


@dataclass(frozen=True)
class Adjustments:
    """The thread of the rods, and the holes of pick-ups by the pick-up's name, counted from 0."""

    rod: RodThread | None = None
    holes: Mapping[str, tuple[Hole, ...]] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return self.rod is not None or bool(self.holes)


NO_ADJUSTMENT = Adjustments()
