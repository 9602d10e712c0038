"""How wide the output is, whether it may be set in bold, and the marks that read without colour."""

import os
import sys

PLAIN_WIDTH = 100
"""Columns of the output where it is no terminal: a file, a pipe, a test."""

BEST = "*"
"""Stands behind the best value of a column."""
MISSED = "!"
"""Stands behind a value that misses its goal."""
NULL = "-"
"""Stands where a figure has no value."""


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
