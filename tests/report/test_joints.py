"""Joints in an analysis and in a hand-off: told, verified by the second reading, and noticed where edited."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from geometry.axle import Axle
from geometry.joints import joint_places
from objectives.fittings.fitted import Fittings
from objectives.fittings.joints import Joint
from optimiser.report.analysis.document import to_json
from optimiser.report.analysis.record import analyse
from optimiser.report.analysis.tables import analysis_tables
from optimiser.report.front.short_names import short_figures
from optimiser.report.handoff.document import Origin, handoff_document
from optimiser.report.handoff.second_reading.plain import UnreadableError
from optimiser.report.handoff.second_reading.recompute import recompute
from optimiser.report.handoff.text import as_text
from optimiser.report.handoff.verify import verify
from optimiser.report.tables.cells import View
from optimiser.study.read import read_text
from optimiser.study.study import Study
from tests.axles import KINDS, front, travel_of, vector
from tests.joints import stated

FRONT = (Path(__file__).parents[2] / "configs" / "front.yaml").read_text(encoding="utf-8")
ORIGIN = Origin("x", "0", 1, "base", "2026-01-01T00:00:00Z")


def study(axle: Axle, joints: Mapping[str, Joint]) -> Study:
    travel = replace(travel_of(axle), step=10.0)
    return replace(read_text(FRONT, "x"), axle=axle, travel=travel, goals=(), fittings=Fittings(joints=joints))


def section(document: Mapping[str, object], name: str) -> dict[str, float]:
    found = document[name]
    assert isinstance(found, dict)
    return found


USUAL = ("two wishbones, rod on the lower", "five split links, rod on one link", "corner struts")
"""The kinds of the usual run: what carries the rod differs."""


@pytest.mark.parametrize(
    "kind", [kind if kind in USUAL else pytest.param(kind, marks=pytest.mark.long) for kind in KINDS]
)
def test_both_readings_of_every_joint_agree(kind: str) -> None:
    axle = KINDS[kind]()
    rides = {name: Joint(None, 9.0) for name, place in joint_places(axle).items() if place.end.on_rocker}
    for joints in (stated(axle), rides):
        document = handoff_document(study(axle, joints), axle, ORIGIN)
        figures, again = section(document, "figures"), section(recompute(document), "figures")
        names = [name for name in figures if name.startswith("joint.")]
        assert len(names) == 2 * len(joints)
        for name in names:
            assert figures[name] == pytest.approx(again[name], abs=1e-9), name
        assert verify(document, "x").differences == ()
        assert list(read_text(as_text(document), "x").fittings.joints) == list(joints)


def test_an_angle_or_a_bolt_that_was_edited_is_named() -> None:
    document = handoff_document(study(front(), stated(front())), front(), ORIGIN)
    figures = section(document, "figures")
    told = {**figures, "joint.roll_left.angle_max": figures["joint.roll_left.angle_max"] - 1.0}
    assert "figures.joint.roll_left.angle_max" in {
        one.path for one in verify({**document, "figures": told}, "x").differences
    }
    joints = document["joints"]
    assert isinstance(joints, dict)
    bent = {**document, "joints": {**joints, "rod_outboard": {**joints["rod_outboard"], "bolt": [1.0, 0.0, 0.0]}}}
    named = {one.path for one in verify(bent, "x").differences}
    assert {"figures.joint.rod_outboard.angle_max", "figures.joint.rod_outboard.angle_reserve"} <= named
    gone = {**document, "joints": {name: joint for name, joint in joints.items() if name != "heave_right"}}
    assert "figures.joint.heave_right.angle_max" in {one.path for one in verify(gone, "x").differences}


@pytest.mark.parametrize(
    ("name", "joint", "named"),
    [
        ("rod_middle", {}, "joints.rod_middle"),
        ("rod_outboard", {"limit": 3}, "joints.rod_outboard"),
        ("roll_chassis", {"bolt": [1, 0, 0]}, "joints.roll_chassis"),
        ("rod_inboard", {"bolt": [0, 0, 0]}, "joints.rod_inboard.bolt"),
        ("rod_inboard", {"limit": "wide"}, "joints.rod_inboard.limit"),
    ],
)
def test_the_second_reading_names_a_joint_that_it_cannot_read(name: str, joint: object, named: str) -> None:
    document = handoff_document(study(front(), {}), front(), ORIGIN)
    with pytest.raises(UnreadableError, match=named):
        recompute({**document, "joints": {name: joint}})


def test_analyse_tells_how_far_each_joint_is_out_of_true_and_where() -> None:
    joints = {
        "rod_outboard": Joint(vector(1, 0, 0), 12.0),
        "heave_left": Joint(),
        "roll_left": Joint(vector(1, 0.2, 0), 4.0),
    }
    analysis = analyse(study(front(), joints))
    outboard, idle, roll = analysis.joints
    assert (outboard.name, idle.name, roll.name) == tuple(joints)
    assert outboard.static == pytest.approx(0.0, abs=1e-9)
    assert (outboard.largest or 0.0) > 10.0
    assert outboard.state == "wheel +48.0, rack +30.0"
    assert outboard.reserve == 12.0 - (outboard.largest or 0.0)
    assert (idle.static, idle.largest, idle.state, idle.limit, idle.reserve) == (0.0, 0.0, "static", None, None)
    assert roll.reserve is not None
    assert roll.reserve < 0.0
    assert roll.state.startswith(("heave", "roll"))
    lines = [" ".join(line.split()) for line in analysis_tables(analysis, View(width=100))]
    row = f"rod_outboard {outboard.static:.2f} {outboard.largest:.2f} 12.00 {outboard.reserve:.2f} {outboard.state}"
    assert row in lines
    assert to_json(analysis)["joints"] == {
        row.name: {
            "static": row.static,
            "largest": row.largest,
            "state": row.state,
            "limit": row.limit,
            "reserve": row.reserve,
        }
        for row in analysis.joints
    }
    assert "joints" not in to_json(analyse(study(front(), {})))


def test_a_front_tells_joints_apart_by_short_names() -> None:
    names = [f"joint.{name}.angle_reserve" for name in ("rod_outboard", "rod_inboard", "heave_left", "heave_right")]
    assert short_figures(names) == [
        ("rod_ou", "aleft"),
        ("rod_in", "aleft"),
        ("heave_left", "angle_reserve"),
        ("heave_right", "angle_reserve"),
    ]


def test_where_the_axle_cannot_move_the_state_says_why() -> None:
    far = replace(study(front(), {"rod_inboard": Joint(None, 9.0)}))
    travel = replace(far.travel, wheel=(-260.0, 260.0), heave=(-250.0, 250.0), step=50.0)
    (row,) = analyse(replace(far, travel=travel)).joints
    assert row.largest is None
    assert row.reserve is None
    assert row.state in ("unreachable", "wheel_locked", "over_centre")
