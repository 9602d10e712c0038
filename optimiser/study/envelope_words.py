"""The room of a study as the reader has understood it: in words, and every pair of bodies that will be watched."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometry.axle import Axle
from objectives.envelope.at_static import static_clearances
from objectives.envelope.envelope import LINKS, ROCKER, ROD, WHEEL, Envelope, KeepOut, KeepOutBox
from objectives.envelope.room import pair_margins
from optimiser.study.study import Study

XYZ = ("x", "y", "z")


@dataclass(frozen=True)
class PairPortrait:
    """Two bodies that can meet: their clearance as the axle stands at static, and the margin to be kept [mm]."""

    name: str
    at_static: float
    margin: float


@dataclass(frozen=True)
class RoomPortrait:
    """The room: `said`, a line each, and the `pairs` that will be watched, the one with the least left first."""

    said: list[str]
    pairs: list[PairPortrait]


def portray_room(study: Study) -> RoomPortrait | None:
    """The room of a study; None where nothing is said of it."""
    envelope = study.fittings.envelope
    if envelope is None:
        return None
    margins = pair_margins(study.axle, envelope)
    static = static_clearances(study.axle, envelope)
    pairs = [PairPortrait(name, value, margins[name]) for name, value in static.items()]
    return RoomPortrait(list(_said(study.axle, envelope)), sorted(pairs, key=lambda pair: pair.at_static - pair.margin))


def _said(axle: Axle, envelope: Envelope) -> Iterator[str]:
    sizes = [
        f"{name} {size:g} {'thick' if name == ROCKER else 'in diameter'}" for name, size in envelope.diameters.items()
    ]
    if envelope.wheel is not None:
        sizes.append(f"{WHEEL} {envelope.wheel.diameter:g} in diameter, {envelope.wheel.width:g} wide")
    yield "bodies: " + ("; ".join(sizes) or "none, so nothing is watched")
    bare = [name for name in (*axle.struts, ROD, ROCKER, LINKS) if name not in envelope.diameters]
    bare += [] if envelope.wheel else [WHEEL]
    if sizes and bare:
        yield f"without a body, and so not watched: {', '.join(bare)}"
    for name, keep_out in envelope.keep_out.items():
        yield f"keep-out {name}: {_shape(keep_out)}"
    bounds = [_bounds(*one) for one in zip(XYZ, envelope.low, envelope.high, strict=True)]
    if envelope.is_bounded:
        yield f"every inboard point, on the left: {', '.join(bound for bound in bounds if bound)}"
    if envelope.margins is not None:
        fixed, moving = envelope.margins.to_fixed, envelope.margins.to_moving
        yield f"margins: {fixed:g} of what moves from what is fixed, {moving:g} of two that move"
    elif sizes:
        yield "no margins: nothing has to keep clear unless a goal asks for it"


def _shape(keep_out: KeepOut) -> str:
    if isinstance(keep_out, KeepOutBox):
        spans = zip(XYZ, keep_out.low, keep_out.high, strict=True)
        return "box " + ", ".join(f"{name} {low:g} to {high:g}" for name, low, high in spans)
    ends = (", ".join(f"{value:g}" for value in end) for end in (keep_out.first, keep_out.last))
    return f"cylinder from ({next(ends)}) to ({next(ends)}), {keep_out.diameter:g} in diameter"


def _bounds(name: str, low: float, high: float) -> str:
    """`x -90 to 110`, `y at least 0`; empty where nothing bounds it."""
    if np.isfinite(low) and np.isfinite(high):
        return f"{name} {low:g} to {high:g}"
    if np.isfinite(low):
        return f"{name} at least {low:g}"
    return f"{name} at most {high:g}" if np.isfinite(high) else ""
