"""Angles between a line and a rocker: transmission in the rocker's plane, tilt out of it."""

import numpy as np

from geometry.arrays import Array, cross, dot, norm


def projected_angle(line: Array, swing: Array, axis: Array) -> Array:
    """Transmission angle (...) [rad]: between an arm and a line, both seen along the axis, folded to 0..pi/2.

    `line`, `swing`, `axis` (..., 3) broadcast. `swing` = a x r is square to the arm r in the rocker's plane; with l
    the line, its part along the arm is (a x r) . (a x l) / |r|.
    """
    return np.arctan2(np.abs(dot(swing, line)), np.abs(dot(swing, cross(axis, line))))


def rise(line: Array) -> Array:
    """Angle (...) [rad] of a line (..., 3) to the ground plane, 0..pi/2."""
    return np.arctan2(np.abs(line[..., 2]), np.hypot(line[..., 0], line[..., 1]))


def tilt(line: Array, axis: Array) -> Array:
    """Angle (...) [rad] of a line out of the plane square to a unit `axis`, at least 0; both (..., 3)."""
    along = np.abs(dot(line, axis))
    return np.arctan2(along, norm(line - dot(line, axis)[..., None] * axis))
