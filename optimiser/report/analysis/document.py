"""An analysis as one JSON document: numbers at full precision, null (never NaN) with a status where there is none."""

from dataclasses import asdict

from optimiser.report.analysis.adjust_document import adjustment_json
from optimiser.report.analysis.built_record import BuiltRow
from optimiser.report.analysis.fitted_document import cases_json, springs_json
from optimiser.report.analysis.joint_tables import joints_json
from optimiser.report.analysis.json_values import Json, numbers
from optimiser.report.analysis.record import Analysis, ElementSweep, Sweep, WheelSweep
from optimiser.report.analysis.room_tables import pairs_json
from optimiser.report.analysis.verdicts import Verdict, Wish
from optimiser.report.analysis.wheel_tables import ways_json


def to_json(analysis: Analysis) -> dict[str, Json]:
    """The document of `analyse --json`. Lengths mm, angles deg; shapes as in `optimiser.report.analysis.record`."""
    return {
        "name": analysis.name,
        "units": {"length": "mm", "angle": "deg"},
        "sweeps": {name: _sweep(sweep) for name, sweep in analysis.sweeps.items()},
        "wheel": {name: _wheel(wheel) for name, wheel in analysis.wheel.items()},
        **ways_json(analysis.ways),
        "figures": dict(analysis.figures),
        "figure_status": dict(analysis.figure_status),
        "goals": {verdict.goal.figure: _verdict(verdict) for verdict in analysis.verdicts},
        "objectives": {wish.goal.figure: _wish(wish) for wish in analysis.wishes},
        "notes": list(analysis.notes),
        **({"springs": springs_json(analysis.on_springs)} if analysis.on_springs else {}),
        **({"cases": cases_json(analysis.cases)} if analysis.cases else {}),
        **({"clearances": pairs_json(analysis.near)} if analysis.near else {}),
        **({"joints": joints_json(analysis.joints)} if analysis.joints else {}),
        **({"built": {row.figure: _built(row) for row in analysis.built}} if analysis.built else {}),
        **({"adjustment": adjustment_json(analysis.adjustment)} if analysis.adjustment else {}),
    }


def _sweep(sweep: Sweep) -> dict[str, Json]:
    return {
        "travel": numbers(sweep.travel),
        "rocker_angle": numbers(sweep.rocker_angle),
        "transmission": numbers(sweep.transmission),
        "status": list(sweep.status),
        "elements": {name: _element(element) for name, element in sweep.elements.items()},
        "bars": {name: {"twist": numbers(twist)} for name, twist in sweep.twist.items()},
    }


def _element(element: ElementSweep) -> dict[str, Json]:
    return {
        "length": numbers(element.length),
        "compression": numbers(element.compression),
        "motion_ratio": numbers(element.motion_ratio),
        "transmission": numbers(element.transmission),
        "over_centre": list(element.over_centre),
    }


def _wheel(wheel: WheelSweep) -> dict[str, Json]:
    return {
        "travel": numbers(wheel.travel),
        "camber": numbers(wheel.camber),
        "toe": numbers(wheel.toe),
        "wheel_centre": [numbers(point) for point in wheel.centre],
        "rod_outboard": [numbers(point) for point in wheel.rod_outboard],
    }


def _built(row: BuiltRow) -> Json:
    """`met`: the share of built axles that hold the goals on it; a contributor changes it by `slope` per mm."""
    return {key: value for key, value in asdict(row).items() if key != "figure"}


def _verdict(verdict: Verdict) -> dict[str, Json]:
    """The goal as in the study, with what became of it."""
    asked = {key: value for key, value in asdict(verdict.goal).items() if key != "figure" and value is not None}
    return {**asked, "value": verdict.value, "unit": verdict.unit, "left": verdict.left, "met": verdict.met}


def _wish(wish: Wish) -> dict[str, Json]:
    asked = {key: value for key, value in asdict(wish.goal).items() if key != "figure"}
    return {**asked, "value": wish.value, "unit": wish.unit}
