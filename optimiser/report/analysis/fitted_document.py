"""Springs, dampers and load cases of an analysis as parts of its JSON document. Units stand beside the numbers."""

from collections.abc import Mapping

from optimiser.report.analysis.case_record import CaseRow
from optimiser.report.analysis.json_values import Json, numbers
from optimiser.report.analysis.spring_record import SPEEDS, Balance, DamperRow, OnSprings, Parts, SpringSweep

UNITS: dict[str, Json] = {"rate": "N/mm", "force": "N", "moment": "N.m", "damping": "N.s/m", "speed": "m/s"}


def springs_json(found: OnSprings) -> dict[str, Json]:
    """Rates and forces through travel, the static balance, and the dampers."""
    return {
        "units": UNITS,
        "sweeps": {name: _sweep(sweep) for name, sweep in found.sweeps.items()},
        "static": _balance(found.balance),
        "dampers": {name: _damper(row) for name, row in found.dampers.items()},
    }


def cases_json(cases: Mapping[str, CaseRow]) -> dict[str, Json]:
    """Every load case; pairs are left and right."""
    return {name: _case(row) for name, row in cases.items()}


def _sweep(sweep: SpringSweep) -> Json:
    return {
        "travel": numbers(sweep.travel),
        "heave_rate": _parts(sweep.heave_rate),
        "roll_rate": _parts(sweep.roll_rate),
        "roll_rate_by_force": {name: numbers(part) for name, part in sweep.roll_rate_by_force.items()},
        "force": {name: numbers(force) for name, force in sweep.force.items()},
    }


def _parts(parts: Parts) -> Json:
    return {
        "whole": numbers(parts.whole),
        "spring": numbers(parts.spring),
        "geometric": numbers(parts.geometric),
    }


def _balance(balance: Balance) -> Json:
    return {
        "elements": {
            name: {"force": share.force, "per_wheel": share.per_wheel} for name, share in balance.shares.items()
        },
        "carrier": balance.carrier,
        "sprung_per_wheel": balance.weight,
        "held_per_wheel": balance.held,
        "miss": balance.miss,
    }


def _damper(row: DamperRow) -> Json:
    return {
        "damping_ratio": row.asked,
        "wheel_coefficient": row.wheel_coefficient,
        "element_coefficient": row.element_coefficient,
        "wheel_speed": list(SPEEDS) if row.bump else [],
        "bump": list(row.bump),
        "rebound": list(row.rebound),
    }


def _case(row: CaseRow) -> Json:
    return {
        "status": row.status,
        "heave": row.heave,
        "roll": row.roll,
        "wheel_travel": list(row.travel),
        "rod": list(row.rod),
        "pivot": list(row.pivot),
        "links": {
            name: {"outboard": list(outer), "inboard": list(inner)} for name, (outer, inner) in row.links.items()
        },
        "bending": {name: list(moments) for name, moments in row.bending.items()},
        "elements": {name: list(forces) for name, forces in row.forces.items()},
        "stops": list(row.stops),
    }
