"""Closed-form distances of segments, boxes and cylinders, against scipy's minimisers and a collision library."""

import importlib
import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import ArrayLike
from scipy.optimize import lsq_linear, minimize_scalar

from geometry.arrays import Array, unit
from geometry.clearance import (
    cylinder_box,
    overstep,
    point_segment,
    segment_box,
    segment_cylinder,
    segment_segment,
)
from geometry.clearance_compiled import apart, box_apart, wheel_apart, wheel_box_apart

PAIRS = 1000


def points(rng: np.random.Generator, count: int, size: float = 300.0) -> Array:
    return rng.uniform(-size, size, (count, 3))


def least(columns: list[Array], from_point: Array, low: list[float], high: list[float]) -> float:
    """The least length of columns x - from_point over bounds, by scipy's bounded least squares."""
    found = lsq_linear(np.column_stack(columns), from_point, (low, high), method="bvls", tol=1e-15)
    return float(np.sqrt(2.0 * found.cost))


def single(compiled: Callable[..., float], *numbers: ArrayLike) -> float:
    """A compiled distance of one pair; where the bodies are apart, the way that it gives is as long."""
    way = np.full(3, np.nan)
    distance = compiled(*np.concatenate(numbers), way)
    assert distance <= 0.0 or np.linalg.norm(way) >= distance - 1e-9
    return distance


def boxes(rng: np.random.Generator, count: int) -> tuple[Array, Array]:
    first, second = points(rng, count), points(rng, count)
    return np.minimum(first, second), np.maximum(first, second)


def test_segments_against_a_minimiser_on_1000_random_pairs() -> None:
    rng = np.random.default_rng(1)
    p, q, r, s = (points(rng, PAIRS) for _ in range(4))
    found = segment_segment(p, q, r, s)
    for k in range(PAIRS):
        expected = least([q[k] - p[k], r[k] - s[k]], r[k] - p[k], [0.0, 0.0], [1.0, 1.0])
        assert found[k] == pytest.approx(expected, abs=1e-9)
        assert single(apart, p[k], q[k], r[k], s[k]) == pytest.approx(found[k], abs=1e-9)


def test_boxes_against_a_minimiser_on_1000_random_pairs() -> None:
    rng = np.random.default_rng(2)
    p, q = points(rng, PAIRS), points(rng, PAIRS)
    low, high = boxes(rng, PAIRS)
    low[::3] /= 4.0
    high[::3] = low[::3] + 20.0
    found = segment_box(p, q, low, high)
    for k in range(PAIRS):
        x, y, z = -np.eye(3)
        expected = least([q[k] - p[k], x, y, z], -p[k], [0.0, *low[k]], [1.0, *high[k]])
        assert found[k] == pytest.approx(expected, abs=1e-9)
        assert single(box_apart, p[k], q[k], low[k], high[k]) == pytest.approx(found[k], abs=1e-9)
    assert (found > 0.0).sum() > 200
    assert (found == 0.0).sum() > 50


def test_cylinders_against_a_minimiser_on_1000_random_pairs() -> None:
    rng = np.random.default_rng(3)
    p, q, centre, axis = points(rng, PAIRS), points(rng, PAIRS), points(rng, PAIRS), unit(points(rng, PAIRS))
    radius, width = rng.uniform(20.0, 200.0, PAIRS), rng.uniform(10.0, 200.0, PAIRS)
    found = segment_cylinder(p, q, centre, axis, radius, width)
    for k in range(PAIRS):

        def away(t: float, k: int = k) -> float:
            m = p[k] + t * (q[k] - p[k]) - centre[k]
            along = float(m @ axis[k])
            out = math.sqrt(max(float(m @ m) - along * along, 0.0)) - radius[k]
            return math.hypot(max(abs(along) - width[k] / 2.0, 0.0), max(out, 0.0))

        inner = minimize_scalar(away, bounds=(0.0, 1.0), method="bounded", options={"xatol": 1e-12}).fun
        expected = min(float(inner), away(0.0), away(1.0))
        assert found[k] == pytest.approx(expected, abs=1e-9)
        given = np.concatenate([p[k], q[k], centre[k], axis[k], [radius[k], width[k] / 2.0]])
        assert single(wheel_apart, given) == pytest.approx(found[k], abs=1e-9)
    assert (found > 0.0).sum() > 200
    assert (found == 0.0).sum() > 20


