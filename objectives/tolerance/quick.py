"""Figures of a strut as built, for the batches of a search: what `linear` differences, here from formulas.

With c a strut's compression and MR its motion ratio, d(100 (MR / MR_0 - 1)) = 100 (dMR - MR / MR_0 dMR_0) / MR_0; the
crosstalk 100 c / s against a stroke s, itself the compression at an end, has 100 (dc - c / s ds) / s.

| symbol | meaning |
|---|---|
| N, E | candidates; errors that the strut answers to |
| P | numbers of which a figure is the largest by absolute value; one where it is that number itself |
| M | some of them: the anchors of a curve |
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Indices
from geometry.axle import Mode
from objectives.readings import Reading
from objectives.strut_figures import mode_ratios
from objectives.survey import StateSet, Survey
from objectives.tolerance.answers import Answers, answers
from objectives.tolerance.build import Build, stated
from objectives.tolerance.cars import FEW, quantile, standard_axles
from objectives.tolerance.curve_quantile import curve_quantile
from objectives.tolerance.curves import anchor_places, anchor_weights, curve_of
from objectives.tolerance.linear import Linear


@dataclass(frozen=True)
class Quick:
    """A figure of a surveyed batch (*B) as built, `reading` as drawn."""

    reading: Reading
    _answers: Answers
    _build: Build
    _figure: "_Number | _Curve"
    _points: tuple[float, ...]
    """Of a curve, its sweep's points [mm]."""

    def linear(self) -> Linear:
        """How it answers to the errors that it answers to; of a curve, its numbers are absolute, and slopes so too."""
        with np.errstate(divide="ignore", invalid="ignore"):
            if isinstance(self._figure, _Number):
                parts, slopes = self.reading.value[..., None], self._figure.slopes(self._answers)
            else:
                found = self._figure.numbers(self._answers)
                parts, slopes = np.abs(found), self._figure.slopes(self._answers, found, None)
        shape = (*self._answers.surveyed.batch, parts.shape[-1])
        shaped = slopes.reshape(*shape, slopes.shape[-1])
        return Linear(self.reading, parts.reshape(shape), shaped, "largest", self._answers.errors)

    def exceeded_by(self, share: float) -> Array:
        """What a share of built axles do not exceed (*B)."""
        deviations = stated(self._answers.errors) / self._build.spread.deviations
        with np.errstate(divide="ignore", invalid="ignore"):
            if isinstance(self._figure, _Number):
                slopes = self._figure.slopes(self._answers) * deviations
                spread = np.linalg.norm(slopes, axis=-1).reshape(self.reading.value.shape)
                return np.asarray(self.reading.value + spread * quantile(standard_axles(1)[0], share))
            places, found = anchor_places(self._points), self._figure.numbers(self._answers)
            slopes = self._figure.slopes(self._answers, found, places) * deviations
        weights = anchor_weights(self._points)
        return curve_quantile(found, slopes, weights, places, standard_axles(FEW), share).reshape(
            self.reading.value.shape
        )


def quick(surveyed: Survey, figure: str, build: Build, reading: Reading) -> Quick | None:
    """A figure by its full name, of a batch in lanes; None where there are no formulas for it."""
    name, _, word = figure.rpartition(".")
    known = _FIGURES.get(word)
    found = answers(surveyed, name, build) if known else None
    points = curve_of(surveyed, figure) if isinstance(known, _Curve) else ()
    if known is None or found is None or points is None:
        return None
    return Quick(reading, found, build, known, points)


@dataclass(frozen=True)
class _Number:
    """A figure that is one number: its slopes (N, E)."""

    slopes: Callable[[Answers], Array]


@dataclass(frozen=True)
class _Curve:
    """The numbers (N, P) of a figure, and the slopes (N, M, E) of those at some places, or of all."""

    numbers: Callable[[Answers], Array]
    slopes: Callable[[Answers, Array, Indices | None], Array]


def _of_ratio(other: bool) -> _Number:
    return _Number(lambda found: found.of_ratios(_mode(found, other), StateSet.STATIC)[:, 0])


