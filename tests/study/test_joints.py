"""The joints in a study file: read, faulted, written out again, and the goals that come with them."""

from pathlib import Path

import pytest
import yaml

from objectives.fittings.bearing import angle_beside_bolt, angle_beside_spacer, angle_in_fork
from objectives.goals import Limit
from optimiser.study.faults import FaultsError
from optimiser.study.joints import joint_tree
from optimiser.study.portrait import portray
from optimiser.study.read import read_text
from optimiser.study.study import Study

FRONT = (Path(__file__).parents[2] / "configs" / "front.yaml").read_text(encoding="utf-8")
JOINTS = """
joints:
  rod_outboard: {bolt: [1, 0.1, 0], limit: 12}
  rod_inboard: {limit: {beside: fork, ball_width: 8.7, housing_width: 6.4, head_diameter: 16.7, chamfer: 0.5}}
  heave_left: {limit: {beside: spacer, ball_width: 12, housing_width: 9, ball_diameter: 15.875}}
  heave_right: {limit: {beside: bolt, bore: 8, housing_width: 9, ball_diameter: 15.875}}
  roll_left: {}
"""
CORNER = FRONT.replace(
    "roll: {kind: strut, left: roll_upper, right: roll_lower, serves: roll}",
    "roll: {kind: strut, left: roll_upper, right: roll_lower, serves: roll}\n"
    "    corner: {kind: strut, left: heave, chassis: [44, 60, 395]}\n"
    "    torsion: {kind: torsion_bar}",
)


def read(text: str) -> Study:
    return read_text(text, "x")


def test_joints_are_read_as_written() -> None:
    joints = read(FRONT + JOINTS).fittings.joints
    assert list(joints) == ["rod_outboard", "rod_inboard", "heave_left", "heave_right", "roll_left"]
    outboard = joints["rod_outboard"]
    assert outboard.bolt is not None
    assert outboard.bolt.tolist() == [1.0, 0.1, 0.0]
    assert outboard.limit == 12.0
    assert all(joint.bolt is None for name, joint in joints.items() if name != "rod_outboard")
    assert joints["rod_inboard"].limit == angle_in_fork(8.7, 6.4, 16.7, 0.5)
    assert joints["heave_left"].limit == angle_beside_spacer(12.0, 9.0, 15.875)
    assert joints["heave_right"].limit == angle_beside_bolt(8.0, 9.0, 15.875)
    assert joints["roll_left"].limit is None
    assert not read(FRONT).fittings.joints


def test_a_joint_with_a_limit_is_held_to_it_by_itself() -> None:
    own = read(FRONT).goals
    limited = ("rod_outboard", "rod_inboard", "heave_left", "heave_right")
    held = [Limit(f"joint.{name}.angle_reserve", at_least=0.0) for name in limited]
    assert read(FRONT + JOINTS).goals == (*own, *held)
    asked = FRONT.replace("goals:\n", "goals:\n  joint.rod_outboard.angle_reserve: {at_least: 2}\n") + JOINTS
    goals = read(asked).goals
    assert goals[0] == Limit("joint.rod_outboard.angle_reserve", at_least=2.0)
    assert len(goals) == len(own) + len(held)


def test_a_chassis_end_has_a_bolt_of_its_own() -> None:
    joints = read(CORNER + "joints:\n  corner_chassis: {bolt: [0, 0, 2], limit: 20}\n").fittings.joints
    assert joints["corner_chassis"].limit == 20.0
    assert fault(CORNER + "joints:\n  corner_chassis: {limit: 20}\n", "joints.corner_chassis") == "no bolt"


def test_what_is_written_out_is_read_again_alike() -> None:
    first = read(FRONT + JOINTS).fittings.joints
    again = read(FRONT + yaml.safe_dump({"joints": joint_tree(first)})).fittings.joints
    assert joint_tree(again) == joint_tree(first)
    assert list(joint_tree(first)) == list(first)
    assert joint_tree({}) == {}


