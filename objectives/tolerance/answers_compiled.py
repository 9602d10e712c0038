"""How a strut's length, or its rate along a mode, answers to each error of the built axle, compiled, in lanes.

| symbol | meaning | unit |
|---|---|---|
| i | lane | |
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

from geometry.arrays import Array
from geometry.compiled import compiled
from geometry.lanes import LANES
from geometry.records import COS, POINT, RATE, SIN, TURN

OF_A_SIDE = 10
"""Errors of a side that a strut answers to: pivot, rod end and pick-up (x, y, z each), the rod's length."""
ERRORS = 2 * OF_A_SIDE
"""Those of both sides, the left one's first."""
TURNED, FAR_TURNED, EYE, EYE_RATE, OWN, FAR, ROD, AXIS, LENGTH, SIDE_RECORD = 0, 3, 6, 9, 12, 21, 30, 39, 42, 43
"""Rows of a side's record: cos, sin and omega of its own turn, then of the other side's; vectors; levers (centre, u, w)
of its own end of the strut, of the far one, of the rod's end; vector; number."""
Vector = tuple[float, float, float]


@compiled
def begin_side(own: Array, far: Array, rod_end: Array, rod: Array, record: Array) -> None:
    """Write what does not change with the state: three levers (9, LANES), and a `rod` (17, LANES) as it is placed."""
    for i in range(LANES):
        for j in range(9):
            record[OWN + j, i], record[FAR + j, i], record[ROD + j, i] = own[j, i], far[j, i], rod_end[j, i]
        for j in range(3):
            record[AXIS + j, i] = rod[9 + j, i]
        record[LENGTH, i] = math.sqrt(rod[15, i])


@compiled
def pose_side(
    turns: Array, eye: Array, eye_rate: Array, at: int, there: int, sigma: float, far_sigma: float, record: Array
) -> None:
    """Write a state: side state `at` of this side, `there` of the other; `turns`, `eye`, `eye_rate` as in records."""
    own, far = turns[at * TURN : (at + 1) * TURN], turns[there * TURN : (there + 1) * TURN]
    point, velocity = eye[at * POINT : (at + 1) * POINT], eye_rate[2 * at * POINT : 2 * (at + 1) * POINT]
    for i in range(LANES):
        record[TURNED, i], record[TURNED + 1, i] = own[COS + i], own[SIN + i]
        record[FAR_TURNED, i], record[FAR_TURNED + 1, i] = far[COS + i], far[SIN + i]
        record[TURNED + 2, i], record[FAR_TURNED + 2, i] = sigma * own[RATE + i], far_sigma * far[RATE + i]
        for j in range(3):
            record[EYE + j, i] = point[j * LANES + i]
            record[EYE_RATE + j, i] = sigma * velocity[2 * j * LANES + i]


@compiled
def measure_strut(moving: bool, record: Array, arms: Array, out: Array) -> None:
    """Its length [mm], or where `moving` that one's change per mm along the mode (LANES,), read from the left side.

    `arms` (4, LANES): its signed arms at both ends, as at static, then as here. NaN where one has changed its sign.
    """
    for i in range(LANES):
        point, v, _ = _swung(record, OWN, record[TURNED, i], record[TURNED + 1, i], i)
        far, far_v, _ = _swung(record, FAR, record[FAR_TURNED, i], record[FAR_TURNED + 1, i], i)
        line = (point[0] - far[0], point[1] + far[1], point[2] - far[2])
        near_arm, far_arm = _dot(line, v), line[0] * far_v[0] - line[1] * far_v[1] + line[2] * far_v[2]
        arms[2, i], arms[3, i] = near_arm, far_arm
        crossed = (near_arm * arms[0, i] < 0.0) | (far_arm * arms[1, i] < 0.0)
        length = math.sqrt(_dot(line, line))
        change = (record[TURNED + 2, i] * near_arm - record[FAR_TURNED + 2, i] * far_arm) / length
        out[i] = math.nan if crossed else change if moving else length


