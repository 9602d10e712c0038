"""How far an element of any kind is squeezed, and its first and second derivatives by the travel of the two wheels.

What energies, forces and rates are made of: c for a spring, with U = U(c(z_left, z_right)). The rack is held.

| symbol | meaning | unit |
|---|---|---|
| l, L | line of a strut from its left to its other end, and its length | mm |
| P, P', P'' | left end; its derivatives by the left wheel's travel | mm, -, 1/mm |
| Q, Q', Q'' | other end; its derivatives by the right wheel's travel | mm, -, 1/mm |

L^2 = l . l gives, with u = l / L and l' = -P' or Q': L'' = (|l'|^2 - (u . l')^2) / L + u . l'', and for the mixed
derivative -(P' . Q' - (u . P')(u . Q')) / L.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np

from geometry.arrays import MIRROR_Y, Array, Codes, Flags, dot, norm
from geometry.axle import AntiRollBar, CornerStrut, CrossStrut, TorsionBar
from geometry.side import Pairs
from geometry.side_curve import SideCurve
from geometry.side_motion import SideMotion
from geometry.status import Status, worst
from geometry.strut import strut_motion

Curves: TypeAlias = tuple[Array, Array, Array]
"""Second derivatives by left, right, and left and right wheel travel."""
Bend: TypeAlias = Callable[[], tuple[SideCurve, Pairs]]
"""Gives the second derivatives of the left side, and the states as pairs of positions in them."""


@dataclass(frozen=True)
class Squeeze:
    """An element at S states, arrays (*B, S).

    `compression` c from static, positive when squeezed: [mm] for a strut, [rad] for a bar. `by_left`, `by_right`: dc by
    the travel of the left and the right wheel [mm/mm or rad/mm]. For a corner strut or a torsion bar it is the left
    one's, and what is by the right wheel is 0; the right one is had by swapping the wheels. A torsion bar's c is its
    rocker's angle, positive in the sense in which bump turns it at static; an anti-roll bar's is the left arm's angle
    less the right arm's, each positive in that sense. `status`: the axle's, or the element's own: `over_centre` for a
    strut whose arm has changed sign; for a bar `unreachable` where its drop link cannot reach and `over_centre` beyond.

    Numbers are NaN where the axle or the bar cannot be; a strut over its own centre keeps them.
    """

    compression: Array
    by_left: Array
    by_right: Array
    status: Codes
    _bend: Callable[[], Curves]

    @property
    def curve_left(self) -> Array:
        """d2c / dz_left^2 [mm/mm^2 or rad/mm^2]."""
        return self._curves[0]

    @property
    def curve_right(self) -> Array:
        """d2c / dz_right^2 [mm/mm^2 or rad/mm^2]."""
        return self._curves[1]

    @property
    def curve_cross(self) -> Array:
        """d2c / dz_left dz_right [mm/mm^2 or rad/mm^2]; 0 for a bar and a corner strut."""
        return self._curves[2]

    @cached_property
    def _curves(self) -> Curves:
        return self._bend()


def squeeze(side: SideMotion, name: str, pairs: Pairs, status: Codes, bend: Bend) -> Squeeze:
    """The element `name` at pairs of side states with the axle's `status` (*B, S); KeyError where there is none."""
    element = side.axle.elements[name]
    match element:
        case CornerStrut() | CrossStrut():
            return _strut(side, name, pairs, status, bend)
        case TorsionBar():
            return _torsion_bar(side, pairs, status, bend)
        case AntiRollBar():
            return _anti_roll_bar(side, name, element, pairs, status, bend)


def _strut(side: SideMotion, name: str, pairs: Pairs, status: Codes, bend: Bend) -> Squeeze:
    ok = np.asarray(status == Status.OK)
    strut = strut_motion(side, name, pairs, ok)
    own = np.where(strut.over_centre, Status.OVER_CENTRE, status).astype(np.int8)
    curves = _strut_bend(side, name, bend, ok)
    return Squeeze(strut.compression, strut.by_left, strut.by_right, own, curves)


def _strut_bend(side: SideMotion, name: str, bend: Bend, ok: Flags) -> Callable[[], Curves]:
    element = side.axle.struts[name]

    def curves() -> Curves:
        here, at = bend()
        p, p1, p2 = (part[..., at.left, :] for part in here.pickup(element.left))
        if isinstance(element, CornerStrut):
            q, zero = element.chassis[..., None, :], np.zeros(3)
            return _lengthening(q - p, p1, p2, zero, zero, ok)
        q, q1, q2 = (MIRROR_Y * part[..., at.right, :] for part in here.pickup(element.right))
        return _lengthening(q - p, p1, p2, q1, q2, ok)

    return curves


def _lengthening(line: Array, p1: Array, p2: Array, q1: Array, q2: Array, ok: Flags) -> Curves:
    """Second derivatives of -L; see this module's first lines."""
    length = norm(line)
    u = line / length[..., None]
    left, right = dot(u, p1), dot(u, q1)
    parts = (
        (left**2 - dot(p1, p1)) / length + dot(u, p2),
        (right**2 - dot(q1, q1)) / length - dot(u, q2),
        (dot(p1, q1) - left * right) / length,
    )
    by_left, by_right, mixed = (np.where(ok, part, np.nan) for part in parts)
    return by_left, by_right, mixed


def _torsion_bar(side: SideMotion, pairs: Pairs, status: Codes, bend: Bend) -> Squeeze:
    ok, sense = np.asarray(status == Status.OK), side.bump[..., None]
    nothing = np.where(ok, 0.0, np.nan)

    def kept(values: Array) -> Array:
        return np.where(ok, sense * values, np.nan)

    def curves() -> Curves:
        here, at = bend()
        return kept(here.curve[..., at.left]), nothing, nothing

    angle, rate = side.closing.turn.angle[..., pairs.left], side.closing.rate[..., pairs.left, 0]
    return Squeeze(kept(angle), kept(rate), nothing, status, curves)


def _anti_roll_bar(
    side: SideMotion, name: str, element: AntiRollBar, pairs: Pairs, status: Codes, bend: Bend
) -> Squeeze:
    bar = side.bar(name)
    arms = np.stack([bar.status[..., pairs.left], bar.status[..., pairs.right]], axis=-1)
    own = np.where(status == Status.OK, worst(arms), status).astype(np.int8)
    ok, sense = np.asarray(own == Status.OK), bar.sense[..., None]

    def kept(values: Array) -> Array:
        return np.where(ok, sense * values, np.nan)

    def curves() -> Curves:
        here, at = bend()
        curve = here.bar(element, bar)
        return kept(curve[..., at.left]), kept(-curve[..., at.right]), np.where(ok, 0.0, np.nan)

    angle, rate = bar.closing.turn.angle, bar.closing.rate[..., 0]
    twist = angle[..., pairs.left] - angle[..., pairs.right]
    return Squeeze(kept(twist), kept(rate[..., pairs.left]), kept(-rate[..., pairs.right]), own, curves)
