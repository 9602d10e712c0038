"""States of a lap and the bump travel that they use up, as tables."""

from collections.abc import Iterator, Sequence

from objectives.vehicle.lap import AxleInLap
from optimiser.report.car.record import CarAnalysis
from optimiser.report.tables.blocks import Block, Column, heading, prose, short, tables
from optimiser.report.tables.cells import View, number


def lap_tables(analysis: CarAnalysis, view: View) -> Iterator[str]:
    """Where each axle comes to rest in each state of a lap, then what all of them use up together."""
    yield heading(
        "States of a lap", "springs as they are, turning left: the left wheel is the inner one; bump positive"
    )
    key = Block("", [Column("state", [one.name for one in analysis.manoeuvres], left=True)])
    for axle, states in zip(analysis.axles, analysis.lap, strict=True):
        yield from tables(key, [_axle(axle.end, states), *_struts(states)], view.width)
    yield from prose(
        "Struts in mm and N, bars in deg and N.m. Jacking and anti-effects are in it, by the work at the contact "
        "points. Left: of the axle's range of wheel travel, in bump and in droop. Dashes where nothing balances within "
        "what the links reach, or where a wheel lifts (its load below 0).",
        view.width,
    )
    yield from _budgets(analysis, view)


def _axle(end: str, states: Sequence[AxleInLap]) -> Block:
    return Block(
        f"{end} [mm, N]",
        [
            Column("left\nwheel", [number(one.travel[0], 1, signed=True) for one in states]),
            Column("right\nwheel", [number(one.travel[1], 1, signed=True) for one in states]),
            Column("bump\nleft", [number(one.bump_left, 1) for one in states]),
            Column("droop\nleft", [number(one.droop_left, 1) for one in states]),
            Column("left\ntyre", [number(one.load[0], 0) for one in states]),
            Column("right\ntyre", [number(one.load[1], 0) for one in states]),
        ],
    )


def _struts(states: Sequence[AxleInLap]) -> Iterator[Block]:
    for name in states[0].struts:
        struts = [one.struts[name] for one in states]
        columns = [
            Column("\nsqueeze", [number(one.compression, 1) for one in struts]),
            Column("\nforce", [number(one.force, 0) for one in struts]),
        ]
        if any(one.note for one in struts):
            columns.append(Column("", [one.note for one in struts], left=True))
        yield Block(short(name), columns)


def _budgets(analysis: CarAnalysis, view: View) -> Iterator[str]:
    yield heading("Bump travel used up", "of the more loaded wheel [mm], as if all came together and added up in line")
    budgets = analysis.budgets
    key = Block("", [Column("axle", [one.end for one in analysis.axles], left=True)])
    parts = {
        "top\nspeed": [one.speed for one in budgets],
        "braking\n1 g": [one.braking for one in budgets],
        "corner\n1 g": [one.cornering for one in budgets],
        "\nkerb": [one.kerb for one in budgets],
        "of the\nrange": [one.range for one in budgets],
        "\nleft": [one.left for one in budgets],
    }
    block = Block("", [Column(name, [number(one, 1) for one in cells]) for name, cells in parts.items()], gap=2)
    yield from tables(key, [block], view.width)
