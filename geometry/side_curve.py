"""Second derivatives of the left side's motion by wheel travel, the rack held: rod eye, rocker, pick-ups, bar arms."""

from dataclasses import dataclass

from geometry.arrays import Array, Indices, cross
from geometry.axle import AntiRollBar
from geometry.bar import BarMotion
from geometry.rocker import Turn, swing_point, turn_curve
from geometry.rod import curve_rod_eye
from geometry.side_motion import SideMotion
from geometry.upright_curve import UprightCurve, curve_upright


def curve_side(side: SideMotion, nodes: Indices) -> "SideCurve":
    """How the left side's motion changes at some of its states, `nodes` (N,)."""
    upright = curve_upright(side.axle.links, side.upright, side.tree, nodes)
    eye, turn = side.eye[..., nodes, :], _turn_at(side.closing.turn, nodes)
    velocity, curve = curve_rod_eye(side.axle, upright, eye)
    rate, bend = turn_curve(eye, velocity, curve, side.points, turn)
    return SideCurve(side, nodes, upright, turn, rate, bend)


@dataclass(frozen=True)
class SideCurve:
    """The left side at N side states; NaN where its status is not OK.

    `rate` [rad/mm], `curve` [rad/mm^2] (*B, N): derivatives of the rocker's angle by wheel travel.
    """

    side: SideMotion
    nodes: Indices
    upright: UprightCurve
    turn: Turn
    rate: Array
    curve: Array

    def pickup(self, name: str) -> tuple[Array, Array, Array]:
        """A pick-up: position [mm], velocity [mm/mm] and second derivative [1/mm] by wheel travel, each (*B, N, 3)."""
        point, swing = swing_point(self.side.points.arms[name], self.side.points, self.turn)
        rate, inward = self.rate[..., None], cross(self.side.points.axis[..., None, :], swing)
        return point, rate * swing, self.curve[..., None] * swing + rate**2 * inward

    def bar(self, bar: AntiRollBar, motion: BarMotion) -> Array:
        """Second derivative of the left arm's angle, positive about +y (*B, N) [rad/mm^2]."""
        point, velocity, curve = self.pickup(bar.pickup)
        return turn_curve(point, velocity, curve, motion.linkage, _turn_at(motion.closing.turn, self.nodes))[1]


def _turn_at(turn: Turn, nodes: Indices) -> Turn:
    return Turn(turn.cos[..., nodes], turn.sin[..., nodes])
