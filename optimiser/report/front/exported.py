"""A front's rows where they leave the terminal: as CSV for a spreadsheet, as a Markdown table for a report.

Plain lists, no numpy: showing a front starts quickly.
"""

import csv
import math
from collections.abc import Iterator, Mapping, Sequence
from io import StringIO

from optimiser.report.front.frame import Frame
from optimiser.report.tables.text_table import VARIABLE_DECIMALS, figures

BASE, KNEE = "base", "knee"


def front_csv(front: Frame, rows: Sequence[int]) -> str:
    """The rows with every variable and figure at full precision (the shortest text that reads back to the same number).

    Headings hold the names of the study, a figure's with its unit: `heave.crosstalk [%]`. `known_as` says which row is
    the study's own geometry (base), a member or not, and which the knee; `from` which of several folders it is of. The
    figures that goals ask for come first, in the goals' order. A null figure is an empty cell.
    """
    asked = _asked(front)
    names = [*asked, *(name for name in front.table.figures if name not in asked)]
    text = StringIO()
    writer = csv.writer(text, lineterminator="\n")
    origin = ["from"] if front.origins else []
    writer.writerow(["id", "known_as", *origin, *(_heading(front, name) for name in names), *front.table.variables])
    columns = [*(front.table.figures[name] for name in names), *front.table.variables.values()]
    for row in rows:
        cells = ("" if math.isnan(column[row]) else repr(column[row]) for column in columns)
        writer.writerow([front.table.ids[row], _known_as(front, row), *_origin(front, row), *cells])
    return text.getvalue()


def front_markdown(front: Frame, rows: Sequence[int], like: Mapping[int, int]) -> Iterator[str]:
    """The lines of a table: ids, the figures that goals ask for, variables; the best of an objective stands bold.

    `like` is how many near-twins a row stands for beside itself (see `optimiser.report.front.twins`).
    """
    origin = ["from"] if front.origins else []
    asked, paths = _asked(front), list(front.table.variables)
    headings = ["id", *origin, *(_heading(front, name) for name in asked), *paths]
    yield _line(headings)
    yield _line([":---", *("---:" for _ in headings[1:])])
    for row in rows:
        twins = f" (+{like[row]})" if like.get(row) else ""
        measured = [_figure(front, row, name) for name in asked]
        varied = [figures(front.table.variables[path][row], VARIABLE_DECIMALS) for path in paths]
        yield _line([f"{front.label(row)}{twins}", *_origin(front, row), *measured, *varied])


def _asked(front: Frame) -> list[str]:
    """The figures that goals ask for, each once: those that are traded, then those that are held."""
    manifest = front.store.manifest
    return list(dict.fromkeys(goal.figure for goal in (*manifest.objectives, *manifest.held)))


def _heading(front: Frame, name: str) -> str:
    unit = front.store.manifest.figures[name].unit
    return f"{name} [{unit}]" if unit else name


def _known_as(front: Frame, row: int) -> str:
    return " ".join(name for name, named in ((BASE, front.base), (KNEE, front.knee)) if row == named)


def _origin(front: Frame, row: int) -> list[str]:
    """The number of the folder that a row comes from, where there are several; the base is of none."""
    return [str(front.origins.get(front.table.ids[row], ""))] if front.origins else []


def _figure(front: Frame, row: int, name: str) -> str:
    text = figures(front.table.figures[name][row], front.store.manifest.figures[name].decimals)
    return f"**{text}**" if name in front.table.objectives and front.is_best(row, name) else text


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
