"""Which bodies an axle has in its room, and which of them can meet.

| body | taken as |
|---|---|
| rod, link, strut | capsule from eye to eye |
| rocker | a capsule from the pivot to the rod's end and to each pick-up of a strut |
| wheel | cylinder with flat ends on the spin axis |
| keep-out | capsule or box |

Every two bodies can meet, of one side, of both sides, or of one and what spans the car, but for these: fixed ones with
one another; the wheel with the rod and the links, which reach into it to hold it; links that share an outboard point,
which are one wishbone; the rod and the links that carry it; and the wheel with anything of the other side.
Two capsules that share a joint are each cut back from it by `CUT` times the sum of their radii: straight parts then
only meet where the angle between them is under 29 deg.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, product

import numpy as np

from geometry.arrays import Flags
from geometry.meetings import BOX, CAPSULE, Bodies
from geometry.meetings import WHEEL as A_WHEEL
from objectives.envelope.envelope import LINKS, ROCKER, ROD, WHEEL
from objectives.envelope.states import OF_BOTH, OF_SIDE

CUT = 2.0
"""How far two capsules are cut back from a joint that they share, in sums of their radii."""
LEFT, RIGHT = 0, 1


@dataclass(frozen=True)
class Outline:
    """What an axle's bodies follow from, without its numbers; every field can be hashed.

    `links`: name and the name of the first link with the same outboard point. `struts`: name, left pick-up, right
    pick-up or None for a corner strut. `diameters`: name and diameter [mm]; `wheel`: diameter and width; `keep_out`:
    name and diameter, None for a box.
    """

    carried_by: tuple[str, ...]
    links: tuple[tuple[str, str], ...]
    struts: tuple[tuple[str, str, str | None], ...]
    diameters: tuple[tuple[str, float], ...]
    wheel: tuple[float, float] | None
    keep_out: tuple[tuple[str, float | None], ...]


@dataclass(frozen=True)
class Assembly:
    """The bodies, and the points that they hang on: of the rocker, standing still, and on paths of their own.

    `pairs`: the two names of each group of meetings, sorted; `fixed`: whether one of the two is a keep-out.
    """

    bodies: Bodies
    turning: tuple[str, ...]
    still: tuple[str, ...]
    paths: tuple[str, ...]
    pairs: tuple[tuple[str, str], ...]
    fixed: tuple[bool, ...]


@lru_cache(maxsize=32)
def assemble(outline: Outline) -> Assembly:
    """The bodies of an axle and all their meetings."""
    sided, across, fixed = _sided(outline), _across(outline), _fixed(outline)
    meetings = list(_meetings(outline, sided, across, fixed))
    pairs = sorted({_pair(a.body, b.body) for a, b, _ in meetings})
    names = {part.body for part in fixed}
    ends = dict.fromkeys(end for part in (*sided, *across, *fixed) for end in (part.first[0], part.second[0]))
    turning, still, paths = (tuple(end for end in ends if _moves(end) == how) for how in ("turning", "still", "path"))
    place = {end: k for k, end in enumerate((*turning, *still, *paths))}
    parts = list(dict.fromkeys(part for a, b, _ in meetings for part in (a, b)))
    return Assembly(
        Bodies(
            np.array(
                [(p.kind, place[p.first[0]], p.first[1], place[p.second[0]], p.second[1]) for p in parts], dtype=np.intp
            ).reshape(-1, 5),
            np.array([(p.radius, p.half) for p in parts]).reshape(-1, 2),
            np.array(
                [(parts.index(a), parts.index(b), pairs.index(_pair(a.body, b.body)), of) for a, b, of in meetings],
                dtype=np.intp,
            ).reshape(-1, 4),
            np.array([_cuts(a, b) for a, b, _ in meetings], dtype=np.float64).reshape(-1, 4),
            _again([(a, b) for a, b, _ in meetings]),
        ),
        turning,
        still,
        paths,
        tuple(pairs),
        tuple(not names.isdisjoint(pair) for pair in pairs),
    )


@dataclass(frozen=True)
class _Part:
    """A capsule, box or wheel of a body: ends as a point's name and its side."""

    body: str
    first: tuple[str, int]
    second: tuple[str, int]
    radius: float
    kind: int = CAPSULE
    half: float = 0.0

    @property
    def mirrored(self) -> "_Part":
        ends = ((self.first[0], RIGHT), (self.second[0], RIGHT))
        return _Part(self.body, *ends, self.radius, self.kind, self.half)

    @property
    def image(self) -> tuple[object, ...]:
        """What the mirror image of this part is known by."""
        return self.body, frozenset((name, LEFT + RIGHT - side) for name, side in (self.first, self.second))

    @property
    def identity(self) -> tuple[object, ...]:
        """What this part is known by, whichever end comes first."""
        return self.body, frozenset((self.first, self.second))