def _rise(end: int) -> _Number:
    def slopes(found: Answers) -> Array:
        mode = _mode(found)
        over = mode_ratios(found.surveyed, found.name, mode, StateSet.of(mode))
        places = np.array([end % over.shape[-1]])
        return _change(found, mode, StateSet.of(mode), places)[:, 0]

    return _Number(slopes)


def _changes(other: bool) -> _Curve:
    """Of the motion ratio along its own sweep or the other one."""

    def numbers(found: Answers) -> Array:
        ratios = mode_ratios(found.surveyed, found.name, _mode(found), StateSet.of(_mode(found, other)))
        return 100.0 * (_flat(ratios) / _static_ratio(found) - 1.0)

    def slopes(found: Answers, _numbers: Array, places: Indices | None) -> Array:
        return _change(found, _mode(found), StateSet.of(_mode(found, other)), places)

    return _Curve(numbers, slopes)


def _change(found: Answers, mode: Mode, states: StateSet, places: Indices | None) -> Array:
    """Slopes of 100 (MR / MR_0 - 1)."""
    ratios = _flat(mode_ratios(found.surveyed, found.name, mode, states))
    static = _static_ratio(found)[..., None]
    share = (ratios if places is None else ratios[:, places])[..., None] / static
    slopes = found.of_ratios(mode, states, places) - share * found.of_ratios(mode, StateSet.STATIC)
    return np.asarray(slopes * (100.0 / static))


def _leaks(found: Answers) -> Array:
    own, foreign = (_compressions(found, StateSet.of(_mode(found, other))) for other in (False, True))
    return np.asarray(100.0 * foreign / np.abs(own).max(axis=-1, keepdims=True))


def _leak_slopes(found: Answers, leaks: Array, places: Indices | None) -> Array:
    own = _compressions(found, StateSet.of(_mode(found)))
    longest = np.nan_to_num(np.abs(own)).argmax(axis=-1)
    ends, place = np.unique(longest, return_inverse=True)
    rows = np.arange(len(own))
    stroke = own[rows, longest][:, None, None]
    by_stroke = found.of_compressions(StateSet.of(_mode(found)), ends)[rows, place][:, None]
    share = (leaks if places is None else leaks[:, places])[..., None]
    slopes = found.of_compressions(StateSet.of(_mode(found, True)), places)
    return np.asarray(100.0 * slopes / np.abs(stroke) - share * by_stroke / stroke)


def _splits(found: Answers) -> Array:
    c = _compressions(found, StateSet.EVEN_ROLL)
    return np.asarray(200.0 * (c[:, :1] + c[:, 1:]) / np.abs(c[:, :1] - c[:, 1:]))


def _split_slopes(found: Answers, splits: Array, _places: Indices | None) -> Array:
    c, slopes = _compressions(found, StateSet.EVEN_ROLL), found.of_compressions(StateSet.EVEN_ROLL)
    odd = (c[:, 0] - c[:, 1])[:, None]
    even, odd_slopes = slopes[:, 0] + slopes[:, 1], slopes[:, 0] - slopes[:, 1]
    return np.asarray(200.0 * even / np.abs(odd) - splits * odd_slopes / odd)[:, None]


def _mode(found: Answers, other: bool = False) -> Mode:
    return found.element.serves.other if other else found.element.serves


def _flat(values: Array) -> Array:
    return values.reshape(-1, values.shape[-1])


def _compressions(found: Answers, states: StateSet) -> Array:
    return _flat(found.surveyed.strut(found.name, states).compression)


def _static_ratio(found: Answers) -> Array:
    """(N, 1)."""
    return _flat(mode_ratios(found.surveyed, found.name, _mode(found), StateSet.STATIC))


_FIGURES: Mapping[str, _Number | _Curve] = {
    "motion_ratio": _of_ratio(other=False),
    "coupling": _of_ratio(other=True),
    "progressivity": _rise(-1),
    "progressivity_droop": _rise(0),
    "length_static": _Number(lambda found: found.of_lengths(StateSet.STATIC)[:, 0]),
    "ratio_spread": _changes(other=False),
    "ratio_drift": _changes(other=True),
    "crosstalk": _Curve(_leaks, _leak_slopes),
    "left_right_split": _Curve(_splits, _split_slopes),
}
