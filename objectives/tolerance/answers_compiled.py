"""How a strut between rockers answers to each error of the built axle, compiled: slopes of its length or of its rate.

| symbol | meaning | unit |
|---|---|---|
| n, s | candidate, state of the axle | |
| side | 0 left, 1 right, each in left-hand coordinates; sigma: mm that its wheel goes up by per mm along the mode | |
| a, omega | rocker axis, unit vector; sigma times the rocker's rate | -, rad/mm |
| e, w | rod's line from the rocker to its outer eye; velocity of its rocker end per radian | mm, mm/rad |
| g | how a strut's length answers to its end on this side | - |
| v | velocity of that end per radian | mm/rad |
| t | (g . v) / (e . w): how its length answers to what the rod is off along its line | 1/mm |
| ' | change per mm along the mode | |

A rod of length L keeps to e . (dP + R dr + w dphi) = -L dL, for a pivot off by dP, a rod end by dr and a length by dL;
the strut's end, off by dp besides, then moves by dP + R dp + v dphi. So its length changes by (g - t e) . dP,
-t R^T e . dr, R^T g . dp and -t L dL. R turns by the rocker's angle about a. How its rate answers is the change of
these along the mode, where (R^T x)' = R^T (x' - omega a x x).
"""

import math

import numpy as np

from geometry.arrays import Array
from geometry.compiled import compiled

OF_A_SIDE = 10
"""Errors of a side that a strut answers to: pivot, rod end and pick-up (x, y, z each), the rod's length."""
Vector = tuple[float, float, float]


def answers_of(
    turns: Array, eyes: Array, eye_rates: Array, levers: Array, frames: Array, mode: tuple[float, float]
) -> Array:
    """Slopes (N, S, 20) per mm of each error, the left side's ten before the right's.

    Of the strut's length, where `mode` is (0, 0); else of its change per mm along a motion of `mode` mm of the left and
    the right wheel. `turns` (N, 2, S, 3): cos and sin of each side's turn, its rate [rad/mm]; `eyes`, `eye_rates`
    (1 or N, 2, S, 3) [mm], [mm/mm]: the rod's outer eye and its change per mm of travel; `levers` (N, 3, 9) [mm]:
    centre, u and w of the rod's end, the left and the right pick-up; `frames` (N, 4): a and L.
    """
    out = np.empty((len(turns), turns.shape[2], 2 * OF_A_SIDE))
    _answers_of(turns, eyes, eye_rates, levers, frames, mode, out)
    return out


@compiled
def _answers_of(
    turns: Array,
    eyes: Array,
    eye_rates: Array,
    levers: Array,
    frames: Array,
    mode: tuple[float, float],
    out: Array,
) -> None:
    for n in range(turns.shape[0]):
        outboard, rod = n % len(eyes), levers[n, 0]
        for s in range(turns.shape[2]):
            left, right = turns[n, 0, s], turns[n, 1, s]
            eye, rate = eyes[outboard, 0, s], eye_rates[outboard, 0, s]
            _of_side(left, right, mode, eye, rate, rod, levers[n, 1], levers[n, 2], frames[n], out[n, s, :OF_A_SIDE])
            eye, rate = eyes[outboard, 1, s], eye_rates[outboard, 1, s]
            across = (mode[1], mode[0])
            _of_side(right, left, across, eye, rate, rod, levers[n, 2], levers[n, 1], frames[n], out[n, s, OF_A_SIDE:])


@compiled
def _of_side(
    own: Array,
    other: Array,
    mode: tuple[float, float],
    eye: Array,
    eye_rate: Array,
    rod: Array,
    lever: Array,
    far: Array,
    frame: Array,
    out: Array,
) -> None:
    """One side's ten; `mode`: its own sigma, then the other side's; `far`: the lever of the strut's other end."""
    a, cos, sin, omega = (frame[0], frame[1], frame[2]), own[0], own[1], mode[0] * own[2]
    point, v, inward = _swung(lever, cos, sin)
    far_point, far_v, _ = _swung(far, other[0], other[1])
    end, w, end_inward = _swung(rod, cos, sin)
    line = (point[0] - far_point[0], point[1] + far_point[1], point[2] - far_point[2])
    length = math.sqrt(_dot(line, line))
    g = _scaled(1.0 / length, line)
    e = (eye[0] - end[0], eye[1] - end[1], eye[2] - end[2])
    pull = _dot(e, w)
    t = _dot(g, v) / pull
    if mode[0] == 0.0 and mode[1] == 0.0:
        te = _scaled(t, e)
        _write(g, te, te, g, t * frame[3], a, cos, sin, out)
        return
    turning = mode[1] * other[2]
    slide = (omega * v[0] - turning * far_v[0], omega * v[1] + turning * far_v[1], omega * v[2] - turning * far_v[2])
    g_rate = _scaled(1.0 / length, _plus(slide, -_dot(g, slide), g))
    e_rate = _plus(_scaled(mode[0], (eye_rate[0], eye_rate[1], eye_rate[2])), -omega, w)
    pull_rate = _dot(e_rate, w) + omega * _dot(e, end_inward)
    t_rate = (_dot(g_rate, v) + omega * _dot(g, inward) - t * pull_rate) / pull
    te_rate = _plus(_scaled(t, e_rate), t_rate, e)
    in_rocker = _plus(te_rate, -omega * t, _cross(a, e))
    _write(g_rate, te_rate, in_rocker, _plus(g_rate, -omega, _cross(a, g)), t_rate * frame[3], a, cos, sin, out)


@compiled
def _write(
    g: Vector, te: Vector, te_in: Vector, g_in: Vector, rod: float, a: Vector, cos: float, sin: float, out: Array
) -> None:
    out[0], out[1], out[2] = g[0] - te[0], g[1] - te[1], g[2] - te[2]
    back = _turned_back(te_in, a, cos, sin)
    out[3], out[4], out[5] = -back[0], -back[1], -back[2]
    out[6], out[7], out[8] = _turned_back(g_in, a, cos, sin)
    out[9] = -rod


@compiled
def _swung(lever: Array, cos: float, sin: float) -> tuple[Vector, Vector, Vector]:
    """End of a lever (9,), its velocity per radian and that one's change per radian."""
    level = (cos * lever[3] + sin * lever[6], cos * lever[4] + sin * lever[7], cos * lever[5] + sin * lever[8])
    swing = (cos * lever[6] - sin * lever[3], cos * lever[7] - sin * lever[4], cos * lever[8] - sin * lever[5])
    return (lever[0] + level[0], lever[1] + level[1], lever[2] + level[2]), swing, (-level[0], -level[1], -level[2])


@compiled
def _turned_back(x: Vector, a: Vector, cos: float, sin: float) -> Vector:
    """R^T x."""
    along, across = (1.0 - cos) * _dot(a, x), _cross(a, x)
    return _plus(_plus(_scaled(along, a), cos, x), -sin, across)


@compiled
def _dot(x: Vector, y: Vector) -> float:
    return x[0] * y[0] + x[1] * y[1] + x[2] * y[2]


@compiled
def _cross(x: Vector, y: Vector) -> Vector:
    return (x[1] * y[2] - x[2] * y[1], x[2] * y[0] - x[0] * y[2], x[0] * y[1] - x[1] * y[0])


@compiled
def _scaled(factor: float, x: Vector) -> Vector:
    return (factor * x[0], factor * x[1], factor * x[2])


@compiled
def _plus(x: Vector, factor: float, y: Vector) -> Vector:
    """x + factor y."""
    return (x[0] + factor * y[0], x[1] + factor * y[1], x[2] + factor * y[2])
