"""What each dimension does to each goal's figure, against axles that are written anew and read again."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from objectives.evaluate import evaluate
from objectives.goals import Best, Limit
from optimiser.cli.main import main
from optimiser.report.analysis.sensitivity import FigureSlopes, sensitivity
from optimiser.report.analysis.sensitivity_tables import FIRST, sensitivity_json, sensitivity_tables
from optimiser.report.tables.cells import View
from optimiser.study.dimensions import axis_in_angles, dimensions_of, stepped
from optimiser.study.read import read_study
from optimiser.study.study import Study

CONFIGS = Path(__file__).parents[2] / "configs"


def study_of(name: str) -> Study:
    return read_study(CONFIGS / f"{name}.yaml")


def slopes_of(figure: FigureSlopes) -> dict[str, float | None]:
    return {slope.dimension.path: slope.value for slope in figure.slopes}


def rewritten(tmp_path: Path, name: str, old: str, new: str) -> Study:
    """A shipped study with one number of its text changed."""
    text = (CONFIGS / f"{name}.yaml").read_text(encoding="utf-8")
    assert text.count(old) == 1
    file = tmp_path / "study.yaml"
    file.write_text(text.replace(old, new), encoding="utf-8")
    return read_study(file)


@pytest.mark.parametrize(
    ("path", "old", "new"),
    [
        ("rocker.rod.length", "rod: {length: 76,", "rod: {{length: {},"),
        ("rocker.rod.angle", "angle: 52, offset: 0", "angle: {}, offset: 0"),
        ("rocker.pivot.z", "pivot: [10, 205, 475]", "pivot: [10, 205, {}]"),
        ("links.steering.inboard.z", "steering: {inboard: [118, 326, 185]", "steering: {{inboard: [118, 326, {}]"),
        ("wheel.centre.y", "centre: [0, 830, 335]", "centre: [0, {}, 335]"),
    ],
)
def test_a_slope_is_that_of_the_file_written_anew(tmp_path: Path, path: str, old: str, new: str) -> None:
    number = {"rocker.rod.length": 76.0, "rocker.rod.angle": 52.0, "rocker.pivot.z": 475.0}
    start = number.get(path, 185.0 if path.startswith("links") else 830.0)
    names = ("heave.motion_ratio", "roll.length_static", "wheel.toe_gradient", "rocker.top_height")
    goals = tuple(Best(name, "minimise") for name in names)
    told = {one.figure: slopes_of(one)[path] for one in sensitivity(replace(study_of("front"), goals=goals))}
    ends = [rewritten(tmp_path, "front", old, new.format(start + by)) for by in (-0.01, 0.01)]
    down, up = (evaluate(end.axle, end.travel, names).values for end in ends)
    for name in names:
        assert told[name] == pytest.approx(float(up[name] - down[name]) / 0.02, rel=1e-5, abs=1e-8)


def test_the_sum_of_arms_answers_to_each_arm_by_one_and_to_no_angle() -> None:
    study = replace(study_of("front"), goals=(Best("rocker.arm_sum", "minimise"),))
    [figure] = sensitivity(study)
    slopes = slopes_of(figure)
    arms = ["rocker.rod.length", *(f"rocker.pickups.{name}.length" for name in ("heave", "roll_upper", "roll_lower"))]
    assert [slopes.pop(name) for name in arms] == pytest.approx([1.0] * 4, abs=1e-9)
    assert {slope.dimension.path for slope in figure.slopes[:4]} == set(arms)
    assert [value for value in slopes.values() if value is not None] == pytest.approx([0.0] * len(slopes), abs=1e-9)


@pytest.mark.parametrize("name", ["front", "rear", "front_sprung"])
def test_the_largest_comes_first_and_every_dimension_once(name: str) -> None:
    study = study_of(name)
    paths = {dimension.path for dimension in dimensions_of(axis_in_angles(study.axle))}
    found = sensitivity(study)
    assert [one.figure for one in found] == list(dict.fromkeys(goal.figure for goal in study.goals))
    for one in found:
        sizes = [abs(slope.value) for slope in one.slopes if slope.value is not None]
        assert sizes == sorted(sizes, reverse=True)
        assert {slope.dimension.path for slope in one.slopes} == paths
        assert len(one.slopes) == len(paths)


def test_every_variable_of_a_study_is_a_dimension() -> None:
    for name in ("front", "rear"):
        study = study_of(name)
        paths = {dimension.path for dimension in dimensions_of(axis_in_angles(study.axle))}
        assert {variable.path for variable in study.variables} <= paths


def test_links_that_share_a_joint_move_as_one() -> None:
    axle = study_of("rear").axle
    dimensions = dimensions_of(axle)
    joint = next(one for one in dimensions if one.path == "links.lower_front.outboard.y")
    assert joint.along == ("links.lower_rear.outboard.y",)
    assert "links.lower_rear.outboard.y" not in {one.path for one in dimensions}
    batch, place = stepped(axle, dimensions, 0.5), dimensions.index(joint)
    front, rear = (batch.links[f"lower_{end}"].outboard for end in ("front", "rear"))
    np.testing.assert_array_equal(front, np.broadcast_to(rear, front.shape))
    assert front[place, 1] - axle.links["lower_front"].outboard[1] == 0.5
    assert front[len(dimensions) + place, 1] - axle.links["lower_front"].outboard[1] == -0.5
    assert np.count_nonzero(front - axle.links["lower_front"].outboard) == 2 * 3


def test_links_of_their_own_joint_move_alone() -> None:
    assert not [one for one in dimensions_of(study_of("front").axle) if one.along]


def test_an_axis_written_as_a_vector_turns_by_degrees_and_stands_as_it_was() -> None:
    study = study_of("front")
    turned = axis_in_angles(study.axle)
    paths = {one.path: one.unit for one in dimensions_of(turned)}
    assert paths["rocker.axis.azimuth"] == paths["rocker.axis.elevation"] == "deg"
    before, after = (evaluate(axle, study.travel).values for axle in (study.axle, turned))
    for name, value in before.items():
        np.testing.assert_allclose(after[name], value, rtol=1e-12, atol=1e-12)


def test_a_figure_that_is_null_has_no_slope() -> None:
    study = replace(study_of("front"), goals=(Limit("heave.left_right_split", at_most=1.0),))
    [figure] = sensitivity(study)
    assert figure.value is None
    assert {slope.value for slope in figure.slopes} == {None}
    json.dumps(sensitivity_json([figure]), allow_nan=False)


def test_without_a_goal_the_table_says_what_to_write() -> None:
    found = sensitivity(replace(study_of("front"), goals=()))
    assert "goals" in "\n".join(sensitivity_tables(found, View()))


def test_tables_show_the_first_few_in_100_columns_or_all() -> None:
    found = sensitivity(study_of("rear"))
    for every, rows in ((False, FIRST), (True, len(found[0].slopes))):
        lines = list(sensitivity_tables(found[:1], View(every_step=every)))
        assert max(map(len, lines)) <= 100
        assert sum(" per mm" in line or " per deg" in line for line in lines if line[:1].islower()) >= rows


def test_the_command_shows_it_alone_or_in_the_document(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", str(CONFIGS / "front.yaml"), "--sensitivity"]) == 0
    shown = capsys.readouterr().out
    assert "SENSITIVITY" in shown
    assert "WHO WORKS WHEN" not in shown
    assert main(["analyse", str(CONFIGS / "front.yaml"), "--sensitivity", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    first = document["sensitivity"]["figures"]["heave.motion_ratio"]
    assert first["unit"] == "mm/mm"
    assert first["value"] == document["figures"]["heave.motion_ratio"]
    assert first["by"][0]["path"] == "rocker.pickups.heave.length"
    assert first["by"][0]["per"] == "mm"
    assert first["by"][0]["slope"] == pytest.approx(0.01478, abs=1e-5)