def fault(text: str, path: str) -> str:
    """What was found of the one fault of a text, which lies at a path."""
    with pytest.raises(FaultsError) as caught:
        read(text)
    (one,) = caught.value.faults
    assert one.path == path, one
    return one.found


@pytest.mark.parametrize(
    ("old", "new", "path", "found"),
    [
        ("rod_outboard: {bolt: [1, 0.1, 0], ", "rod_outboard: {", "rod_outboard", "no bolt"),
        ("[1, 0.1, 0]", "[0, 0, 0]", "rod_outboard.bolt", "a bolt without length"),
        ("[1, 0.1, 0]", "[1, 0]", "rod_outboard.bolt", "a list of 2"),
        ("limit: 12", "limit: 0", "rod_outboard.limit", "0"),
        ("limit: 12", "limit: 90", "rod_outboard.limit", "90"),
        ("limit: 12", "limits: 12", "rod_outboard.limits", "the unknown key 'limits'"),
        ("roll_left", "role_left", "role_left", "the unknown joint 'role_left'"),
        ("roll_left", "roll_chassis", "roll_chassis", "the chassis end of roll"),
        ("roll_left", "rod_left", "rod_left", "the left end of rod"),
        ("roll_left", "rod", "rod", "the unknown joint 'rod'"),
        ("beside: spacer", "beside: washer", "heave_left.limit.beside", "'washer'"),
        ("{beside: spacer, ", "{", "heave_left.limit.beside", "no key beside"),
        ("bore: 8, ", "", "heave_right.limit.bore", "no key bore"),
        ("bore: 8", "bore: 16", "heave_right.limit", "dimensions that give no angle: bore 16"),
        ("ball_width: 8.7", "ball_width: 6.3", "rod_inboard.limit", "dimensions that give no angle: ball_width 6.3"),
    ],
)
def test_faults_name_their_place(old: str, new: str, path: str, found: str) -> None:
    assert old in JOINTS
    assert fault(FRONT + JOINTS.replace(old, new), f"joints.{path}").startswith(found)


def test_a_bar_has_no_joint_here() -> None:
    assert fault(CORNER + "joints:\n  torsion_left: {}\n", "joints.torsion_left") == "a joint of the bar torsion"


def test_an_element_that_is_faulty_is_the_one_fault_of_its_joints() -> None:
    broken = FRONT.replace("right: heave, serves: heave", "right: heave, serves: pitch")
    with pytest.raises(FaultsError) as caught:
        read(broken + JOINTS)
    assert {one.path for one in caught.value.faults} == {"axle.elements.heave.serves"}


def test_a_bolt_along_its_rod_is_told() -> None:
    study = read(FRONT + "joints:\n  rod_outboard: {bolt: [0, -537, 269]}\n  heave_left: {bolt: [1, 0.5, 0]}\n")
    (note,) = (one for one in study.notes if "bolt" in one)
    assert note.startswith("the bolt of the joint rod_outboard lies along its rod or strut, ")


def test_goals_on_a_joint_of_which_nothing_is_said_say_so() -> None:
    for figure in ("joint.rod_outboard.angle_max", "joint.roll_left.angle_reserve"):
        asked = FRONT.replace("goals:\n", f"goals:\n  {figure}: {{at_most: 4}}\n")
        text = asked + ("" if "rod" in figure else "joints: {roll_left: {}}\n")
        with pytest.raises(FaultsError) as caught:
            read(text)
        (one,) = caught.value.faults
        assert one.path == f"goals.{figure}"
        assert "joints says nothing of this joint, or states no limit of it" in one.expected


def test_check_tells_bolts_and_limits_in_words() -> None:
    told = portray(read(FRONT + JOINTS)).joints
    assert told[0] == "rod_outboard: bolt [1, 0.1, 0], at most 12 deg out of true"
    assert told[2] == "heave_left: bolt along the rocker's axis, at most 14.57 deg out of true"
    assert told[4] == "roll_left: bolt along the rocker's axis"
    assert portray(read(FRONT)).joints == []
