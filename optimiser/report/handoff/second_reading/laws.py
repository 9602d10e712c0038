"""What a spring of a hand-off does, from the definition of its kind: force against compression from static.

Compression of a strut in mm and force in N; of a bar its twist in rad and its moment in N.mm.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from optimiser.report.handoff.second_reading.plain import Tree, UnreadableError, number, section

CARRIES_WEIGHT = "carries_weight"
SOLID_RATE = 1e5
"""Rate of a coil beyond its solid length, by definition [N/mm]."""
MILLI = 1e3
"""N.mm in a N.m."""
PER_RADIAN = MILLI * 180.0 / math.pi
"""N.mm/rad in a N.m/deg."""
NUDGE = 1e-4
"""Compression over which a rate is taken, upwards: forces are straight between their knees [mm]; [rad] for bars."""


@dataclass(frozen=True)
class PlainSpring:
    """A spring as written: its numbers, and for a curve its points (compression beyond the gap, force)."""

    on: str
    kind: str
    numbers: Mapping[str, float]
    points: tuple[tuple[float, float], ...] = ()
    carries_weight: bool = False
    pulls: bool = False

    @property
    def is_pushing(self) -> bool:
        """Whether it is a coil or a pair in series that cannot pull."""
        return (self.kind == "coil" and not self.pulls) or self.kind == "series"

    @property
    def has_solid_length(self) -> bool:
        """Whether it is a coil of which free and solid length are known."""
        return self.kind == "coil" and "free_length" in self.numbers


def plain_springs(tree: Tree) -> dict[str, PlainSpring]:
    """The springs of a hand-off. Raises UnreadableError, naming the entry, where a number is missing."""
    springs = section(tree, "springs", "") if "springs" in tree else {}
    return {name: _spring(section(springs, name, "springs"), f"springs.{name}") for name in springs}


def force(spring: PlainSpring, static: float, c: float) -> float:
    """The force [N, N.mm] at a compression; `static` is its force where it carries the weight, else unused."""
    n = spring.numbers
    at_rest = static if spring.carries_weight else n.get("static", 0.0)
    match spring.kind:
        case "coil":
            return _coil(spring, at_rest, c)
        case "opposed":
            return max(n["preload"] + n["rate"] * c, 0.0) - max(n["preload"] - n["rate"] * c, 0.0)
        case "curve":
            return _curve(spring.points, c - n["gap"])
        case "series":
            return _series(n["first"], n["second"], n["solid_at"], at_rest, c)
        case "torsion":
            return (at_rest if spring.carries_weight else MILLI * at_rest) + PER_RADIAN * n["rate"] * c
        case _:
            return PER_RADIAN * n["rate"] * c


def rate(spring: PlainSpring, static: float, c: float) -> float:
    """dF/dc just above a compression [N/mm, N.mm/rad]."""
    return (force(spring, static, c + NUDGE) - force(spring, static, c)) / NUDGE


def slack_at(spring: PlainSpring, static: float) -> float:
    """The compression at and below which a spring that cannot pull is slack."""
    at_rest = static if spring.carries_weight else spring.numbers["static"]
    if spring.kind == "coil":
        return -at_rest / spring.numbers["rate"]
    n = spring.numbers
    return -_series_squeeze(n["first"], n["second"], n["solid_at"], at_rest)


def solid_at(spring: PlainSpring, static: float) -> float:
    """The compression at which a coil is solid [mm]."""
    n = spring.numbers
    at_rest = static if spring.carries_weight else n["static"]
    return n["free_length"] - n["solid_length"] - at_rest / n["rate"]


def _coil(spring: PlainSpring, at_rest: float, c: float) -> float:
    pushed = at_rest + spring.numbers["rate"] * c
    total = pushed if spring.pulls else max(pushed, 0.0)
    if spring.has_solid_length:
        beyond = c - spring.numbers["free_length"] + spring.numbers["solid_length"] + at_rest / spring.numbers["rate"]
        total += (SOLID_RATE - spring.numbers["rate"]) * max(beyond, 0.0)
    return total


def _curve(points: tuple[tuple[float, float], ...], x: float) -> float:
    if x <= 0.0:
        return 0.0
    for (x0, f0), (x1, f1) in pairwise(points):
        if x <= x1 or x1 == points[-1][0]:
            return f0 + (f1 - f0) / (x1 - x0) * (x - x0)
    return math.nan


def _series(first: float, second: float, solid: float, at_rest: float, c: float) -> float:
    """Both share the force until the first has been squeezed by `solid`; then the second alone goes on."""
    x = _series_squeeze(first, second, solid, at_rest) + c
    shared = solid + first * solid / second
    if x <= shared:
        return max(x, 0.0) / (1.0 / first + 1.0 / second)
    return first * solid + second * (x - shared)


def _series_squeeze(first: float, second: float, solid: float, at_rest: float) -> float:
    """How far both are squeezed from free under a force."""
    return min(at_rest / first, solid) + at_rest / second


def _spring(tree: Tree, path: str) -> PlainSpring:
    kind = str(tree.get("kind"))
    if kind not in _NUMBERS:
        raise UnreadableError(f"{path}.kind: a kind of spring is needed here, found {kind!r}")
    carries = tree.get("static") == CARRIES_WEIGHT
    keys = [key for key in _NUMBERS[kind] if not (key == "static" and carries)]
    numbers = {key: number(tree, key, path) for key in keys}
    if kind == "coil" and "free_length" in tree:
        numbers |= {key: number(tree, key, path) for key in ("free_length", "solid_length")}
    if kind == "series":
        numbers |= dict(zip(("first", "second"), _pair(tree.get("rates"), f"{path}.rates"), strict=True))
    points = plain_points(tree, path) if kind == "curve" else ()
    return PlainSpring(str(tree.get("on")), kind, numbers, points, carries, tree.get("pulls") is True)


_NUMBERS = {
    "coil": ("rate", "static"),
    "opposed": ("rate", "preload"),
    "curve": ("gap",),
    "series": ("solid_at", "static"),
    "torsion": ("rate", "static"),
    "bar": ("rate",),
}
"""The numbers that a spring of each kind has."""


def plain_points(tree: Tree, path: str) -> tuple[tuple[float, float], ...]:
    """The points of a curve, at least two, the first numbers rising."""
    value = tree.get("points")
    rows = value if isinstance(value, list) else []
    points = tuple(_pair(row, f"{path}.points") for row in rows)
    if len(points) < 2 or any(a[0] >= b[0] for a, b in pairwise(points)):
        raise UnreadableError(f"{path}.points: rising points are needed here, found {value!r}")
    return points


def _pair(value: object, path: str) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise UnreadableError(f"{path}: two numbers are needed here, found {value!r}")
    parts = {"0": value[0], "1": value[1]}
    return number(parts, "0", path), number(parts, "1", path)
