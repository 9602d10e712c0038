"""What 99 of 100 built axles leak between modes, compiled: for each candidate the slopes, the sample, the quantile.

| symbol | meaning | unit |
|---|---|---|
| n, k, q, s | candidate, anchor, travel point, built axle | |
| side | 0 left, 1 right, each in left-hand coordinates | |
| a | rocker axis, unit vector | - |
| e, w | rod's line from the rocker to its outer eye; velocity of its rocker end per radian | mm, mm/rad |
| g | how a strut's length answers to its end on this side | - |
| v | velocity of that end per radian | mm/rad |
| t | (g . v) / (e . w): how its length answers to what the rod is off along its line | 1/mm |

A rod of length L keeps to e . (dP + R dr + w dphi) = -L dL, for a pivot off by dP, a rod end by dr and a length by dL;
the strut's end, off by dp besides, then moves by dP + R dp + v dphi. So its length changes by (g - t e) . dP,
-t R^T e . dr, R^T g . dp and -t L dL. R turns by the rocker's angle about a.
"""

import math

import numpy as np

from geometry.arrays import Array, Indices
from geometry.compiled import compiled

SLOTS = 20
"""Errors that a strut between rockers answers to: on each side pivot, rod end, pick-up (x, y, z each), rod length."""
KEPT = 11
"""Largest of a sample that its 99 % quantile is read from: the eleventh and the tenth of 1024."""
BETWEEN = 0.99 * 1024 - 0.5 - 1013
"""Where the quantile lies between these two, as in `objectives.tolerance.cars.quantile`."""
NO_PIVOT = 1e-14
"""A dimension of the sample with less than this share of all variance is none."""


def leak_quantile(
    cos: Array,
    sin: Array,
    eyes: Array,
    levers: Array,
    frames: Array,
    states: Indices,
    own: Array,
    leaks: Array,
    weights: Array,
    anchors: Indices,
    deviations: Array,
    axles: Array,
) -> Array:
    """The 99 % quantile (N,) [%] of the largest abs(c) over the foreign sweep's points against the own stroke.

    `cos`, `sin` (blocks, LANES, K): of the left rocker's turn at the side states; `eyes` (1 or N, K, 3) [mm]: the rod's
    outer eye there; `levers` (N, 3, 9): centre, u and w of the rod's end, the left and the right pick-up; `frames`
    (N, 4): a and L; `states` (2, M + 1 + R): left and right side states of the M anchors, of static, and of the R
    points of the own sweep; `own` (N, R), `leaks` (N, Q): compression at the points of the own and the foreign sweep
    [mm]; `weights` (Q, M), `anchors` (M,): see `objectives.tolerance.curves`; `deviations` (SLOTS,) [mm]: of the
    errors, 0 for none; `axles` (M, S): see `objectives.tolerance.cars`.
    """
    out = np.empty(len(levers))
    _leak_quantile(cos, sin, eyes, levers, frames, states, own, leaks, weights, anchors, deviations, axles, out)
    return out


@compiled
def _leak_quantile(
    cos: Array,
    sin: Array,
    eyes: Array,
    levers: Array,
    frames: Array,
    states: Indices,
    own: Array,
    leaks: Array,
    weights: Array,
    anchors: Indices,
    deviations: Array,
    axles: Array,
    out: Array,
) -> None:
    count, built = len(anchors), axles.shape[1]
    slopes, rates = np.empty((count + 2, SLOTS)), np.empty((count, SLOTS))
    factor, curves = np.empty((count, count)), np.empty((count, built))
    reached, largest, lifts = np.empty(built), np.empty(KEPT), np.empty(len(weights), dtype=np.intp)
    longest = math.sqrt((axles * axles).sum(axis=0).max())
    for n in range(len(out)):
        end, block, lane = 0, n // cos.shape[1], n % cos.shape[1]
        for r in range(own.shape[1]):
            end = r if abs(own[n, r]) > abs(own[n, end]) else end
        stroke, turned = own[n, end], (cos[block, lane], sin[block, lane])
        for k in range(count + 2):
            at = k if k <= count else count + 1 + end
            _slopes(turned, eyes[n % len(eyes)], levers[n], frames[n], states[0, at], states[1, at], slopes[k])
        for k in range(count):
            share = leaks[n, anchors[k]] / stroke
            for j in range(SLOTS):
                static = slopes[count, j]
                rates[k, j] = deviations[j] * (static - slopes[k, j] - share * (static - slopes[count + 1, j]))
        _factorise(rates, factor)
        reached[:] = 0.0
        for k in range(count):
            _raise_at_anchor(leaks[n, anchors[k]], factor[k], axles, curves[k], reached)
        _keep(reached, largest)
        lifting = _find_lifting(leaks[n], weights, anchors, longest, factor, largest[0], lifts)
        for m in range(lifting):
            q = lifts[m]
            rest = leaks[n, q]
            for k in range(count):
                rest -= weights[q, k] * leaks[n, anchors[k]]
            _raise_between(rest, weights[q], curves, reached)
        if lifting > 0:
            _keep(reached, largest)
        out[n] = 100.0 / abs(stroke) * (largest[0] + BETWEEN * (largest[1] - largest[0]))


@compiled
def _factorise(rates: Array, factor: Array) -> None:
    """Cholesky's factor (M, M) of what `rates` (M, J) make of errors of deviation 1; columns without variance are 0."""
    total = 0.0
    for k in range(len(rates)):
        for j in range(rates.shape[1]):
            total += rates[k, j] * rates[k, j]
    factor[:] = 0.0
    for k in range(len(rates)):
        for i in range(k + 1):
            rest = 0.0
            for j in range(rates.shape[1]):
                rest += rates[k, j] * rates[i, j]
            for j in range(i):
                rest -= factor[k, j] * factor[i, j]
            if i < k:
                factor[k, i] = rest / factor[i, i] if factor[i, i] > 0.0 else 0.0
            elif rest > NO_PIVOT * total:
                factor[k, k] = math.sqrt(rest)


