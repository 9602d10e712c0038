"""Small vector algebra: products against numpy's own, and systems of which some have no solution."""

import numpy as np
import pytest

from geometry.arrays import cross, dot, dot_columns, solve


@pytest.mark.parametrize("shapes", [((3,), (3,)), ((4, 1, 3), (5, 3)), ((0, 3), (3,)), ((2, 4, 3), (2, 4, 3))])
def test_products_are_those_of_numpy_and_broadcast(shapes: tuple[tuple[int, ...], tuple[int, ...]]) -> None:
    rng = np.random.default_rng(1)
    a, b = (rng.normal(size=shape) for shape in shapes)
    np.testing.assert_allclose(cross(a, b), np.cross(a, b), rtol=1e-14, atol=1e-15)
    np.testing.assert_allclose(dot(a, b), (a * b).sum(axis=-1), rtol=1e-13, atol=1e-15)
    columns = np.stack([b, 2.0 * b], axis=-1)
    expected = np.stack([dot(a, b), 2.0 * dot(a, b)], axis=-1)
    np.testing.assert_allclose(dot_columns(a, columns), expected, rtol=1e-13, atol=1e-15)


@pytest.mark.parametrize("singular", [False, True])
def test_systems_are_solved_one_by_one_and_nan_where_they_have_no_solution(singular: bool) -> None:
    rng = np.random.default_rng(2)
    matrix, right = rng.normal(size=(3, 4, 6, 6)), rng.normal(size=(3, 4, 6, 2))
    matrix[1, 2] = np.nan
    if singular:
        matrix[0, 3, 1] = 0.0
    found = solve(matrix, right)
    void = np.zeros((3, 4), dtype=np.bool_)
    void[1, 2], void[0, 3] = True, singular
    np.testing.assert_array_equal(np.isnan(found).all(axis=(-1, -2)), void)
    np.testing.assert_allclose((matrix @ found)[~void], right[~void], rtol=0, atol=1e-10)


def test_no_systems_have_no_solutions() -> None:
    assert solve(np.zeros((0, 6, 6)), np.zeros((0, 6, 1))).shape == (0, 6, 1)
