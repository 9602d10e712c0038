"""Files made to harm or to confuse: each is told as a fault, at once, and nothing of it is believed."""

import itertools
from collections.abc import Callable
from pathlib import Path

import pytest

from optimiser.errors import UnreadableFileError
from optimiser.study.document import MOST_BYTES, load_tree
from optimiser.study.faults import MOST_FAULTS, FaultsError
from optimiser.study.read import read_study, read_text

LAUGHS = "\n".join(
    ["a: &a [ha, ha, ha]"]
    + [f"{new}: &{new} [{', '.join([f'*{old}'] * 9)}]" for old, new in itertools.pairwise("abcdefghi")]
)

WHOLE: dict[str, tuple[str, tuple[int, int], str]] = {
    "empty": ("", (1, 1), "nothing"),
    "only a comment": ("# study\n", (1, 1), "nothing"),
    "only a byte order mark": ("\ufeff", (1, 1), "nothing"),
    "a list": ("- 1\n", (1, 1), "a list of 1"),
    "a text": ("study", (1, 1), "'study'"),
    "an open bracket": ("format: [1\n", (2, 1), "while parsing a flow sequence"),
    "a tab": ("axle:\n\twheel: 1\n", (2, 1), "cannot start any token"),
    "a NUL": ("format: 1\nname: a\0b\n", (2, 8), "U+0000"),
    "a control character": ("format: 1\nname: \x1b[31m\n", (2, 7), "U+001B"),
    "a lone surrogate": ("name: \ud800", (1, 7), "U+D800"),
    "deep lists": ("a: " + "[" * 500, (1, 23), "nested over 20 deep"),
    "deep mappings": ("{a: " * 500, (1, 81), "nested over 20 deep"),
    "too large": ("#" + "x" * MOST_BYTES, (1, 1), "over 256 KiB"),
}


@pytest.mark.parametrize(("text", "place", "found"), WHOLE.values(), ids=WHOLE)
def test_what_is_no_study_at_all_is_one_fault(text: str, place: tuple[int, int], found: str) -> None:
    with pytest.raises(FaultsError) as caught:
        read_text(text, "hostile.yaml")
    first = caught.value.faults[0]
    assert ((first.line, first.column), found in first.found) == (place, True), str(caught.value)
    assert len(caught.value.faults) == 1
    assert "\0" not in str(caught.value)
    assert "\x1b" not in str(caught.value)


TRICKS: dict[str, tuple[dict[str, str], str, str, str]] = {
    "a tag": ({"format: 1": "format: !!int 1"}, "format: ^^!!int", "format", "the tag"),
    "a tag that would run code": (
        {"format: 1": "format: !!python/object/apply:os.system [ls]"},
        "format: ^^!!python",
        "format",
        "the tag",
    ),
    "an anchor": ({"format: 1": "format: &a 1"}, "format: ^^&a", "format", "the anchor &a"),
    "a merge key": ({"format: 1": "format: 1\n<<: {name: x}"}, "^^<<: {name", "", "the merge key <<"),
    "a list as a key": ({"format: 1": "format: 1\n[a, b]: 1"}, "^^[a, b]", "", "as a key"),
    "a second document": ({"search: {seed: 1}": "search: {seed: 1}\n---\na: 1"}, "^^---", "", "a second document"),
    "an escaped control character": (
        {"Two-seat track car, front": '"\\e[31m"'},
        'name: ^^"',
        "name",
        "U+001B, escaped",
    ),
}


@pytest.mark.parametrize(("pieces", "piece", "path", "found"), TRICKS.values(), ids=TRICKS)
def test_tricks_of_the_language_are_refused(
    pieces: dict[str, str],
    piece: str,
    path: str,
    found: str,
    changed: Callable[[dict[str, str]], str],
    expect_fault: Callable[[str, str, str, tuple[str, ...]], None],
) -> None:
    expect_fault(changed(pieces), piece, path, (found,))


def test_an_alias_and_its_anchor_are_refused(changed: Callable[[dict[str, str]], str]) -> None:
    text = changed({"pivot: [10, 205, 475]": "pivot: &p [10, 205, 475]", "axis: [1, 0, 0]": "axis: *p"})
    with pytest.raises(FaultsError) as caught:
        read_text(text, "hostile.yaml")
    assert [(fault.path, fault.found) for fault in caught.value.faults] == [
        ("axle.rocker.pivot", "the anchor &p"),
        ("axle.rocker.axis", "the alias *p"),
    ]


def test_a_billion_laughs_are_refused_without_laughing() -> None:
    with pytest.raises(FaultsError) as caught:
        read_text(LAUGHS, "hostile.yaml")
    told = [fault.found for fault in caught.value.faults]
    assert len(told) == MOST_FAULTS
    assert {found[:9] for found in told} == {"the ancho", "the alias"}


