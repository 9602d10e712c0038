"""Verification: a hand-off that says what follows from its points agrees, and one edit anywhere is named."""

import math
from collections.abc import Iterator

import pytest

from optimiser.report.handoff.differences import FLOORS, RELATIVE, TOGGLE_FLOOR, compare, gap, shown
from optimiser.report.handoff.document import handoff_document
from optimiser.report.handoff.seals import seals
from optimiser.report.handoff.second_reading.plain import UnreadableError
from optimiser.report.handoff.verify import NoHandOffError, Verification, against, verify
from tests.axles import KINDS, travel_of
from tests.report.handed_over import (
    ORIGIN,
    Document,
    Node,
    at,
    branch,
    edited,
    handed,
    read_back,
    resealed,
    without,
)
from tests.report.test_handoff import study_of

MOVED = 0.01
"""How far a point is moved [mm]."""
NAMES = ("front", "rear")


def paths(verification: Verification) -> list[str]:
    """The entries named, without the places in lists."""
    return [difference.path.partition("[")[0] for difference in verification.differences]


def caught(document: Document, name: str) -> list[str]:
    """What is named in an edited copy of a hand-off whose points are as they were."""
    return paths(against(document, handed(name).recomputed))


def leaves(node: Node, path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Paths of all entries below a mapping that are none themselves."""
    if not isinstance(node, dict):
        yield path
        return
    for key, below in node.items():
        yield from leaves(below, (*path, key))


def points(name: str) -> list[tuple[str, ...]]:
    """Paths of every point and direction of a hand-off's axle."""
    axle = branch(handed(name).document, "axle")
    found = [("axle", *path) for path in leaves(axle, ()) if isinstance(at(axle, *path), list)]
    return [path for path in found if path[-1] != "carried_by"]


def nudged(node: Node) -> Node:
    """A point moved by MOVED along y."""
    assert isinstance(node, list)
    return [node[0], number(node[1]) + MOVED, node[2]]


def number(node: Node) -> float:
    assert isinstance(node, int | float)
    return float(node)


def sixth_digit(node: Node) -> Node:
    """A figure with its sixth significant digit one higher; a number for a figure that is null or nothing."""
    if node is None or node == 0:
        return 1e-3
    value = number(node)
    return value + math.copysign(10.0 ** (math.floor(math.log10(abs(value))) - 5), value)


@pytest.mark.parametrize("name", NAMES)
def test_an_honest_hand_off_agrees(name: str) -> None:
    found = against(handed(name).document, handed(name).recomputed)
    assert found.differences == ()
    assert found.agrees
    assert found.entries > 900
    assert found.sealed > 100
    assert 0.0 < found.largest < RELATIVE / 10


@pytest.mark.parametrize("kind", KINDS)
def test_a_hand_off_of_any_kind_agrees(kind: str) -> None:
    axle = KINDS[kind]()
    document = read_back(handoff_document(study_of(axle), axle, ORIGIN))
    assert verify(document, "x.yaml").differences == ()


def test_a_hand_off_that_fails_in_part_agrees() -> None:
    """Travel beyond a toggle: null entries, with their words, are recomputed as null."""
    axle = KINDS["corner struts"]()
    study = study_of(axle)
    travel = travel_of(axle)
    far = type(travel)((-120.0, 165.0), (-30.0, 165.0), (-30.0, 24.0), (-120.0, 120.0), 15.0)
    document = read_back(handoff_document(type(study)(study.name, axle, far, (), (), 1, ""), axle, ORIGIN))
    words = branch(document, "figure_status")
    assert len(words) > 5
    assert verify(document, "x.yaml").differences == ()


@pytest.mark.parametrize("name", NAMES)
def test_every_point_moved_is_named(name: str) -> None:
    document = handed(name).document
    assert len(points(name)) >= 16
    for path in points(name):
        assert ".".join(path) in caught(edited(document, path, nudged), name)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("part", [("links",), ("rod",), ("rocker", "pickups")])
def test_a_point_moved_on_purpose_is_found_by_recomputing(name: str, part: tuple[str, ...]) -> None:
    """With seals that fit: the right side, lengths and figures do not follow."""
    document = handed(name, 20.0).document
    for path in [path for path in points(name) if path[1 : 1 + len(part)] == part][::3]:
        found = paths(verify(resealed(edited(document, path, nudged)), "x.yaml"))
        assert ".".join(("right_side", *path[1:])) in found
        assert any(entry.startswith("figures.") for entry in found), path


@pytest.mark.parametrize("name", NAMES)
def test_every_figures_sixth_digit_is_named(name: str) -> None:
    document = handed(name).document
    for figure in branch(document, "figures"):
        assert caught(edited(document, ("figures", figure), sixth_digit), name) == [f"figures.{figure}"]


@pytest.mark.parametrize("name", NAMES)
def test_a_figures_sixth_digit_is_found_without_seals_too(name: str) -> None:
    """By recomputing alone: all figures but those so near nothing that their sixth digit is rounding."""
    document = handed(name).document
    units = branch(document, "units")
    for figure, value in branch(document, "figures").items():
        changed = edited(document, ("figures", figure), sixth_digit)
        moved = abs(number(at(changed, "figures", figure)) - number(value or 0.0))
        if moved > FLOORS[str(units[figure])]:
            assert f"figures.{figure}" in caught(resealed(changed), name)
    assert branch(document, "figures")["heave.crosstalk"] == pytest.approx(2.1, abs=0.1)


@pytest.mark.parametrize("name", NAMES)
def test_every_goals_target_edited_is_named(name: str) -> None:
    document = handed(name).document
    for path in leaves(document["goals"], ("goals",)):
        changed = edited(document, path, _other)
        assert ".".join(path) in caught(changed, name), path


def _other(node: Node) -> Node:
    if isinstance(node, bool):
        return not node
    return number(node) * 1.001 if isinstance(node, int | float) else "another"


def test_a_target_edited_on_purpose_is_judged_anew() -> None:
    """With seals that fit: the goal says that it is met with 14.7 deg to spare, and is missed by 5.3."""
    stricter = edited(handed("front", 20.0).document, ("goals", "rocker.transmission_min", "at_least"), lambda _: 75.0)
    found = {difference.path: difference for difference in verify(resealed(stricter), "x.yaml").differences}
    assert set(found) == {"goals.rocker.transmission_min.met", "goals.rocker.transmission_min.left"}
    assert found["goals.rocker.transmission_min.met"].says == "true"
    assert found["goals.rocker.transmission_min.met"].recomputed == "false"


@pytest.mark.parametrize("met", [True, False])
def test_a_goal_on_its_edge_may_be_called_either(met: bool) -> None:
    document = handed("front", 20.0).document
    path = ("goals", "rocker.transmission_min")
    value = at(document, "figures", "rocker.transmission_min")
    document = edited(document, path, lambda _: {"at_least": value, "met": met, "left": 0.0})
    assert verify(resealed(document), "x.yaml").differences == ()


EDITS: list[tuple[tuple[str | int, ...], str]] = [
    (("tables", "heave", "elements", "heave", "motion_ratio", 3), "tables.heave.elements.heave.motion_ratio"),
    (("tables", "rack", "elements", "roll", "length", 0), "tables.rack.elements.roll.length"),
    (("tables", "roll", "rocker_angle", 5), "tables.roll.rocker_angle"),
    (("tables", "one_wheel", "travel", 7), "tables.one_wheel.travel"),
    (("right_side", "links", "steering", "outboard", 1), "right_side.links.steering.outboard"),
    (("right_side", "rocker", "pickups", "heave", 2), "right_side.rocker.pickups.heave"),
    (("right_side", "wheel", "centre", 0), "right_side.wheel.centre"),
    (("eye_lengths", "rod", "static"), "eye_lengths.rod.static"),
    (("eye_lengths", "heave", "max"), "eye_lengths.heave.max"),
]


@pytest.mark.parametrize(("path", "named"), EDITS)
def test_an_edited_number_of_a_table_or_a_point_is_named(path: tuple[str | int, ...], named: str) -> None:
    changed = edited(handed("front").document, path, sixth_digit)
    assert caught(changed, "front") == [named]
    assert caught(resealed(changed), "front") == [named]


WORDS: list[tuple[tuple[str | int, ...], str]] = [
    (("units", "heave.motion_ratio"), "units.heave.motion_ratio"),
    (("tables", "heave", "status", 2), "tables.heave.status"),
    (("figure_status", "rocker.toggle_margin"), "figure_status.rocker.toggle_margin"),
]


@pytest.mark.parametrize(("path", "named"), WORDS)
def test_an_edited_word_is_named(path: tuple[str | int, ...], named: str) -> None:
    changed = edited(handed("front").document, path, lambda _: "ok then")
    assert caught(changed, "front") == [named]
    assert caught(resealed(changed), "front") == [named]


SEALED: list[tuple[str, ...]] = [
    ("format",),
    ("name",),
    ("caution",),
    ("axle", "wheel", "toe"),
    ("axle", "wheel", "camber"),
    ("axle", "elements", "roll", "serves"),
    ("travel", "step"),
    ("travel", "wheel"),
    ("origin", "fingerprint"),
    ("origin", "seed"),
    ("origin", "versions", "python"),
]


@pytest.mark.parametrize("path", SEALED)
def test_an_entry_from_which_nothing_follows_is_named_by_its_seal(path: tuple[str, ...]) -> None:
    found = against(edited(handed("front").document, path, lambda _: 3), handed("front").recomputed)
    assert paths(found) == [".".join(path)]
    assert "edited" in found.differences[0].recomputed


DELETED: list[tuple[str, ...]] = [
    ("figures", "heave.motion_ratio"),
    ("figures", "heave.left_right_split"),
    ("figures",),
    ("figure_status", "rocker.toggle_margin"),
    ("units",),
    ("tables", "rack"),
    ("tables", "roll", "elements", "heave", "length"),
    ("eye_lengths", "roll"),
    ("right_side", "rod"),
    ("seals",),
]


@pytest.mark.parametrize("path", DELETED)
def test_a_deleted_entry_is_named(path: tuple[str, ...]) -> None:
    changed = without(handed("front").document, path)
    assert ".".join(path) in caught(changed, "front")
    if path != ("seals",):
        assert ".".join(path) in caught(resealed(changed), "front")


@pytest.mark.parametrize("path", [("goals", "roll.crosstalk"), ("goals", "rocker.arm_sum"), ("origin", "seed")])
def test_a_deleted_entry_without_a_recomputation_is_named_by_its_seal(path: tuple[str, ...]) -> None:
    document = handed("front", 20.0).document
    found = paths(verify(without(document, path), "x.yaml"))
    assert any(entry.startswith(".".join(path)) for entry in found)


def test_the_caution_taken_away_is_named() -> None:
    assert caught(without(handed("front").document, ("caution",)), "front") == ["caution"]


def test_an_added_section_is_named() -> None:
    more: Document = {**handed("front").document, "approved_by": "the chief"}
    assert caught(more, "front") == ["approved_by"]
    assert caught(resealed(more), "front") == ["approved_by"]


def test_an_added_figure_is_named() -> None:
    document = handed("front").document
    more = {**document, "figures": {**branch(document, "figures"), "heave.charm": 1.0}}
    assert caught(more, "front") == ["figures.heave.charm"]


def test_a_column_shows_its_worst_entry_and_how_many_differ() -> None:
    column: tuple[str | int, ...] = ("tables", "heave", "elements", "roll", "length")
    document = edited(handed("front").document, (*column, 2), lambda node: number(node) + 1.0)
    document = edited(document, (*column, 9), lambda node: number(node) + 5.0)
    (found,) = against(document, handed("front").recomputed).differences
    assert found.path == "tables.heave.elements.roll.length[9] (and 1 more of 35)"


def test_a_list_of_another_length_is_named() -> None:
    document = edited(handed("front").document, ("tables", "roll", "travel"), lambda _: [0.0])
    assert caught(document, "front") == ["tables.roll.travel"]


@pytest.mark.parametrize("document", [None, [], {}, {"format": 1}, {"kind": "study"}, "text"])
def test_what_is_no_hand_off_is_refused_with_the_next_step(document: object) -> None:
    with pytest.raises(NoHandOffError, match=r"front\.yaml.*rockwright handoff"):
        verify(document, "front.yaml")


@pytest.mark.parametrize("path", [("axle",), ("travel",), ("goals",), ("axle", "rocker", "pivot"), ("travel", "step")])
def test_what_cannot_be_recomputed_is_named(path: tuple[str, ...]) -> None:
    with pytest.raises(UnreadableError, match=path[-1]):
        verify(without(handed("front", 20.0).document, path), "x.yaml")


def test_a_seal_does_not_depend_on_how_a_number_is_written() -> None:
    assert seals({"travel": {"step": 2}}) == seals({"travel": {"step": 2.0}})
    assert seals({"travel": {"step": 2}}) != seals({"travel": {"step": 2.0000000001}})
    assert seals({"travel": {"step": -0.0}}) == seals({"travel": {"step": 0}})
    assert set(seals({"travel": {"step": 2, "heave": [0, 1]}, "name": "x"})) == {"travel.step", "travel.heave", "name"}


@pytest.mark.parametrize(
    ("figure", "apart"),
    [("heave.length_static", 1e-10), ("heave.coupling", 1e-11), ("rocker.sweep", 1e-10), ("roll.crosstalk", 2e-9)],
)
def test_a_figure_near_nothing_may_differ_by_its_units_floor(figure: str, apart: float) -> None:
    path = ("figures", figure)
    assert gap(0.0, 0.9 * apart, path) < RELATIVE < gap(0.0, 1.1 * apart, path)


def test_the_toggle_has_a_floor_of_its_own() -> None:
    path = ("figures", "rocker.toggle_margin")
    assert gap(0.001, 0.001 + 0.9 * TOGGLE_FLOOR, path) < RELATIVE < gap(0.001, 0.001 + 1.1 * TOGGLE_FLOOR, path)


@pytest.mark.parametrize(("first", "second"), [(1.0, None), (None, 0.0), (True, 1.0), ("ok", "OK"), (1.0, "1.0")])
def test_entries_that_are_not_alike_differ(first: object, second: object) -> None:
    assert gap(first, second, ("figures", "x")) == math.inf
    (found,) = compare(first, second, ("figures", "x")).differences
    assert (found.says, found.recomputed) == (shown(second), shown(first))


def test_entries_are_shown_in_one_line() -> None:
    assert shown(None) == "null"
    assert shown(True) == "true"
    assert shown(0.1) == "0.1"
    assert "\n" not in shown("a\nb")
    assert len(shown([1.23456789] * 50)) == 60
