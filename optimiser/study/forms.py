"""The forms that a value of a file may have: the words in which the catalogue of keys is written.

Each is a frozen record without behaviour, so that a reader, a schema writer and a document writer can each walk them.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from typing import TypeAlias


@dataclass(frozen=True)
class Number:
    """A number in `unit` ("" for none): within [`low`, `high`], above `above`; `whole` for an integer."""

    unit: str = ""
    low: float | None = None
    high: float | None = None
    above: float | None = None
    whole: bool = False


@dataclass(frozen=True)
class Text:
    """Free text of one line."""


@dataclass(frozen=True)
class Choice:
    """One of a few words."""

    words: tuple[str, ...]


@dataclass(frozen=True)
class Naming:
    """The name of something else of the file: `of` says what ("link", "pick-up")."""

    of: str


@dataclass(frozen=True)
class Listing:
    """A list of exactly `count` items of one form; `names` label them (x, y, z; lowest, highest)."""

    item: "Form"
    names: tuple[str, ...]

    @property
    def count(self) -> int:
        """How many items."""
        return len(self.names)


@dataclass(frozen=True)
class Many:
    """A list of `least` to `most` items of one form; `what` is one of them."""

    item: "Form"
    what: str
    least: int = 0
    most: int = 100


@dataclass(frozen=True)
class Flag:
    """true or false."""


@dataclass(frozen=True)
class Key:
    """A key of a section: its value's form and whether it may be missing."""

    form: "Form"
    required: bool = True


@dataclass(frozen=True)
class Section:
    """A mapping with known keys; `about` says what it is in a fault."""

    about: str
    keys: Mapping[str, Key]


@dataclass(frozen=True)
class Named:
    """A mapping from free names to values of one form; `what` is one of them; `least` to `most` of them.

    `reserved` are names that something else has already; `dotted` where the names are paths of the file itself.
    `special`: other forms, by a pattern of the name such as `*.hole`.
    """

    what: str
    item: "Form"
    least: int = 0
    most: int = 100
    reserved: frozenset[str] = field(default_factory=frozenset)
    dotted: bool = False
    special: "Mapping[str, Form]" = field(default_factory=dict)

    def form_of(self, name: str) -> "Form":
        """The form of the value under a name."""
        return next((form for pattern, form in self.special.items() if fnmatchcase(name, pattern)), self.item)


@dataclass(frozen=True)
class OneOf:
    """Any of several forms, told apart by how the value is written: a number, a word, a list or a mapping."""

    forms: "tuple[Form, ...]"


@dataclass(frozen=True)
class Variants:
    """A mapping whose key `by` says which section it is."""

    by: str
    sections: Mapping[str, Section]


@dataclass(frozen=True)
class Loose:
    """Anything."""


Form: TypeAlias = Number | Text | Choice | Naming | Flag | Listing | Many | Section | Named | OneOf | Variants | Loose


def expectation(form: Form) -> str:
    """What a fault says was expected where this form belongs."""
    text = "anything"
    match form:
        case Number():
            text = _number(form)
        case Text():
            text = "text in one line"
        case Choice():
            text = " or ".join(form.words)
        case Naming():
            text = f"the name of {'an' if form.of[0] in 'aeiou' else 'a'} {form.of}"
        case Listing():
            text = f"a list of {form.count}: [{', '.join(form.names)}], each {expectation(form.item)}"
        case Many():
            text = f"a list of at least {form.least} {form.what}s, each {expectation(form.item)}"
        case Flag():
            text = "true or false"
        case Section():
            text = f"{form.about}: {{{', '.join(form.keys)}}}"
        case Named():
            text = f"a mapping from names of {form.what}s to their values"
        case OneOf():
            text = "; or ".join(expectation(one) for one in form.forms)
        case Variants():
            text = f"a mapping with the key {form.by}"
        case Loose():
            pass
    return text


def _number(form: Number) -> str:
    kind = "a whole number" if form.whole else "a number"
    unit = f" [{form.unit}]" if form.unit else ""
    if form.low is not None and form.high is not None:
        bounds = f" from {form.low:.15g} to {form.high:.15g}" if form.low != form.high else f" {form.low:.15g}"
    else:
        limits = [
            f"above {form.above:g}" if form.above is not None else "",
            f"at least {form.low:.15g}" if form.low is not None else "",
            f"at most {form.high:.15g}" if form.high is not None else "",
        ]
        bounds = " " + " and ".join(limit for limit in limits if limit)
    return f"{kind}{unit}{bounds}".rstrip()