@pytest.mark.parametrize("opening", ["[", "{a: ", "- "])
def test_bottomless_nesting_is_one_fault(opening: str) -> None:
    with pytest.raises(FaultsError, match="nest") as caught:
        read_text(opening * (MOST_BYTES // len(opening)), "hostile.yaml")
    assert len(caught.value.faults) == 1


def test_a_flood_of_faults_is_cut(sound: str) -> None:
    with pytest.raises(FaultsError) as caught:
        read_text(sound + "".join(f"zz{count}: 1\n" for count in range(15_000)), "hostile.yaml")
    assert len(caught.value.faults) == MOST_FAULTS
    assert "perhaps more" in str(caught.value)


TOO_MANY = {
    "values": ("a: [" + "1, " * 40_001 + "]", "over 40000 values"),
    "variables": ("vary: {" + "".join(f"a{count}: [0, 1], " for count in range(5_000)) + "}", "5000 numbers"),
    "goals": ("goals: {" + "".join(f"a{count}: minimise, " for count in range(5_000)) + "}", "5000 figures"),
}


@pytest.mark.parametrize(("text", "found"), TOO_MANY.values(), ids=TOO_MANY)
def test_far_too_much_of_anything_is_told_and_not_read(text: str, found: str) -> None:
    with pytest.raises(FaultsError) as caught:
        read_text(text, "hostile.yaml")
    assert [fault.found for fault in caught.value.faults] == [found]


def test_a_long_line_is_shown_around_its_place(changed: Callable[[dict[str, str]], str]) -> None:
    text = changed({"{seed: 1}": "{seed: 1, " + "x" * 50_000 + ": 1}"})
    with pytest.raises(FaultsError) as caught:
        read_text(text, "hostile.yaml")
    assert max(len(line) for line in str(caught.value).split("\n")) < 200


def test_a_byte_order_mark_and_any_line_ends_are_fine(sound: str, tmp_path: Path) -> None:
    file = tmp_path / "study.yaml"
    file.write_bytes(b"\xef\xbb\xbf" + sound.replace("\n", "\r\n").encode())
    study = read_study(file)
    assert study.name == "Two-seat track car, front"
    assert study.text.encode() == file.read_bytes()


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", "\x85", "\u2028"])
def test_lines_are_counted_at_any_line_end_and_the_caret_stands_right(end: str) -> None:
    with pytest.raises(FaultsError) as caught:
        read_text("\ufeffkind: x" + end + "format: 1" + end + "name: \0", "hostile.yaml")
    assert str(caught.value).startswith("hostile.yaml:3:7: the file\n    name:\n          ^\n")
    with pytest.raises(FaultsError) as caught:
        read_text("\ufeffkind: x" + end + "format: z", "hostile.yaml")
    shown = str(caught.value)
    assert "hostile.yaml:1:7: kind\n    kind: x\n          ^\n" in shown
    assert "hostile.yaml:2:9: format\n    format: z\n            ^\n" in shown


@pytest.mark.parametrize("content", [b"name: \xff\xfe", b"\xff\xfef\x00o\x00", b"\x89PNG\r\n\x1a\n\x00\x00"])
def test_what_is_no_utf_8_is_a_fault_with_its_place(content: bytes, tmp_path: Path) -> None:
    file = tmp_path / "binary.yaml"
    file.write_bytes(content)
    with pytest.raises(FaultsError) as caught:
        read_study(file)
    assert "no UTF-8" in caught.value.faults[0].found
    assert caught.value.faults[0].column == content.index(next(b for b in content if b >= 0x80)) + 1


def test_a_file_of_endless_size_is_not_read_to_its_end(tmp_path: Path) -> None:
    file = tmp_path / "large.yaml"
    with file.open("wb") as sparse:
        sparse.truncate(20_000_000_000)
    with pytest.raises(FaultsError, match="over 256 KiB"):
        read_study(file)


@pytest.mark.parametrize("name", [".", "none.yaml", "none.yaml/below", "nul\0.yaml", "x" * 5000])
def test_what_is_no_file_is_told_so(name: str, tmp_path: Path) -> None:
    with pytest.raises(UnreadableFileError, match="give the path of a study"):
        read_study(tmp_path / name)


def test_a_tree_holds_plain_values_only(tmp_path: Path) -> None:
    file = tmp_path / "tree.yaml"
    file.write_text('a: [1, -2.5, 1e-3, true, ~, "1", yes, 1:30, .nan]\nb: {c: text}\nd:\n', encoding="utf-8")
    assert load_tree(file) == {
        "a": [1, -2.5, 0.001, True, None, "1", "yes", "1:30", ".nan"],
        "b": {"c": "text"},
        "d": None,
    }


def test_a_tree_is_refused_like_a_study(tmp_path: Path) -> None:
    file = tmp_path / "tree.yaml"
    file.write_text("a: &x 1\nb: *x\n", encoding="utf-8")
    with pytest.raises(FaultsError) as caught:
        load_tree(file)
    assert [(fault.line, fault.column) for fault in caught.value.faults] == [(1, 4), (2, 4)]
