"""From the bytes of a file to a tree of nodes with places; hostile and careless YAML is a fault here.

Only mappings with plain keys, lists and scalars pass: no aliases, tags, merge keys, second document or duplicate keys.
Scalars keep their text, so that the reader, not YAML's guess (1e-3 a text, 1:30 the number 90, no a boolean), says
what they mean.
"""

import re
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import TypeAlias

import yaml
from yaml import CSafeLoader

from optimiser.errors import UnreadableFileError
from optimiser.study.faults import Collector, Fault, FaultsError, Place, TooManyFaultsError, shown
from optimiser.study.nodes import Branch, Broken, Entry, Leaf, Node, Row, joined
from optimiser.study.scalars import MOST_DIGITS, NoNumber, is_long_integer, is_null, read_number

MOST_BYTES = 256 * 1024
"""Longest file that is read [bytes]: a hundred times a study."""

DEEPEST = 20
"""Deepest nesting of mappings and lists that is read."""

MOST_VALUES = 40_000
"""Most scalars of a file: a large hand-off has a quarter of it."""

NOT_TEXT = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")
"""Characters that have no business in a YAML file: NUL, control characters, lone surrogates."""

_TOO_LARGE = Fault(1, 1, "", f"over {MOST_BYTES // 1024} KiB", "a smaller file", "leave out what is no part of a study")

BYTE_ORDER_MARK = "\ufeff"

Tree: TypeAlias = "dict[str, Tree] | list[Tree] | float | int | bool | str | None"
"""A file's content as plain values."""


def load_tree(path: Path) -> Tree:
    """The content of a YAML file as plain values, read with the same care as a study.

    Plain scalars that are numbers become int or float, `true` and `false` bool, `null`, `~` and nothing None; all else
    is text. Raises `FaultsError` for what is no sound YAML and `UnreadableFileError` for what is no readable file.
    """
    text = load_text(path)
    return _plain(compose(text, str(path)))


def load_text(path: Path) -> str:
    """A file's text, byte order mark and line ends included; raises as `load_tree` does."""
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise UnreadableFileError(f"{shown_path(path)}: {reason}; give the path of a study or hand-off file") from error
    if len(content) > MOST_BYTES:
        raise FaultsError([_TOO_LARGE], str(path), "")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _not_utf8(content, error.start, str(path)) from error


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
        faults.add(
            start, "", f"over {MOST_BYTES // 1024} KiB", "a smaller file", "leave out what is no part of a study"
        )
        return Broken(start)
    body = text.removeprefix(BYTE_ORDER_MARK)
    odd = NOT_TEXT.search(body)
    if odd:
        before = body[: odd.start()]
        place = Place(before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1)
        faults.add(place, "", f"the character U+{ord(odd.group()):04X}", "text", "save the file as plain UTF-8 text")
        return Broken(start)
    return _Composer(faults).root(body)


def shown_path(path: Path) -> str:
    """A path for a message: printable, whatever it holds."""
    return "".join(c if c.isprintable() else "?" for c in str(path)) or "."


class _StopError(Exception):
    """The rest of the file cannot be read; the fault is noted."""


