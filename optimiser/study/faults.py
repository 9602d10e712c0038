"""Faults of a file: each with its place, what was found, what was expected and what to do; all of a file at once."""

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice

from optimiser.errors import RockwrightError

MOST_FAULTS = 60
"""A file is read no further once it has this many faults: mending the first ones is the next step anyway."""

WIDEST_LINE = 100
"""Characters of a source line that a fault shows around its place."""

LONGEST_NAME_COMPARED = 80
"""A longer name than this is no misspelling of a known one."""

MOST_NAMES_COMPARED = 500
"""Known names among which a misspelt one is looked for: a study has some 60 numbers and 100 figures."""

LINE_ENDS = re.compile("\r\n|[\n\r\x85\u2028\u2029]")
"""What ends a line of a YAML file, so that lines are counted as the parser counts them."""


BYTE_ORDER_MARK = "\ufeff"
"""May open a file; it counts as no character of the first line."""


@dataclass(frozen=True)
class Place:
    """A place in a file; line and column count from 1."""

    line: int
    column: int


@dataclass(frozen=True)
class Fault:
    """One fault: `path` is the key's path from the file's root (empty: the file itself)."""

    line: int
    column: int
    path: str
    found: str
    expected: str
    hint: str


class FaultsError(RockwrightError):
    """All faults of one file, in the order of their places; the text shows each with its line and a caret."""

    def __init__(self, faults: Iterable[Fault], file_name: str, text: str) -> None:
        unique = dict.fromkeys(faults)
        self.faults = tuple(sorted(unique, key=lambda fault: (fault.line, fault.column)))
        self.file_name = file_name
        lines = LINE_ENDS.split(text.removeprefix(BYTE_ORDER_MARK))
        blocks = [_render(fault, file_name, lines) for fault in self.faults]
        super().__init__("\n\n".join([*blocks, _count(len(blocks), file_name)]))


class TooManyFaultsError(Exception):
    """Raised by a `Collector` that is full; caught where the file is read."""


class Collector:
    """Gathers the faults of one file while it is read."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def add(self, place: Place, path: str, found: str, expected: str, hint: str) -> None:
        """Note one fault; raises `TooManyFaultsError` when the file has had enough."""
        self.faults.append(Fault(place.line, place.column, path, found, expected, hint))
        if len(self.faults) >= MOST_FAULTS:
            raise TooManyFaultsError

    def __len__(self) -> int:
        return len(self.faults)


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that `name` most likely misspells, or None."""
    if len(name) > LONGEST_NAME_COMPARED:
        return None
    by_lower = {one.lower(): one for one in islice(known, MOST_NAMES_COMPARED)}
    close = difflib.get_close_matches(name.lower(), by_lower, n=1, cutoff=0.6)
    return by_lower[close[0]] if close else None


def suggestion(name: str, known: Iterable[str], otherwise: str) -> str:
    """`did you mean ...?` for a near miss among `known`, else the text `otherwise`."""
    near = nearest(name, known)
    return f"did you mean {near}?" if near else otherwise


def listing(names: Iterable[str], most: int = 12) -> str:
    """Names for a sentence: `a, b, c`; long lists are cut."""
    all_names = list(names)
    shown = ", ".join(all_names[:most])
    return f"{shown}, and {len(all_names) - most} more" if len(all_names) > most else shown or "none"


def shown(text: str, longest: int = 40) -> str:
    """Text of the file as a fault quotes it: in quotes, in one line, cut when long."""
    return repr(text if len(text) <= longest else text[:longest] + "…")


def _render(fault: Fault, file_name: str, lines: list[str]) -> str:
    head = f"{file_name}:{fault.line}:{fault.column}: {fault.path or 'the file'}"
    source = lines[fault.line - 1] if 0 < fault.line <= len(lines) else ""
    start = max(0, fault.column - 1 - WIDEST_LINE // 2) if len(source) > WIDEST_LINE else 0
    window = "".join(c if c.isprintable() else " " for c in source[start : start + WIDEST_LINE])
    caret = " " * (fault.column - 1 - start) + "^"
    return (
        f"{head}\n    {window.rstrip()}\n    {caret}\n"
        f"  found     {fault.found}\n  expected  {fault.expected}\n  next      {fault.hint}"
    )


def _count(count: int, file_name: str) -> str:
    if count >= MOST_FAULTS:
        return f"{file_name}: {count} faults and perhaps more; mend these first"
    return f"{file_name}: {count} fault{'s' if count != 1 else ''}"
