"""`rockwright schema`: on the screen or in a file, of a study or of a car."""

import json
from pathlib import Path

import pytest

from optimiser.cli.main import main
from optimiser.study.car_keys import CAR
from optimiser.study.json_schema import schema_of
from optimiser.study.keys import STUDY


def test_a_studys_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == 0
    assert json.loads(capsys.readouterr().out) == schema_of(STUDY, "rockwright: a study")


def test_a_cars_schema_goes_into_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "car.schema.json"
    assert main(["schema", "car", "-o", str(path)]) == 0
    assert capsys.readouterr().out.startswith(f"{path}: the keys of a car")
    assert json.loads(path.read_text(encoding="utf-8")) == schema_of(CAR, "rockwright: a car")


def test_another_kind_of_file_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "plane"]) == 2
    assert "invalid choice: 'plane'" in capsys.readouterr().err
