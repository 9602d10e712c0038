"""The room in a study file: read, faulted, and written out again."""

from pathlib import Path

import numpy as np
import pytest
import yaml

from objectives.envelope.envelope import KeepOutBox, KeepOutCylinder
from objectives.goals import Limit
from optimiser.study.envelope import envelope_tree
from optimiser.study.faults import FaultsError
from optimiser.study.read import read_text

FRONT = (Path(__file__).parents[2] / "configs" / "front.yaml").read_text(encoding="utf-8")
ROOM = """
envelope:
  margins: {moving_to_fixed: 5, moving_to_moving: 3}
  inside: {y_min: 0, z_min: 380, z_max: 620, x: [-90, 110]}
  bodies:
    heave: {diameter: 60}
    roll: {diameter: 58}
    rod: {diameter: 20}
    rocker: {thickness: 22}
    links: {diameter: 25}
    wheel: {diameter: 650, width: 260}
  keep_out:
    steering_column: {cylinder: {from: [-200, 0, 620], to: [150, 0, 340], diameter: 30}}
    bulkhead: {box: {min: [110, -400, 100], max: [140, 400, 640]}}
"""


def test_a_room_is_read_as_written() -> None:
    envelope = read_text(FRONT + ROOM, "x").fittings.envelope
    assert envelope is not None
    assert envelope.diameters == {"heave": 60.0, "roll": 58.0, "rod": 20.0, "rocker": 22.0, "links": 25.0}
    assert envelope.wheel is not None
    assert (envelope.wheel.diameter, envelope.wheel.width) == (650.0, 260.0)
    assert envelope.low.tolist() == [-90.0, 0.0, 380.0]
    assert envelope.high.tolist() == [110.0, np.inf, 620.0]
    assert envelope.margins is not None
    assert (envelope.margins.to_fixed, envelope.margins.to_moving) == (5.0, 3.0)
    column, bulkhead = envelope.keep_out["steering_column"], envelope.keep_out["bulkhead"]
    assert isinstance(column, KeepOutCylinder)
    assert (column.first.tolist(), column.last.tolist(), column.diameter) == ([-200, 0, 620], [150, 0, 340], 30)
    assert isinstance(bulkhead, KeepOutBox)
    assert (bulkhead.low.tolist(), bulkhead.high.tolist()) == ([110, -400, 100], [140, 400, 640])


def test_a_room_holds_its_margins_and_bounds_by_itself() -> None:
    own = read_text(FRONT, "x").goals
    assert read_text(FRONT + ROOM, "x").goals == (
        *own,
        Limit("clearance.reserve", at_least=0.0),
        Limit("envelope.overstep", at_most=0.0),
    )
    asked = FRONT.replace("goals:\n", "goals:\n  clearance.reserve: {at_least: 2}\n  inboard.height: minimise\n") + ROOM
    goals = {goal.figure: goal for goal in read_text(asked, "x").goals}
    assert goals["clearance.reserve"] == Limit("clearance.reserve", at_least=2.0)
    assert "inboard.height" in goals
    assert len(goals) == len(own) + 3


def test_a_pair_may_be_a_goal_and_an_unknown_one_is_a_fault() -> None:
    asked = FRONT.replace("goals:\n", "goals:\n  clearance.heave_to_rod: {at_least: 4}\n") + ROOM
    assert Limit("clearance.heave_to_rod", at_least=4.0) in read_text(asked, "x").goals
    with pytest.raises(FaultsError) as caught:
        read_text(asked.replace("heave_to_rod", "rod_to_heave"), "x")
    assert "clearance.rod_to_heave" in caught.value.faults[0].path


def test_what_is_written_out_is_read_again_alike() -> None:
    first = read_text(FRONT + ROOM, "x").fittings.envelope
    again = read_text(FRONT + yaml.safe_dump({"envelope": envelope_tree(first)}), "x").fittings.envelope
    assert envelope_tree(again) == envelope_tree(first) != {}
    assert envelope_tree(None) == {}


@pytest.mark.parametrize(
    ("old", "new", "path", "found"),
    [
        ("heave: {diameter: 60}", "heve: {diameter: 60}", "envelope.bodies.heve", "unknown body"),
        ("rocker: {thickness: 22}", "rocker: {diameter: 22}", "envelope.bodies.rocker", ""),
        ("min: [110, -400, 100]", "min: [150, -400, 100]", "envelope.keep_out.bulkhead.box", "min x 150 above"),
        ("bulkhead: {box", "rod: {box", "envelope.keep_out.rod", "called rod"),
        ("bulkhead: {box", "steering: {box", "envelope.keep_out.steering", "the link steering"),
        ("z_max: 620", "z_max: 300", "envelope.inside.z_min", "z from 380 to 300"),
        ("y_min: 0", "x_min: 0", "envelope.inside.x_min", "bounded twice"),
        ("{moving_to_fixed: 5, ", "{", "envelope.margins", "no key moving_to_fixed"),
        ("moving_to_moving: 3", "moving_to_moving: -3", "envelope.margins.moving_to_moving", "-3"),
        ("{cylinder: {from", "{box: {min: [0, 0, 0], max: [1, 1, 1]}, cylinder: {from", "steering_column", "both"),
        ("cylinder: {from: [-200, 0, 620], to: [150, 0, 340], diameter: 30}", "", "steering_column", "neither"),
        ("diameter: 650", "diameter: 0", "envelope.bodies.wheel.diameter", "0"),
    ],
)
def test_faults_name_their_place(old: str, new: str, path: str, found: str) -> None:
    assert old in ROOM
    with pytest.raises(FaultsError) as caught:
        read_text(FRONT + ROOM.replace(old, new), "x")
    assert any(path in fault.path and found in fault.found for fault in caught.value.faults), caught.value.faults


def test_goals_on_a_room_that_is_not_there_say_so() -> None:
    with pytest.raises(FaultsError) as caught:
        read_text(FRONT.replace("goals:\n", "goals:\n  clearance.min: {at_least: 4}\n"), "x")
    assert caught.value.faults[0].path == "goals.clearance.min"
