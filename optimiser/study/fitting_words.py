"""Springs, dampers and loads in words, as the reader has understood them: what `check` tells of them."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from objectives.fittings.dampers import Damper, DamperCurve
from objectives.fittings.fitted import Fittings
from objectives.fittings.loads import LoadCase, RodTube
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


@dataclass(frozen=True)
class FittingPortrait:
    """A spring or damper: its name, the element that it acts on, and what it is, in words."""

    name: str
    on: str
    said: str


@dataclass(frozen=True)
class CasePortrait:
    """A load case: the force of the ground on each tyre [N] and what takes a braking moment."""

    name: str
    left: list[float]
    right: list[float]
    torque_on: str


def springs_in_words(fittings: Fittings) -> list[FittingPortrait]:
    """Every spring, in the study's order."""
    return [FittingPortrait(name, spring.on, _spring(spring)) for name, spring in fittings.springs.items()]


def dampers_in_words(fittings: Fittings) -> list[FittingPortrait]:
    """Every damper, in the study's order."""
    return [FittingPortrait(name, name, _damper(damper)) for name, damper in fittings.dampers.items()]


def cases_in_words(fittings: Fittings) -> list[CasePortrait]:
    """Every load case, in the study's order."""
    return [_case(name, case) for name, case in fittings.loads.cases.items()]


def tube_in_words(tube: RodTube | None) -> str | None:
    """The rod's tube; None where there is none."""
    if tube is None:
        return None
    return (
        f"tube of {tube.outer:g} mm outer diameter and {tube.wall:g} mm wall, "
        f"modulus {tube.modulus:g}, yield {tube.yield_stress:g} N/mm^2"
    )


def _spring(spring: Spring) -> str:
    match spring:
        case CoilSpring():
            parts = [f"coil of {spring.rate:g} N/mm", _static(spring.static, "N"), *_coil(spring)]
        case OpposedSprings(rate=rate, preload=preload):
            parts = [f"opposed pair of {rate:g} N/mm", _preload(float(preload), float(rate))]
        case CurveSpring(gap=gap, points=points):
            (far, force) = points[-1]
            parts = [f"curve from {gap:g} mm of compression", f"{force:g} N at {gap + far:g} mm"]
        case SeriesSprings(rates=(first, second), solid_at=solid, static=static):
            parts = [f"{first:g} and {second:g} N/mm in series", f"the first solid after {solid:g} mm of its own"]
            parts.append(_static(static, "N"))
        case TorsionSpring(rate=rate, static=static):
            parts = [f"torsion bar of {rate:g} N.m/deg", _static(static, "N.m")]
        case BarSpring(rate=rate):
            parts = [f"anti-roll bar of {rate:g} N.m/deg between its arms"]
    return "; ".join(parts)


def _static(static: Array | CarriesWeight, unit: str) -> str:
    return "carries the weight" if isinstance(static, CarriesWeight) else f"{static:g} {unit} at static"


def _coil(coil: CoilSpring) -> list[str]:
    lengths = [] if coil.free_length is None else [f"free {coil.free_length:g} mm, solid {coil.solid_length:g} mm"]
    return [*lengths, "pulls too" if coil.pulls else "cannot pull"]


def _preload(preload: float, rate: float) -> str:
    if preload < 0.0:
        return f"dead band of {-2.0 * preload / rate:.4g} mm"
    return f"preload {preload:g} N, lets go after {preload / rate:.4g} mm"


def _damper(damper: Damper) -> str:
    if not isinstance(damper, DamperCurve):
        return f"asks for {damper.ratio:g} of critical damping"
    slow = np.array([-0.05, 0.05])
    out, squeezed = np.interp(slow, *damper.points.T)
    return f"curve of {len(damper.points)} points; {squeezed:.4g} N at 0.05 m/s, {out:.4g} N at -0.05 m/s"


def _case(name: str, case: LoadCase) -> CasePortrait:
    left, right = ([float(value) for value in force] for force in (case.left, case.right))
    return CasePortrait(name, left, right, "chassis" if case.brake_inboard else "upright")