@compiled
def answer_by_length(record: Array, out: Array) -> None:
    """Slopes of the length per mm of this side's errors (OF_A_SIDE, LANES)."""
    for i in range(LANES):
        cos, sin, a = record[TURNED, i], record[TURNED + 1, i], _vector(record, AXIS, i)
        point, v, _ = _swung(record, OWN, cos, sin, i)
        far, _, _ = _swung(record, FAR, record[FAR_TURNED, i], record[FAR_TURNED + 1, i], i)
        end, w, _ = _swung(record, ROD, cos, sin, i)
        line = (point[0] - far[0], point[1] + far[1], point[2] - far[2])
        g = _scaled(1.0 / math.sqrt(_dot(line, line)), line)
        e = _plus(_vector(record, EYE, i), -1.0, end)
        t = _dot(g, v) / _dot(e, w)
        te = _scaled(t, e)
        out[0, i], out[1, i], out[2, i] = _plus(g, -1.0, te)
        out[3, i], out[4, i], out[5, i] = _scaled(-1.0, _turned_back(te, a, cos, sin))
        out[6, i], out[7, i], out[8, i] = _turned_back(g, a, cos, sin)
        out[9, i] = -t * record[LENGTH, i]


@compiled
def answer_by_rate(record: Array, out: Array) -> None:
    """Slopes of the length's change per mm along the mode, per mm of this side's errors (OF_A_SIDE, LANES)."""
    for i in range(LANES):
        cos, sin, a = record[TURNED, i], record[TURNED + 1, i], _vector(record, AXIS, i)
        omega, turning = record[TURNED + 2, i], record[FAR_TURNED + 2, i]
        point, v, inward = _swung(record, OWN, cos, sin, i)
        far, far_v, _ = _swung(record, FAR, record[FAR_TURNED, i], record[FAR_TURNED + 1, i], i)
        end, w, end_inward = _swung(record, ROD, cos, sin, i)
        line = (point[0] - far[0], point[1] + far[1], point[2] - far[2])
        short = 1.0 / math.sqrt(_dot(line, line))
        g, e = _scaled(short, line), _plus(_vector(record, EYE, i), -1.0, end)
        pull = _dot(e, w)
        t = _dot(g, v) / pull
        slide = _plus(_scaled(omega, v), -turning, (far_v[0], -far_v[1], far_v[2]))
        g_rate = _scaled(short, _plus(slide, -_dot(g, slide), g))
        e_rate = _plus(_vector(record, EYE_RATE, i), -omega, w)
        pull_rate = _dot(e_rate, w) + omega * _dot(e, end_inward)
        t_rate = (_dot(g_rate, v) + omega * _dot(g, inward) - t * pull_rate) / pull
        te_rate = _plus(_scaled(t, e_rate), t_rate, e)
        of_rod_end = _turned_back(_plus(te_rate, -omega * t, _cross(a, e)), a, cos, sin)
        out[0, i], out[1, i], out[2, i] = _plus(g_rate, -1.0, te_rate)
        out[3, i], out[4, i], out[5, i] = _scaled(-1.0, of_rod_end)
        out[6, i], out[7, i], out[8, i] = _turned_back(_plus(g_rate, -omega, _cross(a, g)), a, cos, sin)
        out[9, i] = -t_rate * record[LENGTH, i]


@compiled
def _swung(record: Array, lever: int, cos: float, sin: float, i: int) -> tuple[Vector, Vector, Vector]:
    """End of a lever, its velocity per radian and that one's change per radian."""
    centre, u, w = _vector(record, lever, i), _vector(record, lever + 3, i), _vector(record, lever + 6, i)
    level = _plus(_scaled(cos, u), sin, w)
    return _plus(centre, 1.0, level), _plus(_scaled(cos, w), -sin, u), _scaled(-1.0, level)


@compiled
def _vector(record: Array, row: int, i: int) -> Vector:
    return record[row, i], record[row + 1, i], record[row + 2, i]


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
