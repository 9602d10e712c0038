"""The measuring sheet, and what is read of one that has been filled in."""

import csv
from collections.abc import Callable
from io import StringIO
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import CornerStrut, TorsionBar
from geometry.motion import move
from geometry.travel import AxleStates, heave_states, one_wheel_states, rack_states, roll_states
from optimiser.errors import UnreadableFileError
from optimiser.report.compare.measured import INSTRUMENT_ERROR, read_measured
from optimiser.report.compare.sheet import COLUMNS, measuring_sheet
from optimiser.report.compare.sweeps import SWEEPS
from optimiser.study.faults import FaultsError
from optimiser.study.read import read_study
from optimiser.study.study import Study
from tests.axles import front_corner, travel_of, with_bars

STUDY = Path(__file__).resolve().parents[3] / "configs" / "front_room.yaml"
HEADER = "sweep,travel,element,side,length,compression,error\n"


@pytest.fixture(scope="module")
def study() -> Study:
    return read_study(STUDY)


def written(folder: Path, text: str) -> Path:
    path = folder / "measured.csv"
    path.write_bytes(text.encode())
    return path


def faults(folder: Path, study: Study, text: str) -> list[tuple[int, str]]:
    """Line and column's name of each fault of a sheet."""
    with pytest.raises(FaultsError) as told:
        read_measured(written(folder, text), study)
    return [(fault.line, fault.path) for fault in told.value.faults]


def test_the_sheet_asks_for_every_sweep_and_is_not_filled_in(study: Study) -> None:
    rows = list(csv.DictReader(StringIO(measuring_sheet(study.axle, study.travel))))
    assert tuple(rows[0]) == COLUMNS
    assert {row["sweep"] for row in rows} == set(SWEEPS)
    assert all(not row["length"] and not row["compression"] for row in rows)


@pytest.mark.parametrize(
    ("sweep", "states"),
    [("heave", heave_states), ("roll", roll_states), ("one_wheel", one_wheel_states), ("rack", rack_states)],
)
def test_the_sheet_tells_what_the_axle_does(study: Study, sweep: str, states: Callable[[Array], AxleStates]) -> None:
    strut, table = "roll", csv.DictReader(StringIO(measuring_sheet(study.axle, study.travel)))
    rows = [row for row in table if row["sweep"] == sweep and row["element"] == strut]
    moved = move(study.axle, states(np.array([float(row["travel"]) for row in rows]))).strut(strut)
    np.testing.assert_allclose([float(row["expected_length"]) for row in rows], moved.length, atol=6e-4)
    np.testing.assert_allclose([float(row["expected_compression"]) for row in rows], moved.compression, atol=6e-4)


def test_the_sheet_asks_for_both_corner_struts() -> None:
    axle = front_corner()
    table = csv.DictReader(StringIO(measuring_sheet(axle, travel_of(axle))))
    corners = [name for name, strut in axle.struts.items() if isinstance(strut, CornerStrut)]
    rows = [row for row in table if row["element"] == corners[0]]
    one = {(row["sweep"], row["travel"], row["side"]): row["expected_length"] for row in rows}
    assert len(one) == len(rows)
    assert one["one_wheel", "20", "left"] == one["one_wheel_right", "20", "right"]
    assert one["one_wheel", "20", "left"] != one["one_wheel", "20", "right"]


def test_no_row_is_asked_for_of_a_bar() -> None:
    axle = with_bars(front_corner())
    assert any(isinstance(one, TorsionBar) for one in axle.elements.values())
    rows = list(csv.DictReader(StringIO(measuring_sheet(axle, travel_of(axle)))))
    assert {row["element"] for row in rows} == set(axle.struts)


def test_a_sheet_filled_in_here_and_there_is_read(study: Study, tmp_path: Path) -> None:
    lines = measuring_sheet(study.axle, study.travel).splitlines()
    lines[1] = "heave,-30,heave,,477.048,-31.828, 477.1 ,,0.05"
    lines[4] = "heave,-25,roll,,388.885,0.000,,-0.3,"
    sheet = read_measured(written(tmp_path, "\ufeff" + "\r\n".join(lines) + "\r\n\r\n"), study)
    assert [(row.line, row.value, row.compressed, row.error) for row in sheet.rows] == [
        (2, 477.1, False, 0.05),
        (5, -0.3, True, INSTRUMENT_ERROR),
    ]
    assert sheet.empty == len(lines) - 3
    assert sheet.measured.states.z_left.tolist() == [-30.0, -25.0]


def test_every_fault_is_told_at_once_with_its_line(study: Study, tmp_path: Path) -> None:
    rows = [
        "heave,0,heave,,445,,",
        "heavy,0,heave,,445,,",
        "heave,0,heaven,,445,,",
        "heave,90,heave,,445,,",
        'heave,0,heave,,"445,2",,',
        "heave,0,heave,,nan,,",
        "heave,0,heave,left,445,,",
        "heave,0,heave,,445,0.1,",
        "heave,0,heave,,445,,0",
        "roll,47,heave,,445,,",
        "heave,0,heave,,445,,,9",
        "heave,,heave,,445,,",
    ]
    assert faults(tmp_path, study, HEADER + "\n".join(rows)) == [
        (3, "sweep"),
        (4, "element"),
        (5, "travel"),
        (6, "length"),
        (7, "length"),
        (8, "side"),
        (9, "length"),
        (10, "error"),
        (11, "travel"),
        (12, ""),
        (13, "travel"),
    ]


def test_a_reading_in_the_wrong_column_or_unit_is_a_fault(study: Study, tmp_path: Path) -> None:
    rows = ["heave,0,heave,,445.3,,", "heave,0,heave,,,445.3,", "heave,0,heave,,17.53,,"]
    assert faults(tmp_path, study, HEADER + "\n".join(rows)) == [(3, "compression"), (4, "length")]


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("", [(1, "")] * 4),
        ("sweep;travel;element;length\n", [(1, "")]),
        ("sweep,travel,element,lenght\n", [(1, "")] * 2),
        ("sweep,travel,element,length,length\n", [(1, "length")]),
        (HEADER, [(1, "length")]),
        (HEADER + "heave,0,heave,,,,\n", [(2, "length")]),
        (HEADER + 'heave,0,"heave,,,,\n', [(2, "")]),
        (HEADER + "heave,0,anything,,1,,\n" * 100, [(line, "element") for line in range(2, 62)]),
    ],
    ids=["empty", "semicolons", "misspelt", "twice", "no rows", "not filled in", "an open quote", "very many"],
)
def test_what_is_no_sheet_is_refused(study: Study, tmp_path: Path, text: str, where: list[tuple[int, str]]) -> None:
    assert faults(tmp_path, study, text) == where


def test_a_missing_file_names_the_next_step(study: Study, tmp_path: Path) -> None:
    with pytest.raises(UnreadableFileError, match=r"none\.csv: No such file.*--measuring-sheet writes"):
        read_measured(tmp_path / "none.csv", study)
