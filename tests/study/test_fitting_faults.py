"""Faults of bars, springs, dampers and loads. A case: what is changed, where the fault is shown (^^), path, words."""

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


MAIN = "main: {on: heave, kind: coil, rate: 220, free_length: 190, solid_length: 110, static: carries_weight}"
PAIR = "pair: {on: roll, kind: opposed, rate: 90, preload: 2400}"
RUBBER = "rubber: {on: heave, kind: curve, gap: 26, points: [[0, 0], [5, 400], [10, 1500]]}"
TENDER = "tender: {on: corner, kind: series, rates: [25, 140], solid_at: 40, static: 300}"
SHAFT = "shaft: {on: torsion, kind: torsion, rate: 12, static: 0}"
BLADE = "blade: {on: anti_roll, kind: bar, rate: 35}"
CURVE = "heave: {points: [[-0.25, -2600], [-0.05, -900], [0, 0], [0.05, 500], [0.25, 1300]]}"
RATIO = "roll: {damping_ratio: 0.65}"
WEIGHT = "  sprung_per_wheel: 2240\n"
KERB = "kerb: {left: [0, 0, 7845], right: [0, 0, 2615]}"
BRAKE = "brake: {both: [-6000, 0, 5000], torque_on: chassis}"
TUBE = "rod_tube: {outer: 20, wall: 2, modulus: 205000, yield: 700}"
ARM = "arm: {pivot: [-70, 145, 330], end: [30, 145, 330]}"


def within(name: str, line: str, old: str, new: str, where: str, path: str, words: tuple[str, ...]) -> Case:
    """A case in one line of the file."""
    assert line.count(old) == 1, f"{old!r} is {line.count(old)} times in {line!r}"
    return Case(name, {line: line.replace(old, new)}, where, path, words)


def spring(name: str, line: str, old: str, new: str, where: str, key: str, words: tuple[str, ...]) -> Case:
    """A case in one spring."""
    return within(name, line, old, new, where, f"springs.{line.partition(':')[0]}{key}", words)


def goal(name: str, figure: str, words: tuple[str, ...]) -> Case:
    """A case in place of the one goal of the file."""
    asked = "heave.motion_ratio: {aim"
    return Case(name, {asked: f"{figure}: {{aim"}, f"^^{figure}: {{aim", f"goals.{figure}", words)


BARS = [
    within("pick-up", "pickup: arb", "arb", "abr", "pickup: ^^abr", "axle.elements.anti_roll.pickup", ("mean arb?",)),
    within(
        "kind",
        "kind: torsion_bar",
        "torsion_bar",
        "torsionbar",
        "kind: ^^torsionbar",
        "axle.elements.torsion.kind",
        ("strut or torsion_bar or bar", "did you mean torsion_bar?"),
    ),
    within(
        "no arm", f", {ARM}", f", {ARM}", "", "  ^^anti_roll: {kind", "axle.elements.anti_roll.arm", ("no key arm",)
    ),
    within(
        "end on the bar",
        ARM,
        "[30, 145, 330]",
        "[-70, 90, 330]",
        "end: ^^[-70",
        "axle.elements.anti_roll.arm.end",
        ("on the bar's line", "seen along y"),
    ),
    within(
        "no link",
        ARM,
        "[30, 145, 330]",
        "[30, 145, 475]",
        "end: ^^[30",
        "axle.elements.anti_roll.arm.end",
        ("a drop link without length", "the pick-up arb"),
    ),
    within(
        "link in line",
        ARM,
        "[-70, 145, 330]",
        "[30, 145, 230]",
        "end: ^^[30",
        "axle.elements.anti_roll.arm.end",
        ("in line with its arm",),
    ),
    within(
        "a key of a strut",
        "{kind: torsion_bar}",
        "bar}",
        "bar, left: heave}",
        "_bar, ^^left",
        "axle.elements.torsion.left",
        ("the unknown key 'left'", "a torsion bar with the keys kind"),
    ),
    within(
        "a taken name",
        "torsion: {kind",
        "torsion",
        "link",
        "  ^^link: {kind: torsion_bar",
        "axle.elements.link",
        ("the reserved name link",),
    )._replace(
        pieces={"torsion: {kind": "link: {kind", "on: torsion,": "on: link,"},
    ),
]

