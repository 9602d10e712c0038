"""A sound study, changed in one place by each case, and the one fault that must follow."""

from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest

from optimiser.study.faults import Fault, FaultsError
from optimiser.study.read import read_text

CARET = "^^"
"""In a piece of a changed text, marks where the fault must be shown."""

SOUND = Path(__file__).parent / "sound.yaml"
SPRUNG = Path(__file__).parent / "sprung.yaml"

Changed: TypeAlias = Callable[[dict[str, str]], str]
Expect: TypeAlias = Callable[[str, str, str, tuple[str, ...]], None]


@pytest.fixture(scope="session")
def sound() -> str:
    """The text of a study without faults."""
    return SOUND.read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def sprung() -> str:
    """The text of a study without faults that has every kind of element, spring, damper and load."""
    return SPRUNG.read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def changed(sound: str) -> Changed:
    """Gives the sound text with pieces of it, each there exactly once, replaced."""
    return lambda pieces: _change(sound, pieces)


@pytest.fixture(scope="session")
def sprung_changed(sprung: str) -> Changed:
    """Gives the sprung text with pieces of it, each there exactly once, replaced."""
    return lambda pieces: _change(sprung, pieces)


@pytest.fixture(scope="session")
def expect_fault() -> Expect:
    """Reads a text and demands one fault: at the caret of a piece of the text, with a path and words."""

    def expect(text: str, piece: str, path: str, words: tuple[str, ...]) -> None:
        with pytest.raises(FaultsError) as caught:
            read_text(text, "case.yaml")
        faults = caught.value.faults
        told = "\n".join(map(str, faults))
        assert len(faults) == 1, told
        (fault,) = faults
        assert fault.path == path, told
        assert (fault.line, fault.column) == _place(text, piece), told
        said = f"{fault.found} | {fault.expected} | {fault.hint}"
        assert [word for word in words if word not in said] == [], told
        _shows(str(caught.value), fault, text)

    return expect


def _change(text: str, pieces: dict[str, str]) -> str:
    for old, new in pieces.items():
        assert text.count(old) == 1, f"{old!r} is there {text.count(old)} times"
        text = text.replace(old, new)
    return text


def _place(text: str, piece: str) -> tuple[int, int]:
    before, after = piece.split(CARET)
    assert text.count(before + after) == 1, f"{before + after!r} is there {text.count(before + after)} times"
    start = text.index(before + after) + len(before)
    return text.count("\n", 0, start) + 1, start - (text.rfind("\n", 0, start) + 1) + 1


def _shows(message: str, fault: Fault, text: str) -> None:
    """The message names file and place, and its caret stands below the right character of the source line."""
    lines = message.split("\n")
    assert lines[0] == f"case.yaml:{fault.line}:{fault.column}: {fault.path or 'the file'}"
    source = text.split("\n")[fault.line - 1]
    pointed = lines[2].index("^")
    if fault.column <= len(source):
        assert lines[1][pointed] == source[fault.column - 1]
    assert lines[3].startswith("  found     ")
    assert lines[-1] == "case.yaml: 1 fault"
