"""Faults of form: keys, types, numbers, names. A case: what is changed, where the fault is shown (^^), path, words."""

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


CAMBER = "camber: -2.2"
SEED = "{seed: 1}"

KEYS = [
    Case("unknown key", {"toe: 0.05": "tow: 0.05, toe: 0.05"}, "^^tow: 0.05", "axle.wheel.tow", ("unknown key 'tow'",)),
    Case(
        "unknown key at the root",
        {"search:": "sarch: 1\nsearch:"},
        "^^sarch: 1",
        "sarch",
        ("unknown key 'sarch'", "a study with the keys format, name, axle"),
    ),
    Case("hand-off key in a study", {"search:": "figures: {}\nsearch:"}, "^^figures:", "figures", ("unknown key",)),
    Case(
        "duplicate key",
        {"toe: 0.05": "toe: 0.05, toe: 0.06"},
        "toe: 0.05, ^^toe: 0.06",
        "axle.wheel.toe",
        ("'toe' a second time (first in line 4)", "each key once"),
    ),
    Case("duplicate, quoted", {"toe: 0.05": 'toe: 0.05, "toe": 1'}, '^^"toe": 1', "axle.wheel.toe", ("a second time",)),
    Case("no name", {"name: Two-seat track car, front\n": ""}, "^^format: 1", "name", ("no key name", "add the key")),
    Case("no axis", {"    axis: [1, 0, 0]\n": ""}, "  ^^rocker:\n", "axle.rocker.axis", ("no key axis", "aligned")),
    Case(
        "no offset in an arm",
        {"angle: 52, offset: 0}": "angle: 52}"},
        "    ^^rod: {length",
        "axle.rocker.rod.offset",
        ("no key offset", "a number [mm] from -10000 to 10000"),
    ),
    Case("no step", {", step: 2}": "}"}, "^^travel: {wheel", "travel.step", ("no key step",)),
    Case(
        "no kind", {"heave: {kind: strut, left": "heave: {left"}, "    ^^heave: {left", "axle.elements.heave.kind", ()
    ),
]

NUMBERS = [
    Case("sixties", {CAMBER: "camber: 1:30"}, "camber: ^^1:30", "axle.wheel.camber", ("'1:30'", "sixties", "[deg]")),
    Case("quoted", {CAMBER: 'camber: "-2.2"'}, 'camber: ^^"-2.2"', "axle.wheel.camber", ("leave the quotes out",)),
    Case("underscore", {CAMBER: "camber: 1_0"}, "camber: ^^1_0", "axle.wheel.camber", ("without underscores",)),
    Case("comma", {"    pivot: [10, 205, 475]": "    pivot: 5"}, "pivot: ^^5", "axle.rocker.pivot", ("[x, y, z]",)),
    Case("truth", {CAMBER: "camber: no"}, "camber: ^^no", "axle.wheel.camber", ("'no'", "write a number")),
    Case("nothing", {CAMBER: "camber: "}, "camber: ^^}", "axle.wheel.camber", ("nothing", "write a number")),
    Case("null", {CAMBER: "camber: null"}, "camber: ^^null", "axle.wheel.camber", ("'null'",)),
    Case("tilde", {CAMBER: "camber: ~"}, "camber: ^^~", "axle.wheel.camber", ("'~'",)),
    Case("not a number", {CAMBER: "camber: .nan"}, "camber: ^^.nan", "axle.wheel.camber", ("finite",)),
    Case("infinite", {CAMBER: "camber: -.inf"}, "camber: ^^-.inf", "axle.wheel.camber", ("finite",)),
    Case("over floating point", {CAMBER: "camber: 1e400"}, "camber: ^^1e400", "axle.wheel.camber", ("finite",)),
    Case("hexadecimal", {CAMBER: "camber: 0x1F"}, "camber: ^^0x1F", "axle.wheel.camber", ("decimal digits",)),
    Case("octal", {CAMBER: "camber: 010"}, "camber: ^^010", "axle.wheel.camber", ("leading zeros",)),
    Case("with a unit", {CAMBER: "camber: 2 deg"}, "camber: ^^2 deg", "axle.wheel.camber", ("the number alone",)),
    Case("text", {CAMBER: "camber: some"}, "camber: ^^some", "axle.wheel.camber", ("'some'", "like 12.5 or 1e-3")),
    Case("list for a number", {CAMBER: "camber: [1]"}, "camber: ^^[1]", "axle.wheel.camber", ("a list of 1",)),
    Case("mapping for a number", {CAMBER: "camber: {a: 1}"}, "camber: ^^{a", "axle.wheel.camber", ("a mapping of 1",)),
    Case("out of range", {CAMBER: "camber: 46"}, "camber: ^^46", "axle.wheel.camber", ("from -45 to 45", "at most 45")),
    Case(
        "19 digits",
        {SEED: "{seed: 1234567890123456789}"},
        "seed: ^^1234567890123456789",
        "search.seed",
        ("at most 18 digits",),
    ),
    Case("6,000 digits", {SEED: f"{{seed: {'9' * 6000}}}"}, "seed: ^^9999", "search.seed", ()),
    Case("negative seed", {SEED: "{seed: -1}"}, "seed: ^^-1", "search.seed", ("a whole number at least 0",)),
    Case("no island", {SEED: "{islands: 0}"}, "islands: ^^0", "search.islands", ("a whole number from 1 to 10000",)),
    Case("broken seed", {SEED: "{seed: 1.5}"}, "seed: ^^1.5", "search.seed", ("without point and exponent",)),
    Case("two coordinates", {"[10, 205, 475]": "[10, 205]"}, "pivot: ^^[10", "axle.rocker.pivot", ("a list of 2",)),
    Case("four coordinates", {"[10, 205, 475]": "[1, 2, 3, 4]"}, "pivot: ^^[1,", "axle.rocker.pivot", ("a list of 4",)),
    Case("a bad coordinate", {"[10, 205, 475]": "[10, 205, up]"}, ", ^^up]", "axle.rocker.pivot[2]", ("'up'",)),
    Case("length 0", {"length: 76,": "length: 0,"}, "length: ^^0,", "axle.rocker.rod.length", ("above 0",)),
    Case("step 0", {"step: 2}": "step: 0}"}, "step: ^^0}", "travel.step", ("above 0",)),
    Case("another format", {"format: 1": "format: 2"}, "format: ^^2", "format", ("a whole number 1",)),
    Case("format as text", {"format: 1": "format: one"}, "format: ^^one", "format", ("'one'",)),
]

