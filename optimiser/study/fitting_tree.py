"""Springs, dampers and loads written out again, as the sections of a study."""

from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy as np

from geometry.arrays import Array
from objectives.fittings.dampers import Damper, DamperCurve
from objectives.fittings.fitted import Fittings
from objectives.fittings.loads import LoadCase, Loads, RodTube
from objectives.fittings.springs import (
    BarSpring,
    CarriesWeight,
    CoilSpring,
    CurveSpring,
    OpposedSprings,
    SeriesSprings,
    Spring,
    TorsionSpring,
)
from optimiser.study.adjust_tree import adjust_tree
from optimiser.study.envelope import envelope_tree
from optimiser.study.fitting_keys import CARRIES_WEIGHT
from optimiser.study.joints import joint_tree
from optimiser.study.tolerances import build_tree

Tree: TypeAlias = "bool | float | str | Sequence[Tree] | Mapping[str, Tree]"
"""A branch of a YAML file."""


def fitting_tree(fittings: Fittings) -> dict[str, Tree]:
    """The sections `springs`, `dampers` and `loads` of a study (no batch axes), without those that hold nothing."""
    sections: dict[str, dict[str, Tree]] = {
        "springs": {name: spring_tree(spring) for name, spring in fittings.springs.items()},
        "dampers": {name: _damper(damper) for name, damper in fittings.dampers.items()},
        "loads": _loads(fittings.loads),
    }
    sections["build"] = build_tree(fittings.build)
    sections["adjust"] = adjust_tree(fittings.adjust)
    sections["envelope"] = envelope_tree(fittings.envelope)
    sections["joints"] = joint_tree(fittings.joints)
    return {name: section for name, section in sections.items() if section}


def spring_tree(spring: Spring) -> dict[str, Tree]:
    """One spring as under `springs`."""
    kind, numbers = _spring(spring)
    return {"kind": kind, "on": spring.on, **numbers}


def _spring(spring: Spring) -> tuple[str, dict[str, Tree]]:
    match spring:
        case CoilSpring():
            return "coil", {"rate": float(spring.rate), "static": _static(spring.static), **_coil(spring)}
        case OpposedSprings(rate=rate, preload=preload):
            return "opposed", {"rate": float(rate), "preload": float(preload)}
        case CurveSpring(gap=gap, points=points):
            return "curve", {"gap": float(gap), "points": _rows(points)}
        case SeriesSprings(rates=(first, second), solid_at=solid_at, static=static):
            rates: Tree = [float(first), float(second)]
            return "series", {"rates": rates, "solid_at": float(solid_at), "static": _static(static)}
        case TorsionSpring(rate=rate, static=static):
            return "torsion", {"rate": float(rate), "static": _static(static)}
        case BarSpring(rate=rate):
            return "bar", {"rate": float(rate)}


def _coil(coil: CoilSpring) -> dict[str, Tree]:
    lengths = {"free_length": coil.free_length, "solid_length": coil.solid_length}
    written: dict[str, Tree] = {name: float(length) for name, length in lengths.items() if length is not None}
    return written | ({"pulls": True} if coil.pulls else {})


def _static(static: Array | CarriesWeight) -> Tree:
    return CARRIES_WEIGHT if isinstance(static, CarriesWeight) else float(static)


def _damper(damper: Damper) -> Tree:
    if isinstance(damper, DamperCurve):
        return {"points": _rows(damper.points)}
    return {"damping_ratio": float(damper.ratio)}


def _loads(loads: Loads) -> dict[str, Tree]:
    tree: dict[str, Tree] = {}
    if loads.sprung_per_wheel is not None:
        tree["sprung_per_wheel"] = loads.sprung_per_wheel
    if loads.cases:
        tree["cases"] = {name: _case(case) for name, case in loads.cases.items()}
    if loads.rod_tube is not None:
        tree["rod_tube"] = _tube(loads.rod_tube)
    return tree


def _case(case: LoadCase) -> Tree:
    alike = np.array_equal(case.left, case.right)
    forces: dict[str, Tree] = (
        {"both": _row(case.left)} if alike else {"left": _row(case.left), "right": _row(case.right)}
    )
    return forces | ({"torque_on": "chassis"} if case.brake_inboard else {})


def _tube(tube: RodTube) -> Tree:
    return {"outer": tube.outer, "wall": tube.wall, "modulus": tube.modulus, "yield": tube.yield_stress}


def _rows(points: Array) -> Tree:
    return [_row(point) for point in points]


def _row(values: Array) -> Tree:
    return [float(value) for value in values]
