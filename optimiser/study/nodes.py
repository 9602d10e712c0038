"""The tree of a file: mappings, lists and scalars with their places, before anyone says what they mean."""

from dataclasses import dataclass
from typing import TypeAlias

from optimiser.study.faults import Place, shown


@dataclass(frozen=True)
class Leaf:
    """A scalar as written; `quoted` for every style but the plain one."""

    place: Place
    text: str
    quoted: bool


@dataclass(frozen=True)
class Row:
    """A list."""

    place: Place
    items: "tuple[Node, ...]"


@dataclass(frozen=True)
class Entry:
    """A key of a mapping, its place and its value."""

    name: str
    place: Place
    value: "Node"


@dataclass(frozen=True)
class Branch:
    """A mapping, its keys in the file's order, each once."""

    place: Place
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class Broken:
    """Something whose fault has been noted already."""

    place: Place


Node: TypeAlias = Leaf | Row | Branch | Broken


def describe(node: Node) -> str:
    """What a fault says was found here."""
    if isinstance(node, Branch):
        return f"a mapping of {len(node.entries)} keys"
    if isinstance(node, Row):
        return f"a list of {len(node.items)}"
    if isinstance(node, Broken):
        return "something unreadable"
    if not node.text and not node.quoted:
        return "nothing"
    return f"the quoted text {shown(node.text)}" if node.quoted else shown(node.text)


def joined(path: str, name: str) -> str:
    """The path of key `name` below `path`; hostile names are cut."""
    part = name if len(name) <= 60 else name[:60] + "…"
    part = "".join(c if c.isprintable() else "?" for c in part)
    return f"{path}.{part}" if path else part
