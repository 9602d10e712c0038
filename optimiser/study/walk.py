"""Walks a file's nodes against the catalogue of keys: values that fit, and a fault for each that does not."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from optimiser.study.faults import Collector, Place, TooManyFaultsError, listing, shown, suggestion
from optimiser.study.forms import (
    Choice,
    Flag,
    Form,
    Listing,
    Loose,
    Many,
    Named,
    Naming,
    Number,
    OneOf,
    Section,
    Text,
    Variants,
    expectation,
)
from optimiser.study.nodes import Branch, Broken, Entry, Leaf, Node, Row, describe, joined
from optimiser.study.scalars import NoNumber, is_null, is_numeric, is_switch, read_number

NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]*")
"""What a free name looks like: it stands in paths and in the names of figures."""

FLAGS = ("true", "false")
"""How a truth value is written."""

FAR_TOO_MANY = 100
"""With more entries than may be and than this, a mapping is not read, nor is the rest of the file."""


@dataclass(frozen=True)
class Quantity:
    """A number of the file."""

    place: Place
    number: float


@dataclass(frozen=True)
class Word:
    """A text of the file: a name, a choice, free text, or the word true or false."""

    place: Place
    text: str


@dataclass(frozen=True)
class Values:
    """A list of the file."""

    place: Place
    items: "tuple[Value, ...]"


@dataclass(frozen=True)
class Record:
    """A mapping of the file: `entries` that fit, and `places` of all keys, also of those whose value has a fault.

    `place` is where the record's own key stands: there a missing key is told.
    """

    place: Place
    entries: "Mapping[str, Value]"
    places: Mapping[str, Place]


Value: TypeAlias = Quantity | Word | Values | Record


def walk(form: Form, node: Node, faults: Collector) -> Value | None:
    """The value of a file's root; None where it has no such form at all."""
    return _Walker(faults).value(form, node, "", Place(1, 1))


