"""How exactly the axle of a file is built, read and written out again."""

from collections.abc import Mapping, Sequence
from typing import TypeAlias

from geometry.axle import Axle
from geometry.built import movable
from objectives.tolerance.build import Build, Spread, errors_of
from optimiser.study.faults import shown, suggestion
from optimiser.study.reading import Reading

GROUPS = ("pivots", "pickups", "rod_length")

Tree: TypeAlias = "bool | float | str | Sequence[Tree] | Mapping[str, Tree]"
"""A branch of a YAML file."""


def read_build(reading: Reading, axle: Axle) -> Build | None:
    """The build of a file; None where nothing is said of it, or where it has a fault, which is noted."""
    before = len(reading.faults)
    if reading.record("build") is None:
        return None
    groups = {key: reading.number(f"build.{key}") if reading.has(f"build.{key}") else 0.0 for key in GROUPS}
    points = _points(reading, axle)
    spread = reading.text("build.spread")
    if spread is None or len(reading.faults) > before or not all(size >= 0.0 for size in groups.values()):
        return None
    build = Build(groups["pivots"], groups["pickups"], groups["rod_length"], points, Spread(spread))
    if not errors_of(build, axle):
        hint = "write pivots, pickups, rod_length or points, or delete build"
        reading.fault("build", "a build without any tolerance above 0", "at least one tolerance [mm]", hint)
        return None
    return build


def build_tree(build: Build | None) -> dict[str, Tree]:
    """The section `build` of a study; nothing where nothing is said of it."""
    if build is None:
        return {}
    groups = {"pivots": build.pivots, "pickups": build.pickups, "rod_length": build.rod_length}
    tree: dict[str, Tree] = {key: float(size) for key, size in groups.items()}
    if build.points:
        tree["points"] = {path: float(size) for path, size in build.points.items()}
    return tree | {"spread": build.spread.value}


def _points(reading: Reading, axle: Axle) -> dict[str, float]:
    """Tolerances by the paths of points; a path that no point has is a fault."""
    known = movable(axle)
    points = {}
    for path in reading.keys("build.points"):
        place = f"build.points.{path}"
        if path not in known:
            hint = suggestion(path, known, "name a point as under `axle`, from its part down: rocker.pickups.NAME")
            reading.key_fault(place, f"the unknown point {shown(path)}", "the path of a point of this axle", hint)
        elif path in reading.names("build.points"):
            points[path] = reading.number(place)
    return points
