"""The numerical heart of an axle's motion, behind one door: upright, rocker loop and strut lengths at many states.

`PLAIN` is numpy, for any batch. `geometry.lanes` holds the same functions compiled, for batches laid out in lanes.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from geometry.arrays import MIRROR_Y, Array, Indices, dot, norm
from geometry.axle import Link, Wheel
from geometry.hardpoints import Hardpoints
from geometry.rocker import Lever, Loop, Turn, close_loop, reserve_rate, turn_rate
from geometry.side import Pairs, SideTree
from geometry.upright import UprightMotion, trace_upright


@dataclass(frozen=True)
class Closing:
    """The rod-rocker loop at K side states.

    `rate` (*B, K, 2) [rad/mm], the turn's, and `slope` (*B, K, 2) [1/mm], the reserve's, per mm of
    wheel travel and of rack; `loop`: reserve and rod arm (*B, K).
    """

    loop: Loop
    rate: Array
    slope: Array

    @property
    def turn(self) -> Turn:
        """The rocker's angle from static (*B, K)."""
        return self.loop.turn

    @property
    def reserve(self) -> Array:
        """What is left of the loop before it opens (*B, K)."""
        return self.loop.reserve


@dataclass(frozen=True)
class Pull:
    """A strut at S states: `length` (*B, S) [mm] and what it does with the wheels.

    `left`, `right` (*B, S) [mm/rad]: d compression / d angle of its left and right rocker; `by_left`, `by_right`
    (*B, S) [mm/mm]: d compression / d travel of the left and right wheel. The right ones are 0 for a corner strut.
    """

    length: Array
    left: Array
    right: Array
    by_left: Array
    by_right: Array


class Kernel(Protocol):
    """The functions that a search spends its time in."""

    def trace(self, wheel: Wheel, links: Mapping[str, Link], tree: SideTree) -> UprightMotion:
        """Follow the upright along a tree of side states, as in `geometry.upright.trace_upright`."""

    def close(self, eye: Array, eye_rate: Array, points: Hardpoints) -> Closing:
        """Close the loop for the rod's outboard eyes (..., K, 3) [mm] with velocities (..., K, 3, 2) [mm/mm]."""

    def pull(self, left: Lever, far: Lever | Array, closing: Closing, pairs: Pairs) -> Pull:
        """A strut from the left lever to the mirrored lever `far`, or to a chassis point `far` (..., 3) [mm]."""


class _Plain:
    """Numpy for batches of any shape."""

    def trace(self, wheel: Wheel, links: Mapping[str, Link], tree: SideTree) -> UprightMotion:
        return trace_upright(wheel, links, tree)

    def close(self, eye: Array, eye_rate: Array, points: Hardpoints) -> Closing:
        loop = close_loop(eye, points)
        return Closing(loop, turn_rate(eye, eye_rate, points, loop.turn), reserve_rate(eye, eye_rate, points))

    def pull(self, left: Lever, far: Lever | Array, closing: Closing, pairs: Pairs) -> Pull:
        if not isinstance(far, Lever):
            end, swing = _swung(left, closing.turn, pairs.left)
            line = far[..., None, :] - end
            length = norm(line)
            by_angle = dot(line, swing) / length
            nothing = np.zeros_like(length)
            return Pull(length, by_angle, nothing, by_angle * closing.rate[..., pairs.left, 0], nothing)
        return pull_across(left, far, closing, closing, pairs)


PLAIN: Kernel = _Plain()


def pull_across(left: Lever, right: Lever, here: Closing, there: Closing, pairs: Pairs) -> Pull:
    """A strut from the left side's lever `left` to the right side's mirrored lever `right`, each with its own loop."""
    end, swing = _swung(left, here.turn, pairs.left)
    far_end, far_swing = _swung(right, there.turn, pairs.right)
    line = MIRROR_Y * far_end - end
    length = norm(line)
    by_left, by_right = dot(line, swing) / length, -dot(line, MIRROR_Y * far_swing) / length
    return Pull(
        length,
        by_left,
        by_right,
        by_left * here.rate[..., pairs.left, 0],
        by_right * there.rate[..., pairs.right, 0],
    )


def _swung(lever: Lever, turn: Turn, index: Indices) -> tuple[Array, Array]:
    """A lever's end (..., S, 3) [mm] and its velocity per radian at some side states."""
    cos, sin = turn.cos[..., index, None], turn.sin[..., index, None]
    u, w = lever.u[..., None, :], lever.w[..., None, :]
    return lever.centre[..., None, :] + cos * u + sin * w, cos * w - sin * u
