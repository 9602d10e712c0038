"""A whole car as one JSON document: numbers at full precision, null (never NaN) where there is none."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import TypeAlias

import numpy as np

from objectives.vehicle.budget import Budget
from optimiser.report.car.record import AxleAtSpeed, AxleRecord, CarAnalysis

Json: TypeAlias = "bool | int | float | str | Sequence[Json] | Mapping[str, Json] | None"
"""What `json.dumps` writes."""

UNITS = {
    "length": "mm",
    "angle": "deg",
    "force": "N",
    "rate": "N/mm",
    "damping": "N.s/mm",
    "mass": "kg",
    "frequency": "Hz",
    "speed": "m/s",
    "roll_stiffness": "N.m/deg",
}


def to_json(analysis: CarAnalysis) -> dict[str, Json]:
    """The document of `car --json`; pairs and lists of two are front and rear. Shapes as in the record."""
    corners = analysis.corners
    return {
        "name": analysis.car.name,
        "units": dict(UNITS),
        "mass": {"weight": analysis.weight, "sprung": analysis.sprung_mass, "sprung_height": analysis.sprung_height},
        "axles": {one.end: _axle(one) for one in analysis.axles},
        "modes": [_plain(mode) for mode in analysis.modes],
        "warp_stiffness": analysis.warp,
        "front_roll_share": analysis.front_roll_share,
        "cornering": _plain(analysis.cornering),
        "braking": _plain(analysis.braking),
        "speeds": list(analysis.car.speeds),
        "speed_pitch": _plain(analysis.speed_pitch),
        "speed_front_share": _plain(analysis.speed_front_share),
        "at_speed": {one.end: _at_speed(one) for one in analysis.at_speed},
        "kerbs": [_plain(kerb) for kerb in analysis.kerbs],
        "manoeuvres": [_plain(one) for one in analysis.manoeuvres],
        "lap": {axle.end: _plain(states) for axle, states in zip(analysis.axles, analysis.lap, strict=True)},
        "bump_travel": {axle.end: {**_fields(one), "left": _plain(one.left)} for axle, one in _budgets(analysis)},
        "opposed_springs_let_go": _plain(analysis.lets_go),
        "asked_rates": [_plain(one) for one in analysis.rates],
        "dampers": [_plain(one) for one in analysis.dampers],
        "corner_springs": {
            "axles": {one.end: {**_fields(one), "bar_does": one.bar_does} for one in corners.axles},
            "roll_gradient": _plain(float(np.degrees(corners.roll_gradient))),
        },
        "notes": list(analysis.notes),
    }


def _budgets(analysis: CarAnalysis) -> Iterator[tuple[AxleRecord, Budget]]:
    return zip(analysis.axles, analysis.budgets, strict=True)


def _axle(axle: AxleRecord) -> Json:
    return _plain(axle)


def _at_speed(axle: AxleAtSpeed) -> Json:
    balance = axle.balance
    return {
        "downforce": _plain(balance.downforce),
        "heave": _plain(balance.travel),
        "tyre": _plain(balance.tyre),
        "sink": _plain(balance.sink),
        "rate": _plain(balance.rate),
        "frequency": _plain(axle.frequency),
        "travel_left": _plain(axle.travel_left),
        "gain": _plain(axle.gain),
        "spare": _plain(axle.spare),
        "struts": {one.name: _plain(one) for one in axle.struts},
    }


def _plain(value: object) -> Json:
    """Records as mappings, arrays as lists, what is not finite as null."""
    if is_dataclass(value) and not isinstance(value, type):
        return _fields(value)
    if isinstance(value, np.ndarray):
        return [_plain(one) for one in value.tolist()]
    if isinstance(value, Mapping):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, bool | int | str) or value is None:
        return value
    if isinstance(value, float):
        return value if np.isfinite(value) else None
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    raise TypeError(f"no JSON for a {type(value).__name__}")


def _fields(record: object) -> dict[str, Json]:
    if not is_dataclass(record):
        raise TypeError(f"a {type(record).__name__} is no record")
    return {field.name: _plain(getattr(record, field.name)) for field in fields(record)}
