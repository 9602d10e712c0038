"""Columns of numbers as CSV text and back, to the bit: the data files of a results folder.

A number is written by `repr`, the shortest text that reads back to the same float64; an empty cell is a null (NaN).
A heading is a kind, a space and a free name (`variable rocker.pivot.y`), or the kind alone. Plain lists, no numpy:
showing a front starts quickly.
"""

import csv
import io
import math
from collections.abc import Mapping, Sequence
from typing import TypeAlias

Columns: TypeAlias = dict[str, list[float]]
"""Equally long columns by their headings."""


def encode(columns: Mapping[str, Sequence[float]]) -> bytes:
    """CSV of equally long columns under their headings. Raises ValueError for an infinite number: no file holds one."""
    cells = [[_cell(value) for value in column] for column in columns.values()]
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(zip(*cells, strict=True))
    return stream.getvalue().encode()


def decode(data: bytes) -> Columns:
    """The columns of a CSV text. Raises ValueError where it is not a heading and rows of numbers."""
    stream = io.StringIO(data.decode(), newline="")
    try:
        headings = next(csv.reader(stream), [])
    except csv.Error as error:
        raise ValueError(str(error)) from error
    if not headings or len(set(headings)) < len(headings):
        raise ValueError("no headings, or two alike")
    rows = [line.split(",") for line in stream.read().split("\n")[:-1]]  # numbers need no quotes: faster than csv's
    numbers = [_numbers(cells) for cells in zip(*rows, strict=True)]
    return dict(zip(headings, numbers or [[] for _ in headings], strict=True))


def of_kind(kind: str, columns: Mapping[str, Sequence[float]]) -> dict[str, Sequence[float]]:
    """Columns by their free names, under headings of one kind."""
    return {f"{kind} {name}": column for name, column in columns.items()}


def kind(columns: Columns, of: str) -> Columns:
    """The columns whose headings are of one kind, by their free names."""
    start = f"{of} "
    return {heading.removeprefix(start): column for heading, column in columns.items() if heading.startswith(start)}


def nullable(value: float) -> float | None:
    """A number, or None for the NaN that stands for a null figure."""
    return value if value == value else None  # noqa: PLR0124 - NaN's own test, and the fastest


def _numbers(cells: tuple[str, ...]) -> list[float]:
    if "" in cells:
        return [float(cell) if cell else math.nan for cell in cells]
    return list(map(float, cells))


def _cell(value: float) -> str:
    if math.isnan(value):
        return ""
    if math.isinf(value):
        raise ValueError("an infinite number has no place in a results folder")
    return repr(value)
