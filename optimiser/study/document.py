"""From the bytes of a file to its tree: what is too large, no text or no YAML is a fault here."""

from contextlib import suppress
from pathlib import Path
from typing import TypeAlias

from optimiser.errors import UnreadableFileError
from optimiser.study.composer import NOT_TEXT, compose_body
from optimiser.study.faults import (
    BYTE_ORDER_MARK,
    LINE_ENDS,
    Collector,
    Fault,
    FaultsError,
    Place,
    TooManyFaultsError,
)
from optimiser.study.nodes import Branch, Broken, Leaf, Node, Row
from optimiser.study.scalars import NoNumber, is_null, read_number

MOST_BYTES = 256 * 1024
"""Longest file that is read [bytes]: a hundred times a study."""

_TOO_LARGE = (f"over {MOST_BYTES // 1024} KiB", "a smaller file", "leave out what is no part of a study")
"""Found, expected and hint of the fault of a file over `MOST_BYTES`."""

Tree: TypeAlias = "dict[str, Tree] | list[Tree] | float | int | bool | str | None"
"""A file's content as plain values."""


def load_tree(path: Path) -> Tree:
    """The content of a YAML file as plain values, read with the same care as a study.

    Plain scalars that are numbers become int or float, `true` and `false` bool, `null`, `~` and nothing None; all else
    is text. Raises `FaultsError` for what is no sound YAML and `UnreadableFileError` for what is no readable file.
    """
    text = load_text(path)
    return _plain(compose(text, shown_path(path)))


def load_text(path: Path) -> str:
    """A file's text, byte order mark and line ends included; raises as `load_tree` does."""
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise UnreadableFileError(f"{shown_path(path)}: {reason}; give the path of a study or hand-off file") from error
    if len(content) > MOST_BYTES:
        raise FaultsError([Fault(1, 1, "", *_TOO_LARGE)], shown_path(path), "")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _not_utf8(content, error.start, shown_path(path)) from error


def compose(text: str, file_name: str) -> Node:
    """The file's tree; raises `FaultsError` where there is none or where it uses what is refused."""
    faults = Collector()
    root: Node = Broken(Place(1, 1))
    with suppress(TooManyFaultsError):
        root = compose_into(faults, text)
    if faults.faults:
        raise FaultsError(faults.faults, file_name, text)
    return root


def compose_into(faults: Collector, text: str) -> Node:
    """The file's tree, with its faults added to `faults`; what is refused becomes `Broken`."""
    start = Place(1, 1)
    if len(text.encode("utf-8", "surrogatepass")) > MOST_BYTES:
        faults.add(start, "", *_TOO_LARGE)
        return Broken(start)
    body = text.removeprefix(BYTE_ORDER_MARK)
    odd = NOT_TEXT.search(body)
    if odd:
        place = _end_of(body[: odd.start()])
        faults.add(place, "", f"the character U+{ord(odd.group()):04X}", "text", "save the file as plain UTF-8 text")
        return Broken(start)
    return compose_body(body, faults)


def shown_path(path: Path) -> str:
    """A path for a message: printable, whatever it holds."""
    return "".join(c if c.isprintable() else "?" for c in str(path)) or "."


def _plain(node: Node) -> Tree:
    if isinstance(node, Branch):
        return {entry.name: _plain(entry.value) for entry in node.entries}
    if isinstance(node, Row):
        return [_plain(item) for item in node.items]
    if not isinstance(node, Leaf) or is_null(node):
        return None
    if not node.quoted and node.text in ("true", "false"):
        return node.text == "true"
    number = read_number(node)
    return node.text if isinstance(number, NoNumber) else number


def _not_utf8(content: bytes, start: int, file_name: str) -> FaultsError:
    place = _end_of(content[:start].decode("utf-8", "replace").removeprefix(BYTE_ORDER_MARK))
    faults = Collector()
    found = f"the byte 0x{content[start]:02X}, which is no UTF-8 here"
    faults.add(place, "", found, "text in UTF-8", "give a YAML file, saved as UTF-8")
    return FaultsError(faults.faults, file_name, content.decode("utf-8", "replace"))


def _end_of(text: str) -> Place:
    """The place just behind a text."""
    lines = LINE_ENDS.split(text)
    return Place(len(lines), len(lines[-1]) + 1)
