"""Tables that stay inside a fixed width: named blocks of columns, spread over as many tables as they need.

A block is what must be read together (one element's ratios, one sweep's attitude). Each table repeats the key block
on its left and takes as many further blocks as fit, so nothing is ever cut off or wrapped.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size
from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from optimiser.report.screen import PLAIN_WIDTH, grid

GAP = 3
"""Columns between two blocks."""
NAME = 40
"""Columns that a free name may take."""
COLOURS = {
    r"\bworking\b": "green",
    r"\bidle\b": "dim",
    r"\bleaking\b": "yellow",
    r"\b(missed by|null|unreachable|wheel_locked|over_centre)\b": "red",
}
"""Style of telling words in a cell, by pattern."""


@dataclass(frozen=True)
class Column:
    """One column of a block: its heading, at most two lines; the cells, a string a row; its alignment."""

    heading: str
    cells: Sequence[str]
    left: bool = False

    @property
    def width(self) -> int:
        """Columns on the screen that the widest line takes."""
        return max(cell_len(line) for line in [*self.heading.split("\n"), *self.cells])


@dataclass(frozen=True)
class Block:
    """Columns that stay side by side, `gap` apart, under one title."""

    title: str
    columns: Sequence[Column]
    gap: int = 1

    @property
    def width(self) -> int:
        """Columns on the screen that the block takes."""
        side_by_side = sum(column.width for column in self.columns) + self.gap * (len(self.columns) - 1)
        return max(cell_len(self.title), side_by_side)


def heading(title: str, explained: str = "") -> Text:
    """A line that opens a part of a report: its title, and what the reader needs to know for it."""
    text = Text(f"\n{title.upper()}", style="bold")
    return text.append(f"  {explained}" if explained else "", style="not bold")


def short(name: str) -> str:
    """A free name, its middle left out where it is longer than `NAME` columns; a figure's name keeps its end."""
    if cell_len(name) <= NAME:
        return name
    half = NAME // 2 - 1
    return set_cell_size(name, half) + ".." + set_cell_size(name[::-1], half)[::-1]


def tables(key: Block, blocks: Sequence[Block], width: int = PLAIN_WIDTH) -> Iterator[RenderableType]:
    """Tables of `key` and each of `blocks`, in order, none wider than `width` unless one block alone is."""
    waiting = list(blocks)
    yield _table([key, *_taken(key, waiting, width)])
    while waiting:
        yield Text()
        yield _table([key, *_taken(key, waiting, width)])


def _taken(key: Block, waiting: list[Block], width: int) -> list[Block]:
    """The next blocks that fit beside `key`, at least one where there is one, moved out of `waiting`."""
    taken = [waiting.pop(0)] if waiting else []
    while waiting and _total([key, *taken, waiting[0]]) <= width:
        taken.append(waiting.pop(0))
    return taken


def _total(blocks: Sequence[Block]) -> int:
    return sum(block.width for block in blocks) + GAP * (len(blocks) - 1)


def _table(blocks: Sequence[Block]) -> Table:
    table = grid()
    table.show_edge = False
    titled = any(block.title for block in blocks)
    for block in blocks:
        table.add_column(Text(_heading(block, titled)), no_wrap=True, vertical="bottom")
    rows = max(len(column.cells) for block in blocks for column in block.columns)
    for row in range(rows):
        table.add_row(*[_coloured(_row(block, row)) for block in blocks])
    return table


def _coloured(line: str) -> Text:
    """The line with its telling words in colour, which only repeats what the words say."""
    text = Text(line)
    for pattern, style in COLOURS.items():
        text.highlight_regex(pattern, style)
    return text


def _heading(block: Block, titled: bool) -> str:
    """The title, where any block of the table has one, over the columns' headings, which sit on the last lines."""
    split = [column.heading.split("\n") for column in block.columns]
    lines = max(len(parts) for parts in split)
    padded = [[""] * (lines - len(parts)) + parts for parts in split]
    below = [
        (" " * block.gap).join(_set(parts[line], column) for parts, column in zip(padded, block.columns, strict=True))
        for line in range(lines)
    ]
    return "\n".join([block.title, *below] if titled else below)


def _row(block: Block, row: int) -> str:
    between = " " * block.gap
    return between.join(_set(column.cells[row] if row < len(column.cells) else "", column) for column in block.columns)


def _set(text: str, column: Column) -> str:
    blank = " " * (column.width - cell_len(text))
    return text + blank if column.left else blank + text
