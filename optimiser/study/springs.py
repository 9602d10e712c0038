"""The springs of a file: each on an element that takes its kind, and what a spring as written cannot be."""

from collections.abc import Callable, Mapping

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, Axle, CornerStrut, CrossStrut, Element, Mode, TorsionBar
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
from optimiser.study.faults import listing, shown, suggestion
from optimiser.study.fitting_keys import CARRIES_WEIGHT
from optimiser.study.reading import Reading
from optimiser.study.rising import read_rising

OF_STRUTS = ("coil", "opposed", "curve", "series")
"""Kinds of springs that act along a strut."""

COIL_LENGTHS = ("free_length", "solid_length")

WORDS: Mapping[type[Element], str] = {
    CrossStrut: "a cross-car strut",
    CornerStrut: "a corner strut",
    TorsionBar: "a torsion bar",
    AntiRollBar: "an anti-roll bar",
}
"""What an element is, in a fault."""

KINDS: Mapping[type[Element], tuple[str, ...]] = {
    CrossStrut: OF_STRUTS,
    CornerStrut: OF_STRUTS,
    TorsionBar: ("torsion",),
    AntiRollBar: ("bar",),
}
"""The kinds of springs that each element takes."""


def read_springs(reading: Reading, axle: Axle) -> dict[str, Spring]:
    """The springs of a file by their names; those on an element that is not there are left out, and the fault noted."""
    springs = {}
    for name in reading.names("springs"):
        path = f"springs.{name}"
        on = read_element(reading, f"{path}.on", reading.text(f"{path}.on"), axle)
        kind = reading.text(f"{path}.kind") or ""
        if on is not None and _fits(reading, path, kind, on, axle.elements[on]):
            springs[name] = _BUILD[kind](reading, path, on)
            _CHECK.get(kind, _unchecked)(reading, path)
    _carriers(reading, springs, axle)
    return springs


def read_element(reading: Reading, path: str, name: str | None, axle: Axle, *, key: bool = False) -> str | None:
    """The element of this name; None, with a fault at `path` (or at its `key`), where there is none.

    An element that has a fault itself is passed over: that one is told already.
    """
    known = reading.keys("axle.elements")
    if name is None or reading.record("axle.elements") is None or name in axle.elements:
        return name if name in axle.elements else None
    if name not in known:
        note = reading.key_fault if key else reading.fault
        hint = suggestion(name, known, "name one of them, or add the element")
        note(path, f"the element {shown(name)}, which is not there", f"one of {listing(known)}", hint)
    return None


def _fits(reading: Reading, path: str, kind: str, on: str, element: Element) -> bool:
    kinds = KINDS[type(element)]
    if kind not in kinds:
        what = WORDS[type(element)]
        expected = f"on {what} a spring of kind {' or '.join(kinds)}"
        hint = f"write kind: {kinds[0]}, or name another element"
        reading.fault(f"{path}.kind", f"{kind} on {on}, which is {what}", expected, hint)
    return kind in kinds


def _coil(reading: Reading, path: str, on: str) -> Spring:
    free, solid = (
        np.array(reading.number(f"{path}.{key}")) if reading.has(f"{path}.{key}") else None for key in COIL_LENGTHS
    )
    rate = np.array(reading.number(f"{path}.rate"))
    return CoilSpring(on, rate, _static(reading, path), free, solid, reading.flag(f"{path}.pulls"))


def _opposed(reading: Reading, path: str, on: str) -> Spring:
    rate, preload = (np.array(reading.number(f"{path}.{key}")) for key in ("rate", "preload"))
    return OpposedSprings(on, rate, preload)


def _curve(reading: Reading, path: str, on: str) -> Spring:
    return CurveSpring(on, np.array(reading.number(f"{path}.gap")), read_rising(reading, f"{path}.points"))


def _series(reading: Reading, path: str, on: str) -> Spring:
    first, second = reading.numbers(f"{path}.rates", 2)
    solid_at = np.array(reading.number(f"{path}.solid_at"))
    return SeriesSprings(on, (np.array(first), np.array(second)), solid_at, _static(reading, path))


def _torsion(reading: Reading, path: str, on: str) -> Spring:
    return TorsionSpring(on, np.array(reading.number(f"{path}.rate")), _static(reading, path))


