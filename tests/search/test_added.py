"""What points add to a front: closed forms, and the plain difference of two hypervolumes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.arrays import Array
from optimiser.search.added import added, most_adding
from optimiser.search.volume import volume

STAIRS = np.array([[0.0, 3.0], [1.0, 1.0], [3.0, 0.0]])
CORNER = np.array([4.0, 4.0])


@pytest.mark.parametrize(
    ("point", "expected"),
    [
        ([0.5, 2.0], 0.5 * 1.0),
        ([2.0, 0.5], 1.0 * 0.5),
        ([0.0, 0.0], 16.0 - 11.0),
        ([1.0, 1.0], 0.0),
        ([2.0, 2.0], 0.0),
        ([-1.0, 3.5], 1.0 * 0.5),
        ([-1.0, 4.0], 0.0),
        ([5.0, -1.0], 0.0),
    ],
)
def test_steps_of_a_staircase(point: list[float], expected: float) -> None:
    assert added(np.array(point), STAIRS, CORNER) == pytest.approx(expected, abs=1e-12)


def test_to_an_empty_front_a_point_adds_its_box() -> None:
    assert added(np.array([1.0, 2.0, 3.0]), np.zeros((0, 3)), np.array([2.0, 4.0, 6.0])) == pytest.approx(6.0)


@given(st.integers(1, 4), st.integers(0, 12), st.integers(0, 2**32 - 1))
def test_it_is_the_difference_of_two_hypervolumes(objectives: int, members: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    front, point = rng.integers(0, 6, (members, objectives)) / 4.0, rng.integers(0, 6, objectives) / 4.0
    corner = np.full(objectives, 1.25)
    difference = volume(np.concatenate([front, point[None]]), corner) - volume(front, corner)
    assert added(point, front, corner) == pytest.approx(difference, abs=1e-12)


@given(st.integers(2, 4), st.integers(0, 8), st.integers(0, 10), st.integers(0, 2**32 - 1))
def test_each_adds_most_beside_those_before(objectives: int, members: int, points: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    front, more = rng.random((members, objectives)), rng.random((points, objectives))
    corner = np.full(objectives, 1.1)
    so_far, total = front, volume(front, corner)
    chosen = most_adding(more, front, corner, points)
    for row, gain in chosen:
        each = _all_added(more, so_far, corner)
        assert gain == pytest.approx(each.max(), abs=1e-12)
        assert each[row] == pytest.approx(gain, abs=1e-12)
        so_far, total = np.concatenate([so_far, more[[row]]]), total + gain
    assert total == pytest.approx(volume(np.concatenate([front, more]), corner), abs=1e-12)


def test_no_more_than_asked_for_and_none_that_adds_nothing() -> None:
    more = np.array([[0.5, 2.0], [2.0, 0.5], [2.0, 2.0]])
    assert [row for row, _ in most_adding(more, STAIRS, CORNER, 1)] == [0]
    assert [row for row, _ in most_adding(more, STAIRS, CORNER, 9)] == [0, 1]
    assert most_adding(np.zeros((0, 2)), STAIRS, CORNER, 9) == []


def _all_added(points: Array, front: Array, corner: Array) -> Array:
    before = volume(front, corner)
    return np.array([volume(np.concatenate([front, point[None]]), corner) - before for point in points])
