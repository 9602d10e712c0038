"""An axle as plain points, read from the tree of a hand-off file: no arms, no angles, nothing to be interpreted."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from optimiser.errors import RockwrightError

Vector = NDArray[np.float64]
"""A point or direction, (3,), x forward, y left, z up [mm]."""
Tree = Mapping[str, object]
"""A mapping of a YAML file, keys to plain values."""

MIRROR = np.array([1.0, -1.0, 1.0])
"""Turns a point of the left side into the right side's."""


MOST_POINTS = 2000
"""Most travel points of a range: more than any table is read for."""
MOST_STATES = 200_000
"""Most pairs of a heave and a roll point: half a minute's work."""


class UnreadableError(RockwrightError):
    """The tree lacks an entry that the geometry needs, or holds something else in its place; the text names it."""


@dataclass(frozen=True)
class PlainLink:
    """Two-point link of the left side at static [mm]."""

    inboard: Vector
    outboard: Vector
    follows_rack: bool


@dataclass(frozen=True)
class PlainElement:
    """A strut: `right` names the right rocker's pick-up, or is None for a corner strut, which has `chassis`."""

    left: str
    right: str | None
    chassis: Vector | None
    serves: str | None


@dataclass(frozen=True)
class PlainBar:
    """A bar: a torsion bar on the rocker's axis, or, with a `pickup`, an anti-roll bar along y whose left arm runs from
    `pivot` to `end` [mm].
    """

    pickup: str | None = None
    pivot: Vector = field(default_factory=lambda: np.zeros(3))
    end: Vector = field(default_factory=lambda: np.zeros(3))


@dataclass(frozen=True)
class PlainAxle:
    """The left side at static, points in mm, `axis` a unit vector, `spin_axis` the wheel's, pointing outward."""

    wheel_centre: Vector
    spin_axis: Vector
    links: Mapping[str, PlainLink]
    rod_outboard: Vector
    carried_by: tuple[str, ...]
    pivot: Vector
    axis: Vector
    rod_inboard: Vector
    pickups: Mapping[str, Vector]
    elements: Mapping[str, PlainElement]
    """The struts."""
    bars: Mapping[str, PlainBar]

    @property
    def has_rack(self) -> bool:
        """Whether a link's inboard point moves with the rack."""
        return any(link.follows_rack for link in self.links.values())

    @property
    def arm_points(self) -> tuple[Vector, ...]:
        """The rod's inboard eye and every pick-up that an element names, each once."""
        named = [name for e in self.elements.values() for name in (e.left, e.right)]
        named += [bar.pickup for bar in self.bars.values()]
        return (self.rod_inboard, *(self.pickups[name] for name in sorted({name for name in named if name})))


@dataclass(frozen=True)
class PlainTravel:
    """Ranges of travel and their step [mm]; `rack` None without a rack."""

    wheel: tuple[float, float]
    heave: tuple[float, float]
    roll: tuple[float, float]
    rack: tuple[float, float] | None
    step: float


def plain_axle(tree: Tree) -> PlainAxle:
    """The axle of a hand-off's `axle` entry. Raises UnreadableError, naming the entry, where it is no point or name."""
    wheel, rod, rocker = (section(tree, key, "axle") for key in ("wheel", "rod", "rocker"))
    toe, camber = (math.radians(number(wheel, key, "axle.wheel")) for key in ("toe", "camber"))
    axis = vector(rocker, "axis", "axle.rocker")
    if not np.any(axis):
        raise UnreadableError("axle.rocker.axis: a direction is needed here, found [0, 0, 0]")
    pickups, elements = section(rocker, "pickups", "axle.rocker"), section(tree, "elements", "axle")
    carried = rod.get("carried_by", "upright")
    axle = PlainAxle(
        wheel_centre=vector(wheel, "centre", "axle.wheel"),
        spin_axis=np.array([math.sin(toe) * math.cos(camber), math.cos(toe) * math.cos(camber), -math.sin(camber)]),
        links=_links(section(tree, "links", "axle")),
        rod_outboard=vector(rod, "outboard", "axle.rod"),
        carried_by=_carriers(carried),
        pivot=vector(rocker, "pivot", "axle.rocker"),
        axis=axis / np.linalg.norm(axis),
        rod_inboard=vector(rocker, "rod", "axle.rocker"),
        pickups={name: vector(pickups, name, "axle.rocker.pickups") for name in pickups},
        elements=_struts(elements),
        bars=_bars(elements),
    )
    _names_exist(axle)
    _rocker_has_an_arm(axle)
    return axle


def plain_travel(tree: Tree) -> PlainTravel:
    """The ranges of a hand-off's `travel` entry. Raises UnreadableError, naming the entry."""
    step = number(tree, "step", "travel")
    if step <= 0.0:
        raise UnreadableError(f"travel.step: a step above 0 is needed here, found {step!r}")
    travel = PlainTravel(
        wheel=_range(tree, "wheel", step),
        heave=_range(tree, "heave", step),
        roll=_range(tree, "roll", step),
        rack=_range(tree, "rack", step) if "rack" in tree else None,
        step=step,
    )
    states = math.prod((high - low) / step + 2.0 for low, high in (travel.heave, travel.roll))
    if states > MOST_STATES:
        raise UnreadableError(f"travel.step: {states:.0f} states of heave and roll; a longer step is needed here")
    return travel