class _Composer:
    """Builds nodes from the parser's events; nesting is bounded, so recursion is."""

    def __init__(self, faults: Collector) -> None:
        self._faults = faults
        self._events: Iterator[yaml.Event] = iter(())
        self._values = 0

    def root(self, body: str) -> Node:
        node: Node = Broken(Place(1, 1))
        try:
            self._events = iter(yaml.parse(body, Loader=CSafeLoader))
            node = self._document() or node
            self._refuse_second_document()
        except yaml.MarkedYAMLError as error:
            self._not_yaml(error)
            return Broken(Place(1, 1))
        except yaml.YAMLError as error:
            self._faults.add(Place(1, 1), "", str(error), "YAML", "save the file as plain UTF-8 text")
            return Broken(Place(1, 1))
        except _StopError:
            return Broken(Place(1, 1))
        return node

    def _document(self) -> Node | None:
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent):
                return self._node(next(self._events), "", 1)
        self._faults.add(Place(1, 1), "", "nothing", "a study", "start from one of the studies in configs/")
        return None

    def _refuse_second_document(self) -> None:
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent):
                self._faults.add(_place(event), "", "a second document", "one document", "give each study a file")
                return

    def _node(self, event: yaml.Event, path: str, depth: int) -> Node:
        place = _place(event)
        if isinstance(event, yaml.AliasEvent):
            self._faults.add(place, path, f"the alias *{event.anchor}", "the value itself", "write the value out")
            return Broken(place)
        refused = self._refuse_tricks(event, place, path)
        node = self._collection(event, place, path, depth)
        return Broken(place) if refused else node

    def _refuse_tricks(self, event: yaml.Event, place: Place, path: str) -> bool:
        tag, anchor = getattr(event, "tag", None), getattr(event, "anchor", None)
        if tag:
            self._faults.add(place, path, f"the tag {shown(str(tag))}", "a plain value", "leave the tag out")
        if anchor:
            self._faults.add(place, path, f"the anchor &{anchor}", "a plain value", "leave the anchor out")
        return bool(tag or anchor)

    def _collection(self, event: yaml.Event, place: Place, path: str, depth: int) -> Node:
        if isinstance(event, yaml.ScalarEvent):
            return self._leaf(event, place, path)
        if depth > DEEPEST:
            self._faults.add(place, path, f"nested over {DEEPEST} deep", "less nesting", "a study is 6 levels deep")
            raise _StopError
        if isinstance(event, yaml.MappingStartEvent):
            return Branch(place, tuple(self._entries(path, depth)))
        return Row(place, tuple(self._items(path, depth)))

    def _leaf(self, event: yaml.ScalarEvent, place: Place, path: str) -> Node:
        self._values += 1
        if self._values > MOST_VALUES:
            self._faults.add(place, path, f"over {MOST_VALUES} values", "fewer", "leave out what is no part of a study")
            raise _StopError
        text = str(event.value)
        odd = NOT_TEXT.search(text)
        if odd:
            found = f"the character U+{ord(odd.group()):04X}, escaped"
            self._faults.add(place, path, found, "text", "leave the escape out")
            return Broken(place)
        leaf = Leaf(place, text, quoted=event.style not in (None, ""))
        if is_long_integer(leaf):
            found = f"an integer of {len(text.lstrip('+-'))} digits"
            self._faults.add(
                place, path, found, f"at most {MOST_DIGITS} digits", "write a shorter number, or quote a text"
            )
            return Broken(place)
        return leaf

    def _items(self, path: str, depth: int) -> Iterator[Node]:
        for count, event in enumerate(self._events):
            if isinstance(event, yaml.SequenceEndEvent):
                return
            yield self._node(event, f"{path}[{count}]", depth + 1)

    def _entries(self, path: str, depth: int) -> Iterator[Entry]:
        seen: dict[str, Place] = {}
        for event in self._events:
            if isinstance(event, yaml.MappingEndEvent):
                return
            key = self._node(event, path, depth + 1)
            name = self._key(key, path, seen)
            value = self._node(next(self._events), joined(path, name or "?"), depth + 1)
            if name is not None:
                yield Entry(name, key.place, value)

    def _key(self, key: Node, path: str, seen: dict[str, Place]) -> str | None:
        """A key's name; None, with a fault, for a key that is refused."""
        if isinstance(key, Broken):
            return None
        if not isinstance(key, Leaf):
            self._faults.add(key.place, path, "a list or mapping as a key", "a name", "write a plain key")
            return None
        if key.text == "<<" and not key.quoted:
            self._faults.add(key.place, path, "the merge key <<", "plain keys", "write the keys out")
            return None
        if key.text in seen:
            found = f"{shown(key.text)} a second time (first in line {seen[key.text].line})"
            self._faults.add(key.place, joined(path, key.text), found, "each key once", "delete one of the two")
            return None
        seen[key.text] = key.place
        return key.text

    def _not_yaml(self, error: yaml.MarkedYAMLError) -> None:
        mark = error.problem_mark or error.context_mark
        place = Place(mark.line + 1, mark.column + 1) if mark else Place(1, 1)
        found = "; ".join(str(part) for part in (error.context, error.problem) if part)
        hint = "look at this line and the one above: brackets, colons, indentation by spaces (no tabs)"
        self._faults.add(place, "", found or "no YAML", "YAML", hint)


def _place(event: yaml.Event) -> Place:
    mark = event.start_mark
    return Place(mark.line + 1, mark.column + 1) if mark else Place(1, 1)


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
    before = content[:start].decode("utf-8", "replace")
    place = Place(before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1)
    faults = Collector()
    found = f"the byte 0x{content[start]:02X}, which is no UTF-8 here"
    faults.add(place, "", found, "text in UTF-8", "give a YAML file, saved as UTF-8")
    return FaultsError(faults.faults, file_name, content.decode("utf-8", "replace"))