SPRINGS = [
    spring("no element", MAIN, "on: heave", "on: heav", "on: ^^heav,", ".on", ("'heav'", "did you mean heave?")),
    spring(
        "far name", PAIR, "on: roll", "on: zzz", "on: ^^zzz", ".on", ("one of heave, roll, corner", "add the element")
    ),
    spring("no on", PAIR, "on: roll, ", "", "^^pair: {kind", ".on", ("no key on", "the name of an element")),
    spring("kind", PAIR, "opposed", "oposed", "kind: ^^oposed", ".kind", ("did you mean opposed?",)),
    spring("no kind", PAIR, "kind: opposed, ", "", "^^pair: {on", ".kind", ("no key kind",)),
    spring(
        "coil on a bar",
        BLADE,
        "kind: bar, rate: 35",
        "kind: coil, rate: 35, static: 0",
        "kind: ^^coil, rate: 35",
        ".kind",
        ("coil on anti_roll, which is an anti-roll bar", "write kind: bar"),
    ),
    spring("bar on a strut", BLADE, "on: anti_roll", "on: roll", "kind: ^^bar, rate", ".kind", ("bar on roll", "coil")),
    spring("torsion on a strut", SHAFT, "on: torsion", "on: corner", "kind: ^^torsion,", ".kind", ("corner strut",)),
    spring("no rate", PAIR, "rate: 90, ", "", "^^pair: {on", ".rate", ("no key rate", "a number [N/mm] above 0")),
    spring("negative rate", PAIR, "rate: 90", "rate: -90", "rate: ^^-90", ".rate", ("above 0",)),
    spring("rate of a coil", MAIN, "220", "220 N/mm", "rate: ^^220 N/mm", ".rate", ("write the number alone",)),
    spring("unknown key", PAIR, "preload", "gap: 2, preload", "^^gap: 2,", ".gap", ("the unknown key", "preload")),
    spring(
        "misspelt word", MAIN, "carries_weight", "carry_weight", ": ^^carry_weight", ".static", ("carries_weight?",)
    ),
    spring("quoted force", MAIN, "carries_weight", '"4000"', ': ^^"4000"', ".static", ("leave the quotes out",)),
    spring("comma", MAIN, "static: carries_weight", "static: 4,5", "static: ^^4", ".static", ())._replace(
        pieces={MAIN: MAIN.replace("carries_weight", "4.5.6")}, piece="static: ^^4.5.6", words=("write a number",)
    ),
    spring("flag", MAIN, "carries_weight", "0, pulls: yes", "pulls: ^^yes", ".pulls", ("true or false",)),
    spring("quoted flag", MAIN, "carries_weight", '0, pulls: "true"', 'pulls: ^^"true"', ".pulls", ("true or false",)),
    spring(
        "free alone", MAIN, "solid_length: 110, ", "", "free_length: ^^190", ".free_length", ("without solid_length",)
    ),
    spring(
        "solid alone", MAIN, "free_length: 190, ", "", "solid_length: ^^110", ".solid_length", ("without free_length",)
    ),
    spring(
        "longer solid than free",
        MAIN,
        "solid_length: 110",
        "solid_length: 200",
        "solid_length: ^^200",
        ".solid_length",
        ("less than the free length of 190 mm",),
    ),
    spring(
        "solid at static",
        MAIN,
        "carries_weight",
        "17600",
        "static: ^^17600",
        ".static",
        ("squeezes the coil by 80 mm", "its 80 mm from free to solid", "a stiffer or a longer spring"),
    ),
    spring(
        "slack at static", MAIN, "carries_weight", "-1", "static: ^^-1", ".static", ("slack at static", "pulls: true")
    ),
    spring("series that pulls", TENDER, "300", "-300", "static: ^^-300", ".static", ("slack at static",)),
    spring(
        "one rate of two", TENDER, "[25, 140]", "[25]", "rates: ^^[25]", ".rates", ("a list of 2: [first, second]",)
    ),
    spring(
        "second carrier",
        TENDER,
        "static: 300",
        "static: carries_weight",
        "solid_at: 40, static: ^^carries_weight",
        ".static",
        ("main does", "as a number"),
    ),
    Case(
        "no weight",
        {WEIGHT: "", f"  {RATIO}\n": ""},
        "static: ^^carries_weight",
        "springs.main.static",
        ("no loads.sprung_per_wheel", "add loads: {sprung_per_wheel"),
    ),
    Case(
        "weight on a roll strut",
        {MAIN: MAIN.replace("on: heave", "on: roll")},
        "static: ^^carries_weight",
        "springs.main.static",
        ("on roll, which serves roll",),
    ),
    spring("negative gap", RUBBER, "26", "-2", "gap: ^^-2", ".gap", ("from 0 to",)),
    spring(
        "one point", RUBBER, ", [5, 400], [10, 1500]", "", ": ^^[[0, 0]]", ".points", ("a list of 2 to 100 points",)
    ),
    spring("not from 0", RUBBER, "[0, 0]", "[1, 50]", "points: ^^[[1", ".points", ("no point [0, 0] at first",)),
    spring(
        "falling force",
        RUBBER,
        "[10, 1500]",
        "[10, 300]",
        "^^[10, 300]",
        ".points[2]",
        ("[10, 300] after [5, 400]", "above the last"),
    ),
    spring("same place", RUBBER, "[10, 1500]", "[5, 500]", "^^[5, 500]", ".points[2]", ("[5, 500] after [5, 400]",)),
    spring("three numbers", RUBBER, "[10, 1500]", "[10, 15, 1]", "^^[10, 15, 1]", ".points[2]", ("a list of 2",)),
    spring(
        "no list", RUBBER, "[[0, 0], [5, 400], [10, 1500]]", "12", "points: ^^12", ".points", ("a list of at least 2",)
    ),
]

