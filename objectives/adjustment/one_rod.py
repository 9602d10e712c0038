"""The axle with the left rod alone turned: its two sides are then no mirror of each other.

The body is held level in roll, as a car's other axle does that is far stiffer in roll, and goes up or down as it will:
so the load that one rod moves across is the most that it can be.
"""

from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from geometry.anywhere import side_at
from geometry.arrays import Array
from geometry.bar import BarMotion
from geometry.kernel import Closing
from geometry.motion import Motion
from geometry.rocker import Loop, Turn
from geometry.side import Pairs, untied_states
from geometry.side_motion import SideMotion
from geometry.upright import UprightMotion
from objectives.adjustment.resting import Hold, lean_of, level, missed_by
from objectives.strain import Strain, strain_of

T = TypeVar("T", np.float64, np.bool_, np.int8)
_LEFT_AND_RIGHT = Pairs(np.array([0]), np.array([1]))


def moved_across(turned: SideMotion, drawn: SideMotion, hold: Hold) -> Array:
    """By how much the left wheel's load grows, and the right one's falls, when the left rod alone is turned (*B) [N].

    `turned`, `drawn`: the left side with the rods turned and as drawn, each traced at rack 0, with the same batch axes.
    NaN where the body comes to no rest, or where no spring holds it.
    """
    if not hold.sprung:
        return np.full(turned.batch, np.nan)

    def strain(h: Array) -> Strain:
        side = _side_by_side(side_at(turned, h[..., None]), side_at(drawn, h[..., None]))
        return strain_of(side.axle, hold.springs, Motion(side, _LEFT_AND_RIGHT))

    return lean_of(strain(level(lambda h: missed_by(strain(h), hold), turned.batch, hold))) - hold.lean


def _side_by_side(left: SideMotion, right: SideMotion) -> SideMotion:
    """Two sides of one state each as one side of two states; the rocker's points are those as drawn."""
    side = replace(
        left,
        upright=_both_uprights(left.upright, right.upright),
        tree=untied_states(2),
        eye=_both(left.eye, right.eye, -2),
        closing=_both_closings(left.closing, right.closing),
        status=_both(left.status, right.status, -1),
    )
    for name in left.axle.anti_roll_bars:
        one, other = left.bar(name), right.bar(name)
        closing, status = _both_closings(one.closing, other.closing), _both(one.status, other.status, -1)
        side.keep_bar(name, BarMotion(other.linkage, closing, status, other.sense))
    return side


def _both_uprights(left: UprightMotion, right: UprightMotion) -> UprightMotion:
    curve = None if left.curve is None or right.curve is None else _both(left.curve, right.curve, -2)
    return UprightMotion(
        left.static_centre,
        centre=_both(left.centre, right.centre, -2),
        rotation=_both(left.rotation, right.rotation, -3),
        rate=_both(left.rate, right.rate, -3),
        locked=_both(left.locked, right.locked, -1),
        reached=_both(left.reached, right.reached, -1),
        curve=curve,
    )


def _both_closings(left: Closing, right: Closing) -> Closing:
    turn = Turn(_both(left.turn.cos, right.turn.cos, -1), _both(left.turn.sin, right.turn.sin, -1))
    one, other = left.loop, right.loop
    reserve = _both(one.reserve, other.reserve, -1)
    loop = Loop(turn, reserve, _both(one.arm, other.arm, -1), _both(one.along, other.along, -1))
    return Closing(loop, _both(left.rate, right.rate, -2), _both(left.slope, right.slope, -2))


def _both(left: NDArray[T], right: NDArray[T], axis: int) -> NDArray[T]:
    """Two arrays of one state each side by side."""
    return np.concatenate(np.broadcast_arrays(left, right), axis=axis)
