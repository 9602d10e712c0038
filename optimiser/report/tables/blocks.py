"""Tables that stay inside a fixed width: named blocks of columns, spread over as many tables as they need.

A block is what must be read together (one element's ratios, one sweep's attitude). Each table repeats the key block
on its left and takes as many further blocks as fit, so that no number is ever cut off or wrapped.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from textwrap import wrap

from optimiser.report.tables.screen import PLAIN_WIDTH, bold, styled

GAP = 3
"""Columns of the screen between two blocks."""
NAME = 40
"""Columns of the screen that a free name may take."""
COLOURS = {
    r"\bworking\b": 32,
    r"\bleaking\b": 33,
    r"\bidle\b": 2,
    r"\b(missed by|null|unreachable|wheel_locked|over_centre)\b": 31,
}
"""What a terminal is told (green, yellow, dim, red) for words of a table that tell more than its numbers."""


@dataclass(frozen=True)
class Column:
    """One column of a block: its heading, of one line or more; the cells, a string a row; where they stand."""

    heading: str
    cells: Sequence[str]
    left: bool = False

    @property
    def width(self) -> int:
        """Columns of the screen that the widest line takes."""
        return max(len(line) for line in [*self.heading.split("\n"), *self.cells])


@dataclass(frozen=True)
class Block:
    """Columns that stay side by side, `gap` apart, under one title."""

    title: str
    columns: Sequence[Column]
    gap: int = 1

    @property
    def width(self) -> int:
        """Columns of the screen that the block takes."""
        side_by_side = sum(column.width for column in self.columns) + self.gap * (len(self.columns) - 1)
        return max(len(self.title), side_by_side)


def tables(key: Block, blocks: Sequence[Block], width: int = PLAIN_WIDTH) -> Iterator[str]:
    """Lines of tables of `key` and each of `blocks`, in order, none wider than `width` unless one block alone is."""
    waiting = list(blocks)
    yield from _table([key, *_taken(key, waiting, width)])
    while waiting:
        yield ""
        yield from _table([key, *_taken(key, waiting, width)])


def heading(title: str, explained: str = "") -> str:
    """A line that opens a part of a report: its title, and what the reader needs to know for it."""
    return f"\n{bold(title.upper())}  {explained}".rstrip()


def prose(text: str, width: int, first: str = "", others: str = "") -> list[str]:
    """A sentence as lines of at most `width`; `first` and `others` stand before the first and the further ones."""
    return wrap(text, width, initial_indent=first, subsequent_indent=others, break_on_hyphens=False)


def short(name: str) -> str:
    """A free name, its middle left out where it is longer than `NAME`: a figure's name keeps its end."""
    half = NAME // 2 - 1
    return name if len(name) <= NAME else f"{name[:half]}..{name[-half:]}"


def _taken(key: Block, waiting: list[Block], width: int) -> list[Block]:
    """The next blocks that fit beside `key`, at least one where there is one, moved out of `waiting`."""
    taken = [waiting.pop(0)] if waiting else []
    while waiting and sum(block.width + GAP for block in [key, *taken, waiting[0]]) - GAP <= width:
        taken.append(waiting.pop(0))
    return taken


def _table(blocks: Sequence[Block]) -> Iterator[str]:
    """Titles, headings, a rule a block, and the rows, of which short blocks leave the last ones blank."""
    if any(block.title for block in blocks):
        yield _beside([block.title.ljust(block.width) for block in blocks])
    depth = max(column.heading.count("\n") + 1 for block in blocks for column in block.columns)
    for line in range(depth):
        yield _beside([_set(block, [_line_of(column, line, depth) for column in block.columns]) for block in blocks])
    yield _beside(["-" * block.width for block in blocks])
    for row in range(max(len(column.cells) for block in blocks for column in block.columns)):
        cells = [[column.cells[row] if row < len(column.cells) else "" for column in block.columns] for block in blocks]
        yield _coloured(_beside([_set(block, texts) for block, texts in zip(blocks, cells, strict=True)]))


def _beside(parts: Sequence[str]) -> str:
    return (" " * GAP).join(parts).rstrip()


def _line_of(column: Column, line: int, depth: int) -> str:
    """One of `depth` lines of a heading that stands at the bottom of its room."""
    lines = column.heading.split("\n")
    place = line - depth + len(lines)
    return lines[place] if place >= 0 else ""


def _set(block: Block, texts: Sequence[str]) -> str:
    """One line of a block: each text in its column."""
    placed = [
        text.ljust(column.width) if column.left else text.rjust(column.width)
        for text, column in zip(texts, block.columns, strict=True)
    ]
    return (" " * block.gap).join(placed).ljust(block.width)


def _coloured(line: str) -> str:
    """The line with its telling words in colour where the output allows it."""
    if styled():
        for pattern, code in COLOURS.items():
            line = re.sub(pattern, f"\x1b[{code}m\\g<0>\x1b[0m", line)
    return line
