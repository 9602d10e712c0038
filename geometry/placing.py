"""The points of a rocker placed for candidates laid out in lanes, compiled: what `geometry.tabulate` begins with.

The formulas are those of `geometry.hardpoints.place`, `geometry.rocker.lever_of` and `static_branch`, which are this
module's slow twin.

| symbol | meaning | array | unit |
|---|---|---|---|
| b, i, n | block, lane, end of the rocker | | |
| numbers | pivot, axis, reference, rod's outboard eye, then three of every end | (rows, blocks, LANES) | mm, rad |
| forms | how the axis, then each end is written: `AxisForm`, `EndForm` | (1 + ends,) | |
| a, e0, e1 | axis; the directions from which arm angles count | | - |
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from geometry.arrays import Array, Indices
from geometry.axle import Arm, AxisAligned, AxisAngles, Axle, RockerPoint
from geometry.compiled import compiled
from geometry.hardpoints import OUTWARD, rod_eye
from geometry.lanes import LANES, by_lane
from geometry.rocker import NO_ARM
from geometry.rod import carry_rod_eye
from geometry.side import SideTree
from geometry.upright import UprightMotion


class AxisForm(IntEnum):
    """How an axis is written."""

    VECTOR = 0
    ANGLES = 1
    ALIGNED = 2


class EndForm(IntEnum):
    """How an end of the rocker is written."""

    POINT = 0
    ARM = 1


@dataclass(frozen=True)
class Placed:
    """Rockers at static, in lanes.

    `rod` (blocks, 17, LANES): centre, e0, e1, axis, radius, cosine and sine of the arm's angle, rod length squared,
    branch. `levers` (ends, blocks, 9, LANES): centre, u, w; `radii` (ends, blocks, LANES) [mm].
    """

    rod: Array
    levers: Array
    radii: Array


def place_in_lanes(axle: Axle, ends: Sequence[str | None], blocks: int) -> Placed:
    """Place the rockers of a batch of axles with the batch axes (blocks, LANES), or fewer that broadcast.

    `ends` names the pick-ups whose levers are asked for, None the rod's inboard end, which has to be among them.
    """
    rocker = axle.rocker
    points = [rocker.rod if name is None else rocker.pickups[name] for name in ends]
    axis_form, axis = AxisForm.VECTOR, [OUTWARD[0], OUTWARD[1], OUTWARD[2]]
    match rocker.axis:
        case AxisAligned():
            axis_form = AxisForm.ALIGNED
        case AxisAngles(azimuth=azimuth, elevation=elevation):
            axis_form, axis = AxisForm.ANGLES, [azimuth, elevation, np.zeros(())]
        case vector:
            axis = _coordinates(vector)
    reference = OUTWARD if rocker.reference is None else rocker.reference
    written = [*_coordinates(rocker.pivot), *axis, *_coordinates(reference), *_coordinates(rod_eye(axle))]
    for point in points:
        written += [point.length, point.angle, point.offset] if isinstance(point, Arm) else _coordinates(point)
    numbers = np.empty((len(written), blocks, LANES))
    for row, number in zip(numbers, written, strict=True):
        row[...] = number
    placed = Placed(
        np.empty((blocks, 17, LANES)), np.empty((len(ends), blocks, 9, LANES)), np.empty((len(ends), blocks, LANES))
    )
    forms = np.array([axis_form, *map(_form, points)], dtype=np.intp)
    _place(numbers, forms, list(ends).index(None), placed.rod, placed.levers, placed.radii)
    return placed


def carry_in_lanes(axle: Axle, upright: UprightMotion, tree: SideTree, blocks: int) -> tuple[Array, Array]:
    """The rod's outboard eye at K side states, as in `geometry.rod.carry_rod_eye`, with its two velocities, in lanes.

    (1 or blocks, K, 3, LANES) [mm] and (1 or blocks, K, 6, LANES) [mm/mm]: one block where one eye serves all.
    """
    eye = rod_eye(axle)
    if axle.rod.carried_by or eye.ndim == 1 or upright.centre.ndim > 2:
        position, velocity = carry_rod_eye(axle, upright, tree)
        return by_lane(position, 2), by_lane(velocity.reshape(*velocity.shape[:-2], 6), 2)
    lever = np.empty((3, blocks, LANES))
    for row, number in zip(lever, _coordinates(eye - upright.static_centre), strict=True):
        row[...] = number
    position, velocity = np.empty((blocks, len(tree), 3, LANES)), np.empty((blocks, len(tree), 6, LANES))
    _carry(lever, upright.centre, upright.rotation, upright.rate, position, velocity)
    return position, velocity


def _coordinates(point: Array) -> list[Array]:
    return [point[..., 0], point[..., 1], point[..., 2]]


def _form(point: RockerPoint) -> EndForm:
    return EndForm.ARM if isinstance(point, Arm) else EndForm.POINT


@compiled
def _carry(lever: Array, centre: Array, rotation: Array, rate: Array, position: Array, velocity: Array) -> None:
    """A point of the upright, as in `geometry.upright.UprightMotion.carry`."""
    for b in range(position.shape[0]):
        for k in range(position.shape[1]):
            r, v = rotation[k], rate[k]
            for i in range(position.shape[3]):
                x, y, z = lever[0, b, i], lever[1, b, i], lever[2, b, i]
                turned_x = r[0, 0] * x + r[0, 1] * y + r[0, 2] * z
                turned_y = r[1, 0] * x + r[1, 1] * y + r[1, 2] * z
                turned_z = r[2, 0] * x + r[2, 1] * y + r[2, 2] * z
                position[b, k, 0, i] = centre[k, 0] + turned_x
                position[b, k, 1, i] = centre[k, 1] + turned_y
                position[b, k, 2, i] = centre[k, 2] + turned_z
                for j in range(2):
                    velocity[b, k, j, i] = v[0, j] + v[4, j] * turned_z - v[5, j] * turned_y
                    velocity[b, k, 2 + j, i] = v[1, j] + v[5, j] * turned_x - v[3, j] * turned_z
                    velocity[b, k, 4 + j, i] = v[2, j] + v[3, j] * turned_y - v[4, j] * turned_x


@compiled
def _place(numbers: Array, forms: Indices, rod_end: int, rod: Array, levers: Array, radii: Array) -> None:
    for b in range(numbers.shape[1]):
        for i in range(numbers.shape[2]):
            px, py, pz = numbers[0, b, i], numbers[1, b, i], numbers[2, b, i]
            qx, qy, qz = numbers[9, b, i], numbers[10, b, i], numbers[11, b, i]
            ax, ay, az = _axis(forms[0], numbers[3, b, i], numbers[4, b, i], numbers[5, b, i], qx - px, qz - pz)
            along = numbers[6, b, i] * ax + numbers[7, b, i] * ay + numbers[8, b, i] * az
            x0, y0, z0 = numbers[6, b, i] - along * ax, numbers[7, b, i] - along * ay, numbers[8, b, i] - along * az
            size = math.sqrt(x0 * x0 + y0 * y0 + z0 * z0)
            x0, y0, z0 = x0 / size, y0 / size, z0 / size
            x1, y1, z1 = ay * z0 - az * y0, az * x0 - ax * z0, ax * y0 - ay * x0
            for n in range(len(levers)):
                row = 12 + 3 * n
                first, second, third = numbers[row, b, i], numbers[row + 1, b, i], numbers[row + 2, b, i]
                length, level, rise, offset = first, first * math.cos(second), first * math.sin(second), third
                if forms[1 + n] == 0:
                    lx, ly, lz = first - px, second - py, third - pz
                    level, rise = lx * x0 + ly * y0 + lz * z0, lx * x1 + ly * y1 + lz * z1
                    length, offset = math.sqrt(level * level + rise * rise), lx * ax + ly * ay + lz * az
                radii[n, b, i] = length
                lever = levers[n, b]
                lever[0, i], lever[1, i], lever[2, i] = px + offset * ax, py + offset * ay, pz + offset * az
                lever[3, i], lever[4, i], lever[5, i] = (
                    level * x0 + rise * x1,
                    level * y0 + rise * y1,
                    level * z0 + rise * z1,
                )
                lever[6, i], lever[7, i], lever[8, i] = (
                    level * x1 - rise * x0,
                    level * y1 - rise * y0,
                    level * z1 - rise * z0,
                )
                if n == rod_end:
                    own = rod[b]
                    own[0, i], own[1, i], own[2, i] = lever[0, i], lever[1, i], lever[2, i]
                    own[3, i], own[4, i], own[5, i] = x0, y0, z0
                    own[6, i], own[7, i], own[8, i] = x1, y1, z1
                    own[9, i], own[10, i], own[11, i] = ax, ay, az
                    own[12, i], own[13, i], own[14, i] = length, level / length, rise / length
                    dx, dy, dz = qx - lever[0, i], qy - lever[1, i], qz - lever[2, i]
                    ex, ey, ez = dx - lever[3, i], dy - lever[4, i], dz - lever[5, i]
                    own[15, i] = ex * ex + ey * ey + ez * ez
                    own[16, i] = _branch(
                        2.0 * length * (dx * x0 + dy * y0 + dz * z0),
                        2.0 * length * (dx * x1 + dy * y1 + dz * z1),
                        own[13, i],
                        own[14, i],
                    )


@compiled
def _axis(form: int, first: float, second: float, third: float, dx: float, dz: float) -> tuple[float, float, float]:
    """The unit axis, as in `geometry.hardpoints.axis_of`; (dx, dz) from the pivot to the rod's outboard eye."""
    if form == 1:
        flat = math.cos(second)
        return flat * math.cos(first), flat * math.sin(first), math.sin(second)
    if form == 2:
        size = math.sqrt(dx * dx + dz * dz)
        sign = 1.0 if dz < 0.0 or (dz == 0.0 and dx > 0.0) else -1.0
        return -sign * dz / size, 0.0, sign * dx / size
    size = math.sqrt(first * first + second * second + third * third)
    return first / size, second / size, third / size


@compiled
def _branch(along: float, across: float, cos: float, sin: float) -> float:
    """+1 or -1, or NaN where rod and arm line up at static, as in `geometry.rocker.static_branch`."""
    sine = along * sin - across * cos
    if sine * sine <= NO_ARM * (along * along + across * across):
        return math.nan
    return 1.0 if sine > 0.0 else -1.0 if sine < 0.0 else sine
