"""`rockwright car`: the shipped car, JSON, faults and exit codes."""

import json
from pathlib import Path

import pytest

from optimiser.cli.main import main
from tests.car_files import CAR, CONFIGS, write_car

SHIPPED = str(CONFIGS / "car.yaml")


def test_the_shipped_car_is_shown_in_100_columns(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["car", SHIPPED]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    assert [line for line in shown.out.split("\n") if len(line) > 100] == []
    assert "VIBRATION" in shown.out


def test_the_shipped_cars_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    # K_h and K_r per wheel in front 138.9 and 95.7 N/mm, static heave force 4077 N, found by a separate calculation.
    assert main(["car", SHIPPED, "--json"]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    assert "NaN" not in shown.out
    assert "Infinity" not in shown.out
    front = json.loads(shown.out)["axles"]["front"]
    assert front["rate"]["heave"] == pytest.approx(138.9, abs=0.3)
    assert front["rate"]["roll"] == pytest.approx(95.7, abs=0.05)
    assert front["forces"]["heave"] == pytest.approx(4077, abs=2)


def test_all_shows_more_rows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = str(write_car(tmp_path))
    main(["car", path])
    thinned = capsys.readouterr().out
    assert main(["car", path, "--all"]) == 0
    assert capsys.readouterr().out.count("\n") > thinned.count("\n") + 15


def test_paths_of_the_axles_count_from_the_car_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write_car(tmp_path)
    monkeypatch.chdir(tmp_path / "axles")
    assert main(["car", str(path)]) == 0
    assert capsys.readouterr().err == ""


def test_faults_end_with_2_and_name_each_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write_car(tmp_path, CAR.replace("wheelbase: 2700", "wheelbase: long"))
    axle = tmp_path / "axles" / "rear.yaml"
    axle.write_text(axle.read_text(encoding="utf-8").replace("rate: 90", "rate: -1"), encoding="utf-8")
    assert main(["car", str(path)]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "car.yaml: 1 fault" in shown.err
    assert "rear.yaml: 1 fault" in shown.err


def test_a_car_that_its_springs_do_not_hold_ends_with_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write_car(tmp_path)
    axle = tmp_path / "axles" / "front.yaml"
    text = axle.read_text(encoding="utf-8")
    rubber = "  rubber: {on: heave, kind: curve, gap: 26, points: [[0, 0], [5, 400]]}\n"
    springs = text[text.index("  heave: {on: heave") : text.index("dampers:")]
    axle.write_text(text.replace(springs, rubber), encoding="utf-8")
    assert main(["car", str(path)]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "front axle has no rate in heave" in shown.err


def test_a_missing_file_ends_with_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["car", str(tmp_path / "none.yaml")]) == 2
    assert "none.yaml" in capsys.readouterr().err


def test_all_and_json_exclude_each_other(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["car", SHIPPED, "--all", "--json"]) == 2
    assert capsys.readouterr().out == ""


def test_help_has_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["car", "-h"]) == 0
    assert "rockwright car configs/car.yaml" in capsys.readouterr().out
