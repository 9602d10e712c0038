"""Reads a measured sheet: all its faults at once, each with its line, or the readings."""

import csv
import math
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from io import StringIO
from pathlib import Path

import numpy as np

from geometry.axle import Axle, CornerStrut
from objectives.fit.rig import Measured, expected
from objectives.tolerance.build import LEFT, RIGHT
from optimiser.errors import UnreadableFileError
from optimiser.report.compare.sheet import COLUMNS
from optimiser.report.compare.sweeps import SWEEPS, holds, span_of, states_of
from optimiser.study.document import load_text, shown_path
from optimiser.study.faults import (
    BYTE_ORDER_MARK,
    Collector,
    Fault,
    FaultsError,
    Place,
    TooManyFaultsError,
    listing,
    shown,
    suggestion,
)
from optimiser.study.study import Study

INSTRUMENT_ERROR = 0.1
"""One standard deviation [mm] of a reading that states none: a calliper on eyes (common practice, no source)."""
GROSS = 25.0
"""A reading this far [mm] from what is expected is no built car's, but another unit or another column."""
SMALLEST_ERROR = 1e-9
"""No instrument is more exact than this [mm]; below it rounding is all there is."""
NEEDED = ("sweep", "travel", "element")


@dataclass(frozen=True)
class Row:
    """One reading: its line in the file, and what it says [mm]."""

    line: int
    sweep: str
    travel: float
    strut: str
    side: str
    compressed: bool
    value: float
    error: float


@dataclass(frozen=True)
class Sheet:
    """The readings of a file, and how many of its rows are left empty."""

    rows: tuple[Row, ...]
    empty: int
    measured: Measured


def read_measured(path: Path, study: Study, usual_error: float = INSTRUMENT_ERROR) -> Sheet:
    """The readings of a CSV file on a study's axle; `usual_error` [mm] is that of rows that state none.

    Raises `FaultsError` with every fault of the file, and `UnreadableFileError` where there is no file to read.
    """
    text, name = _text(path), shown_path(path)
    reader = _Reader(study, usual_error)
    with suppress(TooManyFaultsError):
        reader.read(text.removeprefix(BYTE_ORDER_MARK))
    faults = reader.faults.faults or _strange(study.axle, reader.rows)
    if faults:
        raise FaultsError(faults, name, text)
    return Sheet(tuple(reader.rows), reader.empty, _as_measured(reader.rows))


def _text(path: Path) -> str:
    try:
        return load_text(path)
    except UnreadableFileError as error:
        reason = str(error).rpartition(";")[0]
        step = "give the path of a measured sheet (CSV), which --measuring-sheet writes to be filled in"
        raise UnreadableFileError(f"{reason}; {step}") from error


