"""The sheet to measure a built car by: every state of a rig and every strut, with what is expected, to be filled in."""

import csv
from collections.abc import Iterator
from io import StringIO

import numpy as np

from geometry.axle import Axle, CornerStrut
from geometry.travel import Range, Travel, smaller_end, travel_points
from objectives.fit.rig import Measured, expected
from objectives.tolerance.build import LEFT, RIGHT
from optimiser.report.compare.sweeps import SWEEPS, states_of

COLUMNS = (
    "sweep",
    "travel",
    "element",
    "side",
    "expected_length",
    "expected_compression",
    "length",
    "compression",
    "error",
)
"""Of each row, `length` or `compression` is filled in; `error` too where the instrument's is not the usual one."""
STEP = 5.0
"""Between two travels of a wheel [mm]: what a jack is set by (common practice, no source)."""
RACK_STEP = 10.0
"""Between two travels of the rack [mm]."""
DECIMALS = 3


def measuring_sheet(axle: Axle, travel: Travel) -> str:
    """The sheet of one axle (no batch axes) as CSV: heave, roll, each wheel alone and the rack, over the travel.

    An expected value is left out where the axle does not get there.
    """
    rows = [
        (sweep, point, strut, side)
        for sweep in SWEEPS
        for point in _points(sweep, travel)
        for strut, side in _struts(axle)
    ]
    lengths, compressions = _expected(axle, rows)
    text = StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(COLUMNS)
    for (sweep, point, strut, side), length, compression in zip(rows, lengths, compressions, strict=True):
        table.writerow((sweep, f"{point:g}", strut, side, length, compression, "", "", ""))
    return text.getvalue()


def _points(sweep: str, travel: Travel) -> list[float]:
    if sweep == "rack":
        return [] if travel.rack is None else _steps(travel.rack, RACK_STEP)
    if sweep == "heave":
        return _steps(travel.heave, STEP)
    if sweep == "roll":
        even = min(smaller_end(travel.wheel), travel.even_roll)
        return _steps((-even, even), STEP)
    return _steps(travel.wheel, STEP)


def _steps(span: Range, step: float) -> list[float]:
    return [float(point) for point in travel_points(span, step)]


def _struts(axle: Axle) -> Iterator[tuple[str, str]]:
    """Each strut with its side: those across the car have none, a corner's are two."""
    for name, strut in axle.struts.items():
        yield from ((name, side) for side in ((LEFT, RIGHT) if isinstance(strut, CornerStrut) else ("",)))


def _expected(axle: Axle, rows: list[tuple[str, float, str, str]]) -> tuple[list[str], list[str]]:
    if not rows:
        return [], []
    sweeps, points, struts, sides = zip(*rows, strict=True)
    nothing = np.zeros(len(rows))
    found = []
    for compressed in (False, True):
        kind = np.full(len(rows), compressed)
        asked = Measured(states_of(sweeps, points), struts, sides, kind, nothing, nothing)
        read = expected(axle, asked, (), np.zeros((1, 0)))[0]
        found.append([f"{value + 0.0:.{DECIMALS}f}" if np.isfinite(value) else "" for value in read.round(DECIMALS)])
    return found[0], found[1]
