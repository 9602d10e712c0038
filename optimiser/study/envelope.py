"""The room of a file: read, written out again, and the goals that come with it."""

from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy as np

from geometry.arrays import Array
from geometry.axle import Axle
from objectives.envelope.envelope import (
    LINKS,
    ROCKER,
    ROD,
    WHEEL,
    Envelope,
    KeepOut,
    KeepOutBox,
    KeepOutCylinder,
    Margins,
    WheelSize,
)
from objectives.fittings.fitted import Fittings
from objectives.goals import Goal, Limit
from optimiser.study.faults import shown, suggestion
from optimiser.study.reading import Reading

Tree: TypeAlias = "bool | float | str | Sequence[Tree] | Mapping[str, Tree]"
"""A branch of a YAML file."""

XYZ = ("x", "y", "z")
SHAPES = ("cylinder", "box")


def read_envelope(reading: Reading, axle: Axle) -> Envelope | None:
    """The room of a file; None where nothing is said of it, or where it has a fault, which is noted."""
    before = len(reading.faults)
    if reading.record("envelope") is None:
        return None
    names = _bodies(reading, axle)
    keep_out = {name: _keep_out(reading, f"envelope.keep_out.{name}") for name in reading.names("envelope.keep_out")}
    _named_once(reading, axle, names)
    low, high = _inside(reading)
    wheel = None
    if WHEEL in names:
        size = [reading.number(f"envelope.bodies.{WHEEL}.{key}") for key in ("diameter", "width")]
        wheel = WheelSize(*size)
    diameters = {
        name: reading.number(f"envelope.bodies.{name}.{'thickness' if name == ROCKER else 'diameter'}")
        for name in names
        if name != WHEEL
    }
    margins = None
    if reading.has("envelope.margins"):
        to_fixed, to_moving = (reading.number(f"envelope.margins.moving_to_{key}") for key in ("fixed", "moving"))
        margins = Margins(to_fixed, to_moving)
    if len(reading.faults) > before:
        return None
    sound = {name: one for name, one in keep_out.items() if one is not None}
    return Envelope(diameters, wheel, sound, low, high, margins)


def room_goals(goals: tuple[Goal, ...], fittings: Fittings) -> tuple[Goal, ...]:
    """The goals of a file with those that its room asks for by itself: margins kept, and inboard points inside."""
    envelope, asked = fittings.envelope, {goal.figure for goal in goals}
    more: list[Goal] = []
    if envelope is not None and envelope.margins is not None and envelope.has_bodies:
        more.append(Limit("clearance.reserve", at_least=0.0))
    if envelope is not None and envelope.is_bounded:
        more.append(Limit("envelope.overstep", at_most=0.0))
    return (*goals, *(goal for goal in more if goal.figure not in asked))


def envelope_tree(envelope: Envelope | None) -> dict[str, Tree]:
    """The section `envelope` of a study; nothing where nothing is said of it."""
    if envelope is None:
        return {}
    tree: dict[str, Tree] = {}
    if envelope.margins is not None:
        tree["margins"] = {
            "moving_to_fixed": float(envelope.margins.to_fixed),
            "moving_to_moving": float(envelope.margins.to_moving),
        }
    bounds = {f"{name}_min": float(value) for name, value in zip(XYZ, envelope.low, strict=True) if np.isfinite(value)}
    bounds |= {
        f"{name}_max": float(value) for name, value in zip(XYZ, envelope.high, strict=True) if np.isfinite(value)
    }
    if bounds:
        tree["inside"] = dict(bounds)
    bodies: dict[str, Tree] = {
        name: {"thickness" if name == ROCKER else "diameter": float(size)} for name, size in envelope.diameters.items()
    }
    if envelope.wheel is not None:
        bodies[WHEEL] = {"diameter": float(envelope.wheel.diameter), "width": float(envelope.wheel.width)}
    tree["bodies"] = bodies
    if envelope.keep_out:
        tree["keep_out"] = {name: _shape(one) for name, one in envelope.keep_out.items()}
    return tree