def _bar(reading: Reading, path: str, on: str) -> Spring:
    return BarSpring(on, np.array(reading.number(f"{path}.rate")))


_BUILD: Mapping[str, Callable[[Reading, str, str], Spring]] = {
    "coil": _coil,
    "opposed": _opposed,
    "curve": _curve,
    "series": _series,
    "torsion": _torsion,
    "bar": _bar,
}


def _static(reading: Reading, path: str) -> Array | CarriesWeight:
    carries = reading.text(f"{path}.static") == CARRIES_WEIGHT
    return CarriesWeight() if carries else np.array(reading.number(f"{path}.static"))


def _unchecked(_reading: Reading, _path: str) -> None:
    pass


def _sound_coil(reading: Reading, path: str) -> None:
    free, solid = (reading.number(f"{path}.{key}") for key in COIL_LENGTHS)
    written = [key for key in COIL_LENGTHS if reading.has(f"{path}.{key}")]
    if len(written) == 1:
        (missing,) = set(COIL_LENGTHS) - set(written)
        hint = f"add {missing}, or delete {written[0]}: the two say where the coil is solid"
        reading.fault(f"{path}.{written[0]}", f"{written[0]} without {missing}", "both or neither", hint)
    elif solid >= free:
        expected = f"less than the free length of {free:g} mm"
        reading.fault(f"{path}.solid_length", f"{solid:g}", expected, "swap or correct the two")
    else:
        force = reading.number(f"{path}.static")
        _not_solid(reading, path, force, free - solid)
        _can_push(reading, path, force)


def _not_solid(reading: Reading, path: str, force: float, stroke: float) -> None:
    """Note a fault where a coil's static force [N] squeezes it solid, by its whole stroke [mm]; NaN is passed over."""
    squeezed = force / reading.number(f"{path}.rate")
    if squeezed >= stroke:
        found = f"{force:.5g} N at static, which squeezes the coil by {squeezed:.4g} mm"
        expected = f"less than its {stroke:g} mm from free to solid"
        hint = "it is solid at static: take a stiffer or a longer spring, or less force"
        reading.fault(f"{path}.static", found, expected, hint)


def _sound_series(reading: Reading, path: str) -> None:
    _can_push(reading, path, reading.number(f"{path}.static"))


def _can_push(reading: Reading, path: str, force: float) -> None:
    if force < 0.0 and not reading.flag(f"{path}.pulls"):
        hint = "it is slack at static: write a force of at least 0"
        if reading.text(f"{path}.kind") == "coil":
            hint += ", or pulls: true where its seats hold it"
        reading.fault(f"{path}.static", f"{force:g} N", "a force that a spring which cannot pull has", hint)


_CHECK: Mapping[str, Callable[[Reading, str], None]] = {"coil": _sound_coil, "series": _sound_series}


def _carriers(reading: Reading, springs: Mapping[str, Spring], axle: Axle) -> None:
    """One spring of an axle at most carries the weight, which must be known, and on an element that heave works."""
    carriers = [name for name in reading.names("springs") if reading.text(f"springs.{name}.static") == CARRIES_WEIGHT]
    for name in carriers[1:]:
        found = f"a second spring that carries the weight: {carriers[0]} does"
        hint = "write this one's static force as a number; the other holds what is left of the weight"
        reading.fault(f"springs.{name}.static", found, "one spring whose force follows from the weight", hint)
    for name in carriers[:1]:
        path = f"springs.{name}.static"
        if not reading.has("loads.sprung_per_wheel"):
            hint = "add loads: {sprung_per_wheel: ...}, or write the static force as a number"
            reading.fault(path, f"{CARRIES_WEIGHT}, and no loads.sprung_per_wheel", "a weight to carry [N]", hint)
        if name in springs and not _works_in_heave(axle.elements[springs[name].on]):
            found = f"{CARRIES_WEIGHT} on {springs[name].on}, which serves roll"
            hint = "let the spring of an element that heave works carry it"
            reading.fault(path, found, "an element that heave works", hint)


def _works_in_heave(element: Element) -> bool:
    return not isinstance(element, AntiRollBar) and not (
        isinstance(element, CrossStrut) and element.serves is Mode.ROLL
    )
