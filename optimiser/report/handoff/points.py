"""The points of an axle as a table, left and right, as CAD takes them in: one point a line, comma-separated."""

import csv
from collections.abc import Iterator, Mapping
from io import StringIO

from geometry.axle import Axle
from optimiser.report.handoff.axle_tree import Tree, axle_tree, right_side_tree

HEADER = ("side", "point", "x_mm", "y_mm", "z_mm")
NO_POINTS = ("axis", "reference")
"""Directions of the rocker, which a tree gives beside its points."""


def points_csv(axle: Axle) -> str:
    """The table of one axle (no batch axes) at static, full precision, axes ISO 8855: x forward, y left, z up.

    A point is called by its path in the study file, `rocker.pickups.heave`.
    """
    text = StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(HEADER)
    for side, tree in (("left", axle_tree(axle)), ("right", right_side_tree(axle))):
        rows.writerows((side, path, *point) for path, point in _points(tree, ""))
    return text.getvalue()


def _points(tree: Mapping[str, Tree], path: str) -> Iterator[tuple[str, list[float]]]:
    for key, value in tree.items():
        place = f"{path}.{key}" if path else key
        if isinstance(value, Mapping):
            yield from _points(value, place)
        elif key not in NO_POINTS and isinstance(value, list):
            numbers = [number for number in value if isinstance(number, float)]
            if len(numbers) == 3:
                yield place, numbers