DAMPERS = [
    within("no element", CURVE, "heave", "heve", "  ^^heve: {points", "dampers.heve", ("did you mean heave?",)),
    within("on a bar", RATIO, "roll", "anti_roll", "^^anti_roll: {damping", "dampers.anti_roll", ("an anti-roll bar",)),
    within("on a torsion bar", RATIO, "roll", "torsion", "^^torsion: {damping", "dampers.torsion", ("damp a strut",)),
    within("neither", RATIO, "damping_ratio: 0.65", "", "  ^^roll: {}", "dampers.roll", ("neither points nor",)),
    within(
        "both",
        RATIO,
        "0.65",
        "0.65, points: [[0, 0], [1, 10]]",
        "ratio: ^^0.65",
        "dampers.roll.damping_ratio",
        ("both points", "delete one of the two"),
    ),
    within("no ratio", RATIO, "0.65", "0", "ratio: ^^0}", "dampers.roll.damping_ratio", ("above 0",)),
    within(
        "not at rest", CURVE, "[0, 0], ", "", "points: ^^[[-0.25", "dampers.heave.points", ("[0, 0] as one of the",)
    ),
    within(
        "falling",
        CURVE,
        "[0.25, 1300]",
        "[0.25, 400]",
        "^^[0.25, 400]",
        "dampers.heave.points[4]",
        ("after [0.05, 500]",),
    ),
    Case(
        "no weight",
        {WEIGHT: "", MAIN: MAIN.replace("carries_weight", "4000")},
        "ratio: ^^0.65",
        "dampers.roll.damping_ratio",
        ("no loads.sprung_per_wheel", "a mass to damp"),
    ),
]

LOADS = [
    within("weight", WEIGHT, "2240", "-2240", "wheel: ^^-2240", "loads.sprung_per_wheel", ("above 0",)),
    within(
        "one side",
        KERB,
        ", right: [0, 0, 2615]",
        "",
        "  ^^kerb: {left",
        "loads.cases.kerb",
        ("no key right", "add right"),
    ),
    within(
        "no side",
        KERB,
        "left: [0, 0, 7845], right: [0, 0, 2615]",
        "",
        "  ^^kerb: {}",
        "loads.cases.kerb",
        ("no key left",),
    ),
    within(
        "both beside left",
        BRAKE,
        "both:",
        "left: [0, 0, 1], both:",
        "both: ^^[-6000",
        "loads.cases.brake.both",
        ("both beside left", "delete one or the other"),
    ),
    within(
        "pulling ground", KERB, "2615", "-2615", "right: ^^[0", "loads.cases.kerb.right", ("the ground cannot pull",)
    ),
    within(
        "torque", BRAKE, "chassis", "inboard", "on: ^^inboard", "loads.cases.brake.torque_on", ("upright or chassis",)
    ),
    within(
        "two numbers",
        KERB,
        "[0, 0, 2615]",
        "[0, 2615]",
        "right: ^^[0, 2615]",
        "loads.cases.kerb.right",
        ("a list of 2",),
    ),
    within(
        "thick wall", TUBE, "wall: 2", "wall: 10.5", "wall: ^^10.5", "loads.rod_tube.wall", ("at most half", "10 mm")
    ),
    within("no yield", TUBE, ", yield: 700", "", "^^rod_tube: {", "loads.rod_tube.yield", ("no key yield",)),
    within("modulus in GPa", TUBE, "205000", "205", "modulus: ^^205,", "loads.rod_tube.modulus", ("from 1000",)),
]