def skew(a: Vector) -> Vector:
    """The matrix (3, 3) of the vector product: skew(a) @ b = a x b. numpy's own `cross` takes ten times as long."""
    x, y, z = a.tolist()
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])


def section(tree: Tree, key: str, path: str) -> Tree:
    """The mapping under `key`; `path` says where `tree` is, for the error."""
    value = tree.get(key)
    if not isinstance(value, Mapping):
        raise UnreadableError(f"{path}.{key}: a mapping is needed here, found {value!r}".removeprefix("."))
    return value


def number(tree: Tree, key: str, path: str) -> float:
    """The finite number under `key`."""
    value = tree.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise UnreadableError(f"{path}.{key}: a number is needed here, found {value!r}")
    return float(value)


def vector(tree: Tree, key: str, path: str) -> Vector:
    """The point [x, y, z] under `key`."""
    value = tree.get(key)
    if not isinstance(value, list) or len(value) != 3:
        raise UnreadableError(f"{path}.{key}: a point [x, y, z] is needed here, found {value!r}")
    parts = dict(zip("xyz", value, strict=True))
    return np.array([number(parts, letter, f"{path}.{key}") for letter in "xyz"])


def _range(tree: Tree, key: str, step: float) -> tuple[float, float]:
    value = tree.get(key)
    if not isinstance(value, list) or len(value) != 2:
        raise UnreadableError(f"travel.{key}: a range [low, high] is needed here, found {value!r}")
    parts = dict(zip(("low", "high"), value, strict=True))
    low, high = number(parts, "low", f"travel.{key}"), number(parts, "high", f"travel.{key}")
    if not low <= 0.0 <= high or high - low > MOST_POINTS * step:
        raise UnreadableError(
            f"travel.{key}: a range around 0 of at most {MOST_POINTS} steps is needed here: {value!r}"
        )
    return low, high


def _carriers(value: object) -> tuple[str, ...]:
    if value == "upright":
        return ()
    if isinstance(value, str):
        return (value,)
    if isinstance(value, list) and len(value) == 2:
        return str(value[0]), str(value[1])
    raise UnreadableError(f"axle.rod.carried_by: `upright`, a link or two links are needed here, found {value!r}")


def _links(tree: Tree) -> dict[str, PlainLink]:
    links = {}
    for name in tree:
        link, path = section(tree, name, "axle.links"), f"axle.links.{name}"
        follows = link.get("inboard_moves_with") == "rack"
        inboard, outboard = vector(link, "inboard", path), vector(link, "outboard", path)
        if np.array_equal(inboard, outboard):
            raise UnreadableError(f"{path}: two different points are needed here")
        links[name] = PlainLink(inboard, outboard, follows)
    if len(links) != 5:
        raise UnreadableError(f"axle.links: five links are needed here, found {len(links)}")
    return links


def _bars(tree: Tree) -> dict[str, PlainBar]:
    bars = {}
    for name in tree:
        bar, path = section(tree, name, "axle.elements"), f"axle.elements.{name}"
        if bar.get("kind") == "torsion_bar":
            bars[name] = PlainBar()
        elif bar.get("kind") == "bar":
            arm = section(bar, "arm", path)
            pivot, end = (vector(arm, key, f"{path}.arm") for key in ("pivot", "end"))
            bars[name] = PlainBar(str(bar.get("pickup")), pivot, end)
            if not np.any((end - pivot)[[0, 2]]):
                raise UnreadableError(f"{path}.arm.end: a point off the bar's line is needed here")
    return bars


def _struts(tree: Tree) -> dict[str, PlainElement]:
    elements = {}
    for name in tree:
        element, path = section(tree, name, "axle.elements"), f"axle.elements.{name}"
        if element.get("kind", "strut") != "strut":
            continue
        left, right, serves = (element.get(key) for key in ("left", "right", "serves"))
        chassis = vector(element, "chassis", path) if "chassis" in element else None
        if (right is None) == (chassis is None):
            raise UnreadableError(f"{path}: one of `right` and `chassis` is needed here")
        elements[name] = PlainElement(
            str(left), None if right is None else str(right), chassis, None if serves is None else str(serves)
        )
    return elements


def _names_exist(axle: PlainAxle) -> None:
    for name in axle.carried_by:
        if name not in axle.links:
            raise UnreadableError(f"axle.rod.carried_by: there is no link `{name}`")
    named = [(name, pickup) for name, element in axle.elements.items() for pickup in (element.left, element.right)]
    for name, pickup in [*named, *((name, bar.pickup) for name, bar in axle.bars.items())]:
        if pickup is not None and pickup not in axle.pickups:
            raise UnreadableError(f"axle.elements.{name}: there is no pick-up `{pickup}`")
    for name, element in axle.elements.items():
        if element.right is not None and element.serves not in ("heave", "roll"):
            raise UnreadableError(f"axle.elements.{name}.serves: heave or roll is needed here")


def _rocker_has_an_arm(axle: PlainAxle) -> None:
    if not np.any(skew(axle.axis) @ (axle.rod_inboard - axle.pivot)):
        raise UnreadableError("axle.rocker.rod: a point off the rocker's axis is needed here")
