"""What turns and holes change, read again: the axle put together anew for each row, from its points and one rod length.

Nothing is posed anew: a row's figures are taken about the heave at which its body rests, on the same axle.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cached_property
from typing import TypeAlias

from scipy.optimize import brentq

from optimiser.report.handoff.second_reading.plain import (
    PlainAxle,
    Tree,
    UnreadableError,
    Vector,
    number,
    section,
    vector,
)
from optimiser.report.handoff.second_reading.reading import Reading
from optimiser.report.handoff.second_reading.side import OK, Side, SidePoint
from optimiser.report.handoff.second_reading.slopes import rough_slope, slope
from optimiser.report.handoff.second_reading.sprung import HEAVE, LEFT, RIGHT, STATIC, Derivative, Part, Sprung
from optimiser.report.handoff.second_reading.states import sweep, travel_points
from optimiser.report.handoff.second_reading.struts import State

ROD, PICKUPS = "rod", "rocker.pickups."
"""Names of what can be set."""
PARTS: tuple[Part, Part] = ("spring", "geometric")
MOST_TURNS = 20.0
"""Most turns of a rod either way."""
LEFT_SET = 1.0
"""Stands in a state's rack for: the left side is the one that is set."""
HOLDS = 2e-6
"""Springs of which U_hh is above this [N/mm] hold the body."""
PAST_END, STRIDE = 30.0, 2.0
"""Where the body may rest past either end of the wheel's travel, and the steps in which that is looked for [mm]."""
SPAN, TURN = 60.0, 1.0
"""The same for the rod's length that brings the ride height back [mm]."""
NEAR, NUDGE = 1e-6, 1e-2
"""Width to which heave and rod are bracketed, and the one over which what holds the body is found to grow [mm]."""

Told: TypeAlias = "bool | float | str | list[Told] | dict[str, Told] | None"
"""A branch of the recomputed file."""
Row: TypeAlias = dict[str, Told]


def adjustment(tree: Tree, drawn: Sprung) -> dict[str, Told]:
    """The rows of a hand-off's `adjust`, by what is set. Raises UnreadableError, naming the entry."""
    adjust, rows = section(tree, "adjust", ""), _Rows(tree, drawn)
    table: dict[str, Told] = {
        "units": {"length": "mm", "ride_height": "mm", "load": "N"},
        "held_up_by": "springs" if rows.sprung else "length",
        "drawn": rows.figures(drawn.reading, 0.0),
    }
    for part in adjust:
        entry, path = section(adjust, part, "adjust"), f"adjust.{part}"
        if part == ROD:
            thread = number(entry, "thread", path)
            turns = travel_points(*_turns(entry, path), 1.0)
            table[part] = [{"turns": turn, **rows.turned(turn * thread)} for turn in turns]
        else:
            table[part] = [
                {"hole": float(at), **rows.bored(part.removeprefix(PICKUPS), hole)}
                for at, hole in enumerate(_holes(entry, path))
            ]
    return table


def _turns(entry: Tree, path: str) -> tuple[float, float]:
    turns = entry.get("turns")
    if not isinstance(turns, list) or len(turns) != 2:
        raise UnreadableError(f"{path}.turns: a range [low, high] is needed here, found {turns!r}")
    low, high = (
        number(dict(zip(("low", "high"), turns, strict=True)), end, f"{path}.turns") for end in ("low", "high")
    )
    if not -MOST_TURNS <= low <= 0.0 <= high <= MOST_TURNS:
        raise UnreadableError(
            f"{path}.turns: a range around 0 of at most {MOST_TURNS:g} turns is needed here: {turns!r}"
        )
    return low, high


def _holes(entry: Tree, path: str) -> Iterator[Vector]:
    holes = entry.get("holes")
    if not isinstance(holes, list):
        raise UnreadableError(f"{path}.holes: a list of points is needed here, found {holes!r}")
    for at, hole in enumerate(holes):
        yield vector({"hole": hole}, "hole", f"{path}.holes[{at}]")


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


class _Set(Reading):
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


class _Both(Reading):
    """The axle with its left side as in one reading, and its right side as drawn."""

    def __init__(self, left: Reading, drawn: Reading) -> None:
        super().__init__(drawn.axle, drawn.travel, _OneRod(drawn.axle, left.side, drawn.side))
        self._drawn = drawn

    def compression(self, name: str, state: State) -> float:
        return self._drawn.strut(name, STATIC).length - self.strut(name, state).length


class _Held(Sprung):
    """Its springs, the force of the one that carries the weight being what it is as drawn."""

    def __init__(self, reading: Reading, tree: Tree, drawn: Sprung) -> None:
        super().__init__(reading, tree)
        self._drawn = drawn

    @cached_property
    def carried(self) -> float:
        return self._drawn.carried


