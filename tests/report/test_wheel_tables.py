"""The steering axis and the wheel in heave, in the tables and the JSON document of an analysis."""

import json
from dataclasses import replace
from typing import cast

import numpy as np
import pytest

from optimiser.report.analysis.document import to_json
from optimiser.report.analysis.record import analyse
from optimiser.report.analysis.tables import analysis_tables
from optimiser.report.tables.cells import View
from tests.report.studies import front_study, rear_study

HELD = ("links_held", "elements_held", "wheel_held")


def part(title: str, lines: list[str]) -> list[str]:
    """The lines of one part of the tables, its heading left out."""
    start = next(row for row, text in enumerate(lines) if text.startswith(title.upper()))
    after = next(row for row in range(start + 1, len(lines)) if lines[row][:3].isupper() and lines[row][3:4] != " ")
    return lines[start + 1 : after]


def shown(every_step: bool = False) -> list[str]:
    return "\n".join(analysis_tables(analyse(front_study()), View(every_step=every_step))).split("\n")


def test_the_axis_stands_against_rack_and_heave() -> None:
    rows = [text.split() for text in part("Steering axis", shown())]
    first = next(row for row in rows if row[:1] == ["-30"])
    assert first[1:3] == ["5.97", "10.18"]
    assert first[-4:] == ["5.95", "10.17", "5.93", "10.17"]
    assert sum(row[:1] == ["0"] for row in rows) == 2


def test_tables_stay_inside_their_width() -> None:
    assert max(map(len, part("Steering axis", shown()))) <= 100
    assert max(map(len, part("Wheel in heave", shown()))) <= 100


def test_every_step_is_shown_where_asked() -> None:
    rows = [text.split()[:1] for text in part("Wheel in heave", shown(every_step=True))]
    assert rows[3:6] == [["-30"], ["-28"], ["-26"]]


def test_the_document_holds_the_axis_by_what_is_held() -> None:
    document = json.loads(json.dumps(to_json(analyse(front_study())), allow_nan=False))
    axis = document["steering_axis"]
    assert set(axis) == {"rack", "heave"}
    for sweep in axis.values():
        assert set(sweep) == {"travel", *HELD}
        for held in HELD:
            assert {len(values) for values in sweep[held].values()} == {len(sweep["travel"])}
    row = axis["rack"]["travel"].index(0.0)
    assert axis["rack"]["links_held"]["castor"][row] == pytest.approx(document["figures"]["wheel.castor"], abs=1e-9)
    heave = document["wheel_in_heave"]
    row = heave["travel"].index(0.0)
    assert heave["roll_centre"][row] == pytest.approx(document["figures"]["wheel.roll_centre_height"], abs=1e-9)
    largest = np.abs(heave["track_change"]).max()
    assert largest == pytest.approx(document["figures"]["wheel.track_change"], abs=1e-9)


def test_an_axle_without_a_rack_shows_the_wheel_in_heave_alone() -> None:
    document = to_json(analyse(rear_study()))
    assert "steering_axis" not in document
    assert "wheel_in_heave" in document
    text = "\n".join(analysis_tables(analyse(rear_study()), View()))
    assert "STEERING AXIS" not in text
    assert "WHEEL IN HEAVE" in text


def test_states_that_are_not_there_are_null() -> None:
    study = front_study()
    far = replace(study, travel=replace(study.travel, heave=(-30.0, 220.0), wheel=(-45.0, 220.0), step=30.0))
    heave = cast(dict[str, list[float | None]], to_json(analyse(far))["wheel_in_heave"])
    assert heave["track_change"][-1] is None
    assert heave["track_change"][0] is not None