class _Reader:
    """Gathers readings and faults row by row."""

    def __init__(self, study: Study, usual_error: float) -> None:
        self.study, self.usual_error = study, usual_error
        self.faults = Collector()
        self.rows: list[Row] = []
        self.empty = 0
        self._line = 1

    def read(self, text: str) -> None:
        table = csv.reader(StringIO(text, newline=""), strict=True)
        try:
            header = [cell.strip() for cell in next(table, [])]
            if not self._sound(header):
                return
            for cells in table:
                self._line = table.line_num
                if any(cell.strip() for cell in cells):
                    self._row(header, cells)
        except csv.Error as error:
            self._line = max(1, table.line_num)
            self._fault("", f"no CSV ({error})", "a table with commas between columns", "mend or save it as CSV again")
            return
        if not self.rows and not self.faults:
            self._fault("length", "no row with a reading", "a length or compression", "fill in what was measured")

    def _sound(self, header: list[str]) -> bool:
        """Whether the header names each needed column once, and no other than those of the sheet."""
        if len(header) == 1 and any(mark in header[0] for mark in ";\t"):
            hint = "save it with commas between columns and points in numbers"
            self._fault("", "columns without commas between them", "commas between columns", hint)
            return False
        for name in dict.fromkeys(header):
            if name not in COLUMNS:
                hint = suggestion(name, COLUMNS, "delete the column")
                self._fault("", f"the column {shown(name)}", listing(COLUMNS), hint)
            elif header.count(name) > 1:
                self._fault(name, f"the column {name} twice", "each column once", "delete one of the two")
        missing = [name for name in NEEDED if name not in header]
        if not {"length", "compression"} & set(header):
            missing.append("length or compression")
        for name in missing:
            self._fault("", f"no column {name}", f"{listing(NEEDED)}, and length or compression", f"add {name}")
        return not self.faults

    def _row(self, header: list[str], cells: list[str]) -> None:
        if len(cells) > len(header):
            hint = "write numbers with a point, not a comma, and quote texts that hold a comma"
            self._fault("", f"{len(cells)} cells", f"{len(header)}, as in the header", hint)
            return
        row = dict(zip(header, (cell.strip() for cell in cells), strict=False))
        told = [name for name in ("length", "compression") if row.get(name)]
        if not told:
            self.empty += 1
            return
        before = len(self.faults)
        if len(told) == 2:
            self._fault("length", "a length and a compression", "one of the two", "write them into two rows")
        strut, side = self._strut(row)
        sweep, travel = self._state(row)
        value = self._number(row, told[0])
        error = self._error(row)
        if len(self.faults) == before:
            self.rows.append(Row(self._line, sweep, travel, strut, side, told[0] == "compression", value, error))

    def _strut(self, row: Mapping[str, str]) -> tuple[str, str]:
        axle, name, side = self.study.axle, row.get("element", ""), row.get("side", "")
        if name in axle.elements and name not in axle.struts:
            self._fault("element", f"the bar {shown(name)}", "a strut", "delete the row: a bar has no length")
        elif name not in axle.struts:
            hint = suggestion(name, axle.struts, "name a strut of the file")
            self._fault("element", shown(name), listing(axle.struts), hint)
        elif side not in ("", LEFT, RIGHT):
            self._fault(
                "side", shown(side), "left, right or nothing", suggestion(side, (LEFT, RIGHT), "clear the cell")
            )
        elif isinstance(axle.struts[name], CornerStrut):
            return name, side or LEFT
        elif side:
            self._fault("side", f"{side}, of a strut across the car", "nothing", "clear the cell")
        return name, LEFT

    def _state(self, row: Mapping[str, str]) -> tuple[str, float]:
        sweep, travel = row.get("sweep", ""), self._number(row, "travel")
        if sweep not in SWEEPS:
            self._fault("sweep", shown(sweep), listing(SWEEPS), suggestion(sweep, SWEEPS, "write one of these"))
            return sweep, travel
        span = span_of(sweep, self.study.travel)
        if span is None:
            self._fault("sweep", "rack, of an axle without one", "another sweep", "delete the row")
        elif math.isfinite(travel) and not holds(span, travel):
            hint = "measure inside the file's travel, or widen it there"
            self._fault("travel", f"{travel:g}", f"{span[0]:g} to {span[1]:g} mm", hint)
        return sweep, travel

    def _error(self, row: Mapping[str, str]) -> float:
        if not row.get("error"):
            return self.usual_error
        error = self._number(row, "error")
        if error < SMALLEST_ERROR:
            hint = "write one standard deviation of the instrument [mm]"
            self._fault("error", f"{error:g}", "an error above 0 mm", hint)
        return error

    def _number(self, row: Mapping[str, str], name: str) -> float:
        """The number in a cell; NaN where there is none, which is noted."""
        text = row.get(name, "")
        with suppress(ValueError):
            value = float(text)
            if math.isfinite(value) and "_" not in text:
                return value
        self._fault(name, shown(text) if text else "nothing", "a number [mm]", "write a number with a decimal point")
        return math.nan

    def _fault(self, path: str, found: str, expected_: str, hint: str) -> None:
        self.faults.add(Place(self._line, 1), path, found, expected_, hint)


def _as_measured(rows: list[Row]) -> Measured:
    return Measured(
        states_of([row.sweep for row in rows], [row.travel for row in rows]),
        tuple(row.strut for row in rows),
        tuple(row.side for row in rows),
        np.array([row.compressed for row in rows]),
        np.array([row.value for row in rows]),
        np.array([row.error for row in rows]),
    )


def _strange(axle: Axle, rows: list[Row]) -> list[Fault]:
    """Faults of rows whose state the axle does not reach, and of readings that no built axle gives."""
    if not rows:
        return []
    faults = []
    read = expected(axle, _as_measured(rows), (), np.zeros((1, 0)))[0]
    for row, value in zip(rows, read.tolist(), strict=True):
        path = "compression" if row.compressed else "length"
        if not math.isfinite(value):
            hint = "`rockwright analyse` says how far the axle gets; delete the row"
            faults.append(Fault(row.line, 1, "travel", f"{row.travel:g}", "a state that the axle reaches", hint))
        elif abs(row.value - value) > GROSS:
            found, wanted = f"{row.value:g}", f"within {GROSS:g} mm of {value:.2f}"
            faults.append(Fault(row.line, 1, path, found, wanted, "look at unit, sign (squeezed is +) and column"))
    return faults
