"""The dampers of a file: each on the element whose name it has, by a curve or by the damping that it is to give."""

import numpy as np

from geometry.axle import AntiRollBar, Axle, TorsionBar
from objectives.fittings.dampers import Damper, DamperCurve, DampingRatio
from optimiser.study.reading import Reading
from optimiser.study.rising import read_rising
from optimiser.study.springs import WORDS, read_element

WAYS = ("points", "damping_ratio")


def read_dampers(reading: Reading, axle: Axle) -> dict[str, Damper]:
    """The dampers of a file by the element that they damp; those with a fault are left out, and the fault noted."""
    dampers: dict[str, Damper] = {}
    for name in reading.keys("dampers"):
        path = f"dampers.{name}"
        on = read_element(reading, path, name, axle, key=True)
        if on is None or name not in reading.names("dampers") or not _on_strut(reading, path, name, axle):
            continue
        damper = _damper(reading, path)
        if damper is not None:
            dampers[name] = damper
    return dampers


def _on_strut(reading: Reading, path: str, name: str, axle: Axle) -> bool:
    element = axle.elements[name]
    if isinstance(element, TorsionBar | AntiRollBar):
        hint = "damp a strut: a bar has no stroke in which a damper could act"
        reading.key_fault(path, f"a damper on {WORDS[type(element)]}", "a damper on a strut", hint)
        return False
    return True


def _damper(reading: Reading, path: str) -> Damper | None:
    written = [key for key in WAYS if reading.has(f"{path}.{key}")]
    if len(written) != 1:
        found = "both points and damping_ratio" if written else "neither points nor damping_ratio"
        hint = "delete one of the two" if written else "add one of the two"
        reading.fault(f"{path}.damping_ratio" if written else path, found, "one of the two", hint)
        return None
    if written == ["damping_ratio"]:
        return _ratio(reading, path)
    return DamperCurve(read_rising(reading, f"{path}.points", from_start=False))


def _ratio(reading: Reading, path: str) -> Damper:
    if not reading.has("loads.sprung_per_wheel"):
        hint = "add loads: {sprung_per_wheel: ...}, or write the damper's points"
        found = "damping_ratio, and no loads.sprung_per_wheel"
        reading.fault(f"{path}.damping_ratio", found, "a weight, so that there is a mass to damp [N]", hint)
    return DampingRatio(np.array(reading.number(f"{path}.damping_ratio")))
