"""What a study varies: paths to numbers of its axle, with bounds."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from geometry.arrays import Array
from geometry.axle import Arm, Axle, RockerPoint
from geometry.hardpoints import arm_of, axis_of, rod_eye
from objectives.adjustment.holes import is_polar
from objectives.adjustment.records import Adjustments
from optimiser.study.faults import shown, suggestion
from optimiser.study.fitting_keys import FITTINGS
from optimiser.study.forms import expectation
from optimiser.study.keys import number_at
from optimiser.study.listed import allows, hole_variable, is_listed, listed_variable, no_holes, varied_twice
from optimiser.study.numbers import numbers_of
from optimiser.study.reading import Reading
from optimiser.study.study import Variable
from optimiser.study.variables import HOLE, PICKUPS, pickup_of, to_file

POLAR = ("length", "angle", "offset")
COORDINATES = ("x", "y", "z")


def read_variables(reading: Reading, axle: Axle, adjust: Adjustments) -> tuple[Axle, tuple[Variable, ...]]:
    """The variables of a study, and its axle with those points as arms of which a polar number is varied.

    A point of which a length, angle or offset is written or varied rides with pivot and axis; a point written as
    coordinates, of which none is varied, stays in space when the pivot moves. A pick-up's hole counts as what it gives.
    """
    record = reading.record("vary")
    paths = tuple(record.places) if record else ()
    points = _rocker_points(axle)
    known = numbers_of(_with_arms(axle, set(points)))
    known.update(numbers_of(axle))
    holes = {f"{PICKUPS}{name}{HOLE}": each for name, each in adjust.holes.items()}
    sound = [path for path in paths if path in holes or _exists(reading, axle, path, known, adjust)]
    polar = [path for path in sound if path.rpartition(".")[2] in POLAR or is_polar(holes.get(path, ()))]
    ridden = {path.rpartition(".")[0]: path for path in reversed(polar)}
    _conflicts(reading, points, sound, ridden)
    varied_twice(reading, adjust, sound)
    converted = _with_arms(axle, set(ridden))
    values = numbers_of(converted)
    found = [
        hole_variable(reading, converted, adjust, path)
        if path in holes
        else _variable(reading, path, float(to_file(path, values[path])))
        for path in sound
        if path in holes or path in values
    ]
    return converted, tuple(variable for variable in found if variable is not None)


def start_notes(variables: tuple[Variable, ...]) -> tuple[str, ...]:
    """What the user should know of a study whose own geometry lies outside its bounds."""
    return tuple(
        f"the study's own {one.path} = {one.value:g} lies outside its bounds [{one.low:g}, {one.high:g}]"
        for one in variables
        if not one.low <= one.value <= one.high
    )


def _rocker_points(axle: Axle) -> dict[str, RockerPoint]:
    pickups = {f"rocker.pickups.{name}": point for name, point in axle.rocker.pickups.items()}
    return {"rocker.rod": axle.rocker.rod, **pickups}


def _with_arms(axle: Axle, paths: set[str]) -> Axle:
    """The axle with the rocker's points at `paths` in polar form, about the study's own pivot and axis."""
    rocker = axle.rocker
    with np.errstate(all="ignore"):
        axis = axis_of(rocker.axis, rocker.pivot, rod_eye(axle))

    def ride(path: str, point: RockerPoint) -> RockerPoint:
        if isinstance(point, Arm) or path not in paths:
            return point
        return arm_of(point, rocker.pivot, axis, rocker.reference)

    pickups = {name: ride(f"rocker.pickups.{name}", point) for name, point in rocker.pickups.items()}
    return replace(axle, rocker=replace(rocker, rod=ride("rocker.rod", rocker.rod), pickups=pickups))


def _exists(reading: Reading, axle: Axle, path: str, known: Mapping[str, Array], adjust: Adjustments) -> bool:
    """Whether a number of the axle has this path; notes the fault where none has."""
    if path in known:
        return not _parts_wishbone(reading, axle, path)
    if pickup_of(path) in axle.rocker.pickups:
        no_holes(reading, path, adjust)
        return False
    expected = "the path of a number of the axle, such as rocker.pivot.y"
    where, written = f"vary.{path}", f"axle.{path}"
    below = [one for one in known if one.startswith(f"{path}.")]
    if below:
        hint = f"name one of its numbers: {', '.join(below[:3])}"
        reading.key_fault(where, f"{shown(path)}, which is no number", expected, hint)
    elif path.partition(".")[0] in FITTINGS:
        hint = "vary the axle's numbers; `rockwright car` tells the spring that a target asks for"
        reading.key_fault(where, f"{shown(path)}, a number of what is fitted to the axle", expected, hint)
    elif path.removeprefix("axle.") in known:
        reading.key_fault(where, shown(path), expected, f"leave axle. out: {path.removeprefix('axle.')}")
    elif isinstance(_rocker_points(axle).get(path.rpartition(".")[0]), Arm) and path[-2:] in (".x", ".y", ".z"):
        hint = "vary its length, angle or offset, or write the point as coordinates"
        reading.key_fault(where, f"{shown(path)}, a coordinate of a point written as an arm", expected, hint)
    elif reading.has(written) and number_at(path) is None:
        reading.key_fault(where, f"{shown(path)}, which is no number", expected, "name a number")
    elif not reading.has(written):
        hint = suggestion(path, known, "look the names up in this file's axle")
        reading.key_fault(where, f"the path {shown(path)}, which is not there", expected, hint)
    return False


def _parts_wishbone(reading: Reading, axle: Axle, path: str) -> bool:
    """Whether varying this coordinate would part the two links that carry the rod."""
    carriers = axle.rod.carried_by
    parts = path.split(".")
    if len(carriers) != 2 or parts[0] != "links" or parts[1] not in carriers or parts[2] != "outboard":
        return False
    found = f"a coordinate of the outboard point that {' and '.join(carriers)} share"
    reading.key_fault(
        f"vary.{path}", found, "a number that may change alone", "leave the point the two links share fixed"
    )
    return True


def _conflicts(
    reading: Reading, points: Mapping[str, RockerPoint], paths: Iterable[str], ridden: Mapping[str, str]
) -> None:
    for path in paths:
        point, _, number = path.rpartition(".")
        if number in COORDINATES and point in ridden and not isinstance(points[point], Arm):
            found = f"both {ridden[point]} and {path}"
            reading.key_fault(f"vary.{path}", found, "either coordinates or arm of one point", "delete one of the two")


def _variable(reading: Reading, path: str, derived: float) -> Variable | None:
    where = f"vary.{path}"
    record = reading.record("vary")
    if record is None or path not in record.entries:
        return None
    written = reading.number(f"axle.{path}")
    if is_listed(reading, path):
        return listed_variable(reading, path, derived if np.isnan(written) else written)
    low, high = reading.span(where)
    form = number_at(path)
    if not low < high:
        reading.fault(
            where, f"[{low:g}, {high:g}]", "the lower bound first, then a higher one", "swap or correct the two"
        )
        return None
    if form and not (allows(form, low) and allows(form, high)):
        reading.fault(where, f"[{low:g}, {high:g}]", f"bounds that are each {expectation(form)}", "correct the bounds")
        return None
    return Variable(path, low, high, _turned(path, derived, low, high) if np.isnan(written) else written)


def _turned(path: str, derived: float, low: float, high: float) -> float:
    """A number worked out from coordinates; an angle by whole turns into its bounds, where one of them leads there."""
    turned = derived + 360.0 * float(np.ceil((low - derived) / 360.0))
    return turned if path.endswith(".angle") and turned <= high else derived
