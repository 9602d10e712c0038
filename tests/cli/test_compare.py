"""`rockwright compare` as a user meets it: the sheet, the readings, the file of the car as it is."""

import csv
import json
from collections.abc import Mapping
from io import StringIO
from pathlib import Path

import numpy as np
import pytest

from geometry.hardpoints import place
from objectives.fit.deviations import deviations_of
from objectives.fit.rig import expected
from optimiser.cli.main import main
from optimiser.report.compare.measured import read_measured
from optimiser.study.read import read_study

ROOT = Path(__file__).resolve().parents[2]
STUDY = ROOT / "configs" / "front_room.yaml"
OFF = {"left rocker.pivot.z": 0.3, "right rocker.pivot.z": 0.3, "left rod length": 0.1, "right rod length": 0.1}


def filled(folder: Path, off: Mapping[str, float], noise: float = 0.02) -> Path:
    """A sheet as measured on a car with these deviations [mm]."""
    sheet = folder / "sheet.csv"
    assert main(["compare", str(STUDY), "--measuring-sheet", str(sheet), "--force"]) == 0
    study = read_study(STUDY)
    rows = list(csv.DictReader(StringIO(sheet.read_text())))
    for row in rows:
        row["length"] = row["expected_length"]
    _write(sheet, rows)
    assert study.fittings.build is not None
    deviations = deviations_of(study.fittings.build, study.axle)
    assert set(off) <= {one.name for one in deviations}
    sizes = np.array([[off.get(one.name, 0.0) for one in deviations]])
    read = expected(study.axle, read_measured(sheet, study).measured, deviations, sizes)[0]
    chance = np.random.default_rng(8).standard_normal(len(rows))
    for row, value in zip(rows, read + noise * chance, strict=True):
        row["length"] = f"{value:.3f}"
    _write(sheet, rows)
    return sheet


def _write(path: Path, rows: list[dict[str, str]]) -> None:
    with path.open("w", newline="") as file:
        table = csv.DictWriter(file, list(rows[0]))
        table.writeheader()
        table.writerows(rows)


def test_a_built_car_is_told_and_its_file_is_one_to_go_on_with(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet, fitted = filled(tmp_path, OFF), tmp_path / "as-built.yaml"
    capsys.readouterr()
    assert main(["compare", str(STUDY), str(sheet), "--error", "0.02", "-o", str(fitted)]) == 0
    shown = capsys.readouterr().out
    assert "readings: 150; rows left empty: 0" in shown
    assert "build and instrument explain the readings" in shown
    assert "one dimension explains most: " in shown
    untold = " ".join(shown.partition("not told by these readings at all: ")[2].split())
    assert "left rocker.pickups.roll_lower length, " in untold.partition("SEEN")[0]
    assert max(map(len, shown.splitlines()[:-1])) <= 100
    assert main(["verify", str(fitted)]) == 0
    assert main(["analyse", str(fitted)]) == 0
    again = filled(tmp_path, OFF, noise=0.0)
    capsys.readouterr()
    assert main(["compare", str(fitted), str(again), "--json"]) == 0
    drawn = [row["as_drawn"] for row in json.loads(capsys.readouterr().out)["readings"]]
    assert np.abs(drawn).max() < 0.03


def test_the_document_tells_every_deviation(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = filled(tmp_path, {"right rocker.pivot.y": 0.4})
    capsys.readouterr()
    assert main(["compare", str(STUDY), str(sheet), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["best_alone"][0] == "right rocker.pivot.y"
    one = {each["name"]: each for each in found["deviations"]}["right rocker.pivot.y"]
    assert abs(one["deviation"] - 0.4) < one["plus_minus_95"]
    assert one["alone"] == pytest.approx(0.4, abs=0.02)
    assert found["seen"][0]["sharper_than_build"] > found["not_seen"][0]["sharper_than_build"]


def test_sides_that_differ_make_different_files(tmp_path: Path) -> None:
    sheet = filled(tmp_path, {"left rocker.pivot.z": 0.5, "right rocker.pivot.z": -0.5})
    heights = {}
    for side in ("left", "mean", "right"):
        path = tmp_path / f"{side}.yaml"
        assert main(["compare", str(STUDY), str(sheet), "--side", side, "-o", str(path), "--error", "0.02"]) == 0
        heights[side] = float(place(read_study(path).axle).pivot[2])
    assert heights["left"] > heights["mean"] + 0.1 > heights["right"] + 0.2
    assert heights["mean"] == pytest.approx((heights["left"] + heights["right"]) / 2.0)


def test_readings_that_nothing_explains_end_with_1(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = filled(tmp_path, OFF, noise=0.5)
    capsys.readouterr()
    assert main(["compare", str(STUDY), str(sheet), "--error", "0.05"]) == 1
    shown = capsys.readouterr().out
    assert "DOUBTFUL" in shown
    assert "*" in shown


def test_a_car_as_drawn_has_no_culprit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = filled(tmp_path, {})
    capsys.readouterr()
    assert main(["compare", str(STUDY), str(sheet), "--all"]) == 0
    shown = capsys.readouterr().out
    assert "no dimension alone explains what is missed" in shown
    assert "right rocker.pickups.roll_upper offset " in shown


def test_nothing_is_written_over_an_input(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = filled(tmp_path, OFF)
    before = sheet.read_bytes()
    assert main(["compare", str(STUDY), str(sheet), "-o", str(sheet), "--force"]) == 2
    assert main(["compare", str(STUDY), "--measuring-sheet", str(STUDY), "--force"]) == 2
    there = tmp_path / "there.yaml"
    there.write_text("kept")
    assert main(["compare", str(STUDY), str(sheet), "-o", str(there)]) == 2
    assert "is an input" in (told := capsys.readouterr().err)
    assert "--force" in told
    assert (sheet.read_bytes(), there.read_text()) == (before, "kept")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "--measuring-sheet CSV"),
        (["none.csv"], "none.csv: No such file"),
        (["none.csv", "--error", "0"], "above 0 mm"),
        (["none.csv", "--error", "nan"], "above 0 mm"),
    ],
)
def test_a_faulty_call_names_the_next_step(words: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(STUDY), *words]) == 2
    assert told in capsys.readouterr().err