@compiled
def _raise_at_anchor(leak: float, factor: Array, axles: Array, curve: Array, reached: Array) -> None:
    """The curve of each axle at an anchor, and the largest that it has reached so far."""
    a, b, c, d = factor[0], factor[1], factor[2], factor[3]
    for s in range(len(curve)):
        value = leak + a * axles[0, s] + b * axles[1, s] + c * axles[2, s] + d * axles[3, s]
        curve[s] = value
        value = abs(value)
        reached[s] = value if value > reached[s] else reached[s]


@compiled
def _raise_between(rest: float, weights: Array, curves: Array, reached: Array) -> None:
    """The same at a point between the anchors."""
    a, b, c, d = weights[0], weights[1], weights[2], weights[3]
    for s in range(len(reached)):
        value = abs(rest + a * curves[0, s] + b * curves[1, s] + c * curves[2, s] + d * curves[3, s])
        reached[s] = value if value > reached[s] else reached[s]


@compiled
def _find_lifting(
    leaks: Array, weights: Array, anchors: Indices, longest: float, factor: Array, least: float, lifts: Indices
) -> int:
    """The points, put into `lifts`, that may lift an axle to `least` that the anchor at their end does not; how many.

    A point cannot where its curve is a share below 1 of the anchor's, and a rest below (1 - share) least.
    """
    found, count = 0, len(anchors)
    for q in range(len(weights)):
        end = 0 if 2 * q < len(weights) else count - 1
        leak = leaks[anchors[end]]
        both, one, own = leaks[q] * leak, leak * leak, 0.0
        for i in range(count):
            row = 0.0
            for k in range(i, count):
                row += weights[q, k] * factor[k, i]
            both += longest * longest * row * factor[end, i]
            one += longest * longest * factor[end, i] * factor[end, i]
            own += longest * longest * row * row
        share = min(max(both / one, 0.0), 1.0) if one > 0.0 else 0.0
        off = leaks[q] - share * leak
        spread = own - 2.0 * share * (both - leaks[q] * leak) + share * share * (one - leak * leak)
        if q not in anchors and abs(off) + math.sqrt(max(spread, 0.0)) > (1.0 - share) * least:
            lifts[found] = q
            found += 1
    return found


@compiled
def _keep(values: Array, largest: Array) -> None:
    """The largest (KEPT,) of values, smallest first."""
    largest[:] = 0.0
    for s in range(len(values)):
        if values[s] > largest[0]:
            place = 0
            while place + 1 < len(largest) and largest[place + 1] < values[s]:
                largest[place] = largest[place + 1]
                place += 1
            largest[place] = values[s]


@compiled
def _slopes(
    turned: tuple[Array, Array], eyes: Array, levers: Array, frame: Array, left: int, right: int, slopes: Array
) -> None:
    """How the strut's length answers to each error (SLOTS,), at one state of the axle."""
    ax, ay, az, rod = frame[0], frame[1], frame[2], frame[3]
    cos, sin = turned
    px, py, pz = _end(levers[1], cos[left], sin[left])
    qx, qy, qz = _end(levers[2], cos[right], sin[right])
    lx, ly, lz = qx - px, -qy - py, qz - pz
    length = math.sqrt(lx * lx + ly * ly + lz * lz)
    for side in range(2):
        first, at = 10 * side, left if side == 0 else right
        sign = -1.0 if side == 0 else 1.0
        c, s = cos[at], sin[at]
        gx, gy, gz = sign * lx / length, -ly / length, sign * lz / length
        vx, vy, vz = _end(levers[1 + side], c, s, 1.0)
        rx, ry, rz = _end(levers[0], c, s)
        wx, wy, wz = _end(levers[0], c, s, 1.0)
        ex, ey, ez = eyes[at, 0] - rx, eyes[at, 1] - ry, eyes[at, 2] - rz
        t = (gx * vx + gy * vy + gz * vz) / (ex * wx + ey * wy + ez * wz)
        slopes[first] = gx - t * ex
        slopes[first + 1] = gy - t * ey
        slopes[first + 2] = gz - t * ez
        along = (1.0 - c) * (ax * ex + ay * ey + az * ez)
        slopes[first + 3] = -t * (along * ax + c * ex - s * (ay * ez - az * ey))
        slopes[first + 4] = -t * (along * ay + c * ey - s * (az * ex - ax * ez))
        slopes[first + 5] = -t * (along * az + c * ez - s * (ax * ey - ay * ex))
        along = (1.0 - c) * (ax * gx + ay * gy + az * gz)
        slopes[first + 6] = along * ax + c * gx - s * (ay * gz - az * gy)
        slopes[first + 7] = along * ay + c * gy - s * (az * gx - ax * gz)
        slopes[first + 8] = along * az + c * gz - s * (ax * gy - ay * gx)
        slopes[first + 9] = -t * rod


@compiled
def _end(lever: Array, cos: float, sin: float, rate: float = 0.0) -> tuple[float, float, float]:
    """The end of a lever (9,), or with `rate` 1 its velocity per radian."""
    c, s, kept = (cos, sin, 1.0) if rate == 0.0 else (-sin, cos, 0.0)
    return (
        kept * lever[0] + c * lever[3] + s * lever[6],
        kept * lever[1] + c * lever[4] + s * lever[7],
        kept * lever[2] + c * lever[5] + s * lever[8],
    )
