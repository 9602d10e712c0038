"""How a figure answers to small errors of the built axle: its numbers, and what each changes by per mm of each error.

A figure that is the largest of many numbers, each with its sign, is taken apart into these: each is linear in errors of
tenths of a mm, where the largest of their absolute values is not. Differences are central, over re-solved axles.

| symbol | meaning | shape |
|---|---|---|
| B | batch axes | |
| P | numbers that a figure is the largest or smallest of | |
| E, H | errors of both sides, and of one; E = 2 H | |
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

import numpy as np

from geometry.arrays import Array
from geometry.built import built
from geometry.joints import joint_places
from geometry.kernel import PLAIN
from geometry.side_motion import SideMotion, trace_side
from objectives.catalogue.axle_entries import AXLE_FIGURES
from objectives.catalogue.catalogue import describe
from objectives.catalogue.strut_entries import STRUT_FIGURES
from objectives.catalogue.wheel_entries import ONE_WHEEL_FIGURES
from objectives.figure_parts import figure_parts, measure_drawn
from objectives.readings import Reading
from objectives.survey import Survey, UprightMemory
from objectives.tolerance.build import LEFT, RIGHT, Build, Error, errors_of
from objectives.tolerance.curves import curve_of

STEP = 1e-3
"""Half the width of a difference [mm]: by rounding, slopes are good to some 1e-10; a kink so near is seldom met."""
AT_ONCE = 512
"""Axles that are re-solved in one go."""


@dataclass(frozen=True)
class Linear:
    """A figure near its nominal axle: `parts` (*B, P) in its unit, and their `slopes` (*B, P, E) per mm."""

    reading: Reading
    parts: Array
    slopes: Array
    extreme: Literal["largest", "smallest"]
    errors: tuple[Error, ...]
    points: tuple[float, ...] | None = None
    """Where the parts are a curve along a sweep, then its negative: the sweep's points [mm]."""


def linearise(surveyed: Survey, name: str, build: Build) -> Linear:
    """A figure, by its full name, of a surveyed batch of axles without errors of their own.

    Figures of struts and of their joints know both sides' errors. Those of rod, rocker and one wheel are taken on
    either side, each number twice; one number alone is the left side's. What springs, bars, loads and both wheels give
    is taken to answer to an error on one side by half of what it answers to the same error on both.
    """
    errors = errors_of(build, surveyed.axle)
    entry = describe(name)
    reading = measure_drawn(surveyed, name)
    parts, extreme = _parts(surveyed, name)
    joint = joint_places(surveyed.axle).get(entry.subject_of(name) or "") if entry.of_joint else None
    if entry in STRUT_FIGURES or (joint and joint.strut):
        points = curve_of(surveyed, name)
        return Linear(reading, parts, _slopes(surveyed, name, errors, across=True), extreme, errors, points)
    own = _slopes(surveyed, name, errors[: len(errors) // 2], across=False)
    if entry not in (*AXLE_FIGURES, *ONE_WHEEL_FIGURES) and not joint:
        return Linear(reading, parts, np.concatenate([own, own], axis=-1) / 2.0, extreme, errors)
    nothing = np.zeros_like(own)
    slopes = np.concatenate([own, nothing], axis=-1)
    if parts.shape[-1] > 1:
        slopes = np.concatenate([slopes, np.concatenate([nothing, own], axis=-1)], axis=-2)
        parts = np.concatenate([parts, parts], axis=-1)
    return Linear(reading, parts, slopes, extreme, errors)


def as_built(surveyed: Survey, errors: Sequence[Error], sizes: Array, *, across: bool = True) -> Survey:
    """The surveyed axles (batch B) with errors of `sizes` (N, E) [mm]: a batch (N, *B), both sides on their own.

    Without `across` all errors are the left side's, and the right side is its mirror.
    """
    left = _side(surveyed, errors, sizes, LEFT if across else None)
    right = _side(surveyed, errors, sizes, RIGHT) if across else None
    return Survey(left.axle, surveyed.travel, surveyed.plan, left, UprightMemory(), surveyed.fittings, right)


def _parts(surveyed: Survey, name: str) -> tuple[Array, Literal["largest", "smallest"]]:
    with np.errstate(divide="ignore", invalid="ignore"):
        found = figure_parts(surveyed, name)
        if found is not None:
            return found.values, found.extreme
        return measure_drawn(surveyed, name).value[..., None], "largest"


def _slopes(surveyed: Survey, name: str, errors: Sequence[Error], *, across: bool) -> Array:
    """(*B, P, E) per mm."""
    slopes = []
    for near, count in _neighbours(surveyed, errors, across=across):
        parts = _parts(near, name)[0]
        slopes.append((parts[:count] - parts[count:]) / (2.0 * STEP))
    shape = (*surveyed.batch, _parts(surveyed, name)[0].shape[-1])
    if not slopes:
        return np.zeros((*shape, 0))
    return np.moveaxis(np.concatenate(slopes), 0, -1)


def _neighbours(surveyed: Survey, errors: Sequence[Error], *, across: bool) -> Iterator[tuple[Survey, int]]:
    """Axles with one error each, first all a step up, then all a step down, a few errors at a time."""
    at_once = max(1, AT_ONCE // max(1, int(np.prod(surveyed.batch))) // 2)
    for begin in range(0, len(errors), at_once):
        some = np.arange(len(errors))[begin : begin + at_once]
        ups = STEP * np.eye(len(errors))[some]
        make = partial(as_built, surveyed, errors, np.concatenate([ups, -ups]), across=across)
        yield surveyed.near((across, begin), make), len(some)


def _side(surveyed: Survey, errors: Sequence[Error], sizes: Array, side: str | None) -> SideMotion:
    """The left side, or the right one in left-hand coordinates, with those of the errors that are its own."""
    spread = (len(sizes), *(1 for _ in surveyed.batch))
    rod = np.zeros(spread)
    off: dict[str, Array] = {}
    for place, error in enumerate(errors):
        if side is not None and error.side != side:
            continue
        size = sizes[:, place].reshape(spread)
        if error.axis is None:
            rod = rod + size
        else:
            off.setdefault(error.path, np.zeros((*spread, 3)))[..., error.axis] += size
    axle = built(surveyed.axle, off, rod)
    off_links = any(path.startswith("links.") for path in off)
    upright = PLAIN.trace(axle.wheel, axle.links, surveyed.plan.tree) if off_links else surveyed.side.upright
    return trace_side(axle, upright, surveyed.plan.tree, PLAIN)
