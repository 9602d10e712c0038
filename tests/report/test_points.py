"""The point table: every point of both sides, as the hand-off has them."""

import csv
from collections.abc import Mapping
from io import StringIO

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Axle
from geometry.hardpoints import place
from optimiser.report.handoff.points import HEADER, points_csv
from tests.axles import KINDS, front, front_corner, with_bars

AXLES: Mapping[str, Axle] = {**{kind: make() for kind, make in KINDS.items()}, "bars": with_bars(front())}


def table(axle: Axle) -> dict[tuple[str, str], Array]:
    rows = list(csv.reader(StringIO(points_csv(axle))))
    assert tuple(rows[0]) == HEADER
    found = {(side, name): np.array([float(value) for value in point]) for side, name, *point in rows[1:]}
    assert len(found) == len(rows) - 1
    return found


@pytest.mark.parametrize("kind", AXLES)
def test_the_points_are_the_axles_own_and_the_right_ones_their_mirror(kind: str) -> None:
    axle = AXLES[kind]
    found, points = table(axle), place(axle)
    assert np.array_equal(found["left", "rocker.pivot"], points.pivot)
    assert np.array_equal(found["left", "rocker.rod"], points.rod_inboard)
    assert np.array_equal(found["left", "rod.outboard"], points.rod_outboard)
    for name, point in points.pickups.items():
        assert np.array_equal(found["left", f"rocker.pickups.{name}"], point)
    for name, link in axle.links.items():
        assert np.array_equal(found["left", f"links.{name}.inboard"], link.inboard)
        assert np.array_equal(found["left", f"links.{name}.outboard"], link.outboard)
    left = {name: point for (side, name), point in found.items() if side == "left"}
    right = {name: point for (side, name), point in found.items() if side == "right"}
    assert left.keys() == right.keys()
    for name, point in left.items():
        assert np.array_equal(right[name], point * [1.0, -1.0, 1.0])


def test_points_of_elements_are_there_and_directions_are_not() -> None:
    assert ("right", "elements.corner.chassis") in table(front_corner())
    found = table(with_bars(front()))
    assert {("left", "elements.anti_roll.arm.pivot"), ("left", "elements.anti_roll.arm.end")} <= found.keys()
    assert not any("axis" in name or "reference" in name for _, name in found)
