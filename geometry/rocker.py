"""The rod-rocker loop: sphere about the rod's outboard eye and circle of the rocker arm, closed in closed form.

| symbol | meaning | shape | unit |
|---|---|---|---|
| Q | rod's outboard eye | (..., 3) | mm |
| D | Q - (P + o a): from the centre of the arm's circle | (..., 3) | mm |
| R, o, phi | radius, offset and angle of the rod arm | (...) | mm, mm, rad |
| L | rod length | (...) | mm |

|Q - A(phi)|^2 = L^2 with A = P + o a + R (cos phi e0 + sin phi e1) gives A' cos phi + B' sin phi = C',
A' = 2 R D.e0, B' = 2 R D.e1, C' = D.D + R^2 - L^2, and phi = atan2(B', A') +- arccos(C' / sqrt(A'^2 + B'^2)):
J. M. McCarthy and G. S. Soh, Geometric Design of Linkages, 2nd ed., Springer 2011, app. A, eq. A.1-A.7 (which prints
arctan(B/A): the quadrant matters, so sine and cosine are taken straight from the equation here). The loop opens, and
rod and arm line up, where A'^2 + B'^2 - C'^2 = 0; its share of A'^2 + B'^2 is the reserve.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Flags, cross, dot, dot_columns
from geometry.axle import Arm
from geometry.hardpoints import Hardpoints
from geometry.side import LARGEST_STEP, SideTree

DEEPEST_DIP = 8.0 / 27.0
"""A cubic on [0, 1] dips below its lower end by no more than this share of its steepest end slope."""
NO_ARM = 1e-12
"""At static the loop counts as lined up, without a branch to follow, when its reserve is below this; compiled
code holds it too."""


@dataclass(frozen=True)
class Turn:
    """Rocker angle from static as its `cos` and `sin` (..., K), positive about the rocker's axis; NaN where none is."""

    cos: Array
    sin: Array

    @property
    def angle(self) -> Array:
        """The angle itself, in (-pi, pi] (..., K) [rad]."""
        return np.arctan2(self.sin, self.cos)


@dataclass(frozen=True)
class Lever:
    """An arm at static as vectors (..., 3) [mm]: its circle's `centre`, its part `u` in the plane, `w` = a x u."""

    centre: Array
    u: Array
    w: Array


@dataclass(frozen=True)
class Loop:
    """The closed loop at given rod eyes.

    `turn` (..., K): rocker angle on static's branch, NaN where the loop is open. `reserve` (..., K):
    1 - C'^2 / (A'^2 + B'^2), the squared sine of the angle between arm and the line to the eye as seen along the axis:
    below 0 the loop is open, at 0 rod and arm line up. With r the arm and e the line from its end to the eye: `arm` =
    a . (r x e), the rod's signed arm about the axis times its length, and `along` = r . e (..., K) [mm^2].
    """

    turn: Turn
    reserve: Array
    arm: Array
    along: Array

    @property
    def transmission(self) -> Array:
        """Angle between rod and arm, both seen along the axis, folded to 0..pi/2 (..., K) [rad]."""
        return np.arctan2(np.abs(self.arm), np.abs(self.along))


def close_loop(eye: Array, points: Hardpoints) -> Loop:
    """Close the rod-rocker loop for the rod's outboard eyes `eye` (..., K, 3) [mm], on static's branch.

    The batch axes of `points` stand before K. Where rod and arm line up at static there is no branch: `turn` is NaN.
    With S = +-sqrt(A'^2 + B'^2 - C'^2), cos phi = (A' C' - B' S) / (A'^2 + B'^2), sin phi likewise.
    """
    along, across, rest = _coefficients(eye, points)
    start = np.asarray(points.rod_arm.angle)
    cos0, sin0 = np.cos(start)[..., None], np.sin(start)[..., None]
    branch = static_branch(points)[..., None]
    square = along**2 + across**2
    with np.errstate(invalid="ignore", divide="ignore"):
        root = branch * np.sqrt(square - rest**2)
        cos, sin = (along * rest - across * root) / square, (across * rest + along * root) / square
        reserve = 1.0 - rest**2 / square
    turn = Turn(cos * cos0 + sin * sin0, sin * cos0 - cos * sin0)
    radius = np.asarray(points.rod_arm.length)[..., None]
    return Loop(turn, reserve, arm=-0.5 * root, along=0.5 * rest - radius**2)


def static_branch(points: Hardpoints) -> Array:
    """+1 or -1 by the side of the line to the eye on which the arm lies at static (...); NaN where it lies on it."""
    along, across, _ = _coefficients(points.rod_outboard[..., None, :], points)
    start = np.asarray(points.rod_arm.angle)[..., None]
    sine = along * np.sin(start) - across * np.cos(start)
    lined_up = sine**2 <= NO_ARM * (along**2 + across**2)
    return np.asarray(np.where(lined_up, np.nan, np.sign(sine))[..., 0])


def turn_rate(eye: Array, velocity: Array, points: Hardpoints, turn: Turn) -> Array:
    """Rocker rates (..., K, N) [rad/mm] for N velocities of the eye, `velocity` (..., K, 3, N).

    The rod keeps its length: e . (v_Q - phi' a x r) = 0, e from the arm's end to the eye, r the arm.
    """
    end, swing = swing_point(points.rod_arm, points, turn)
    e = eye - end
    with np.errstate(invalid="ignore", divide="ignore"):
        return dot_columns(e, velocity) / dot(e, swing)[..., None]


