"""How a system vibrates: natural frequencies, damping ratios, and what moves in each mode, by name.

| symbol | meaning | unit |
|---|---|---|
| w, u | natural frequency and shape: K u = w^2 M u, u' M u = 1 | rad/s |
| s | damped eigenvalue: (s^2 M + s C + K) v = 0 | 1/s |

A damped pair s has the frequency |s| and the damping ratio -Re(s) / |s|; two real eigenvalues a, b of an overdamped
mode have sqrt(ab) and -(a + b) / (2 sqrt(ab)). Source: Rao, Mechanical Vibrations, chapters 2 and 6 (from memory).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import Array
from objectives.vehicle.system import System

REAL = 1e-9
"""An eigenvalue counts as real when its imaginary part is below this share of its size."""
TINY = 1e-300
"""Stands for 0 in a logarithm."""


@dataclass(frozen=True)
class Modes:
    """N modes, rising in frequency. A mode that does not come back (no stiffness) has frequency 0.

    `frequency` (N,) [rad/s], undamped; `shape` (N, N): row i is mode i by the system's coordinates, u' M u = 1, its
    largest energy's entry positive; `energy` (N, N): each coordinate's share of mode i's kinetic energy, sums to 1;
    `damped` (N,) [rad/s] and `ratio` (N,) of the damped eigenvalues.
    """

    frequency: Array
    shape: Array
    energy: Array
    damped: Array
    ratio: Array


def modes(system: System) -> Modes:
    """All modes of a system with a diagonal mass matrix; raises `ValueError` for a mass that is not positive.

    Damped eigenvalues belong to the undamped mode that they are most like; two real ones to that whose squared
    frequency their product comes closest to.
    """
    masses = np.diagonal(system.mass)
    if (masses <= 0.0).any():
        raise ValueError("every coordinate needs a mass above 0")
    root = np.sqrt(masses)
    square, vectors = np.linalg.eigh(system.stiffness / np.outer(root, root))
    normal = vectors.T
    heaviest = np.take_along_axis(normal, np.abs(normal).argmax(axis=1)[:, None], axis=1)
    normal = normal * np.sign(heaviest)
    frequency = np.sqrt(np.clip(square, 0.0, None))
    damped, ratio = _damped(system, normal * root, frequency)
    return Modes(frequency, normal / root, normal**2, damped, ratio)


def _damped(system: System, momentum: Array, frequency: Array) -> tuple[Array, Array]:
    """Frequency and damping ratio of each mode; `momentum` (N, N): M u of each undamped mode."""
    n = len(system.names)
    inverse = np.linalg.inv(system.mass)
    top = np.concatenate([np.zeros((n, n)), np.eye(n)], axis=1)
    below = np.concatenate([-inverse @ system.stiffness, -inverse @ system.damping], axis=1)
    values, vectors = np.linalg.eig(np.concatenate([top, below]))
    vibrating = np.abs(values.imag) > REAL * np.abs(values)
    upper = vibrating & (values.imag > 0.0)
    alike = _match(_unlikeness(vectors[:n, upper], system.mass, momentum))
    pairs = {mode: (values[upper][one], values[upper][one].conj()) for mode, one in alike.items()}
    pairs |= _real_pairs(values[~vibrating].real, frequency, [mode for mode in range(n) if mode not in pairs])
    first, second = np.array([pairs[mode] for mode in range(n)]).T
    damped = np.sqrt(np.abs(first * second))
    ratio = np.divide(-(first + second).real, 2.0 * damped, out=np.zeros(n), where=damped > 0.0)
    return damped, ratio


def _unlikeness(vectors: NDArray[np.complex128], mass: Array, momentum: Array) -> Array:
    """Share of each damped shape's energy that lies outside each undamped mode: (N, P)."""
    size = np.einsum("ik,i,ik->k", vectors.conj(), np.diagonal(mass), vectors).real
    return np.asarray(1.0 - np.abs(momentum @ vectors) ** 2 / size)


def _match(cost: Array) -> dict[int, int]:
    """Rows and columns (R, P) two by two, the least cost first; each row and each column once."""
    left = np.array(cost)
    found: dict[int, int] = {}
    for _ in range(min(left.shape)):
        row, column = (int(one) for one in np.unravel_index(int(left.argmin()), left.shape))
        found[row] = column
        left[row, :] = left[:, column] = np.inf
    return found


def _real_pairs(real: Array, frequency: Array, modes: list[int]) -> dict[int, tuple[complex, complex]]:
    """Two of the `real` eigenvalues for each of `modes`: those whose product is nearest to w^2, the nearest first."""
    waiting, free = list(modes), list(range(len(real)))
    found: dict[int, tuple[complex, complex]] = {}
    while waiting:
        first, second = (np.array(free)[rows] for rows in np.triu_indices(len(free), 1))
        product = np.log(np.abs(real[first] * real[second]) + TINY)
        miss = np.abs(product - 2.0 * np.log(frequency[waiting, None] + TINY))
        mode, pair = (int(one) for one in np.unravel_index(int(miss.argmin()), miss.shape))
        chosen = {int(first[pair]), int(second[pair])}
        found[waiting.pop(mode)] = (complex(real[first[pair]]), complex(real[second[pair]]))
        free = [one for one in free if one not in chosen]
    return found
