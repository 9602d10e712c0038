"""From the values of a file to the axle: its links, rod, rocker and elements, and the names that they use."""

from collections.abc import Iterable

import numpy as np

from geometry.arrays import Array
from geometry.axle import (
    AntiRollBar,
    Arm,
    AxisAligned,
    AxisAngles,
    Axle,
    CornerStrut,
    CrossStrut,
    Element,
    Link,
    Mode,
    Rocker,
    RockerAxis,
    RockerPoint,
    Rod,
    TorsionBar,
    Wheel,
)
from optimiser.study.faults import listing, shown, suggestion
from optimiser.study.reading import Reading
from optimiser.study.walk import Record, Values

UPRIGHT = "upright"
"""What `carried_by` says where no link carries the rod."""


def build_axle(reading: Reading) -> Axle:
    """The axle of a file; faulty numbers are NaN, elements with a fault are left out, and their faults noted."""
    return Axle(_wheel(reading), _links(reading), _rod(reading), _rocker(reading), _elements(reading))


def _wheel(reading: Reading) -> Wheel:
    path = "axle.wheel"
    toe, camber = (_angle(reading, f"{path}.{name}") for name in ("toe", "camber"))
    return Wheel(reading.point(f"{path}.centre"), toe, camber)


def _links(reading: Reading) -> dict[str, Link]:
    links = {}
    for name in reading.names("axle.links"):
        path = f"axle.links.{name}"
        follows = reading.has(f"{path}.inboard_moves_with")
        links[name] = Link(reading.point(f"{path}.inboard"), reading.point(f"{path}.outboard"), follows)
    return links


def _rod(reading: Reading) -> Rod:
    path = "axle.rod.carried_by"
    written = reading.texts(path)
    carriers = () if written == (UPRIGHT,) else written
    known = reading.keys("axle.links")
    unknown = [name for name in carriers if name not in known]
    for name in unknown:
        _no_such(reading, path, name, [*known, UPRIGHT] if len(written) == 1 else known, "link")
    if len(carriers) == 2 and carriers[0] == carriers[1]:
        reading.fault(path, f"the link {carriers[0]} twice", "two links", "name two that share an outboard point")
    sound = not unknown and len(set(carriers)) == len(carriers) and set(carriers) <= set(reading.names("axle.links"))
    return Rod(reading.point("axle.rod.outboard"), carriers if sound else ())


def _rocker(reading: Reading) -> Rocker:
    path = "axle.rocker"
    reference = reading.point(f"{path}.reference") if reading.has(f"{path}.reference") else None
    pickups = {name: _rocker_point(reading, f"{path}.pickups.{name}") for name in reading.names(f"{path}.pickups")}
    rod = _rocker_point(reading, f"{path}.rod")
    return Rocker(reading.point(f"{path}.pivot"), _axis(reading, f"{path}.axis"), rod, pickups, reference)


def _axis(reading: Reading, path: str) -> RockerAxis:
    value = reading.values.get(path)
    if isinstance(value, Record):
        return AxisAngles(_angle(reading, f"{path}.azimuth"), _angle(reading, f"{path}.elevation"))
    if value is None or isinstance(value, Values):
        return reading.point(path)
    return AxisAligned()


def _rocker_point(reading: Reading, path: str) -> RockerPoint:
    if not isinstance(reading.values.get(path), Record):
        return reading.point(path)
    length, offset = (np.array(reading.number(f"{path}.{name}")) for name in ("length", "offset"))
    return Arm(length, _angle(reading, f"{path}.angle"), offset)


def _elements(reading: Reading) -> dict[str, Element]:
    found = {name: _element(reading, f"axle.elements.{name}") for name in reading.names("axle.elements")}
    return {name: element for name, element in found.items() if element is not None}


def _element(reading: Reading, path: str) -> Element | None:
    """An element, or None where it has a fault."""
    kind = reading.text(f"{path}.kind")
    if kind == "torsion_bar":
        return TorsionBar()
    return _bar(reading, path) if kind == "bar" else _strut(reading, path)


def _bar(reading: Reading, path: str) -> Element | None:
    pickup = _pickup(reading, f"{path}.pickup")
    if pickup is None:
        return None
    return AntiRollBar(pickup, reading.point(f"{path}.arm.pivot"), reading.point(f"{path}.arm.end"))


def _strut(reading: Reading, path: str) -> Element | None:
    """A strut, or None where it has a fault."""
    before = len(reading.faults)
    corner = reading.has(f"{path}.chassis")
    _one_far_end(reading, path)
    _serves_if_cross(reading, path, corner)
    left, right = (_pickup(reading, f"{path}.{side}") for side in ("left", "right"))
    if len(reading.faults) > before or left is None:
        return None
    if corner:
        return CornerStrut(left, reading.point(f"{path}.chassis"))
    serves = reading.text(f"{path}.serves")
    return CrossStrut(left, right, Mode(serves)) if right and serves else None


def _one_far_end(reading: Reading, path: str) -> None:
    ends = [key for key in ("right", "chassis") if reading.has(f"{path}.{key}")]
    expected = "right (a cross-car strut) or chassis (a corner strut)"
    if len(ends) == 2:
        reading.fault(f"{path}.chassis", "both right and chassis", expected, "delete one of the two")
    if not ends:
        reading.fault(path, "neither right nor chassis", expected, "add one of the two")


def _serves_if_cross(reading: Reading, path: str, corner: bool) -> None:
    serves = reading.has(f"{path}.serves")
    if corner and serves and not reading.has(f"{path}.right"):
        hint = "delete serves: a corner strut works in heave and roll alike"
        reading.fault(f"{path}.serves", "serves on a corner strut", "a corner strut without serves", hint)
    if not corner and not serves and reading.has(f"{path}.right"):
        reading.fault(f"{path}.serves", "no key serves", "heave or roll", "say which mode the strut is there for")


def _pickup(reading: Reading, path: str) -> str | None:
    name, known = reading.text(path), reading.keys("axle.rocker.pickups")
    if name is None or reading.record("axle.rocker.pickups") is None:
        return None
    if name not in known:
        _no_such(reading, path, name, known, "pick-up")
    return name if name in reading.names("axle.rocker.pickups") else None


def _no_such(reading: Reading, path: str, name: str, known: Iterable[str], what: str) -> None:
    hint = suggestion(name, known, f"name one of them, or add the {what}")
    reading.fault(path, f"the {what} {shown(name)}, which is not there", f"one of {listing(known)}", hint)


def _angle(reading: Reading, path: str) -> Array:
    return np.asarray(np.deg2rad(reading.number(path)))
