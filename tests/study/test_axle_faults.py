"""Faults of an axle at static and of its names. A case: what is changed, where the fault is shown (^^), path, words."""

from collections.abc import Callable
from typing import NamedTuple

import pytest


class Case(NamedTuple):
    """One faulty file."""

    name: str
    pieces: dict[str, str]
    piece: str
    path: str
    words: tuple[str, ...]


EYE = "outboard: [10, 742, 206]"
BY = "carried_by: upright"
AXIS = "axis: [1, 0, 0]"
ROD_END = "rod: {length: 76, angle: 52, offset: 0}"
ROLL = "{kind: strut, left: roll_upper, right: roll_lower, serves: roll}"
UPPER_FRONT = "upper_front: {inboard: [140, 395, 443], outboard: [-11, 711, 492]}"
SHARED = {"outboard: [-11, 711, 492]": "outboard: [-38, 732, 488]"}

WHEEL_AND_LINKS = [
    Case(
        "radius",
        {"camber: -2.2": "camber: -2.2, loaded_radius: 337"},
        "loaded_radius: ^^337",
        "axle.wheel.loaded_radius",
        ("337", "335.25 mm, to 1 mm"),
    ),
    Case("right wheel", {"[0, 830,": "[0, -830,"}, "centre: ^^[0", "axle.wheel.centre", ("y -830", "the left wheel")),
    Case("wheel under ground", {"830, 335]": "830, -335]"}, "centre: ^^[0", "axle.wheel.centre", ("z -335",)),
    Case(
        "no length",
        {"outboard: [-11, 711, 492]": "outboard: [140, 395, 443]"},
        "  ^^upper_front",
        "axle.links.upper_front",
        ("a link without length",),
    ),
    Case("four links", {f"    {UPPER_FRONT}\n": ""}, "  ^^links:", "axle.links", ("4 links", "exactly 5")),
    Case(
        "six links",
        {UPPER_FRONT: f"{UPPER_FRONT}\n    more: {UPPER_FRONT[13:]}"},
        "  ^^links:",
        "axle.links",
        ("6 links",),
    ),
    Case(
        "no rack range",
        {", rack: [-30, 30]": ""},
        "^^travel: {wheel",
        "travel.rack",
        ("while a link moves with the rack",),
    ),
    Case(
        "no rack link",
        {", inboard_moves_with: rack": ""},
        "rack: ^^[-30",
        "travel.rack",
        ("no link moves with the rack",),
    ),
]

CARRIERS = [
    Case("misspelt", {BY: "carried_by: upprigt"}, ": ^^upprigt", "axle.rod.carried_by", ("did you mean upright?",)),
    Case(
        "misspelt link", {BY: "carried_by: upper_frnt"}, ": ^^upper_frnt", "axle.rod.carried_by", ("mean upper_front?",)
    ),
    Case(
        "misspelt in two",
        {BY: "carried_by: [upper_frnt, upper_rear]"},
        ": ^^[upper_frnt",
        "axle.rod.carried_by",
        ("mean upper_front?",),
    ),
    Case(
        "three links", {BY: "carried_by: [a, b, c]"}, ": ^^[a, b", "axle.rod.carried_by", ("a list of 3", "a list of 2")
    ),
    Case(
        "one twice",
        {BY: "carried_by: [upper_rear, upper_rear]"},
        ": ^^[upper_rear, u",
        "axle.rod.carried_by",
        ("twice",),
    ),
    Case(
        "apart",
        {BY: "carried_by: [upper_front, upper_rear]"},
        ": ^^[upper_front, u",
        "axle.rod.carried_by",
        ("whose outboard points differ",),
    ),
    Case(
        "with the rack",
        {BY: "carried_by: [lower_front, steering]", "outboard: [132, 745, 205]": "outboard: [20, 761, 176]"},
        ": ^^[lower_front, s",
        "axle.rod.carried_by",
        ("steering, which moves with the rack",),
    ),
    Case(
        "off its line",
        {BY: "carried_by: lower_front"},
        "outboard: ^^[10, 742, 206]",
        "axle.rod.outboard",
        ("mm off that line", "nearest point"),
    ),
    Case(
        "beyond its end",
        {BY: "carried_by: lower_front", EYE: "outboard: [19, 764.055, 176.055]"},
        "outboard: ^^[19, 764",
        "axle.rod.outboard",
        ("beyond the outboard end", "between its ends"),
    ),
]