def _sided(outline: Outline) -> list[_Part]:
    """The left side's parts."""
    size = dict(outline.diameters)
    parts = []
    if ROD in size:
        parts.append(_Part(ROD, ("eye", LEFT), ("turning.rod", LEFT), size[ROD] / 2.0))
    if ROCKER in size:
        pickups = dict.fromkeys(p for _, left, right in outline.struts for p in (left, right) if p)
        ends = ["turning.rod", *(f"turning.pickups.{name}" for name in pickups)]
        parts += [_Part(ROCKER, ("pivot", LEFT), (end, LEFT), size[ROCKER] / 2.0) for end in ends]
    if LINKS in size:
        parts += [
            _Part(name, (f"inboard.{name}", LEFT), (f"outboard.{same}", LEFT), size[LINKS] / 2.0)
            for name, same in outline.links
        ]
    for name, left, right in outline.struts:
        if right is None and name in size:
            parts.append(_Part(name, (f"turning.pickups.{left}", LEFT), (f"chassis.{name}", LEFT), size[name] / 2.0))
    if outline.wheel is not None:
        diameter, width = outline.wheel
        parts.append(_Part(WHEEL, ("wheel", LEFT), ("spin", LEFT), diameter / 2.0, A_WHEEL, width / 2.0))
    return parts


def _across(outline: Outline) -> list[_Part]:
    """The parts that span the car."""
    size = dict(outline.diameters)
    return [
        _Part(name, (f"turning.pickups.{left}", LEFT), (f"turning.pickups.{right}", RIGHT), size[name] / 2.0)
        for name, left, right in outline.struts
        if right is not None and name in size
    ]


def _fixed(outline: Outline) -> list[_Part]:
    return [
        _Part(name, (f"first.{name}", LEFT), (f"last.{name}", LEFT), (diameter or 0.0) / 2.0, _kind(diameter))
        for name, diameter in outline.keep_out
    ]


def _kind(diameter: float | None) -> int:
    return BOX if diameter is None else CAPSULE


def _meetings(
    outline: Outline, sided: list[_Part], across: list[_Part], fixed: list[_Part]
) -> Iterator[tuple[_Part, _Part, int]]:
    """Every meeting: two parts, the box or the wheel second, the box after the wheel, and the states it may be in."""
    for a, b in combinations(sided, 2):
        if a.body != b.body and not _held_together(outline, a, b):
            yield a, b, OF_SIDE
    for a, b in product(sided, sided):
        if WHEEL not in (a.body, b.body):
            yield a, b.mirrored, OF_BOTH
    for a, b in product(sided, across):
        yield (*((b, a) if a.kind == A_WHEEL else (a, b)), OF_BOTH)
        yield (*((b, a.mirrored) if a.kind == A_WHEEL else (a.mirrored, b)), OF_BOTH)
    for a, b in combinations(across, 2):
        yield a, b, OF_BOTH
    for a, b in product(sided, fixed):
        for one in (a, a.mirrored):
            yield (*((b, one) if a.kind == A_WHEEL and b.kind != BOX else (one, b)), OF_SIDE)
    for a, b in product(across, fixed):
        yield a, b, OF_BOTH


def _held_together(outline: Outline, a: _Part, b: _Part) -> bool:
    """Whether two parts of one side are held as one, or one reaches into the other by nature."""
    links = {name for name, _ in outline.links}
    names = {a.body, b.body}
    if WHEEL in names:
        return bool(names & (links | {ROD}))
    if ROD in names and names & set(outline.carried_by):
        return True
    return names <= links and a.second == b.second


def _cuts(a: _Part, b: _Part) -> tuple[float, float, float, float]:
    cut = CUT * (a.radius + b.radius) if a.kind == b.kind == CAPSULE else 0.0
    own, other = (a.first, a.second), (b.first, b.second)
    shared = set(own) & set(other)
    first, second, third, fourth = (cut if end in shared else 0.0 for end in (*own, *other))
    return first, second, third, fourth


def _again(meetings: list[tuple[_Part, _Part]]) -> Flags:
    """Whether a meeting of two parts that move is the mirror image of one before it."""
    seen: set[frozenset[tuple[object, ...]]] = set()
    found = []
    for a, b in meetings:
        found.append(frozenset((a.image, b.image)) in seen)
        seen.add(frozenset((a.identity, b.identity)))
    return np.array(found, dtype=np.bool_)


def _pair(a: str, b: str) -> tuple[str, str]:
    return (a, b) if a <= b else (b, a)


def _moves(end: str) -> str:
    """How a point moves: it turns with the rocker, stands still, or goes along a path of its own."""
    kind = end.partition(".")[0]
    if kind == "turning":
        return "turning"
    return "still" if kind in ("pivot", "chassis", "first", "last") else "path"
