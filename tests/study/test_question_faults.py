"""Faults of travel, variables and goals. A case: what is changed, where the fault is shown (^^), path, words."""

from collections.abc import Callable
from typing import NamedTuple

import pytest

from optimiser.study.faults import FaultsError
from optimiser.study.read import read_text


class Case(NamedTuple):
    """One faulty file."""

    name: str
    pieces: dict[str, str]
    piece: str
    path: str
    words: tuple[str, ...]


TRAVEL = "{wheel: [-45, 48], heave: [-30, 38], roll: [-26, 26], rack: [-30, 30], step: 2}"
ROD_END = "rod: {length: 76, angle: 52, offset: 0}"


def travel(name: str, old: str, new: str, where: str, path: str, words: tuple[str, ...]) -> Case:
    """A case in the travel's line."""
    return Case(name, {TRAVEL: TRAVEL.replace(old, new)}, where, f"travel.{path}", words)


TRAVELS = [
    travel("wrong way round", "[-26, 26]", "[26, -26]", "roll: ^^[26", "roll", ("[26, -26]", "the lowest first")),
    travel("no range", "[-26, 26]", "[0, 0]", "roll: ^^[0", "roll", ("the lowest first",)),
    travel("not around static", "[-30, 38]", "[3, 38]", "heave: ^^[3", "heave", ("lowest at most 0",)),
    travel("below static", "[-30, 38]", "[-30, -3]", "heave: ^^[-30, -3", "heave", ("highest at least 0",)),
    travel("heave too high", "[-30, 38]", "[-30, 49]", "heave: ^^[-30", "heave", ("inside travel.wheel [-45, 48]",)),
    travel("heave too low", "[-30, 38]", "[-46, 38]", "heave: ^^[-46", "heave", ("inside travel.wheel",)),
    travel("-roll too low", "[-26, 26]", "[-26, 46]", "roll: ^^[-26", "roll", ("roll and -roll inside",)),
    travel("one number", "[-26, 26]", "[-26]", "roll: ^^[-26]", "roll", ("a list of 1", "[lowest, highest]")),
    travel("too fine", "step: 2", "step: 1e-9", "step: ^^1e-9", "step", ("at most 2000 steps", "at least 0.0465 mm")),
    travel("too many states", "step: 2", "step: 0.1", "step: ^^0.1", "step", ("at most 100000 states",)),
    travel("negative step", "step: 2", "step: -2", "step: ^^-2", "step", ("above 0",)),
]

CENTRED = {"pivot: [10, 205, 475]": "pivot: [10, 205, 175]", ROD_END: "rod: {length: 90, angle: 1, offset: 0}"}
"""A rod and its arm nearly in line: with rising wheel travel the loop opens, and closes again beyond the toggle."""

REACH: list[tuple[dict[str, str], dict[str, str]]] = [
    (
        {ROD_END: "rod: {length: 76, angle: -20, offset: 0}"},
        {"axle.rod": "the rod cannot reach its rocker arm at 23 of 48 wheel travels, from -2 mm to -45 mm"},
    ),
    (
        {"[-45, 48]": "[-400, 48]"},
        {"axle.links": "from -328 mm to -400 mm (status wheel_locked)", "axle.rod": "(status unreachable)"},
    ),
    (CENTRED, {"axle.rod": "(status unreachable)", "axle.rocker.rod": "from 26 mm to 48 mm (status over_centre)"}),
]

FIRST = "rocker.pivot.y: [185, 230]"

VARIED = [
    Case(
        "misspelt",
        {FIRST: "rocker.pivt.y: [185, 230]"},
        "^^rocker.pivt.y",
        "vary.rocker.pivt.y",
        ("mean rocker.pivot.y?",),
    ),
    Case(
        "from the root",
        {FIRST: "axle.rocker.pivot.y: [1, 2]"},
        "^^axle.rocker.pivot.y",
        "vary.axle.rocker.pivot.y",
        ("leave axle. out",),
    ),
    Case(
        "no number",
        {FIRST: "rod.carried_by: [1, 2]"},
        "^^rod.carried_by",
        "vary.rod.carried_by",
        ("which is no number",),
    ),
    Case(
        "a point",
        {FIRST: "rocker.pivot: [1, 2]"},
        "^^rocker.pivot: [1",
        "vary.rocker.pivot",
        ("name one of its numbers: rocker.pivot.x",),
    ),
    Case(
        "an arm's coordinate",
        {FIRST: "rocker.rod.x: [1, 2]"},
        "^^rocker.rod.x",
        "vary.rocker.rod.x",
        ("a point written as an arm",),
    ),
    Case(
        "bounds", {FIRST: "rocker.pivot.y: [230, 185]"}, ": ^^[230", "vary.rocker.pivot.y", ("the lower bound first",)
    ),
    Case(
        "equal bounds",
        {FIRST: "rocker.pivot.y: [230, 230]"},
        ": ^^[230",
        "vary.rocker.pivot.y",
        ("the lower bound first",),
    ),
    Case("no bounds", {FIRST: "rocker.pivot.y: 230"}, ".y: ^^230", "vary.rocker.pivot.y", ("[lowest, highest]",)),
    Case("text", {FIRST: "rocker.pivot.y: [185, wide]"}, ", ^^wide", "vary.rocker.pivot.y[1]", ("'wide'",)),
    Case(
        "negative length",
        {"rod.length: [55, 90]": "rod.length: [-5, 90]"},
        ": ^^[-5",
        "vary.rocker.rod.length",
        ("above 0",),
    ),
    Case(
        "twice",
        {FIRST: f"{FIRST}\n  rocker.pivot.y: [1, 2]"},
        "^^rocker.pivot.y: [1, 2]",
        "vary.rocker.pivot.y",
        ("a second time",),
    ),
    Case(
        "both forms",
        {
            "heave: {length: 74.43, angle: 76.42, offset: 34}": "heave: [44, 222.48, 547.35]",
            FIRST: f"{FIRST}\n  rocker.pickups.heave.x: [1, 80]",
        },
        "  ^^rocker.pickups.heave.x: [1, 80]",
        "vary.rocker.pickups.heave.x",
        ("both rocker.pickups.heave.length and rocker.pickups.heave.x",),
    ),
    Case(
        "a shared point",
        {
            "[-11, 711, 492]": "[-38, 732, 488]",
            "by: upright": "by: [upper_front, upper_rear]",
            FIRST: "links.upper_rear.outboard.z: [480, 490]",
        },
        "^^links.upper_rear.outboard.z",
        "vary.links.upper_rear.outboard.z",
        ("upper_front and upper_rear share",),
    ),
    Case(
        "radius",
        {FIRST: "wheel.loaded_radius: [1, 2]"},
        "^^wheel.loaded_radius",
        "vary.wheel.loaded_radius",
        ("not there",),
    ),
    Case("a list", {FIRST: "rocker.pivot.y: [1, 2, 3]"}, ".y: ^^[1, 2", "vary.rocker.pivot.y", ("a list of 3",)),
]

