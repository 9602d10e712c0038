"""The one console that every command writes to, and the marks that read without colour."""

import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

PLAIN_WIDTH = 100
"""Columns of the output where it is no terminal: a file, a pipe, a test."""

BEST = "*"
"""Stands behind the best value of a column."""
MISSED = "!"
"""Stands behind a value that misses its goal."""
NULL = "-"
"""Stands where a figure has no value."""


def console() -> "Console":
    """A console on the standard output of this moment.

    As wide as the terminal, or `PLAIN_WIDTH` where there is none; without colour where the environment sets NO_COLOR
    to anything; square brackets, colons and numbers are printed as they are.
    """
    from rich.console import Console  # noqa: PLC0415 - 70 ms of start-up that plain output does not need

    width = None if sys.stdout.isatty() else PLAIN_WIDTH
    return Console(file=sys.stdout, width=width, markup=False, emoji=False, highlight=False)


def grid(title: str | None = None) -> "Table":
    """An empty table in the house's look: a heading with a rule below it, no frame."""
    from rich.box import SIMPLE_HEAD  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415

    return Table(title=title, title_justify="left", title_style="bold", box=SIMPLE_HEAD, pad_edge=False)


def width() -> int:
    """Columns of the output: the terminal's, or `PLAIN_WIDTH` where there is none."""
    columns = os.get_terminal_size(sys.stdout.fileno()).columns if sys.stdout.isatty() else 0
    return columns or PLAIN_WIDTH


def styled() -> bool:
    """Whether plain output may be set in bold: on a terminal, unless the environment sets NO_COLOR."""
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def bold(text: str) -> str:
    """The text set in bold where the output allows it (`styled`), else as it is."""
    return f"\x1b[1m{text}\x1b[0m" if styled() else text
