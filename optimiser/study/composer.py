"""From a YAML parser's events to a tree of nodes with places; what is refused is a fault here.

Only mappings with plain keys, lists and scalars pass: no aliases, tags, merge keys, second document or duplicate keys.
Scalars keep their text, so that the reader, not YAML's guess (1e-3 a text, 1:30 the number 90, no a boolean), says
what they mean.
"""

import re
from collections.abc import Iterator

import yaml
from yaml import CSafeLoader

from optimiser.study.faults import Collector, Place, shown
from optimiser.study.nodes import Branch, Broken, Entry, Leaf, Node, Row, joined
from optimiser.study.scalars import MOST_DIGITS, is_long_integer

DEEPEST = 20
"""Deepest nesting of mappings and lists that is read."""

MOST_VALUES = 40_000
"""Most scalars of a file: a large hand-off has a quarter of it."""

NOT_TEXT = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")
"""Characters that have no business in a YAML file: NUL, control characters, lone surrogates."""


def compose_body(body: str, faults: Collector) -> Node:
    """The tree of a text without byte order mark; its faults go to `faults`, what is refused becomes `Broken`."""
    return _Composer(faults).root(body)


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
