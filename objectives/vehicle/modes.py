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

from geometry.arrays import Array, Indices
from objectives.vehicle.system import System

REAL = 1e-9
"""An eigenvalue counts as real when its imaginary part is below this share of its size."""


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
    """All modes of a system with a diagonal mass matrix; raises `ValueError` for a mass that is not positive."""
    masses = np.diagonal(system.mass)
    if (masses <= 0.0).any():
        raise ValueError("every coordinate needs a mass above 0")
    root = np.sqrt(masses)
    square, vectors = np.linalg.eigh(system.stiffness / np.outer(root, root))
    normal = vectors.T
    heaviest = np.take_along_axis(normal, np.abs(normal).argmax(axis=1)[:, None], axis=1)
    normal = normal * np.sign(heaviest)
    damped, ratio = _damped(system, normal * root)
    return Modes(np.sqrt(np.clip(square, 0.0, None)), normal / root, normal**2, damped, ratio)


def _damped(system: System, momentum: Array) -> tuple[Array, Array]:
    """Frequency and damping ratio of each mode from the damped eigenvalues, which are matched to the undamped shapes.

    `momentum` (N, N): M u of each undamped mode.
    """
    n = len(system.names)
    inverse = np.linalg.inv(system.mass)
    top = np.concatenate([np.zeros((n, n)), np.eye(n)], axis=1)
    below = np.concatenate([-inverse @ system.stiffness, -inverse @ system.damping], axis=1)
    values, vectors = np.linalg.eig(np.concatenate([top, below]))
    pairs, likeness = _pair_up(values, _likeness(vectors[:n], system.mass, momentum))
    order = _assign(likeness)
    first, second = values[pairs[order, 0]], values[pairs[order, 1]]
    frequency = np.sqrt(np.abs(first * second))
    with np.errstate(invalid="ignore", divide="ignore"):
        return frequency, np.where(frequency > 0.0, -(first + second).real / (2.0 * frequency), 0.0)


def _likeness(vectors: Array, mass: Array, momentum: Array) -> Array:
    """Share of each damped shape's energy that lies in each undamped mode: (2N, N)."""
    size = np.einsum("ik,i,ik->k", vectors.conj(), np.diagonal(mass), vectors).real
    return np.asarray(np.abs(momentum @ vectors).T ** 2 / size[:, None])


def _pair_up(values: Array, likeness: Array) -> tuple[Indices, Array]:
    """The eigenvalues two by two (N, 2), conjugates together and real ones with those of the same mode."""
    real = np.abs(values.imag) <= REAL * np.abs(values)
    upper = np.flatnonzero(~real & (values.imag > 0.0))
    lower = [int(np.abs(values - values[one].conj()).argmin()) for one in upper]
    alone = np.flatnonzero(real)
    alone = alone[np.argsort(likeness[alone].argmax(axis=1), kind="stable")]
    pairs = np.concatenate([np.stack([upper, np.array(lower, dtype=np.intp)], axis=1), alone.reshape(-1, 2)])
    return pairs, likeness[pairs].mean(axis=1)


def _assign(likeness: Array) -> Indices:
    """For each mode the pair that is most like it, each pair once: the likest of all first."""
    left = np.array(likeness)
    chosen = np.zeros(len(left), dtype=np.intp)
    for _ in range(len(left)):
        pair, mode = np.unravel_index(int(left.argmax()), left.shape)
        chosen[mode] = pair
        left[pair, :] = left[:, mode] = -1.0
    return chosen
