"""Earlier designs as points of another study: the same geometry, whatever form either study writes it in."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.hardpoints import Hardpoints, place
from optimiser.report.handoff.document import Origin, handoff_document
from optimiser.report.handoff.text import as_text
from optimiser.study.read import read_text
from optimiser.study.retold import retold
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates

ROOT = Path(__file__).parents[2]
FRONT, ROOM = ROOT / "configs" / "front.yaml", ROOT / "configs" / "front_room.yaml"
TEXT = FRONT.read_text()
HEAVE = "heave: {length: 74.43, angle: 76.42, offset: 34}"


def study_of(*changes: tuple[str, str], text: str = TEXT) -> Study:
    """The shipped front axle with words of its file changed."""
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return read_text(text, "changed.yaml")


def varying(lines: str, *changes: tuple[str, str]) -> Study:
    """The same with other variables."""
    start, end = TEXT.index("vary:"), TEXT.index("goals:")
    return study_of(*changes, text=f"{TEXT[:start]}vary:\n{lines}{TEXT[end:]}")


def scattered(study: Study, count: int = 7) -> Array:
    """Points all over a study's range."""
    low, high = (np.array([getattr(one, end) for one in study.variables]) for end in ("low", "high"))
    return np.asarray(low + np.random.default_rng(4).random((count, len(low))) * (high - low))


def handed_over(study: Study, x: Array) -> Study:
    """A candidate (V,) as its hand-off file is read again."""
    origin = Origin(study.name, study.fingerprint, 1, "7", "2025-11-25T20:00:00Z")
    return read_text(as_text(handoff_document(study, candidates(study, x), origin)), "hand-off.yaml")


def agree(first: Hardpoints, second: Hardpoints) -> None:
    """Every point of the rockers and their axes are the same."""
    for name, point in first.pickups.items():
        assert np.abs(point - second.pickups[name]).max() < 1e-9
    for one, other in ((first.rod_inboard, second.rod_inboard), (first.pivot, second.pivot), (first.axis, second.axis)):
        assert np.abs(one - other).max() < 1e-9


def test_designs_of_the_same_study_are_themselves_to_the_bit() -> None:
    study = study_of()
    x = scattered(study)
    told = retold(study, study, x)
    assert np.array_equal(told.x, x)
    assert told.absent == told.other == ()


def test_a_hand_off_s_points_give_its_member_back() -> None:
    study = study_of()
    x = scattered(study)[3]
    other = handed_over(study, x)
    told = retold(study, other, base_point(other)[None])
    assert told.x[0] == pytest.approx(x, abs=1e-9)
    assert told.absent == told.other == ()


def test_a_number_that_was_fixed_there_is_taken_as_it_was() -> None:
    study = varying("  rocker.pivot.x: [5, 15]\n  rocker.pivot.y: [185, 230]\n", ("pivot: [10, 205", "pivot: [12, 200"))
    earlier = study_of()
    x = scattered(earlier)
    told = retold(study, earlier, x)
    assert (told.x[:, 0] == 10.0).all()
    assert np.array_equal(told.x[:, 1], x[:, 0])
    assert "rocker.pivot.z" in told.other
    assert "rocker.pivot.x" not in told.other
    assert "wheel.toe" not in told.other


def test_arms_become_coordinates_and_coordinates_arms() -> None:
    """Of a pick-up alone, all else kept, geometry is the same both ways."""
    drawn = place(study_of().axle).pickups["heave"].tolist()
    as_point = (HEAVE, f"heave: {drawn}")
    points = varying(
        "".join(f"  rocker.pickups.heave.{name}: [-1000, 1000]\n" for name in "xyz"),
        as_point,
    )
    arms = varying("  rocker.pickups.heave.length: [60, 95]\n  rocker.pickups.heave.angle: [50, 120]\n")
    x = scattered(arms)
    there = retold(points, arms, x)
    agree(place(candidates(points, there.x)), place(candidates(arms, x)))
    back = retold(arms, points, there.x)
    assert back.x == pytest.approx(x, abs=1e-9)