class _Rows:
    """What all rows of one axle share."""

    def __init__(self, tree: Tree, drawn: Sprung) -> None:
        self._tree, self._drawn, self._axle = tree, drawn, drawn.reading.axle
        stiff = sum(drawn.stiffness(STATIC, HEAVE, part) for part in PARTS)
        self.sprung = bool(drawn.springs) and stiff > HOLDS
        self._load = drawn.push(STATIC, HEAVE) if self.sprung else 0.0
        self._carrier = next(
            (name for name in section(section(tree, "axle", ""), "elements", "axle") if self._heaves(name)), None
        )

    def _heaves(self, name: str) -> bool:
        if name in self._axle.bars:
            return self._axle.bars[name].pickup is None
        return self._axle.elements[name].serves != "roll"

    def turned(self, longer: float) -> Row:
        reading = _Set(self._axle, self._drawn.reading, longer)
        row, both = self._row(reading, self._rests(reading)), _Both(reading, self._drawn.reading)
        across = self._across(both, self._rests(both, LEFT_SET), LEFT_SET) if self.sprung else None
        return {**row, "rod": longer, "rod_reset": 0.0 - longer, "load_across": across}

    def bored(self, pickup: str, hole: Vector) -> Row:
        axle = replace(self._axle, pickups={**self._axle.pickups, pickup: hole})

        def miss(longer: float, derivative: Derivative) -> float:
            return self._miss(_Set(axle, self._drawn.reading, longer), 0.0, 0.0, derivative)

        reset = _root(miss, SPAN, SPAN, TURN)
        reading = _Set(axle, self._drawn.reading, 0.0)
        rests = self._rests(reading)
        across = self._across(reading, rests)
        return {**self._row(reading, rests), "rod": 0.0, "rod_reset": _known(reset), "load_across": across}

    def _across(self, reading: Reading, h: float, rack: float = 0.0) -> float | None:
        """What the left wheel carries more than as drawn, the body level in roll [N]; None where no spring holds it."""
        if not self.sprung:
            return None
        return _known(_lean(_Held(reading, self._tree, self._drawn), (h, h, rack)) - _lean(self._drawn, STATIC))

    def _rests(self, reading: Reading, rack: float = 0.0) -> float:
        low, high = reading.travel.wheel

        def miss(h: float, derivative: Derivative) -> float:
            return self._miss(reading, h, rack, derivative)

        return _root(miss, PAST_END - low, PAST_END + high, STRIDE)

    def _row(self, reading: Reading, rests: float) -> Row:
        lengths = {name: -reading.compression(name, STATIC) for name in self._axle.elements}
        return {
            "ride_height": _known(0.0 - rests),
            "settled": self.figures(reading, rests),
            "held": self.figures(reading, 0.0),
            "strut_reset": {name: _known(length) for name, length in lengths.items()},
        }

    def _miss(self, reading: Reading, h: float, rack: float, derivative: Derivative) -> float:
        """What holds the body at heave `h` less what it should be [N, or mm or deg where no spring holds it]."""
        state = (h, h, rack)
        if self.sprung:
            return _Held(reading, self._tree, self._drawn).push(state, HEAVE, derivative) - self._load
        if self._carrier is None:
            return math.nan
        bar = self._carrier in self._axle.bars
        return reading.twist(self._carrier, state) if bar else reading.compression(self._carrier, state)

    def figures(self, reading: Reading, h: float) -> dict[str, Told]:
        """The figures of every element about the heave `h`; all None where that is NaN."""
        found: dict[str, Told] = {}
        for name in section(section(self._tree, "axle", ""), "elements", "axle"):
            about = _About(reading, name, h)
            told = about.bar() if name in self._axle.bars else about.strut()
            found |= {f"{name}.{word}": _known(value) for word, value in told.items()}
        return found


class _About:
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


def _lean(sprung: Sprung, state: State) -> float:
    """How much more the left wheel carries than the mean of both [N]."""
    return 0.5 * (sprung.push(state, LEFT) - sprung.push(state, RIGHT))


def _root(miss: Callable[[float, Derivative], float], below: float, above: float, stride: float) -> float:
    """The root nearest to 0 between -below and above; NaN where none is found.

    The way is found by rough derivatives; two steps of Newton's, whose error is squared each time, make it exact.
    """

    def rough(x: float) -> float:
        return miss(x, rough_slope)

    found = _nearest_root(rough, below, above, stride)
    for _ in range(2 if math.isfinite(found) else 0):
        steep = (rough(found + NUDGE) - rough(found - NUDGE)) / (2.0 * NUDGE)
        found -= miss(found, slope) / steep
    return found


def _nearest_root(miss: Callable[[float], float], below: float, above: float, stride: float) -> float:
    ends = [(0.0, miss(0.0))] * 2
    if math.isnan(ends[0][1]) or ends[0][1] == 0.0:
        return ends[0][1]
    for step in range(1, math.ceil(max(below, above) / stride) + 1):
        for side, limit in ((0, -below), (1, above)):
            at, before = ends[side]
            there = max(limit, -step * stride) if side == 0 else min(limit, step * stride)
            found = miss(there) if there != at else before
            if found * before <= 0.0:
                return float(brentq(miss, min(at, there), max(at, there), xtol=NEAR))
            ends[side] = there, found
    return math.nan


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