WORDS = [
    Case("name yes", {"Two-seat track car, front": "yes"}, "name: ^^yes", "name", ("true or false",)),
    Case("name a number", {"Two-seat track car, front": "2024"}, "name: ^^2024", "name", ("in quotes",)),
    Case("name nothing", {"Two-seat track car, front": '""'}, 'name: ^^""', "name", ("write a text",)),
    Case("name of two lines", {"Two-seat track car, front": '"a\\nb"'}, 'name: ^^"a', "name", ("one line",)),
    Case("name a list", {"Two-seat track car, front": "[a]"}, "name: ^^[a]", "name", ("a list of 1", "text")),
    Case(
        "axis misspelt",
        {"axis: [1, 0, 0]": "axis: alligned"},
        "axis: ^^alligned",
        "axle.rocker.axis",
        ("mean aligned",),
    ),
    Case("carried by yes", {"by: upright": "by: on"}, "by: ^^on", "axle.rod.carried_by", ("true or false",)),
    Case(
        "unknown kind",
        {"roll: {kind: strut": "roll: {kind: strutt"},
        "kind: ^^strutt",
        "axle.elements.roll.kind",
        ("did you mean strut?",),
    ),
    Case(
        "moves with",
        {"with: rack": "with: wheel"},
        "with: ^^wheel",
        "axle.links.steering.inboard_moves_with",
        ("rack",),
    ),
    Case(
        "maximize",
        {"progressivity: maximise": "progressivity: maximize"},
        ": ^^maximize",
        "goals.heave.progressivity",
        ("mean maximise?",),
    ),
    Case(
        "axle a text",
        {"search: {seed: 1}": "search: fast"},
        "search: ^^fast",
        "search",
        ("the search: {seed, islands}",),
    ),
]

NAMES = [
    Case(
        "starts with a digit",
        {"    steering:": "    5th:"},
        "    ^^5th:",
        "axle.links.5th",
        ("starting with a letter",),
    ),
    Case(
        "with a space", {"    steering:": "    tie rod:"}, "    ^^tie rod:", "axle.links.tie rod", ("letters, digits",)
    ),
    Case("with a dot", {"    steering:": "    a.b:"}, "    ^^a.b:", "axle.links.a.b", ("letters, digits",)),
    Case("a truth value", {"    steering:": "    on:"}, "    ^^on:", "axle.links.on", ("no yes, no, on, off",)),
    Case(
        "a link called upright",
        {"    steering:": "    upright:"},
        "    ^^upright:",
        "axle.links.upright",
        ("the reserved name upright",),
    ),
]


@pytest.mark.parametrize("case", [*KEYS, *NUMBERS, *WORDS, *NAMES], ids=lambda case: case.name)
def test_each_faulty_form_is_told_at_its_place(
    case: Case,
    changed: Callable[[dict[str, str]], str],
    expect_fault: Callable[[str, str, str, tuple[str, ...]], None],
) -> None:
    expect_fault(changed(case.pieces), case.piece, case.path, case.words)
