"""Where a sweep first reaches a level: against curves whose crossings are known."""

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.crossing import Crossing, first_crossing, nearer

T = np.array([-30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 25.0])


def cubic(t: Array) -> tuple[Array, Array]:
    """A falling cubic and its slope: between travel points it is its own interpolation."""
    return 5.0 - t + 0.01 * t**2 - 0.001 * t**3, -1.0 + 0.02 * t - 0.003 * t**2


def solved(level: float) -> float:
    roots = np.roots([-0.001, 0.01, -1.0, 5.0 - level])
    return float(roots[np.abs(roots.imag) < 1e-9].real[0])


@pytest.mark.parametrize("level", [4.0, 0.0, -9.5, -20.0])
def test_a_cubic_is_crossed_where_it_is(level: float) -> None:
    found = first_crossing(T, *cubic(T), np.asarray(level), 1)
    assert found.met
    assert found.distance == pytest.approx(solved(level), abs=1e-12)


def test_the_other_way_is_the_mirror() -> None:
    y, s = cubic(-T)
    found = first_crossing(T, y, -s, np.asarray(0.0), -1)
    assert found.met
    assert found.distance == pytest.approx(solved(0.0), abs=1e-12)


def test_what_is_not_met_gives_the_end_of_the_sweep() -> None:
    y, s = cubic(T)
    up, down = (first_crossing(T, y, s, np.asarray(-1000.0), way) for way in (1, -1))
    assert (bool(up.met), float(up.distance)) == (False, 25.0)
    assert (bool(down.met), float(down.distance)) == (False, 30.0)


def test_what_is_met_at_static_is_met_at_once() -> None:
    found = first_crossing(T, *cubic(T), np.asarray(6.0), 1)
    assert (bool(found.met), float(found.distance)) == (True, 0.0)
    exact = first_crossing(T, *cubic(T), np.asarray(5.0), -1)
    assert (bool(exact.met), float(exact.distance)) == (True, 0.0)


def test_the_first_of_two_crossings_counts() -> None:
    y = np.cos(T / 6.0)
    found = first_crossing(T, y, -np.sin(T / 6.0) / 6.0, np.asarray(0.0), 1)
    assert found.distance == pytest.approx(3 * np.pi, abs=0.1)


def test_a_range_that_ends_at_static_has_nowhere_to_go() -> None:
    t = np.array([-10.0, 0.0])
    y, s = cubic(t)
    assert not first_crossing(t, y, s, np.asarray(0.0), 1).met
    assert first_crossing(t, y, s, np.asarray(6.0), 1).met


def test_nothing_is_met_where_numbers_are_missing() -> None:
    y, s = cubic(T)
    found = first_crossing(T, np.where(T > 5.0, np.nan, y), s, np.array([np.nan, -9.0]), 1)
    assert not found.met.any()


def test_a_batch_is_a_loop() -> None:
    rng = np.random.default_rng(2)
    y, s = cubic(T)
    lifts, levels = rng.uniform(-3, 12, (3, 4)), rng.uniform(-60, 4, (3, 4))
    together = first_crossing(T, y + lifts[..., None], np.broadcast_to(s, (3, 4, 7)), levels, 1)
    for index in np.ndindex(3, 4):
        one = first_crossing(T, y + lifts[index], s, np.asarray(levels[index]), 1)
        assert together.met[index] == one.met
        assert together.distance[index] == one.distance
    assert together.met.any()
    assert not together.met.all()


def test_the_nearer_is_the_nearest_met_one() -> None:
    far, near = (
        Crossing(np.array([9.0, 9.0, 9.0]), np.array([True, False, False])),
        Crossing(np.array([4.0, 4.0, 4.0]), np.array([False, True, False])),
    )
    both = nearer(far, near)
    np.testing.assert_array_equal(both.distance, [9.0, 4.0, 4.0])
    np.testing.assert_array_equal(both.met, [True, True, False])
