"""Small vector algebra on arrays whose last axis is x, y, z.

Every function broadcasts over the leading axes and returns new arrays.
"""

from typing import TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
"""Floating-point array; the docstring of its user gives its shape and unit."""
Codes: TypeAlias = NDArray[np.int8]
"""Array of status codes (see `geometry.status`)."""
Flags: TypeAlias = NDArray[np.bool_]
"""Array of truths."""
Indices: TypeAlias = NDArray[np.intp]
"""Array of positions in another array."""

Scalar = TypeVar("Scalar", bound=np.generic)
"""What an array is made of, where a function does not care."""

MIRROR_Y = np.array([1.0, -1.0, 1.0])
"""Multiplies a left-hand point or velocity into its mirror image in the x-z plane."""


def dot(a: Array, b: Array) -> Array:
    """Scalar product over the last axis: (..., 3), (..., 3) -> (...)."""
    return np.asarray(a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2])


def dot_columns(a: Array, columns: Array) -> Array:
    """Scalar products with N vectors that stand as columns: (..., 3), (..., 3, N) -> (..., N)."""
    b = columns
    return np.asarray(a[..., 0, None] * b[..., 0, :] + a[..., 1, None] * b[..., 1, :] + a[..., 2, None] * b[..., 2, :])


def cross(a: Array, b: Array) -> Array:
    """Vector product over the last axis: (..., 3), (..., 3) -> (..., 3)."""
    product = np.empty(np.broadcast_shapes(a.shape, b.shape))
    a0, a1, a2 = a[..., 0], a[..., 1], a[..., 2]
    b0, b1, b2 = b[..., 0], b[..., 1], b[..., 2]
    product[..., 0], product[..., 1], product[..., 2] = a1 * b2 - a2 * b1, a2 * b0 - a0 * b2, a0 * b1 - a1 * b0
    return product


def norm(a: Array) -> Array:
    """Euclidean length over the last axis: (..., 3) -> (...)."""
    return np.sqrt(dot(a, a))


def unit(a: Array) -> Array:
    """Vector of length one along `a`; NaN where `a` is zero."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return a / norm(a)[..., None]


def rotation(vector: Array) -> Array:
    """Rotation matrix of a rotation vector [rad]: (..., 3) -> (..., 3, 3).

    Rodrigues' formula, R = I + sin(t)/t W + (1 - cos(t))/t^2 W^2 with t = |vector| and W its cross-product matrix;
    the two factors by their series below 1e-4 rad, where the quotients would lose digits.
    """
    t2 = dot(vector, vector)
    t = np.sqrt(t2)
    small = t < 1e-4
    safe = np.where(small, 1.0, t)
    first = np.where(small, 1.0 - t2 / 6.0, np.sin(safe) / safe)
    second = np.where(small, 0.5 - t2 / 24.0, (1.0 - np.cos(safe)) / (safe * safe))
    x, y, z = vector[..., 0], vector[..., 1], vector[..., 2]
    zero = np.zeros_like(x)
    w = np.stack([zero, -z, y, z, zero, -x, -y, x, zero], axis=-1).reshape(*vector.shape[:-1], 3, 3)
    identity = np.eye(3)
    result: Array = identity + first[..., None, None] * w + second[..., None, None] * (w @ w)
    return result


def pick_states(values: NDArray[Scalar], index: Indices, trailing: int = 0) -> NDArray[Scalar]:
    """Values (*W, N, ...) at states of each candidate's own, `index` (*B, K): (*B, K, ...).

    `trailing` counts the axes behind N; the batch axes W and B broadcast.
    """
    own = values.shape[: values.ndim - trailing - 1]
    picked: NDArray[Scalar]
    if not own:
        picked = values[index]
        return picked
    shape = np.broadcast_shapes(own, index.shape[:-1])
    whole = np.broadcast_to(values, (*shape, *values.shape[len(own) :]))
    places = np.broadcast_to(index, (*shape, index.shape[-1]))
    rows = (grid[..., None] for grid in np.ogrid[tuple(slice(n) for n in shape)])
    picked = whole[(*rows, places)]
    return picked


def solve(matrix: Array, right: Array) -> Array:
    """Solutions (..., N, M) of small systems (..., N, N) with right sides (..., N, M); NaN where one is singular."""
    try:
        return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
    except np.linalg.LinAlgError:  # raised for the whole stack where one of it is singular
        with np.errstate(invalid="ignore"):
            singular = ~(np.abs(np.linalg.det(matrix)) > 0.0)[..., None, None]
        safe = np.where(singular, np.eye(matrix.shape[-1]), matrix)
        return np.where(singular, np.nan, np.linalg.solve(safe, right))


def turn(matrix: Array, vector: Array) -> Array:
    """Matrix times vector over the leading axes: (..., 3, 3), (..., 3) -> (..., 3)."""
    result: Array = (matrix @ vector[..., None])[..., 0]
    return result
