"""How an axle moves: the one public call takes axles and states, and gives arrays.

| symbol | meaning | shape | unit |
|---|---|---|---|
| B | batch axes of the axle | | |
| S | states asked for | | |
| K | left-side states that they are made of | | |
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.arrays import Array, Codes, Flags, turn
from geometry.axle import Axle
from geometry.contact import Contact, contact_motion
from geometry.side import Pairs, pair_up
from geometry.side_curve import SideCurve, curve_side
from geometry.side_motion import SideMotion, trace_side
from geometry.squeeze import Squeeze, squeeze
from geometry.status import Status, worst
from geometry.strut import StrutMotion, strut_motion
from geometry.travel import AxleStates
from geometry.upright import trace_upright


def move(axle: Axle, states: AxleStates) -> "Motion":
    """Move an axle, or a batch of them, through states.

    `axle`'s numbers carry batch axes B that broadcast, `states` holds S states. Never raises for a geometry that cannot
    move: each state has a `Status`, and numbers are NaN where it is not OK.
    """
    tree, (pairs,) = pair_up(states)
    return Motion(trace_side(axle, trace_upright(axle.wheel, axle.links, tree), tree), pairs)


@dataclass(frozen=True)
class WheelMotion:
    """The left wheel: `centre` [mm], `spin_axis` (..., S, 3); `camber`, `toe` (..., S) [rad] against the chassis."""

    centre: Array
    spin_axis: Array
    camber: Array
    toe: Array


@dataclass(frozen=True)
class Motion:
    """An axle at S states: views of its sides at the pairs of side states that they are made of.

    `right`, where given, is the right side in left-hand coordinates, for axles whose sides are not each other's mirror;
    it tells in `status` and `strut` alone.
    """

    side: SideMotion
    pairs: Pairs
    right: SideMotion | None = None

    @cached_property
    def status(self) -> Codes:
        """(*B, S): that of the worse side."""
        left, right = self.side.status[..., self.pairs.left], (self.right or self.side).status[..., self.pairs.right]
        return worst(np.stack(np.broadcast_arrays(left, right), axis=-1))

    @cached_property
    def rocker_angle(self) -> Array:
        """Left rocker's angle from static, positive about its axis (*B, S) [rad]."""
        return self._kept(self.side.closing.turn.angle[..., self.pairs.left])

    @cached_property
    def rod_outboard(self) -> Array:
        """Left rod's outboard eye (*B, S, 3) [mm]."""
        eye = np.broadcast_to(self.side.eye, (*self.side.status.shape, 3))
        return np.where(self._ok[..., None], eye[..., self.pairs.left, :], np.nan)

    @cached_property
    def rod_transmission(self) -> Array:
        """Left rod's transmission angle (*B, S) [rad], see `SideMotion.rod_transmission`."""
        return self._kept(self.side.rod_transmission[..., self.pairs.left])

    @cached_property
    def rod_tilt(self) -> Array:
        """Left rod's tilt out of the rocker's plane (*B, S) [rad]."""
        return self._kept(self.side.rod_tilt[..., self.pairs.left])

    @cached_property
    def wheel(self) -> WheelMotion:
        """The left wheel; its batch axes are those of wheel and links alone."""
        return wheel_motion(self.side, self.pairs)

    def strut(self, name: str) -> StrutMotion:
        """An element at these states, arrays (*B, S)."""
        return strut_motion(self.side, name, self.pairs, self._ok, self.right)

    def squeeze(self, name: str) -> Squeeze:
        """An element of any kind at these states: compression or twist, and its derivatives, arrays (*B, S)."""
        return squeeze(self.side, name, self.pairs, self.status, lambda: self._curve)

    @cached_property
    def contact(self) -> Contact:
        """The left tyre's contact point; its batch axes are those of wheel and links alone."""
        return contact_motion(self.side, self.pairs)

    @cached_property
    def _curve(self) -> tuple[SideCurve, Pairs]:
        nodes, place = np.unique(np.concatenate([self.pairs.left, self.pairs.right]), return_inverse=True)
        left, right = np.split(place, 2)
        return curve_side(self.side, nodes), Pairs(left, right)

    @cached_property
    def _ok(self) -> Flags:
        return np.asarray(self.status == Status.OK)

    def _kept(self, values: Array) -> Array:
        return np.where(self._ok, values, np.nan)


def wheel_motion(side: SideMotion, pairs: Pairs) -> WheelMotion:
    """The left wheel at the left side of each pair.

    Spin axis n outward; camber = -asin(n_z), toe = atan2(n_x, n_y) (ISO 8855:2011, 7.1.6: toe-in positive).
    """
    upright = side.upright
    n = turn(upright.rotation[..., pairs.left, :, :], side.axle.wheel.spin_axis[..., None, :])
    return WheelMotion(
        centre=upright.centre[..., pairs.left, :],
        spin_axis=n,
        camber=-np.arcsin(np.clip(n[..., 2], -1.0, 1.0)),
        toe=np.arctan2(n[..., 0], n[..., 1]),
    )