def test_an_axis_by_vector_and_by_angles_is_the_same_axis() -> None:
    angles = varying(
        "  rocker.axis.azimuth: [-20, 20]\n  rocker.axis.elevation: [-20, 20]\n",
        ("axis: [1, 0, 0]", "axis: {azimuth: 5, elevation: 3}"),
    )
    vector = varying(
        "  rocker.axis.y: [-1, 1]\n  rocker.axis.z: [-1, 1]\n", ("axis: [1, 0, 0]", "axis: [2.5, 0.1, 0.1]")
    )
    x = scattered(angles)
    there = retold(vector, angles, x)
    agree(place(candidates(vector, there.x)), place(candidates(angles, x)))
    assert retold(angles, vector, there.x).x == pytest.approx(x, abs=1e-9)


def test_angles_are_turned_into_the_bounds_and_only_then() -> None:
    earlier = varying("  rocker.pickups.roll_lower.angle: [-135, -90]\n")
    turned = varying("  rocker.pickups.roll_lower.angle: [225, 270]\n", ("angle: -109.77", "angle: 250.23"))
    x = scattered(earlier)
    assert retold(turned, earlier, x).x == pytest.approx(x + 360.0, abs=1e-9)
    narrow = varying("  rocker.pickups.roll_lower.angle: [-100, -90]\n")
    assert retold(narrow, earlier, x).x == pytest.approx(x, abs=1e-9)


def test_what_is_not_there_is_the_study_s_own_and_named() -> None:
    earlier = study_of(
        (HEAVE, HEAVE.replace("heave", "middle")),
        ("left: heave, right: heave", "left: middle, right: middle"),
        ("rocker.pickups.heave.length", "rocker.pickups.middle.length"),
        ("rocker.pickups.heave.angle", "rocker.pickups.middle.angle"),
    )
    study = study_of()
    told = retold(study, earlier, scattered(earlier))
    assert told.absent == ("rocker.pickups.heave.length", "rocker.pickups.heave.angle")
    assert (told.x[:, 4] == 74.43).all()
    assert (told.x[:, 5] == 76.42).all()


def test_angles_that_count_from_another_reference_are_worked_out_anew() -> None:
    earlier = study_of()
    study = study_of(("axis: [1, 0, 0]", "axis: [1, 0, 0]\n    reference: [0, 1, 1]"))
    x = scattered(earlier)
    told = retold(study, earlier, x)
    angle = [one.path for one in study.variables].index("rocker.pickups.heave.angle")
    assert told.x[:, angle] == pytest.approx(x[:, angle] - 45.0, abs=1e-9)
    agree(place(candidates(study, told.x)), place(candidates(earlier, x)))


def test_a_pick_up_is_in_the_hole_nearest_to_where_it_was() -> None:
    """The holes of the shipped example lie on one line, some mm apart."""
    study = read_text(ROOM.read_text(), "room.yaml")
    column = [one.path for one in study.variables].index("rocker.pickups.heave.hole")
    count = len(study.fittings.adjust.holes["heave"])
    x = np.repeat(base_point(study)[None], count, axis=0)
    x[:, column] = np.arange(count)
    assert np.array_equal(retold(study, study, x).x, x)
    for row in x:
        other = handed_over(study, row)
        assert retold(study, other, base_point(other)[None]).x[0] == pytest.approx(row, abs=1e-9)
    free = varying("  rocker.pickups.heave.length: [60, 95]\n")
    lengths = np.array([[float(hole["length"])] for hole in study.fittings.adjust.holes["heave"]])
    assert retold(study, free, lengths + 0.4).x[:, column].tolist() == list(range(count))


def test_no_designs_are_no_points() -> None:
    study = study_of()
    assert retold(study, study, np.zeros((0, 10))).x.shape == (0, 10)
    bare = replace(study, variables=())
    assert retold(bare, study, scattered(study)).x.shape == (7, 0)