def test_a_cylinder_and_a_box_against_points_spread_over_both() -> None:
    """No two points are nearer than the distance, and some are nearly as near."""
    rng = np.random.default_rng(4)
    turns, shares = np.linspace(0.0, 2.0 * np.pi, 721), np.linspace(0.0, 1.0, 41)
    met = 0
    for _ in range(60):
        (low,), (high,) = boxes(rng, 1)
        (centre,), (axis,) = points(rng, 1, 500.0), unit(points(rng, 1))
        radius, width = rng.uniform(20.0, 200.0), rng.uniform(10.0, 200.0)
        found = float(cylinder_box(centre, axis, np.asarray(radius), np.asarray(width), low, high))
        compiled = single(wheel_box_apart, centre, axis, np.array([radius, width / 2.0]), low, high)
        assert compiled == pytest.approx(found, abs=1e-9)
        side = unit(np.cross(axis, [0.3, 0.5, 0.8]))
        rim = np.cos(turns)[:, None] * side + np.sin(turns)[:, None] * np.cross(axis, side)
        ends = np.concatenate([centre + s * width / 2.0 * axis + radius * rim for s in np.linspace(-1.0, 1.0, 21)])
        inner = [centre + s * width / 2.0 * axis + u * radius * rim for s in (-1.0, 1.0) for u in shares]
        surface = np.concatenate([ends, *inner])
        nearest = float(np.linalg.norm(surface - np.clip(surface, low, high), axis=-1).min())
        assert found <= nearest + 1e-9
        assert (nearest == 0.0) if found < 0.0 else (found > nearest - 3.0)
        met += found <= 0.0
    assert 0 < met < 50


def test_a_cylinder_that_dips_into_a_face_is_so_deep_in_it() -> None:
    low, high = np.array([-100.0, -100.0, -50.0]), np.array([100.0, 100.0, 0.0])
    upright = np.array([0.0, 0.0, 1.0])
    radius, width = np.asarray(30.0), np.asarray(20.0)
    assert cylinder_box(np.array([0.0, 0.0, 25.0]), upright, radius, width, low, high) == pytest.approx(15.0, abs=1e-12)
    assert cylinder_box(np.array([0.0, 0.0, 6.0]), upright, radius, width, low, high) == pytest.approx(-4.0, abs=1e-12)
    lying = np.array([0.0, 1.0, 0.0])
    assert cylinder_box(np.array([0.0, 0.0, 35.0]), lying, radius, width, low, high) == pytest.approx(5.0, abs=1e-9)


def test_segments_that_are_points_parallel_touching_or_crossing() -> None:
    o, x, y, z = np.zeros(3), *(10.0 * np.eye(3))
    cases = [
        ((o, o, z, z), 10.0),
        ((o, o, x, x + y), 10.0),
        ((-x, x, z, z), 10.0),
        ((o, x, y, x + y), 10.0),
        ((o, x, 2.0 * x + y, 3.0 * x + y), math.hypot(10.0, 10.0)),
        ((o, x, x + y, 3.0 * x + y), 10.0),
        ((o, x, 2.0 * x, 3.0 * x), 10.0),
        ((-x, x, -y, y), 0.0),
        ((o, x, x, x + y), 0.0),
        ((-x, x, z - y, z + y), 10.0),
    ]
    for (p, q, r, s), expected in cases:
        assert segment_segment(p, q, r, s) == pytest.approx(expected, abs=1e-12)
        assert segment_segment(r, s, q, p) == pytest.approx(expected, abs=1e-12)
        assert single(apart, p, q, r, s) == pytest.approx(expected, abs=1e-12)
        assert single(apart, r, s, q, p) == pytest.approx(expected, abs=1e-12)
    assert point_segment(z, -x, x) == 10.0


