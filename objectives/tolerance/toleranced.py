"""Figures of the built axle, read from how a figure answers to errors: sensitivity, stacks, and what 99 of 100 keep."""

from collections.abc import Callable, Mapping

import numpy as np

from geometry.arrays import Array
from objectives.catalogue.tolerance_entries import Form
from objectives.figure_parts import measure_drawn
from objectives.readings import FigureStatus, Reading, without_meaning
from objectives.survey import Survey
from objectives.tolerance.build import Build, stated
from objectives.tolerance.cars import FEW, quantile, standard_axles
from objectives.tolerance.curves import anchor_places, anchor_weights
from objectives.tolerance.linear import Linear, linearise

MOST_NUMBERS = 20_000_000
"""Numbers that a sample may hold at once."""
NO_PIVOT = 1e-14
"""A dimension of a sample with less than this share of all variance is none. Compiled code has it too."""


def toleranced(surveyed: Survey, base: str, form: Form) -> Reading:
    """A form of the figure `base` of a surveyed batch; null where the figure is, or nothing is said of a build."""
    build = surveyed.fittings.build
    if build is None:
        return without_meaning(surveyed.batch, FigureStatus.NOTHING_FITTED)
    reading = measure_drawn(surveyed, base)
    value = np.broadcast_to(form_of(form, linearise(surveyed, base, build), build), surveyed.batch)
    status = reading.status
    lost = ~np.isfinite(value) & (status == FigureStatus.OK)
    status = np.where(lost, FigureStatus.UNREACHABLE, status).astype(np.int8)
    return Reading(np.where(status == FigureStatus.OK, value, np.nan), status)


def sampled(linear: Linear, build: Build) -> Array:
    """The figure (*B, AXLES) of axles built with the build's spread.

    A figure that is one number is as normal as errors are. One that is the largest of a curve along a sweep is sampled
    by the curve at a few points. Any other, by its errors.
    """
    slopes = linear.slopes * (stated(linear.errors) / build.spread.deviations)
    if linear.parts.shape[-1] == 1:
        return np.asarray(linear.parts + np.linalg.norm(slopes, axis=-1) * standard_axles(1)[0])
    if linear.points is not None:
        return _along_curve(linear.parts, slopes, linear.points)
    return _by_errors(linear, slopes)


def _along_curve(parts: Array, slopes: Array, points: tuple[float, ...]) -> Array:
    """The largest absolute value of curves that `parts` (*B, 2 Q) begin with, behind which stand their negatives."""
    places, curve = anchor_places(points), parts[..., : len(points), None]
    at_anchors = slopes[..., places, :]
    changes = _factor(at_anchors @ np.swapaxes(at_anchors, -1, -2)) @ standard_axles(FEW)[: len(places)]
    return np.asarray(np.abs(curve + anchor_weights(points) @ changes).max(axis=-2))


def _factor(cover: Array) -> Array:
    """Cholesky's factor of covariances (*B, M, M), with columns of 0 where there is no variance left; NaN stays."""
    factor, least = np.zeros_like(cover), NO_PIVOT * np.trace(cover, axis1=-2, axis2=-1)
    for k in range(cover.shape[-1]):
        for i in range(k + 1):
            rest = cover[..., k, i] - (factor[..., k, :i] * factor[..., i, :i]).sum(axis=-1)
            pivot = factor[..., i, i]
            if i < k:
                factor[..., k, i] = np.where(pivot == 0.0, 0.0, rest / np.where(pivot == 0.0, 1.0, pivot))
            else:
                factor[..., k, k] = np.where(rest <= least, 0.0, np.sqrt(np.maximum(rest, 0.0)))
    return factor


def _by_errors(linear: Linear, scaled: Array) -> Array:
    errors = standard_axles(len(linear.errors))
    parts = linear.parts.reshape(-1, linear.parts.shape[-1])
    slopes = scaled.reshape(*parts.shape, len(linear.errors))
    at_once = max(1, MOST_NUMBERS // max(1, parts.shape[-1] * errors.shape[-1]))
    extreme = np.max if linear.extreme == "largest" else np.min
    blocks = [
        extreme(parts[begin : begin + at_once, :, None] + slopes[begin : begin + at_once] @ errors, axis=-2)
        for begin in range(0, len(parts), at_once)
    ]
    return np.concatenate([np.zeros((0, errors.shape[-1])), *blocks]).reshape(*linear.parts.shape[:-1], -1)


def form_of(form: Form, linear: Linear, build: Build) -> Array:
    """A form of a figure (*B) from how it answers to errors; NaN where the figure is null."""
    return _FORMS[form](linear, build)


def governing(linear: Linear) -> Array:
    """The slopes (*B, E) per mm of the number that decides the worst case."""
    decides = _ends(linear, _sum(linear)).argmax(axis=-1)
    return np.asarray(np.take_along_axis(linear.slopes, decides[..., None, None], axis=-2)[..., 0, :])


def _sensitivity(linear: Linear, _build: Build) -> Array:
    return np.asarray(np.abs(governing(linear)).max(axis=-1, initial=0.0))


def _rss(linear: Linear, _build: Build) -> Array:
    return _beyond(linear, np.linalg.norm(linear.slopes * stated(linear.errors), axis=-1))


def _worst(linear: Linear, _build: Build) -> Array:
    return _beyond(linear, _sum(linear))


def _sum(linear: Linear) -> Array:
    return np.asarray((np.abs(linear.slopes) * stated(linear.errors)).sum(axis=-1))


def _beyond(linear: Linear, reach: Array) -> Array:
    """How far the numbers with their `reach` (*B, P) go beyond the figure (*B)."""
    return np.asarray(_ends(linear, reach).max(axis=-1) - _ends(linear, np.zeros_like(reach)).max(axis=-1))


def _ends(linear: Linear, reach: Array) -> Array:
    return (1.0 if linear.extreme == "largest" else -1.0) * linear.parts + reach


_FORMS: Mapping[Form, Callable[[Linear, Build], Array]] = {
    Form.SENSITIVITY: _sensitivity,
    Form.RSS: _rss,
    Form.WORST: _worst,
    Form.P99: lambda linear, build: quantile(sampled(linear, build), 0.99),
    Form.P01: lambda linear, build: quantile(sampled(linear, build), 0.01),
}
