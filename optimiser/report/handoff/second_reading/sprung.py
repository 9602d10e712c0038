"""An axle on its springs, read again: forces of its elements, and rates from how they are squeezed.

Rates come from U_ss = sum of k c_s^2 + F c_ss along a line of states s, with c_s and c_ss by differences of solved
compressions. Where there is an element on each side, both are in the sum.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, TypeAlias

from optimiser.report.handoff.second_reading.laws import PlainSpring, force, plain_springs, rate
from optimiser.report.handoff.second_reading.plain import Tree, UnreadableError, number, section
from optimiser.report.handoff.second_reading.reading import Reading
from optimiser.report.handoff.second_reading.side import OK
from optimiser.report.handoff.second_reading.slopes import Along, bend, slope
from optimiser.report.handoff.second_reading.struts import State

Part: TypeAlias = Literal["spring", "geometric"]
Derivative: TypeAlias = Callable[[Along], float]

STATIC: State = (0.0, 0.0, 0.0)
HEAVE: State = (1.0, 1.0, 0.0)
ROLL: State = (1.0, -1.0, 0.0)
LEFT: State = (1.0, 0.0, 0.0)
RIGHT: State = (0.0, 1.0, 0.0)
"""Directions of travel."""
NOTHING = 1e-9
"""A compression per wheel travel below this is none: no weight can hang on it."""


@dataclass(frozen=True)
class _Place:
    """One of the elements of a name: the one there is, or the left or the right one of two."""

    name: str
    mirrored: bool

    def seen(self, state: State) -> State:
        z_left, z_right, rack = state
        return (z_right, z_left, -rack) if self.mirrored else state


class Sprung:
    """The springs of a hand-off on its axle."""

    def __init__(self, reading: Reading, tree: Tree) -> None:
        self.reading = reading
        self.springs = plain_springs(tree)
        loads = section(tree, "loads", "") if "loads" in tree else {}
        self.weight = number(loads, "sprung_per_wheel", "loads") if "sprung_per_wheel" in loads else None
        known = {*reading.axle.elements, *reading.axle.bars}
        for name, spring in self.springs.items():
            if spring.on not in known:
                raise UnreadableError(f"springs.{name}.on: there is no element `{spring.on}`")

    def on(self, element: str) -> list[PlainSpring]:
        """The springs on an element."""
        return [spring for spring in self.springs.values() if spring.on == element]

    @property
    def elements(self) -> list[str]:
        """Every element on which a spring acts."""
        return list(dict.fromkeys(spring.on for spring in self.springs.values()))

    @cached_property
    def carried(self) -> float:
        """Static force of the spring that carries the weight which the others leave [N, N.mm]; NaN where none can."""
        carriers = [spring for spring in self.springs.values() if spring.carries_weight]
        if not carriers:
            return math.nan
        if self.weight is None:
            raise UnreadableError("loads.sprung_per_wheel: a weight is needed here, for a spring carries it")
        borne = sum(
            force(spring, 0.0, 0.0) * self.pull(spring.on, STATIC, HEAVE)
            for spring in self.springs.values()
            if not spring.carries_weight
        )
        pull = self.pull(carriers[0].on, STATIC, HEAVE)
        return (2.0 * self.weight - borne) / pull if abs(pull) >= NOTHING else math.nan

    def squeezed(self, element: str, state: State) -> float:
        """An element's compression from static [mm, rad], the left one's of two."""
        if element in self.reading.axle.bars:
            return math.radians(self.reading.twist(element, state))
        return self.reading.compression(element, state)

    def status(self, element: str, state: State) -> str:
        """The axle's status at a state, or the element's own."""
        if element in self.reading.axle.elements:
            return self.reading.strut_status(element, state)
        status = self.reading.status(state)
        lost = status == OK and math.isnan(self.reading.twist(element, state))
        return "unreachable" if lost else status

    def force(self, element: str, state: State) -> float:
        """Force of an element's springs together, the left one's of two [N, N.mm]."""
        c = self.squeezed(element, state)
        return sum(force(spring, self.carried, c) for spring in self.on(element))

    def moment(self, bar: str, state: State, side: int) -> float:
        """The moment of a bar's spring on one side's rocker or arm, against bump [N.mm]; `side` 0 left, 1 right."""
        if self.reading.axle.bars[bar].pickup is None:
            return self.force(bar, state if side == 0 else (state[1], state[0], -state[2]))
        return self.force(bar, state) if side == 0 else -self.force(bar, state)

    def pull(self, element: str, state: State, direction: State) -> float:
        """d(compression)/d(travel along a direction), of both where there are two."""
        return sum(self._pull_of(place, state, direction) for place in self._places(element))

    def slope_of(self, element: str, state: State, direction: State) -> float:
        """d(compression)/d(travel along a direction) of an element, the left one of two [mm/mm, rad/mm]."""
        return self._pull_of(self._places(element)[0], state, direction)

    def push(self, state: State, direction: State, derivative: Derivative = slope) -> float:
        """dU/d(travel along a direction) at a state [N]."""
        return sum(
            self._force_at(place, state) * self._pull_of(place, state, direction, derivative)
            for place in self._all_places()
        )

    def stiffness(self, state: State, direction: State, part: Part) -> float:
        """A part of d2U/d(travel along a direction)2 at a state [N/mm]."""
        return sum(self._stiffness_of(place, state, direction, part) for place in self._all_places())

    def _pull_of(self, place: _Place, state: State, direction: State, derivative: Derivative = slope) -> float:
        return derivative(lambda travel: self._along(place, state, direction, travel))

    def _stiffness_of(self, place: _Place, state: State, direction: State, part: Part) -> float:
        def along(travel: float) -> float:
            return self._along(place, state, direction, travel)

        if part == "geometric":
            return self._force_at(place, state) * bend(along)
        return sum(rate(spring, self.carried, along(0.0)) for spring in self.on(place.name)) * slope(along) ** 2

    def _force_at(self, place: _Place, state: State) -> float:
        return self.force(place.name, place.seen(state))

    def _along(self, place: _Place, state: State, direction: State, travel: float) -> float:
        a, b, c = (s + travel * d for s, d in zip(state, direction, strict=True))
        return self.squeezed(place.name, place.seen((a, b, c)))

    def _all_places(self) -> list[_Place]:
        return [place for element in self.elements for place in self._places(element)]

    def _places(self, element: str) -> list[_Place]:
        bars, struts = self.reading.axle.bars, self.reading.axle.elements
        alone = bars[element].pickup is not None if element in bars else struts[element].right is not None
        return [_Place(element, mirrored=False)] if alone else [_Place(element, False), _Place(element, True)]
