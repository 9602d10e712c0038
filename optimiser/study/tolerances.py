"""How exactly the axle of a file is built, read and written out again."""

from collections.abc import Mapping, Sequence
from typing import TypeAlias

from geometry.axle import Axle
from geometry.built import movable
from objectives.tolerance.build import Build, Spread, errors_of, tolerances
from optimiser.study.faults import shown, suggestion
from optimiser.study.reading import Reading
from optimiser.study.study import Study

GROUPS = ("pivots", "pickups", "rod_length")

MEANS = {
    Spread.ONE_SIGMA: "one standard deviation",
    Spread.TWO_SIGMA: "two standard deviations",
    Spread.THREE_SIGMA: "three standard deviations",
    Spread.LIMITS: "a limit, any value within as likely as another",
}

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


def build_in_words(study: Study) -> list[str]:
    """The tolerance of each point and of the rod, and what the numbers mean; nothing where nothing is said."""
    build = study.fittings.build
    if build is None:
        return []
    sizes = tolerances(build, study.axle) | ({"rod length": build.rod_length} if build.rod_length else {})
    by_size: dict[float, list[str]] = {}
    for path, size in sizes.items():
        by_size.setdefault(size, []).append(path)
    said = [f"+- {size:g} mm on {', '.join(paths)}" for size, paths in by_size.items()]
    return [*said, f"each coordinate, left and right on their own; a number is {MEANS[build.spread]}"]


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
