"""What turns and holes change, read again: the axle put together anew for each row, from its points and one rod length.

Nothing is posed anew: a row's figures are taken about the heave at which its body rests, on the same axle.
"""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TypeAlias

from optimiser.report.handoff.second_reading.about import About
from optimiser.report.handoff.second_reading.plain import Tree, UnreadableError, Vector, number, section, vector
from optimiser.report.handoff.second_reading.reading import Reading
from optimiser.report.handoff.second_reading.roots import root_near
from optimiser.report.handoff.second_reading.set_reading import (
    LEFT_SET,
    PAST_END,
    HeldSprings,
    OneRodSet,
    SetReading,
)
from optimiser.report.handoff.second_reading.sprung import HEAVE, LEFT, RIGHT, STATIC, Derivative, Part, Sprung
from optimiser.report.handoff.second_reading.states import travel_points
from optimiser.report.handoff.second_reading.struts import State

ROD, PICKUPS = "rod", "rocker.pickups."
"""Names of what can be set."""
PARTS: tuple[Part, Part] = ("spring", "geometric")
MOST_TURNS = 20.0
"""Most turns of a rod either way."""
HOLDS = 2e-6
"""Springs of which U_hh is above this [N/mm] hold the body."""
STRIDE = 2.0
"""Steps in which it is looked for where the body rests [mm]."""
SPAN, TURN = 60.0, 1.0
"""How far, and in which steps, the rod's length is looked for that brings the ride height back [mm]."""

Told: TypeAlias = "bool | float | str | list[Told] | dict[str, Told] | None"
"""A branch of the recomputed file."""
Row: TypeAlias = dict[str, Told]


def adjustment(tree: Tree, drawn: Sprung) -> dict[str, Told]:
    """The rows of a hand-off's `adjust`, by what is set. Raises UnreadableError, naming the entry."""
    adjust, rows = section(tree, "adjust", ""), _Rows(tree, drawn)
    table: dict[str, Told] = {
        "units": {"length": "mm", "ride_height": "mm", "angle": "deg", "load": "N"},
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
        reading = SetReading(self._axle, self._drawn.reading, longer)
        row, both = self._row(reading, self._rests(reading)), OneRodSet(reading, self._drawn.reading)
        across = self._across(both, self._rests(both, LEFT_SET), LEFT_SET) if self.sprung else None
        return {**row, "rod": longer, "rod_reset": 0.0 - longer, "load_across": across}

    def bored(self, pickup: str, hole: Vector) -> Row:
        axle = replace(self._axle, pickups={**self._axle.pickups, pickup: hole})

        def miss(longer: float, derivative: Derivative) -> float:
            return self._miss(SetReading(axle, self._drawn.reading, longer), 0.0, 0.0, derivative)

        reset = root_near(miss, SPAN, SPAN, TURN)
        reading = SetReading(axle, self._drawn.reading, 0.0)
        rests = self._rests(reading)
        across = self._across(reading, rests)
        return {**self._row(reading, rests), "rod": 0.0, "rod_reset": _known(reset), "load_across": across}

    def _across(self, reading: Reading, h: float, rack: float = 0.0) -> float | None:
        """What the left wheel carries more than as drawn, the body level in roll [N]; None where no spring holds it."""
        if not self.sprung or math.isnan(h):
            return None
        return _known(_lean(HeldSprings(reading, self._tree, self._drawn), (h, h, rack)) - _lean(self._drawn, STATIC))

    def _rests(self, reading: Reading, rack: float = 0.0) -> float:
        low, high = reading.travel.wheel

        def miss(h: float, derivative: Derivative) -> float:
            return self._miss(reading, h, rack, derivative)

        return root_near(miss, PAST_END - low, PAST_END + high, STRIDE)

    def _row(self, reading: Reading, rests: float) -> Row:
        lengths = {name: -reading.compression(name, STATIC) for name in self._axle.elements}
        return {
            "ride_height": _known(0.0 - rests),
            **self._attitude(reading, rests),
            "settled": self.figures(reading, rests),
            "held": self.figures(reading, 0.0),
            "strut_reset": {name: _known(length) for name, length in lengths.items()},
        }

    def _attitude(self, reading: Reading, h: float) -> Row:
        """By how much camber and toe grow with heave `h` [deg]."""
        point = reading.side.at(h, 0.0) if math.isfinite(h) else None
        if point is None:
            return {"camber": None, "toe": None}
        (x, y, z), (x0, y0, z0) = point.pose.frame @ self._axle.spin_axis, self._axle.spin_axis
        camber, toe = math.asin(z0) - math.asin(z), math.atan2(x, y) - math.atan2(x0, y0)
        return {"camber": math.degrees(camber), "toe": math.degrees(toe)}

    def _miss(self, reading: Reading, h: float, rack: float, derivative: Derivative) -> float:
        """What holds the body at heave `h` less what it should be [N, or mm or deg where no spring holds it]."""
        state = (h, h, rack)
        if self.sprung:
            return HeldSprings(reading, self._tree, self._drawn).push(state, HEAVE, derivative) - self._load
        if self._carrier is None:
            return math.nan
        bar = self._carrier in self._axle.bars
        return reading.twist(self._carrier, state) if bar else reading.compression(self._carrier, state)

    def figures(self, reading: Reading, h: float) -> dict[str, Told]:
        """The figures of every element about the heave `h`; all None where that is NaN."""
        found: dict[str, Told] = {}
        for name in section(section(self._tree, "axle", ""), "elements", "axle"):
            about = About(reading, name, h)
            told = about.bar() if name in self._axle.bars else about.strut()
            found |= {f"{name}.{word}": _known(value) for word, value in told.items()}
        return found


def _lean(sprung: Sprung, state: State) -> float:
    """How much more the left wheel carries than the mean of both [N]."""
    return 0.5 * (sprung.push(state, LEFT) - sprung.push(state, RIGHT))


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
