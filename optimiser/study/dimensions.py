"""The dimensions of an axle: every length and angle that a study could vary, each with a step of its own."""

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import Literal, cast

import numpy as np

from geometry.arrays import Array, unit
from geometry.axle import AxisAligned, AxisAngles, Axle
from optimiser.study.keys import number_at
from optimiser.study.numbers import change_numbers, numbers_of
from optimiser.study.variables import to_inside


@dataclass(frozen=True)
class Dimension:
    """One number of an axle by its `path`, in mm or deg; `along` are the paths of numbers that move with it."""

    path: str
    unit: Literal["mm", "deg"]
    along: tuple[str, ...] = ()


def axis_in_angles(axle: Axle) -> Axle:
    """The axle with a rocker axis that is written as a vector in azimuth and elevation, which have degrees."""
    axis = axle.rocker.axis
    if isinstance(axis, AxisAngles | AxisAligned):
        return axle
    a = unit(axis)
    angles = AxisAngles(np.arctan2(a[..., 1], a[..., 0]), np.arcsin(np.clip(a[..., 2], -1.0, 1.0)))
    return replace(axle, rocker=replace(axle.rocker, axis=angles))


def dimensions_of(axle: Axle) -> tuple[Dimension, ...]:
    """Every number of one axle that is a length or an angle, in the file's order.

    Links that share an outboard point share its numbers: it goes under the first one's path. Numbers without a unit,
    those of a direction, are none.
    """
    joints = _shared_joints(axle)
    return tuple(
        Dimension(path, cast(Literal["mm", "deg"], form.unit), _along(joints, path))
        for path in numbers_of(axle)
        if (form := number_at(path)) and form.unit in ("mm", "deg") and not _follows(joints, path)
    )


def stepped(axle: Axle, dimensions: tuple[Dimension, ...], step: float) -> Axle:
    """A batch (2 D,) of one axle: each of D dimensions a `step` [mm, deg] up alone, then each a step down alone."""
    count = len(dimensions)
    off: dict[str, Array] = {}
    for place, dimension in enumerate(dimensions):
        for path in (dimension.path, *dimension.along):
            steps = np.zeros(2 * count)
            steps[[place, count + place]] = step, -step
            off[path] = to_inside(path, steps)
    return change_numbers(axle, lambda path, value: value + off[path] if path in off else value)


def _shared_joints(axle: Axle) -> dict[str, list[str]]:
    """The links at each outboard point that more than one link has, under the name of the first of them."""
    at: dict[bytes, list[str]] = defaultdict(list)
    for name, link in axle.links.items():
        at[link.outboard.tobytes()].append(name)
    return {names[0]: names[1:] for names in at.values()}


def _along(joints: dict[str, list[str]], path: str) -> tuple[str, ...]:
    section, *rest = path.split(".")
    if section != "links" or rest[1] != "outboard":
        return ()
    return tuple(f"links.{other}.outboard.{rest[2]}" for other in joints.get(rest[0], ()))


def _follows(joints: dict[str, list[str]], path: str) -> bool:
    section, *rest = path.split(".")
    return section == "links" and rest[1] == "outboard" and rest[0] not in joints
