"""The JSON document of an analysis: its shape, full precision, and null instead of NaN."""

import json
from collections.abc import Callable

import numpy as np
import pytest

from optimiser.report.analysis.document import to_json
from optimiser.report.analysis.json_values import Json
from optimiser.report.analysis.record import analyse
from optimiser.study.study import Study
from tests.report.studies import EXCLUSIVE, corner_study, crowded_study, front_study, locked_study, rear_study

STUDIES = {
    "front": front_study,
    "rear": rear_study,
    "corner": corner_study,
    "locked": locked_study,
    "crowded": crowded_study,
}


def document(study: Study) -> dict[str, Json]:
    """The document as a reader of its text sees it; NaN or infinity in it raise."""
    text = json.dumps(to_json(analyse(study)), allow_nan=False)
    return branch(json.loads(text))


def branch(node: Json) -> dict[str, Json]:
    """A part of a document that is an object."""
    assert isinstance(node, dict)
    return node


def row(node: Json) -> list[Json]:
    """A part of a document that is a list."""
    assert isinstance(node, list)
    return node


@pytest.mark.parametrize("make", STUDIES.values(), ids=STUDIES)
def test_the_document_has_the_promised_shape(make: Callable[[], Study]) -> None:
    study = make()
    found = document(study)
    rack = {"rack"} if study.axle.has_rack else set()
    assert found["units"] == {"length": "mm", "angle": "deg"}
    assert set(branch(found["sweeps"])) == {"heave", "roll", "one_wheel"} | rack
    assert set(branch(found["wheel"])) == {"heave"} | rack
    for sweep in branch(found["sweeps"]).values():
        assert {"travel", "rocker_angle", "status", "elements"} <= set(branch(sweep))
        assert set(branch(branch(sweep)["elements"])) == set(study.axle.elements)
    for wheel in branch(found["wheel"]).values():
        assert set(branch(wheel)) == {"travel", "camber", "toe", "wheel_centre", "rod_outboard"}


@pytest.mark.parametrize("make", STUDIES.values(), ids=STUDIES)
def test_every_list_has_an_entry_a_travel_point(make: Callable[[], Study]) -> None:
    found = document(make())
    for sweep in branch(found["sweeps"]).values():
        points = len(row(branch(sweep)["travel"]))
        assert points > 10
        assert len(row(branch(sweep)["status"])) == len(row(branch(sweep)["rocker_angle"])) == points
        for element in branch(branch(sweep)["elements"]).values():
            assert {len(row(values)) for values in branch(element).values()} == {points}
    for wheel in branch(found["wheel"]).values():
        assert len({len(row(values)) for values in branch(wheel).values()}) == 1
        assert {len(row(point)) for point in row(branch(wheel)["wheel_centre"])} == {3}


def test_numbers_are_at_full_precision() -> None:
    study = front_study()
    analysis, found = analyse(study), document(study)
    heave = branch(branch(branch(branch(found["sweeps"])["heave"])["elements"])["heave"])
    expected = analysis.sweeps["heave"].elements["heave"]
    assert heave["motion_ratio"] == expected.motion_ratio.tolist()
    assert heave["length"] == expected.length.tolist()
    assert found["figures"] == dict(analysis.figures)


def test_where_there_is_no_number_there_is_null_and_a_word() -> None:
    found = document(locked_study())
    sweep = branch(branch(found["sweeps"])["heave"])
    words = row(sweep["status"])
    assert set(words) == {"ok", "unreachable"}
    reached = [word == "ok" for word in words]
    assert [value is not None for value in row(sweep["rocker_angle"])] == reached
    for element in branch(sweep["elements"]).values():
        assert [value is not None for value in row(branch(element)["length"])] == reached


def test_a_null_figure_has_its_word_and_any_other_has_none() -> None:
    found = document(locked_study())
    words = branch(found["figure_status"])
    null = {name for name, value in branch(found["figures"]).items() if value is None}
    assert null
    assert null == {name for name, word in words.items() if word != "beyond_search"}
    assert "ok" not in words.values()


def test_goals_stand_as_in_the_study_with_what_became_of_them() -> None:
    found = document(front_study(*EXCLUSIVE))
    rise = branch(branch(found["goals"])["heave.progressivity"])
    assert rise["at_least"] == 20.0
    assert "at_most" not in rise
    assert rise["met"] is False
    value, left = rise["value"], rise["left"]
    assert isinstance(value, float)
    assert left == pytest.approx(value - 20.0)


def test_objectives_stand_beside_them() -> None:
    found = document(front_study())
    assert set(branch(found["objectives"])) == {"heave.crosstalk", "roll.ratio_drift"}
    assert branch(branch(found["objectives"])["heave.crosstalk"])["direction"] == "minimise"


def test_the_record_is_left_as_it_was() -> None:
    analysis = analyse(front_study())
    before = analysis.sweeps["heave"].rocker_angle.copy()
    to_json(analysis)
    np.testing.assert_array_equal(analysis.sweeps["heave"].rocker_angle, before)