ROCKER = [
    Case(
        "axis without length", {AXIS: "axis: [0, 0, 0]"}, "axis: ^^[0, 0, 0]", "axle.rocker.axis", ("without length",)
    ),
    Case(
        "axis near y",
        {AXIS: "axis: [1, 2.2, 0]"},
        "axis: ^^[1, 2.2",
        "axle.rocker.axis",
        ("24.4 deg from y", "reference: [x, y, z]"),
    ),
    Case(
        "angles near y",
        {AXIS: "axis: {azimuth: 90, elevation: 10}"},
        "  ^^axis: {",
        "axle.rocker.axis",
        ("10.0 deg from y",),
    ),
    Case(
        "elevation", {AXIS: "axis: {azimuth: 0, elevation: 91}"}, ": ^^91", "axle.rocker.axis.elevation", ("-90 to 90",)
    ),
    Case(
        "half an axis", {AXIS: "axis: {azimuth: 5}"}, "  ^^axis: {", "axle.rocker.axis.elevation", ("no key elevation",)
    ),
    Case(
        "reference near the axis",
        {AXIS: "axis: [0, 1, 0]\n    reference: [0, 1, 0.4]"},
        "reference: ^^[0, 1",
        "axle.rocker.reference",
        ("21.8 deg from the axis",),
    ),
    Case(
        "no reference",
        {AXIS: "axis: [0, 1, 0]\n    reference: [0, 0, 0]"},
        "reference: ^^[0, 0",
        "axle.rocker.reference",
        ("without length",),
    ),
    Case(
        "aligned over the pivot",
        {AXIS: "axis: aligned", "pivot: [10, 205, 475]": "pivot: [10, 205, 215]"},
        "axis: ^^aligned",
        "axle.rocker.axis",
        ("9.00 mm from the pivot", "at least 10 mm"),
    ),
    Case(
        "rod without length",
        {ROD_END: "rod: [10, 742, 206]"},
        "  ^^rod:\n    outboard",
        "axle.rod",
        ("without length",),
    ),
    Case(
        "rod end on the axis",
        {ROD_END: "rod: [60, 205, 475]", "  rocker.rod.length: [55, 90]\n  rocker.rod.angle: [25, 85]\n": ""},
        "  rod: ^^[60",
        "axle.rocker.rod",
        ("on the rocker's axis",),
    ),
    Case(
        "pick-up on the axis",
        {"heave: {length: 74.43, angle: 76.42, offset: 34}": "heave: [44, 205, 475]"},
        "heave: ^^[44",
        "axle.rocker.pickups.heave",
        ("on the rocker's axis",),
    ),
]

ELEMENTS = [
    Case(
        "unknown pick-up",
        {ROLL: ROLL.replace("left: roll_upper", "left: roll_uper")},
        "left: ^^roll_uper",
        "axle.elements.roll.left",
        ("mean roll_upper?",),
    ),
    Case(
        "unknown right",
        {ROLL: ROLL.replace("right: roll_lower", "right: zzz")},
        "right: ^^zzz",
        "axle.elements.roll.right",
        ("one of heave, roll_upper, roll_lower",),
    ),
    Case(
        "both ends",
        {ROLL: ROLL.replace("serves", "chassis: [0, 1, 2], serves")},
        "chassis: ^^[0",
        "axle.elements.roll.chassis",
        ("both right and chassis",),
    ),
    Case(
        "no far end",
        {ROLL: "{kind: strut, left: roll_upper}"},
        "  ^^roll: {kind",
        "axle.elements.roll",
        ("neither right nor chassis",),
    ),
    Case(
        "no serves",
        {ROLL: "{kind: strut, left: roll_upper, right: roll_lower}"},
        "  ^^roll: {kind",
        "axle.elements.roll.serves",
        ("heave or roll",),
    ),
    Case(
        "corner that serves",
        {ROLL: "{kind: strut, left: roll_upper, chassis: [0, 100, 300], serves: roll}"},
        "serves: ^^roll}",
        "axle.elements.roll.serves",
        ("a corner strut without serves",),
    ),
    Case(
        "serves both",
        {ROLL: ROLL.replace("serves: roll", "serves: both")},
        "serves: ^^both",
        "axle.elements.roll.serves",
        ("heave or roll",),
    ),
    Case(
        "corner without length",
        {
            "roll: " + ROLL: "roll: " + ROLL + "\n    corner: {kind: strut, left: point, chassis: [0, 100, 500]}",
            "    pickups:\n": "    pickups:\n      point: [0, 100, 500]\n",
        },
        "  ^^corner: {",
        "axle.elements.corner",
        ("without length", "chassis point"),
    ),
    Case(
        "cross-car without length",
        {
            "roll: " + ROLL: "roll: " + ROLL + "\n    short: {kind: strut, left: middle, right: middle, serves: heave}",
            "    pickups:\n": "    pickups:\n      middle: [0, 0, 500]\n",
        },
        "  ^^short: {",
        "axle.elements.short",
        ("without length", "mirrored pick-up middle"),
    ),
    Case(
        "called rod",
        {"roll: " + ROLL: "roll: " + ROLL + "\n    rod: " + ROLL},
        "  ^^rod: {kind",
        "axle.elements.rod",
        ("the reserved name rod",),
    ),
    Case(
        "called rocker",
        {"roll: " + ROLL: "roll: " + ROLL + "\n    rocker: " + ROLL},
        "  ^^rocker: {kind",
        "axle.elements.rocker",
        ("reserved",),
    ),
]


@pytest.mark.parametrize("case", [*WHEEL_AND_LINKS, *CARRIERS, *ROCKER, *ELEMENTS], ids=lambda case: case.name)
def test_each_faulty_axle_is_told_at_its_place(
    case: Case,
    changed: Callable[[dict[str, str]], str],
    expect_fault: Callable[[str, str, str, tuple[str, ...]], None],
) -> None:
    expect_fault(changed(case.pieces), case.piece, case.path, case.words)


def test_links_of_a_wishbone_pass(changed: Callable[[dict[str, str]], str]) -> None:
    from optimiser.study.read import read_text

    study = read_text(changed({**SHARED, BY: "carried_by: [upper_front, upper_rear]"}), "case.yaml")
    assert study.axle.rod.carried_by == ("upper_front", "upper_rear")