VARIED = [
    Case(
        "a number of a bar",
        {"elements.anti_roll.arm.end.x: [10": "elements.anti_roll.arm.end.w: [10"},
        "^^elements.anti_roll.arm.end.w: [10",
        "vary.elements.anti_roll.arm.end.w",
        ("which is not there", "did you mean elements.anti_roll.arm.end.z?"),
    ),
    Case(
        "a number of a spring",
        {"elements.anti_roll.arm.end.x: [10": "springs.main.rate: [10"},
        "^^springs.main.rate: [10",
        "vary.springs.main.rate",
        ("a number of what is fitted to the axle", "vary the axle's numbers"),
    ),
]


WHEN_CARRIED = [
    Case(
        "slack under the weight",
        {"kind: curve, gap: 26, points: [[0, 0], [5, 400], [10, 1500]]": "kind: coil, rate: 100, static: 9000"},
        "static: ^^carries_weight",
        "springs.main.static",
        ("under which the spring is slack", "hold more than the weight"),
    ),
    Case(
        "solid under the weight",
        {"solid_length: 110": "solid_length: 180"},
        "static: ^^carries_weight",
        "springs.main.static",
        ("under which the coil is solid", "a stiffer or a longer spring"),
    ),
    Case(
        "a bar out of reach",
        {ARM: "arm: {pivot: [20, 145, 330], end: [30, 145, 330]}"},
        "{kind: bar, pickup: arb, ^^arm",
        "axle.elements.anti_roll.arm",
        ("the drop link cannot reach its arm", "of 48 wheel travels", "unreachable"),
    ),
]


GOALS = [
    goal("a rate", "axle.heave_rat", ("the unknown figure", "did you mean axle.heave_rate?")),
    goal("of a strut", "torsion.length_max", ("torsion is a bar, and length_max is of struts", "of_struts")),
    goal("of a bar", "heave.twist_max", ("heave is a strut, and twist_max is of bars", "of_bars")),
    goal("no pair", "heave.knee_travel", ("no spring, damper or load that it tells of", "nothing_fitted")),
    goal("no curve", "roll.wheel_damping", ("nothing_fitted",)),
    goal("no such link", "link.uper_rear.force", ("did you mean link.upper_rear.force?",)),
    goal("a link that carries no rod", "link.upper_rear.bending", ("upper_rear does not carry the rod alone",)),
]
CASES = [*BARS, *SPRINGS, *DAMPERS, *LOADS, *VARIED, *WHEN_CARRIED, *GOALS]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_one_fault(
    case: Case,
    sprung_changed: Callable[[dict[str, str]], str],
    expect_fault: Callable[[str, str, str, tuple[str, ...]], None],
) -> None:
    expect_fault(sprung_changed(case.pieces), case.piece, case.path, case.words)


def test_all_faults_come_at_once(sprung_changed: Callable[[dict[str, str]], str]) -> None:
    text = sprung_changed({"on: heave, kind: coil": "on: heav, kind: coil", "wall: 2,": "wall: 20,", "2615": "-1"})
    with pytest.raises(FaultsError) as caught:
        read_text(text, "case.yaml")
    paths = [fault.path for fault in caught.value.faults]
    assert paths == ["springs.main.on", "loads.cases.kerb.right", "loads.rod_tube.wall"]


def test_a_spring_on_a_faulty_element_is_no_second_fault(
    sprung_changed: Callable[[dict[str, str]], str],
    expect_fault: Callable[[str, str, str, tuple[str, ...]], None],
) -> None:
    text = sprung_changed({"left: damper": "left: dampre"})
    expect_fault(text, "left: ^^dampre", "axle.elements.corner.left", ("did you mean damper?",))


def test_a_goal_on_a_faulty_spring_is_no_second_fault(
    sprung_changed: Callable[[dict[str, str]], str],
    expect_fault: Callable[[str, str, str, tuple[str, ...]], None],
) -> None:
    text = sprung_changed({"on: roll, kind": "on: rool, kind", "heave.motion_ratio: {aim": "roll.knee_travel: {aim"})
    expect_fault(text, "on: ^^rool, kind", "springs.pair.on", ("did you mean roll?",))
