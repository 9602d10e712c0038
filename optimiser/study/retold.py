"""Earlier designs as points of another study's search: every number that it varies, read from their geometry.

Symbols: N designs, V variables.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array
from geometry.axle import Arm, AxisAligned, AxisAngles, Axle
from geometry.hardpoints import arm_of, place
from objectives.adjustment.records import Hole
from optimiser.study.numbers import numbers_of
from optimiser.study.study import Study, Variable
from optimiser.study.variables import HOLE, PICKUPS, base_point, candidates, is_angle, pickup_of, to_file

AXIS = "rocker.axis"
SAME = 1e-6
"""Numbers [mm, deg] are the same within this: they may have been worked out from others."""


@dataclass(frozen=True)
class Retold:
    """Designs `x` (N, V) in the study file's units, which may lie outside its bounds.

    `absent`: the variables that the designs have no number for, at the study's own value in all of them. `other`:
    numbers that the study does not vary and that are others in the designs, by their paths.
    """

    x: Array
    absent: tuple[str, ...]
    other: tuple[str, ...]


def retold(study: Study, earlier: Study, x: Array) -> Retold:
    """The candidates `x` (N, W) of an `earlier` study as points of `study`'s search.

    A number is taken as it is written there; an arm's length, angle and offset of a point, a point's coordinates of an
    arm, and an axis's angles of a vector are worked out. Angles are turned by whole turns into the bounds where that
    is possible. Of the holes of a pick-up the one is chosen that is nearest to where the pick-up was.
    """
    known = _known(study, earlier, x)
    own = base_point(study)
    columns, absent = [np.zeros((len(x), 0))], []
    for variable, value in zip(study.variables, own, strict=True):
        found = known.get(variable.path)
        if found is None or not np.isfinite(found).all():
            absent.append(variable.path)
            found = np.full(len(x), value)
        columns.append(_turned(variable, np.broadcast_to(found, len(x)))[:, None])
    return Retold(np.concatenate(columns, axis=1), tuple(absent), _other(study, known))


def _known(study: Study, earlier: Study, x: Array) -> Mapping[str, Array]:
    """All numbers of the designs by path, in the file's units, each () or (N,)."""
    axle = candidates(earlier, x)
    inside = numbers_of(_with_points(axle)) | numbers_of(_with_arms(axle, study.axle.rocker.reference))
    inside |= _axis_angles(axle)
    if _same_reference(study, earlier):
        inside |= numbers_of(axle)
    known = {path: to_file(path, value) for path, value in inside.items()} | _axis_vector(study, axle)
    if _same_reference(study, earlier):  # to the last bit, as they are no more after a turn into rad and back
        known |= {variable.path: x[:, column] for column, variable in enumerate(earlier.variables)}
    return known | _holes(study, inside)


def _same_reference(study: Study, earlier: Study) -> bool:
    """Whether angles of arms count from the same direction in both."""
    first, second = study.axle.rocker.reference, earlier.axle.rocker.reference
    return first is second or (first is not None and second is not None and np.array_equal(first, second))


def _with_points(axle: Axle) -> Axle:
    """The axle with every arm of its rocker as a point."""
    points = place(axle)
    return replace(axle, rocker=replace(axle.rocker, rod=points.rod_inboard, pickups=points.pickups))


def _with_arms(axle: Axle, reference: Array | None) -> Axle:
    """The axle with every point of its rocker as an arm, whose angle counts from `reference`."""
    points = place(axle)

    def arm(point: Array) -> Arm:
        return arm_of(point, points.pivot, points.axis, reference)

    pickups = {name: arm(point) for name, point in points.pickups.items()}
    return replace(axle, rocker=replace(axle.rocker, rod=arm(points.rod_inboard), pickups=pickups))


def _other(study: Study, known: Mapping[str, Array]) -> tuple[str, ...]:
    """Paths of the numbers that the study does not vary, and that are not the same in all designs as here."""
    varied = {variable.path for variable in study.variables}
    chosen = tuple(f"{PICKUPS}{name}." for name in map(pickup_of, varied) if name is not None)
    fixed = {path: value for path, value in numbers_of(study.axle).items() if path not in varied}
    return tuple(
        path
        for path, value in fixed.items()
        if path in known and not path.startswith(chosen) and not _agree(path, known[path], to_file(path, value))
    )


def _agree(path: str, first: Array, second: Array) -> bool:
    """Whether two numbers of one path are the same, angles up to whole turns."""
    apart = first - second
    if is_angle(path):
        apart = apart - 360.0 * np.round(apart / 360.0)
    return bool((np.abs(apart) <= SAME).all())


def _axis_angles(axle: Axle) -> dict[str, Array]:
    """Azimuth and elevation [rad] of the rocker's axis, whatever form it is written in."""
    x, y, z = np.moveaxis(place(axle).axis, -1, 0)
    return {f"{AXIS}.azimuth": np.arctan2(y, x), f"{AXIS}.elevation": np.arctan2(z, np.hypot(x, y))}


def _axis_vector(study: Study, axle: Axle) -> dict[str, Array]:
    """The axis as a vector as long as makes its largest number that the study does not vary the study's own."""
    own, axis = study.axle.rocker.axis, place(axle).axis
    if isinstance(own, AxisAligned | AxisAngles):
        return {}
    varied = {variable.path for variable in study.variables}
    fixed = [abs(own[at]) if f"{AXIS}.{name}" not in varied else 0.0 for at, name in enumerate("xyz")]
    at = int(np.argmax(fixed))
    with np.errstate(all="ignore"):
        scale = own[at] / axis[..., at] if fixed[at] > 0.0 else np.ones(axis.shape[:-1])
        return {f"{AXIS}.{name}": axis[..., k] * scale for k, name in enumerate("xyz")}


def _holes(study: Study, inside: Mapping[str, Array]) -> dict[str, Array]:
    """The nearest hole of each pick-up whose hole the study varies; numbers by path are in mm and rad."""
    found = {}
    for path in (variable.path for variable in study.variables):
        point = path.removesuffix(HOLE)
        if (pickup := pickup_of(path)) is not None and f"{point}.length" in inside:
            apart = [_apart(point, hole, inside) for hole in study.fittings.adjust.holes[pickup]]
            found[path] = np.argmin(np.broadcast_arrays(*apart), axis=0).astype(np.float64)
    return found


def _apart(point: str, hole: Hole, inside: Mapping[str, Array]) -> Array:
    """How far [mm^2] a hole is from where a pick-up was; its angle counts at the end of its arm."""
    total = np.zeros(())
    for name, value in hole.items():
        miss = value - inside[f"{point}.{name}"]
        chord = 2.0 * inside[f"{point}.length"] * np.sin(0.5 * miss)
        total = total + (chord if name == "angle" else miss) ** 2
    return total


def _turned(variable: Variable, value: Array) -> Array:
    """Angles (N,) outside the bounds by whole turns to where they are nearest to the bounds' middle."""
    if not is_angle(variable.path):
        return value
    middle = 0.5 * (variable.low + variable.high)
    outside = (value < variable.low) | (value > variable.high)
    return np.where(outside, value - 360.0 * np.round((value - middle) / 360.0), value)
