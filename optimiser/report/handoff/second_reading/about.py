"""Figures of an element about a heave other than static, on one and the same axle."""

import math

from optimiser.report.handoff.second_reading.reading import Reading
from optimiser.report.handoff.second_reading.side import OK
from optimiser.report.handoff.second_reading.slopes import slope
from optimiser.report.handoff.second_reading.sprung import STATIC
from optimiser.report.handoff.second_reading.states import sweep
from optimiser.report.handoff.second_reading.struts import State


class About:
    """An element about a heave at which its axle is at rest."""

    def __init__(self, reading: Reading, name: str, h: float) -> None:
        self._reading, self._name, self._h = reading, name, h

    def strut(self) -> dict[str, float]:
        element = self._reading.axle.elements[self._name]
        mode = element.serves or "heave"
        low, high = self._travel(mode)
        at_rest, bump, droop = (self._ratio(mode, end) for end in (0.0, high, low))
        figures = {
            "motion_ratio": at_rest,
            "progressivity": 100.0 * (bump / at_rest - 1.0),
            "progressivity_droop": 100.0 * (droop / at_rest - 1.0),
        }
        if element.serves is None:
            return figures
        own, foreign = (self._stroke(each) for each in (mode, "roll" if mode == "heave" else "heave"))
        return figures | {"crosstalk": 100.0 * foreign / own}

    def bar(self) -> dict[str, float]:
        roll = self._reading.axle.bars[self._name].pickup is not None

        def twist(travel: float) -> float:
            return self._reading.twist(self._name, (self._h + travel, self._h - travel * roll, 0.0))

        return {"twist_ratio": slope(twist) if self._h == self._h else math.nan}

    def _travel(self, mode: str) -> tuple[float, float]:
        return self._reading.travel.heave if mode == "heave" else self._reading.travel.roll

    def _state(self, state: State) -> State:
        return self._h + state[0], self._h + state[1], 0.0

    def _ratio(self, mode: str, travel: float) -> float:
        state = self._state((travel, travel if mode == "heave" else -travel, 0.0))
        if math.isnan(self._h) or self._reading.strut_status(self._name, state) != OK:
            return math.nan
        return self._reading.motion_ratio(self._name, state, mode)

    def _stroke(self, mode: str) -> float:
        """Largest way from its length at rest over a mode's travel [mm]; NaN where it cannot be all the way."""
        if math.isnan(self._h):
            return math.nan
        states = [self._state(state) for _, state in sweep(mode, *self._travel(mode), self._reading.travel.step)]
        if any(self._reading.strut_status(self._name, state) != OK for state in states):
            return math.nan
        rest = self._reading.strut(self._name, self._state(STATIC)).length
        return max(abs(rest - self._reading.strut(self._name, state).length) for state in states)