class _Walker:
    """Carries the collector of faults through the tree."""

    def __init__(self, faults: Collector) -> None:
        self._faults = faults

    def value(self, form: Form, node: Node, path: str, opened: Place) -> Value | None:
        """The value of `node`, whose key stands at `opened`; None, with its faults noted, where it does not fit."""
        found: Value | None = None
        match form, node:
            case (_, Broken()) | (Loose(), _):
                pass
            case OneOf(), _:
                found = self._one_of(form, node, path, opened)
            case (Number(), Leaf()):
                found = self._number(form, node, path)
            case ((Text() | Choice() | Naming()), Leaf()):
                found = self._word(form, node, path)
            case Flag(), Leaf():
                found = self._flag(form, node, path)
            case Listing(), Row():
                found = self._listing(form, node, path)
            case Many(), Row():
                found = self._many(form, node, path)
            case Section(), Branch():
                found = self._section(form, node, path, opened)
            case Named(), Branch():
                found = self._named(form, node, path, opened)
            case Variants(), Branch():
                found = self._variants(form, node, path, opened)
            case _:
                self._misfit(form, node, path)
        return found

    def _misfit(self, form: Form, node: Node, path: str) -> None:
        self._faults.add(node.place, path, describe(node), expectation(form), "write it in the form expected")

    def _one_of(self, form: OneOf, node: Node, path: str, opened: Place) -> Value | None:
        fitting = [one for one in form.forms if isinstance(node, _WRITTEN_AS[type(one)])]
        if not fitting:
            self._misfit(form, node, path)
            return None
        worded = isinstance(node, Leaf) and node.text[:1].isalpha()
        meant = [one for one in fitting if isinstance(one, Number) is not worded]
        return self.value((meant or fitting)[0], node, path, opened)

    def _number(self, form: Number, leaf: Leaf, path: str) -> Quantity | None:
        number = read_number(leaf)
        if isinstance(number, NoNumber):
            self._faults.add(leaf.place, path, number.found, expectation(form), number.hint)
            return None
        hint = _out_of_range(form, number)
        if hint:
            self._faults.add(leaf.place, path, leaf.text, expectation(form), hint)
            return None
        return Quantity(leaf.place, float(number))

    def _word(self, form: Text | Choice | Naming, leaf: Leaf, path: str) -> Word | None:
        hint = _no_word(form, leaf)
        if hint:
            self._faults.add(leaf.place, path, describe(leaf), expectation(form), hint)
            return None
        return Word(leaf.place, leaf.text)

    def _flag(self, form: Flag, leaf: Leaf, path: str) -> Word | None:
        if leaf.quoted or leaf.text not in FLAGS:
            self._faults.add(leaf.place, path, describe(leaf), expectation(form), "write true or false")
            return None
        return Word(leaf.place, leaf.text)

    def _listing(self, form: Listing, row: Row, path: str) -> Values | None:
        if len(row.items) != form.count:
            self._misfit(form, row, path)
            return None
        return self._items(form.item, row, path)

    def _many(self, form: Many, row: Row, path: str) -> Values | None:
        if not form.least <= len(row.items) <= form.most:
            expected = f"a list of {form.least} to {form.most} {form.what}s"
            hint = "add what is missing" if len(row.items) < form.least else "delete what is too much"
            self._faults.add(row.place, path, describe(row), expected, hint)
            return None
        return self._items(form.item, row, path)

    def _items(self, form: Form, row: Row, path: str) -> Values | None:
        items = [self.value(form, item, f"{path}[{count}]", item.place) for count, item in enumerate(row.items)]
        fitting = tuple(item for item in items if item is not None)
        return Values(row.place, fitting) if len(fitting) == len(items) else None

    def _section(self, form: Section, branch: Branch, path: str, opened: Place) -> Record:
        present = {entry.name for entry in branch.entries}
        missing = [name for name, key in form.keys.items() if key.required and name not in present]
        entries: dict[str, Value] = {}
        for entry in branch.entries:
            if entry.name not in form.keys:
                self._unknown(entry, form, present, path)
                continue
            value = self.value(form.keys[entry.name].form, entry.value, joined(path, entry.name), entry.place)
            if value is not None:
                entries[entry.name] = value
        for name in missing:
            key = form.keys[name]
            hint = f"add the key {name}"
            self._faults.add(opened, joined(path, name), f"no key {name}", expectation(key.form), hint)
        return Record(opened, entries, {entry.name: entry.place for entry in branch.entries})

    def _unknown(self, entry: Entry, form: Section, present: set[str], path: str) -> None:
        free = [name for name in form.keys if name not in present]
        hint = suggestion(entry.name, free, "leave it out")
        expected = f"{form.about} with the keys {listing(form.keys)}"
        self._faults.add(entry.place, joined(path, entry.name), f"the unknown key {shown(entry.name)}", expected, hint)

    def _named(self, form: Named, branch: Branch, path: str, opened: Place) -> Record:
        entries: dict[str, Value] = {}
        self._right_count(form, len(branch.entries), path, opened)
        for entry in branch.entries:
            here = joined(path, entry.name)
            if not form.dotted:
                self._sound_name(form, entry, here)
            value = self.value(form.form_of(entry.name), entry.value, here, entry.place)
            if value is not None:
                entries[entry.name] = value
        return Record(opened, entries, {entry.name: entry.place for entry in branch.entries})

    def _sound_name(self, form: Named, entry: Entry, path: str) -> None:
        if entry.name in form.reserved:
            expected = "a name that the program does not use itself"
            self._faults.add(entry.place, path, f"the reserved name {entry.name}", expected, "choose another name")
        elif not NAME.fullmatch(entry.name) or is_switch(Leaf(entry.place, entry.name, quoted=False)):
            expected = (
                "a name of letters, digits, _ and -, starting with a letter, and no yes, no, on, off, true, false"
            )
            self._faults.add(entry.place, path, f"the name {shown(entry.name)}", expected, "choose another name")

    def _right_count(self, form: Named, found: int, path: str, opened: Place) -> None:
        if form.least <= found <= form.most:
            return
        expected = f"from {form.least} to {form.most}" if form.least != form.most else f"exactly {form.most}"
        hint = "add what is missing" if found < form.least else "delete what is too much"
        self._faults.add(opened, path, f"{found} {form.what}s", expected, hint)
        if found > max(form.most, FAR_TOO_MANY):
            raise TooManyFaultsError

    def _variants(self, form: Variants, branch: Branch, path: str, opened: Place) -> Value | None:
        entry = next((one for one in branch.entries if one.name == form.by), None)
        words = tuple(form.sections)
        if entry is None:
            hint = f"add the key {form.by}"
            self._faults.add(opened, joined(path, form.by), f"no key {form.by}", " or ".join(words), hint)
            return None
        word = self.value(Choice(words), entry.value, joined(path, form.by), entry.place)
        return self._section(form.sections[word.text], branch, path, opened) if isinstance(word, Word) else None


_WRITTEN_AS: Mapping[type[Form], type[Node] | tuple[type[Node], ...]] = {
    Number: Leaf,
    Text: Leaf,
    Choice: Leaf,
    Naming: Leaf,
    Flag: Leaf,
    Listing: Row,
    Many: Row,
    Section: Branch,
    Named: Branch,
    Variants: Branch,
}
"""How each form is written, by which the alternatives of a `OneOf` are told apart."""


def _out_of_range(form: Number, number: float) -> str | None:
    """What to do about a number out of its range; None for one within."""
    if form.whole and not isinstance(number, int):
        return "write it without point and exponent"
    if form.above is not None and number <= form.above:
        return f"write a number above {form.above:g}"
    if form.low is not None and number < form.low:
        return f"write a number of at least {form.low:.15g}"
    if form.high is not None and number > form.high:
        return f"write a number of at most {form.high:.15g}"
    return None


def _no_word(form: Text | Choice | Naming, leaf: Leaf) -> str | None:
    """What to do about a scalar that is no word of this form; None for one that is."""
    if is_null(leaf) or not leaf.text.strip():
        return "write a text"
    if is_switch(leaf):
        return "some YAML readers take this for true or false: write another word, or put it in quotes"
    if is_numeric(leaf):
        return "put it in quotes if it is a text"
    if isinstance(form, Choice) and leaf.text not in form.words:
        return suggestion(leaf.text, form.words, f"write {' or '.join(form.words)}")
    if not leaf.text.isprintable():
        return "write it in one line of printable characters"
    return None