AIM = "heave.motion_ratio: {aim: 1.10, within: 0.01}"
WAYS = "aim + within, aim + scale, at_most, at_least"


def goal(name: str, new: str, where: str, words: tuple[str, ...]) -> Case:
    """A case in the goal of the heave ratio."""
    return Case(name, {AIM: f"heave.motion_ratio: {new}"}, where, "goals.heave.motion_ratio", words)


GOALS = [
    Case(
        "unknown figure",
        {AIM: "heave.motion_ration: minimise"},
        "^^heave.motion_ration:",
        "goals.heave.motion_ration",
        ("mean heave.motion_ratio?",),
    ),
    Case(
        "unknown element",
        {AIM: "hieve.motion_ratio: minimise"},
        "^^hieve.motion_ratio:",
        "goals.hieve.motion_ratio",
        ("mean heave.motion_ratio?",),
    ),
    Case("pattern", {AIM: "E.tilt_max: minimise"}, "^^E.tilt_max:", "goals.E.tilt_max", ("unknown figure",)),
    Case(
        "split of heave",
        {AIM: "heave.left_right_split: minimise"},
        "^^heave.left_right_split",
        "goals.heave.left_right_split",
        ("roll_only",),
    ),
    Case(
        "crosstalk of a corner",
        {
            "    heave: {kind": "    corner: {kind: strut, left: heave, chassis: [50, 100, 300]}\n    heave: {kind",
            AIM: "corner.crosstalk: {at_most: 1}",
        },
        "^^corner.crosstalk",
        "goals.corner.crosstalk",
        ("not_decoupled", "corner strut"),
    ),
    Case(
        "steer without a rack",
        {", inboard_moves_with: rack": "", ", rack: [-30, 30]": "", AIM: "heave.steer_even: minimise"},
        "^^heave.steer_even",
        "goals.heave.steer_even",
        ("no link moves with a rack",),
    ),
    goal("no numbers", "{}", "  ^^heave.motion_ratio", (WAYS,)),
    goal("aim alone", "{aim: 1}", "  ^^heave.motion_ratio", ("aim |", WAYS)),
    goal("aim and limit", "{aim: 1, at_most: 2}", "  ^^heave.motion_ratio", ("aim + at_most", WAYS)),
    goal("within and scale", "{aim: 1, within: 1, scale: 2}", "  ^^heave.motion_ratio", (WAYS,)),
    goal("limits crossed", "{at_least: 2, at_most: 1}", "  ^^heave.motion_ratio", ("at_least 2 above at_most 1",)),
    Case("within 0", {AIM: AIM.replace("0.01", "0")}, "within: ^^0}", "goals.heave.motion_ratio.within", ("above 0",)),
    Case(
        "scale 0",
        {AIM: "heave.motion_ratio: {aim: 1, scale: 0}"},
        "scale: ^^0}",
        "goals.heave.motion_ratio.scale",
        ("above 0",),
    ),
    Case(
        "judged",
        {AIM: AIM.replace("}", ", met: true}")},
        "^^met: true",
        "goals.heave.motion_ratio.met",
        ("unknown key",),
    ),
    goal("a number", "1.1", "motion_ratio: ^^1.1", ("minimise or maximise",)),
]


@pytest.mark.parametrize("case", [*TRAVELS, *VARIED, *GOALS], ids=lambda case: case.name)
def test_each_faulty_question_is_told_at_its_place(
    case: Case,
    changed: Callable[[dict[str, str]], str],
    expect_fault: Callable[[str, str, str, tuple[str, ...]], None],
) -> None:
    expect_fault(changed(case.pieces), case.piece, case.path, case.words)


@pytest.mark.parametrize(("pieces", "told"), REACH, ids=["unreachable", "wheel_locked", "over_centre"])
def test_a_geometry_that_cannot_go_through_its_travel_is_told_by_status(
    pieces: dict[str, str], told: dict[str, str], changed: Callable[[dict[str, str]], str]
) -> None:
    with pytest.raises(FaultsError) as caught:
        read_text(changed(pieces), "case.yaml")
    found = {fault.path: fault.found for fault in caught.value.faults}
    assert found.keys() == told.keys()
    assert [text for path, text in told.items() if text not in found[path]] == [], found
