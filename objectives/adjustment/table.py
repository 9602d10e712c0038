"""What every turn of the rods and every hole changes: one row each, each a re-solved axle.

A row has its figures twice. `held`: at the ride height as drawn, all else re-set to it, a strut's length too; what a
search finds for that hole. `settled`: nothing re-set, where the body then rests (see `objectives.adjustment.resting`).
Either is measured over the study's travel about the ride height that it is at. Both sides are set alike; what the left
rod does when it is turned alone is told by `moved_across`.

| symbol | meaning | shape | unit |
|---|---|---|---|
| R | rows of one part: turns of the rods, or holes of one pick-up | | |
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from geometry.anywhere import side_at
from geometry.arrays import MIRROR_Y, Array, Flags, norm
from geometry.axle import Axle, CornerStrut, Strut
from geometry.hardpoints import Hardpoints, place
from geometry.side_motion import SideMotion, trace_side
from geometry.travel import Travel, travel_points
from objectives.adjustment.holes import with_hole
from objectives.adjustment.one_rod import moved_across
from objectives.adjustment.posed import posed
from objectives.adjustment.records import Adjustments, RodThread
from objectives.adjustment.resting import hold_of, lean_of, rest, rod_that_restores, shifted, strain_at
from objectives.catalogue.catalogue import figure_names
from objectives.evaluate import Evaluator
from objectives.fittings.fitted import Fittings
from objectives.loads.cases import case_states
from objectives.readings import MEANINGLESS, FigureStatus
from objectives.survey import UprightMemory

SHOWN = ("motion_ratio", "progressivity", "progressivity_droop", "crosstalk", "twist_ratio")
"""The figures of each element that a row tells."""


@dataclass(frozen=True)
class Setting:
    """One row: a number of turns of both rods, or a hole of a pick-up on both sides. None where there is no number.

    `turns` or `hole` says which. `rod` [mm]: by how much the rods are longer than as drawn. `ride_height` [mm]: by how
    much the body is higher where it settles; `camber`, `toe` [deg]: by how much a wheel's grow with that, against the
    body. `settled`, `held`: figures by name. `lengths` [mm]: by how much each strut is longer at the ride height as
    drawn, which is what it must be re-set by to keep that. `rod_reset` [mm]: by how
    much the rods must be longer, or shorter where below 0, to keep it with the struts as they are. `across` [N]: by how
    much the left wheel's load grows and the right one's falls, the body held level in roll: by the left rod turned
    alone, or by the hole on both sides.
    """

    turns: float | None
    hole: int | None
    rod: float
    ride_height: float | None
    camber: float | None
    toe: float | None
    settled: Mapping[str, float | None]
    held: Mapping[str, float | None]
    lengths: Mapping[str, float | None]
    rod_reset: float | None
    across: float | None


@dataclass(frozen=True)
class AdjustmentTable:
    """The rows of every part that `adjust` says can be set, and the figures as drawn.

    `sprung`: whether springs hold the body, or else the length of a strut.
    """

    adjust: Adjustments
    drawn: Mapping[str, float | None]
    rod: tuple[Setting, ...]
    holes: Mapping[str, tuple[Setting, ...]]
    sprung: bool


def adjustment_table(axle: Axle, travel: Travel, fittings: Fittings) -> AdjustmentTable:
    """The rows of all that can be set on an axle (no batch axes). Never fails on geometry."""
    table, adjust = _Table(axle, travel, fittings), fittings.adjust
    return AdjustmentTable(
        adjust=adjust,
        drawn={name: number(value) for name, value in table.figures(axle, ()).items()},
        rod=() if adjust.rod is None else table.turned(adjust.rod),
        holes={name: table.bored(name) for name in adjust.holes},
        sprung=table.hold is not None and table.hold.sprung,
    )


def number(value: Array) -> float | None:
    """A number, None for NaN."""
    return float(value) + 0.0 if np.isfinite(value) else None


class _Table:
    """What all rows of one axle share."""

    def __init__(self, axle: Axle, travel: Travel, fittings: Fittings) -> None:
        self.hold = hold_of(axle, fittings)
        self._axle, self._holes = axle, fittings.adjust.holes
        self._tree, self._memory = case_states(travel), UprightMemory()
        names = [one for one in figure_names(axle, fittings) if one.rpartition(".")[2] in SHOWN]
        status = Evaluator(travel, names, fittings=fittings).evaluate(axle).status
        self._names = tuple(one for one in names if FigureStatus(int(status[one])) not in MEANINGLESS)
        self._evaluator = Evaluator(travel, self._names, fittings=fittings)

    def figures(self, axle: Axle, shape: tuple[int, ...]) -> dict[str, Array]:
        """The figures that rows tell, of the axles of a batch."""
        values = self._evaluator.evaluate(axle).values
        return {name: np.broadcast_to(values[name], shape) for name in self._names}

    def turned(self, thread: RodThread) -> tuple[Setting, ...]:
        turns = travel_points(thread.turns, 1.0)
        longer = turns * thread.thread
        side, drawn = (self._side(self._axle, each) for each in (longer, np.zeros_like(longer)))
        across = np.full(longer.shape, np.nan) if self.hold is None else moved_across(side, drawn, self.hold)
        rows = self._rows(side, _Rods(longer, -longer), across)
        return tuple(replace(row, turns=float(turn)) for row, turn in zip(rows, turns, strict=True))

    def bored(self, pickup: str) -> tuple[Setting, ...]:
        count = len(self._holes[pickup])
        axle, none = with_hole(self._axle, pickup, self._holes[pickup], np.arange(count)), np.zeros(count)
        side = self._side(axle, none)
        reset = np.full(count, np.nan)
        if self.hold is not None:
            reset = rod_that_restores(lambda longer: self._side(axle, longer), (count,), self.hold)
        rows = self._rows(side, _Rods(none, reset), None)
        return tuple(replace(row, hole=at) for at, row in enumerate(rows))

    def _side(self, axle: Axle, longer: Array) -> SideMotion:
        return trace_side(axle, self._memory.trace(axle, self._tree), self._tree, longer=longer)

    def _rows(self, side: SideMotion, rods: "_Rods", across: Array | None) -> list[Setting]:
        """The rows of one part, still without the number of turns or of the hole."""
        batch, hold = side.batch, self.hold
        h = np.full(batch, np.nan) if hold is None else rest(side, hold)
        if across is None:
            across = np.full(batch, np.nan)
            if hold is not None and hold.sprung:
                across = lean_of(strain_at(side, shifted(side, hold), h)) - hold.lean
        there, here = (posed(side_at(side, each[:, None])) for each in (np.zeros(batch), np.nan_to_num(h)))
        held, settled, lengths = self.figures(there, batch), self.figures(here, batch), self._lengths(there, batch)
        attitude = self._attitude(here, np.isnan(h))
        settled = {name: np.where(np.isnan(h), np.nan, values) for name, values in settled.items()}
        return [
            Setting(
                turns=None,
                hole=None,
                rod=float(rods.longer[at]),
                ride_height=number(-h[at]),
                camber=number(attitude[at, 0]),
                toe=number(attitude[at, 1]),
                settled={name: number(values[at]) for name, values in settled.items()},
                held={name: number(values[at]) for name, values in held.items()},
                lengths={name: number(values[at]) for name, values in lengths.items()},
                rod_reset=number(rods.reset[at]),
                across=number(across[at]),
            )
            for at in range(batch[0])
        ]

    def _attitude(self, settled: Axle, lost: Flags) -> Array:
        """By how much camber and toe of settled axles grow (R, 2) [deg]."""
        before, after = self._axle.wheel, settled.wheel
        grown = np.stack(np.broadcast_arrays(after.camber - before.camber, after.toe - before.toe), axis=-1)
        return np.where(lost[:, None], np.nan, np.degrees(grown))

    def _lengths(self, held: Axle, shape: tuple[int, ...]) -> dict[str, Array]:
        """By how much each strut of the axles held at the ride height as drawn is longer (R,) [mm]."""
        here, drawn = (place(axle) for axle in (held, self._axle))
        return {
            name: np.broadcast_to(_length(strut, here) - _length(strut, drawn), shape)
            for name, strut in self._axle.struts.items()
        }


def _length(strut: Strut, points: Hardpoints) -> Array:
    far = strut.chassis if isinstance(strut, CornerStrut) else MIRROR_Y * points.pickups[strut.right]
    return norm(far - points.pickups[strut.left])


@dataclass(frozen=True)
class _Rods:
    """By how much the rods of each row are longer (R,), and must be to keep the ride height [mm]."""

    longer: Array
    reset: Array