def _shape(one: KeepOut) -> dict[str, Tree]:
    if isinstance(one, KeepOutBox):
        return {"box": {"min": _row(one.low), "max": _row(one.high)}}
    return {"cylinder": {"from": _row(one.first), "to": _row(one.last), "diameter": float(one.diameter)}}


def _row(values: Array) -> Tree:
    return [float(value) for value in values]


def _bodies(reading: Reading, axle: Axle) -> tuple[str, ...]:
    """Names of the bodies; one that the axle has not is a fault."""
    known = (ROD, ROCKER, LINKS, WHEEL, *axle.struts)
    found = []
    for name in reading.keys("envelope.bodies"):
        path = f"envelope.bodies.{name}"
        if name in axle.elements and name not in axle.struts:
            hint = "delete it: a bar has no body here"
            reading.key_fault(path, f"a body of the bar {name}", "a body of the axle", hint)
        elif name not in known:
            hint = suggestion(name, known, f"the bodies are {', '.join(known)}")
            reading.key_fault(path, f"the unknown body {shown(name)}", "a body of the axle", hint)
        elif name in reading.names("envelope.bodies"):
            found.append(name)
    return tuple(found)


def _named_once(reading: Reading, axle: Axle, names: Sequence[str]) -> None:
    """Figures name bodies: no two may have one name."""
    taken = {ROD: "the rod", ROCKER: "the rocker", WHEEL: "the wheel"}
    hint = "give one of the two another name: figures of clearance name both bodies"
    for name in axle.struts:
        if name in names and (name in taken or name == LINKS):
            path = f"axle.elements.{name}"
            reading.key_fault(path, f"an element called {name}, as a body is", "bodies of different names", hint)
        taken.setdefault(name, f"the element {name}")
    for name in axle.links:
        if name in taken and LINKS in names:
            found = f"a link called {name}, as is {taken[name]}"
            reading.key_fault(f"axle.links.{name}", found, "bodies of different names", hint)
        taken.setdefault(name, f"the link {name}")
    for name in reading.keys("envelope.keep_out"):
        if name in taken:
            found = f"a keep-out called {name}, as is {taken[name]}"
            reading.key_fault(f"envelope.keep_out.{name}", found, "bodies of different names", hint)


def _keep_out(reading: Reading, path: str) -> KeepOut | None:
    written = [shape for shape in SHAPES if reading.has(f"{path}.{shape}")]
    if len(written) != 1:
        found = "both cylinder and box" if written else "neither cylinder nor box"
        hint = "delete one of the two" if written else "add cylinder: {from, to, diameter} or box: {min, max}"
        reading.fault(path, found, "one of the two", hint)
        return None
    if written == ["cylinder"]:
        first, last = (reading.point(f"{path}.cylinder.{key}") for key in ("from", "to"))
        return KeepOutCylinder(first, last, reading.number(f"{path}.cylinder.diameter"))
    low, high = (reading.point(f"{path}.box.{key}") for key in ("min", "max"))
    for axis, least, most in zip(XYZ, low, high, strict=True):
        if least > most:
            hint = "swap the two"
            reading.fault(f"{path}.box", f"min {axis} {least:g} above max {axis} {most:g}", "min below max", hint)
    return KeepOutBox(low, high)


def _inside(reading: Reading) -> tuple[Array, Array]:
    low, high = np.full(3, -np.inf), np.full(3, np.inf)
    for k, name in enumerate(XYZ):
        path, ends = f"envelope.inside.{name}", (f"envelope.inside.{name}_min", f"envelope.inside.{name}_max")
        if reading.has(path):
            low[k], high[k] = reading.span(path)
            for end in ends:
                if reading.has(end):
                    reading.fault(end, f"{name} bounded twice", f"{name}, or {name}_min and {name}_max", "delete one")
        low[k] = reading.number(ends[0]) if reading.has(ends[0]) else low[k]
        high[k] = reading.number(ends[1]) if reading.has(ends[1]) else high[k]
        if low[k] > high[k]:
            where = next(one for one in (path, *ends) if reading.has(one))
            found = f"{name} from {low[k]:g} to {high[k]:g}"
            reading.fault(where, found, "the lowest below the highest", "swap the two")
    return low, high
