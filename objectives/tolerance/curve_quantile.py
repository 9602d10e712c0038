"""What a share of built axles do not exceed of a curve's largest absolute value, compiled: the sample and its quantile.

| symbol | meaning |
|---|---|
| n, q, s, j | candidate, point of the curve, built axle, error |
| k | anchor: see `objectives.tolerance.curves` |
"""

import math

import numpy as np

from geometry.arrays import Array, Indices
from geometry.compiled import compiled

NO_PIVOT = 1e-14
"""A dimension of the sample with less than this share of all variance is none."""


@compiled
def sample_curves(
    curve: Array, rates: Array, weights: Array, anchors: Indices, axles: Array, share: float, out: Array
) -> None:
    """What a `share` of axles do not exceed (N,), in the curve's unit, by A. Hazen's rule.

    `curve` (N, Q) as drawn; `rates` (N, M, J): what each error, one deviation large, changes its anchors by; `weights`
    (Q, 4), zeros beyond M, and `anchors` (M,), M at most 4; `axles` (4, S): see `objectives.tolerance.cars`. Where the
    upper end is asked for, points that cannot decide it are passed over.
    """
    count, upper = len(axles), share > 0.5
    sign, place = (1.0, share * axles.shape[1] - 0.5) if upper else (-1.0, (1.0 - share) * axles.shape[1] - 0.5)
    between, kept = place - int(place), np.empty(axles.shape[1] - int(place))
    factor, curves = np.zeros((count, count)), np.zeros(axles.shape)
    reached, lifts = np.empty(axles.shape[1]), np.empty(len(weights), dtype=np.intp)
    longest = math.sqrt((axles * axles).sum(axis=0).max())
    for n in range(len(out)):
        _factorise(rates[n], factor)
        reached[:] = 0.0
        for k in range(len(anchors)):
            _raise_at_anchor(curve[n, anchors[k]], factor[k], axles, curves[k], reached)
        if upper:
            _keep(reached, sign, kept)
        least = kept[0] if upper else -math.inf
        lifting = _find_lifting(curve[n], weights, anchors, longest, factor, least, lifts)
        for m in range(lifting):
            q = lifts[m]
            rest = curve[n, q]
            for k in range(len(anchors)):
                rest -= weights[q, k] * curve[n, anchors[k]]
            _raise_between(rest, weights[q], curves, reached)
        if lifting > 0 or not upper:
            _keep(reached, sign, kept)
        out[n] = sign * (kept[0] + between * (kept[1] - kept[0]))


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
def _keep(values: Array, sign: float, largest: Array) -> None:
    """The largest of `sign` times the values, smallest first; as many as there is room for."""
    largest[:] = -math.inf
    for s in range(len(values)):
        value = sign * values[s]
        if value > largest[0]:
            place = 0
            while place + 1 < len(largest) and largest[place + 1] < value:
                largest[place] = largest[place + 1]
                place += 1
            largest[place] = value
