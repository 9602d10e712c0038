"""An axle with something set, read again: a rod longer or shorter, a pick-up elsewhere, one side or both."""

from dataclasses import replace
from functools import cached_property

from optimiser.report.handoff.second_reading.plain import PlainAxle, Tree
from optimiser.report.handoff.second_reading.reading import Reading
from optimiser.report.handoff.second_reading.side import Side, SidePoint
from optimiser.report.handoff.second_reading.sprung import STATIC, Sprung
from optimiser.report.handoff.second_reading.struts import State

PAST_END = 30.0
"""Where the body may rest past either end of the wheel's travel [mm]."""
LEFT_SET = 1.0
"""Stands in a state's rack for: the left side is the one that is set."""


class _SameUpright(Side):
    """The left side of an axle whose upright moves as that of the one as drawn, `drawn`, with a longer rod."""

    def __init__(self, axle: PlainAxle, drawn: Side, longer: float, furthest: float) -> None:
        super().__init__(axle, furthest, 0.0)
        self.rocker.rod_length += longer
        self._drawn = drawn
        self._seen: dict[tuple[float, float], SidePoint | None] = {}

    def at(self, z: float, rack: float) -> SidePoint | None:
        key = (round(z, 10), round(rack, 10))
        if key not in self._seen:
            there = self._drawn.at(*key)
            self._seen[key] = None if there is None else self._turned(there)
        return self._seen[key]

    def _turned(self, there: SidePoint) -> SidePoint:
        return replace(there, gap=self.rocker.gap(there.eye), angle=self.rocker.angle(there.eye))


class SetReading(Reading):
    """The axle with something set: its compressions count from the struts' lengths as drawn."""

    def __init__(self, axle: PlainAxle, drawn: Reading, longer: float) -> None:
        furthest = max(abs(end) for end in drawn.travel.wheel) + PAST_END
        super().__init__(axle, drawn.travel, _SameUpright(axle, drawn.side, longer, furthest))
        self._drawn = drawn

    def compression(self, name: str, state: State) -> float:
        return self._drawn.strut(name, STATIC).length - self.strut(name, state).length


class _OneRod(Side):
    """Two sides in one: as set where the rack is above 0, as drawn elsewhere; the rack itself stays where it is.

    A state with the rack at `LEFT_SET` has its left side as set and its right side as drawn.
    """

    def __init__(self, axle: PlainAxle, set_side: Side, drawn: Side) -> None:
        super().__init__(axle, 0.0, 0.0)
        self._set, self._drawn = set_side, drawn

    def at(self, z: float, rack: float) -> SidePoint | None:
        return (self._set if rack > 0.0 else self._drawn).at(z, 0.0)


class OneRodSet(Reading):
    """The axle with its left side as in one reading, and its right side as drawn."""

    def __init__(self, left: Reading, drawn: Reading) -> None:
        super().__init__(drawn.axle, drawn.travel, _OneRod(drawn.axle, left.side, drawn.side))
        self._drawn = drawn

    def compression(self, name: str, state: State) -> float:
        return self._drawn.strut(name, STATIC).length - self.strut(name, state).length


class HeldSprings(Sprung):
    """Its springs, the force of the one that carries the weight being what it is as drawn."""

    def __init__(self, reading: Reading, tree: Tree, drawn: Sprung) -> None:
        super().__init__(reading, tree)
        self._drawn = drawn

    @cached_property
    def carried(self) -> float:
        return self._drawn.carried