def test_nearly_parallel_segments_are_as_far_apart_as_parallel_ones() -> None:
    rng = np.random.default_rng(5)
    p, q = points(rng, 200), points(rng, 200)
    shift = np.array([3.0, 4.0, 12.0])
    r, s = p + shift, q + shift + rng.uniform(-1e-6, 1e-6, (200, 3))
    found = segment_segment(p, q, r, s)
    assert found == pytest.approx(segment_segment(p, q, p + shift, q + shift), abs=2e-6)
    for k in range(200):
        assert single(apart, p[k], q[k], r[k], s[k]) == pytest.approx(found[k], abs=2e-6)


def test_boxes_and_segments_that_touch_and_segments_along_a_face() -> None:
    low, high = np.array([0.0, 0.0, 0.0]), np.array([10.0, 20.0, 30.0])
    for p, q, expected in (
        ([-5.0, 5.0, 5.0], [-1.0, 5.0, 5.0], 1.0),
        ([-5.0, 25.0, 5.0], [15.0, 25.0, 5.0], 5.0),
        ([-5.0, -5.0, 5.0], [15.0, -5.0, 5.0], 5.0),
        ([5.0, 5.0, 5.0], [5.0, 5.0, 5.0], 0.0),
        ([13.0, 24.0, 30.0], [13.0, 24.0, 90.0], 5.0),
        ([-5.0, 5.0, 5.0], [50.0, 5.0, 5.0], 0.0),
    ):
        assert segment_box(np.array(p), np.array(q), low, high) == pytest.approx(expected, abs=1e-12)
        assert segment_box(np.array(q), np.array(p), low, high) == pytest.approx(expected, abs=1e-12)
        assert single(box_apart, p, q, low, high) == pytest.approx(expected, abs=1e-12)


def test_a_point_oversteps_bounds_by_its_worst_coordinate() -> None:
    low, high = np.array([0.0, 0.0, -np.inf]), np.array([10.0, 10.0, np.inf])
    given = np.array([[5.0, 5.0, 99.0], [-1.0, 5.0, 0.0], [12.0, 13.0, 0.0], [9.0, 5.0, 0.0]])
    assert overstep(given, low, high) == pytest.approx([-5.0, 1.0, 3.0, -1.0])


def test_batches_equal_single_calls() -> None:
    rng = np.random.default_rng(6)
    p, q, r, s = (rng.uniform(-50.0, 50.0, (3, 4, 3)) for _ in range(4))
    found = segment_segment(p, q, r, s)
    boxed = segment_box(p, q, np.minimum(r, s), np.maximum(r, s))
    for index in np.ndindex(3, 4):
        assert found[index] == segment_segment(p[index], q[index], r[index], s[index])
        assert boxed[index] == segment_box(
            p[index], q[index], np.minimum(r[index], s[index]), np.maximum(r[index], s[index])
        )
    assert segment_segment(p[:0], q[:0], r[:0], s[:0]).shape == (0, 4)


def test_capsules_against_a_collision_library_on_300_random_pairs() -> None:
    coal = pytest.importorskip("coal")
    rng = np.random.default_rng(7)
    request, compared = coal.DistanceRequest(), 0
    for _ in range(300):
        p, q, r, s = points(rng, 4)
        first, second = rng.uniform(5.0, 30.0, 2)
        ours = float(segment_segment(p, q, r, s)) - first - second
        result = coal.DistanceResult()
        bodies = [placed_capsule(coal.__name__, a, b, size) for a, b, size in ((p, q, first), (r, s, second))]
        theirs = coal.distance(bodies[0][0], bodies[0][1], bodies[1][0], bodies[1][1], request, result)
        if ours > 0.0:
            assert theirs == pytest.approx(ours, abs=1e-6)
            compared += 1
        else:
            assert theirs <= 1e-6
    assert compared > 200


def placed_capsule(library: str, p: Array, q: Array, radius: float) -> tuple[object, object]:
    """A capsule of the collision library: along its own z, turned onto the segment and moved to its middle."""
    coal = importlib.import_module(library)
    z = unit(q - p)
    x = unit(np.cross(z, [0.31, 0.77, 0.55]))
    place = coal.Transform3s(np.column_stack([x, np.cross(z, x), z]), (p + q) / 2.0)
    return coal.Capsule(radius, float(np.linalg.norm(q - p))), place
