"""The steering axis against rack and heave, and the wheel's ways in heave, as tables and for the JSON document."""

from collections.abc import Iterator

import numpy as np

from geometry.arrays import Array
from geometry.steering import Held, SteeringAxis
from optimiser.report.analysis.json_values import Json, numbers
from optimiser.report.analysis.wheel_record import AxisSweep, HeaveWays, WheelWays
from optimiser.report.tables.blocks import Block, Column, heading, prose, tables
from optimiser.report.tables.cells import View, number, place

ALIKE = 0.005
"""Axes that differ by less than this everywhere are one, and told once [deg]. It is half the last digit shown."""


def wheel_tables(ways: WheelWays, view: View) -> Iterator[str]:
    """The steering axis, where the wheel is steered by a rack, then the wheel in heave."""
    if ways.axis:
        yield heading("Steering axis", "left wheel; castor: top rearward +, inclination: top inboard +; offsets in mm,")
        yield from prose(
            "along the wheel's heading (castor offset, axis ahead +) and square to it (offset, axis inboard +)",
            view.width,
        )
    for name, swept in ways.axis.items():
        rows = _rows(swept.travel, view)
        key = Block(name, [Column("travel\n[mm]", [place(swept.travel[row], signed=True) for row in rows])])
        yield from tables(key, [_whole(swept.by_held[Held.LINKS], rows), *_others(swept, rows)], view.width)
        yield ""
    if ways.axis:
        yield from prose(
            "Angles in deg, of the screw in which the upright moves per mm of rack while the other links stand still:"
            " plain outboard joints give the line through them; split ones let no link stand, and then the links'"
            " outboard ends move least. Beside it the same screw with the rocker held (and so every strut), and with"
            " the wheel centre's height held.",
            view.width,
        )
    yield from _heave(ways.heave, view)


def ways_json(ways: WheelWays) -> dict[str, Json]:
    """The same for the JSON document: angles in deg, by what is held while the rack moves."""
    axes: dict[str, Json] = {
        name: {
            "travel": numbers(swept.travel),
            **{held.value: _axis_json(axis) for held, axis in swept.by_held.items()},
        }
        for name, swept in ways.axis.items()
    }
    heave: dict[str, Json] = {name: numbers(values) for name, values in vars(ways.heave).items()}
    return {**({"steering_axis": axes} if axes else {}), "wheel_in_heave": heave}


def _axis_json(axis: SteeringAxis) -> dict[str, Json]:
    angles = {"castor", "inclination"}
    return {
        name: numbers(np.degrees(values) if name in angles else values)
        for name, values in vars(axis).items()
        if name != "pitch"
    }


def _rows(travel: Array, view: View) -> list[int]:
    """Every step, or the ends, static, and the step nearest to midway on either side."""
    if view.every_step:
        return list(range(len(travel)))
    marks = (travel[0], travel[0] / 2.0, 0.0, travel[-1] / 2.0, travel[-1])
    return sorted({int(np.abs(travel - mark).argmin()) for mark in marks})


def _whole(axis: SteeringAxis, rows: list[int]) -> Block:
    columns = (
        ("castor", np.degrees(axis.castor), 2),
        ("incl.", np.degrees(axis.inclination), 2),
        ("castor offset\nat ground", axis.castor_offset_at_ground, 2),
        ("at\ncentre", axis.castor_offset_at_centre, 2),
        ("offset at\nground", axis.offset_at_ground, 2),
        ("at\ncentre", axis.offset_at_centre, 2),
    )
    return _block("other links held", columns, rows)


def _others(swept: AxisSweep, rows: list[int]) -> list[Block]:
    """The angles with something else held; none where all agree."""
    own = swept.by_held[Held.LINKS]
    titles = {Held.ELEMENTS: "rocker held", Held.WHEEL: "height held"}
    axes = {title: swept.by_held[held] for held, title in titles.items()}
    return [
        _block(title, (("castor", np.degrees(a.castor), 2), ("incl.", np.degrees(a.inclination), 2)), rows)
        for title, a in axes.items()
        if not _alike(a, own)
    ]


def _alike(one: SteeringAxis, other: SteeringAxis) -> bool:
    apart = np.abs(np.degrees([one.castor - other.castor, one.inclination - other.inclination]))
    return bool(np.nanmax(apart, initial=0.0) < ALIKE)


def _heave(heave: HeaveWays, view: View) -> Iterator[str]:
    yield heading("Wheel in heave", "bump +; roll centre above the ground under the tyre; changes from static")
    rows = _rows(heave.travel, view)
    columns = (
        ("roll centre\n[mm]", heave.roll_centre, 1),
        ("jacking\n[N/N]", heave.jacking, 4),
        ("camber\n[deg/mm]", heave.camber_gradient, 4),
        ("toe\n[deg/mm]", heave.toe_gradient, 4),
        ("track\n[mm]", heave.track_change, 2),
        ("contact forward\n[mm]", heave.wheelbase_change, 2),
    )
    key = Block("", [Column("heave\n[mm]", [place(heave.travel[row], signed=True) for row in rows])])
    yield from tables(key, [_block("", columns, rows)], view.width)


def _block(title: str, columns: tuple[tuple[str, Array, int], ...], rows: list[int]) -> Block:
    cells = [
        Column(name, [number(values[row], decimals, signed=decimals > 2) for row in rows])
        for name, values, decimals in columns
    ]
    return Block(title, cells, gap=2)