def turn_curve(eye: Array, velocity: Array, curve: Array, points: Hardpoints, turn: Turn) -> tuple[Array, Array]:
    """Rocker rate [rad/mm] and its change [rad/mm^2] (..., K) for an eye with `velocity` and `curve` (..., K, 3).

    The rod keeps its length: with e from the arm's end to the eye, e' = v_Q - phi' a x r, |e'|^2 + e . e'' = 0 and
    e'' = q'' - phi'' a x r - phi'^2 a x (a x r).
    """
    end, swing = swing_point(points.rod_arm, points, turn)
    e = eye - end
    pull = dot(e, swing)
    with np.errstate(invalid="ignore", divide="ignore"):
        rate = dot(e, velocity) / pull
        stretch, inward = velocity - rate[..., None] * swing, cross(points.axis[..., None, :], swing)
        return rate, (dot(stretch, stretch) + dot(e, curve) - rate**2 * dot(e, inward)) / pull


def swing_point(arm: Arm, points: Hardpoints, turn: Turn) -> tuple[Array, Array]:
    """A point of the rocker, turned by `turn` (..., K) from static.

    Returns its position (..., K, 3) [mm] and its velocity per radian, a x r (..., K, 3) [mm/rad]: with the lever's u
    and w, centre + cos u + sin w and cos w - sin u.
    """
    lever = lever_of(arm, points)
    u, w, cos, sin = lever.u[..., None, :], lever.w[..., None, :], turn.cos[..., None], turn.sin[..., None]
    return lever.centre[..., None, :] + cos * u + sin * w, cos * w - sin * u


def lever_of(arm: Arm, points: Hardpoints) -> Lever:
    """An arm of a rocker as vectors, with r at static u = R (cos phi e0 + sin phi e1)."""
    length, angle, offset = (np.asarray(value)[..., None] for value in (arm.length, arm.angle, arm.offset))
    level, rise = length * np.cos(angle), length * np.sin(angle)
    return Lever(
        centre=points.pivot + offset * points.axis,
        u=level * points.e0 + rise * points.e1,
        w=level * points.e1 - rise * points.e0,
    )


def opens_between(reserve: Array, slope: Array, tree: SideTree) -> Flags:
    """Whether the loop opens between a state and its parent though it closes at both (..., K).

    `slope` (..., K, 2) [1/mm] is that of the reserve per mm of wheel travel and of rack. Between two neighbours the
    reserve is read from the cubic through both values and slopes.
    """
    if np.abs(slope).max(initial=0.0) * LARGEST_STEP * DEEPEST_DIP < reserve.min(initial=1.0):
        return np.zeros(reserve.shape, dtype=np.bool_)
    step, parent = tree.step, tree.parent
    end = slope[..., 0] * step[:, 0] + slope[..., 1] * step[:, 1]
    begin = slope[..., parent, 0] * step[:, 0] + slope[..., parent, 1] * step[:, 1]
    return dips_below(reserve[..., parent], reserve, begin, end)


def dips_below(low: Array, high: Array, begin: Array, end: Array) -> Flags:
    """Whether the cubic on [0, 1] with end values `low`, `high` and end slopes `begin`, `end` dips below 0 (...)."""
    low, high, begin, end = np.broadcast_arrays(low, high, begin, end)
    sinks = (begin < 0.0) & (end > 0.0)
    dips = np.zeros(sinks.shape, dtype=np.bool_)
    dips[sinks] = lowest_of_cubic(low[sinks], high[sinks], begin[sinks], end[sinks])[1] < 0.0
    return dips


def reserve_rate(eye: Array, velocity: Array, points: Hardpoints) -> Array:
    """Slope of the loop's reserve (..., K, N) [1/mm] for N velocities of the eye, `velocity` (..., K, 3, N)."""
    along, across, rest = (value[..., None] for value in _coefficients(eye, points))
    radius = np.asarray(points.rod_arm.length)[..., None, None]
    d = eye - _circle_centre(points.rod_arm, points)
    e0, e1 = points.e0[..., None, :], points.e1[..., None, :]
    along_rate, across_rate = (2.0 * radius * dot_columns(e, velocity) for e in (e0, e1))
    rest_rate = 2.0 * dot_columns(d, velocity)
    square = along**2 + across**2
    with np.errstate(invalid="ignore", divide="ignore"):
        cosine2_rate = 2.0 * rest * (rest_rate * square - rest * (along * along_rate + across * across_rate))
        return np.asarray(-cosine2_rate / square**2)


def lowest_of_cubic(begin: Array, end: Array, slope_begin: Array, slope_end: Array) -> tuple[Array, Array]:
    """Where on [0, 1] the cubic with these end values and slopes is lowest, and its value there (...).

    The cubic must fall at its beginning and rise at its end.
    """
    a = 2.0 * begin - 2.0 * end + slope_begin + slope_end
    b = 3.0 * end - 3.0 * begin - 2.0 * slope_begin - slope_end
    root = np.sqrt(b * b - 3.0 * a * slope_begin)
    t = -slope_begin / (b + root)
    return t, begin + t * (slope_begin + t * (b + t * a))


def _coefficients(eye: Array, points: Hardpoints) -> tuple[Array, Array, Array]:
    """A', B', C' of the loop equation (..., K) [mm^2]."""
    radius = np.asarray(points.rod_arm.length)
    d = eye - _circle_centre(points.rod_arm, points)
    radius = radius[..., None]
    along = 2.0 * radius * dot(d, points.e0[..., None, :])
    across = 2.0 * radius * dot(d, points.e1[..., None, :])
    return along, across, dot(d, d) + radius**2 - points.rod_length[..., None] ** 2


def _circle_centre(arm: Arm, points: Hardpoints) -> Array:
    """Centre of an arm's circle, with an axis for states (..., 1, 3) [mm]."""
    offset = np.asarray(arm.offset)[..., None]
    return np.asarray(points.pivot + offset * points.axis)[..., None, :]
