"""What a hand-off file should say, from its points, its travel and its goals' targets alone."""

import math
from collections.abc import Mapping
from typing import TypeAlias

import numpy as np

from optimiser.report.handoff.second_reading.adjusted import adjustment
from optimiser.report.handoff.second_reading.figures import all_figures
from optimiser.report.handoff.second_reading.joints import joint_figures
from optimiser.report.handoff.second_reading.load_figures import load_figures
from optimiser.report.handoff.second_reading.plain import (
    MIRROR,
    PlainAxle,
    Tree,
    Vector,
    plain_axle,
    plain_travel,
    section,
)
from optimiser.report.handoff.second_reading.reading import Reading, Reckoned, worst
from optimiser.report.handoff.second_reading.room import room_figures
from optimiser.report.handoff.second_reading.side import OK
from optimiser.report.handoff.second_reading.sprung import Sprung
from optimiser.report.handoff.second_reading.sprung_figures import sprung_figures
from optimiser.report.handoff.second_reading.states import Sweep, sweeps
from optimiser.report.handoff.second_reading.units import unit_of

Expected: TypeAlias = "bool | float | str | list[Expected] | dict[str, Expected] | None"
"""A branch of the recomputed file: numbers at full precision, None where null."""


def recompute(tree: Tree) -> dict[str, Expected]:
    """The recomputed entries of a hand-off, under the file's own keys.

    Raises UnreadableError, naming the entry, where axle, travel or goals are not there to recompute from.
    """
    axle = plain_axle(section(tree, "axle", ""))
    reading = Reading(axle, plain_travel(section(tree, "travel", "")))
    sprung = Sprung(reading, tree)
    figures = all_figures(reading) | sprung_figures(sprung, tree) | load_figures(sprung, tree)
    figures |= room_figures(reading, tree) | joint_figures(reading, tree)
    words: dict[str, Expected] = {name: status for name, (_, status) in figures.items() if status != OK}
    return {
        "figures": {name: _number(value) for name, (value, _) in figures.items()},
        "figure_status": words,
        "units": {name: unit_of(name) for name in figures},
        "goals": _judged(section(tree, "goals", ""), figures),
        "tables": {name: _table(reading, name, points) for name, points in sweeps(reading.travel).items()},
        "eye_lengths": _eye_lengths(reading, figures),
        "right_side": right_side(axle),
        **({"adjustment": adjustment(tree, sprung)} if "adjust" in tree else {}),
    }


def right_side(axle: PlainAxle) -> dict[str, Expected]:
    """Every point of the right side at static [mm]: the left side's, mirrored in y."""
    fixed: dict[str, Expected] = {
        name: {"chassis": _mirrored(element.chassis)}
        for name, element in axle.elements.items()
        if element.chassis is not None
    }
    fixed |= {
        name: {"arm": {"pivot": _mirrored(bar.pivot), "end": _mirrored(bar.end)}}
        for name, bar in axle.bars.items()
        if bar.pickup is not None
    }
    side: dict[str, Expected] = {
        "wheel": {"centre": _mirrored(axle.wheel_centre)},
        "links": {
            name: {"inboard": _mirrored(link.inboard), "outboard": _mirrored(link.outboard)}
            for name, link in axle.links.items()
        },
        "rod": {"outboard": _mirrored(axle.rod_outboard)},
        "rocker": {
            "pivot": _mirrored(axle.pivot),
            "axis": _mirrored(axle.axis),
            "rod": _mirrored(axle.rod_inboard),
            "pickups": {name: _mirrored(point) for name, point in axle.pickups.items()},
        },
    }
    return side | ({"elements": fixed} if fixed else {})


def judge(target: Mapping[str, object], value: float) -> float:
    """What is left before a held goal is missed, in the figure's unit; below 0: missed by; NaN for a null figure."""
    rooms = []
    if isinstance(aim := target.get("aim"), int | float) and isinstance(within := target.get("within"), int | float):
        rooms.append(within - abs(value - aim))
    if isinstance(most := target.get("at_most"), int | float):
        rooms.append(most - value)
    if isinstance(least := target.get("at_least"), int | float):
        rooms.append(value - least)
    return min(rooms, default=math.nan)


def is_held(target: object) -> bool:
    """Whether a goal must be met; else it is an objective."""
    return isinstance(target, Mapping) and bool({"within", "at_most", "at_least"} & set(target))


def _judged(goals: Tree, figures: Mapping[str, Reckoned]) -> dict[str, Expected]:
    judged: dict[str, Expected] = {}
    for name, target in goals.items():
        if isinstance(target, Mapping) and is_held(target):
            room = judge(target, figures.get(name, (math.nan, ""))[0])
            judged[name] = {"met": room >= 0.0, "left": _number(room)}
    return judged


def _table(reading: Reading, name: str, points: Sweep) -> dict[str, Expected]:
    statuses = [reading.status(state) for _, state in points]
    angles = [
        _degrees(reading, state[0], state[2], status) for (_, state), status in zip(points, statuses, strict=True)
    ]
    bars: dict[str, Expected] = {
        bar: {"twist": [_number(reading.twist(bar, state)) for _, state in points]} for bar in reading.axle.bars
    }
    table: dict[str, Expected] = {
        "travel": [travel for travel, _ in points],
        "rocker_angle": angles,
        "status": list(statuses),
        "elements": {
            element: _strut_table(reading, element, name, points, statuses) for element in reading.axle.elements
        },
    }
    return table | ({"bars": bars} if bars else {})


def _strut_table(reading: Reading, element: str, name: str, points: Sweep, statuses: list[str]) -> dict[str, Expected]:
    lengths: list[Expected] = []
    ratios: list[Expected] = []
    for (_, state), status in zip(points, statuses, strict=True):
        there = status == OK
        lengths.append(_number(reading.strut(element, state).length) if there else None)
        ratios.append(_number(reading.motion_ratio(element, state, name)) if there else None)
    return {"length": lengths, "motion_ratio": ratios}


def _degrees(reading: Reading, z: float, rack: float, status: str) -> Expected:
    point = reading.side.at(z, rack) if status == OK else None
    return None if point is None else math.degrees(point.angle)


def _eye_lengths(reading: Reading, figures: Mapping[str, Reckoned]) -> dict[str, Expected]:
    status = worst(reading.status(state) for state in reading.unsteered)
    closed = [
        float(np.linalg.norm(side.eye - reading.rocker.turned(reading.axle.rod_inboard, side.angle)))
        for state in (reading.unsteered if status == OK else [])
        for side in reading.rockers(state)
    ]
    lengths: dict[str, Expected] = {"rod": _rigid(reading.rocker.rod_length, closed)}
    for name, bar in reading.axle.bars.items():
        if bar.pickup is not None:
            links = [reading.bar(name).link_length(state) for state in (reading.unsteered if status == OK else [])]
            static = float(np.linalg.norm(reading.axle.pickups[bar.pickup] - bar.end))
            lengths[name] = _rigid(static, [] if any(map(math.isnan, links)) else links)
    for name in reading.axle.elements:
        lengths[name] = {key: _number(figures[f"{name}.length_{key}"][0]) for key in ("static", "min", "max")}
    return lengths


def _rigid(static: float, lengths: list[float]) -> Expected:
    return {"static": static, "min": min(lengths, default=None), "max": max(lengths, default=None)}


def _mirrored(point: Vector) -> list[Expected]:
    return [float(value) + 0.0 for value in MIRROR * point]


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
