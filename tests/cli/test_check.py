"""`rockwright check`: the axle as understood, or every fault."""

import json
import math
import subprocess
import sys
from pathlib import Path

import pytest

from objectives.goals import Band, Best, Limit, Miss
from optimiser.cli.main import main
from optimiser.study.portrait import goal_in_words

FRONT = Path("configs/front.yaml")


@pytest.fixture
def faulty(tmp_path: Path) -> Path:
    """The front study with two faults."""
    file = tmp_path / "faulty.yaml"
    text = FRONT.read_text(encoding="utf-8").replace("toe: 0.05", "toe: 1:30").replace("by: upright", "by: uprigth")
    file.write_text(text, encoding="utf-8")
    return file


def test_the_axle_as_understood(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(FRONT)]) == 0
    shown = capsys.readouterr().out
    lines = [" ".join(line.split()) for line in shown.split("\n")]
    assert lines[0] == "Two-seat track car, front"
    assert "upper_front (140.00, 395.00, 443.00) (-11.00, 711.00, 492.00) 353.635" in lines
    assert "steering (118.00, 326.00, 185.00) (132.00, 745.00, 205.00) 419.711 moves with the rack" in lines
    assert "rod outboard (10.00, 742.00, 206.00) length 590.316 carried by upright" in lines
    assert "heave 74.430 76.420 34.000 (44.00, 222.48, 547.35) rides" in lines
    assert "roll cross-car strut left roll_upper - right roll_lower roll 388.884" in lines
    assert "wheel -45 48 48" in lines
    assert "rocker.pivot.y 185 205 230" in lines
    assert "heave.motion_ratio within 0.01 of 1.1 mm/mm (must hold)" in lines
    assert max(len(line) for line in shown.split("\n")) <= 100
    assert "\x1b" not in shown
    assert [line for line in shown.split("\n") if line != line.rstrip()] == []


def test_it_reads_without_what_draws_a_progress_bar() -> None:
    start = f"import sys; from optimiser.cli.main import main; main(['check', {str(FRONT)!r}])"
    script = f"{start}; print('rich' in sys.modules)"
    found = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert found.stdout.endswith("\nFalse\n")


@pytest.mark.parametrize(
    ("axis", "told"),
    [
        ("[1, 0, 0]", "written as a vector"),
        ("{azimuth: 1, elevation: 2}", "written by its angles"),
        ("aligned", "written as aligned"),
        ("[1, 0, 0]\n    reference: [0, 1, 0.5]", "written as a vector, with a reference"),
    ],
)
def test_how_the_axis_is_written(axis: str, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "axis.yaml"
    text = FRONT.read_text(encoding="utf-8").replace("pivot: [10,", "pivot: [60,")
    file.write_text(text.replace("axis: [1, 0, 0]", f"axis: {axis}"), encoding="utf-8")
    assert main(["check", str(file)]) == 0
    assert any(line.endswith(told) for line in capsys.readouterr().out.split("\n"))


def test_what_the_reader_changed_is_told_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = FRONT.read_text(encoding="utf-8").replace("[10, 742, 206]", "[33.137, 720.8636, 175.275]")
    file = tmp_path / "link.yaml"
    file.write_text(text.replace("by: upright", "by: lower_front"), encoding="utf-8")
    assert main(["check", str(file)]) == 0
    lines = [" ".join(line.split()) for line in capsys.readouterr().out.split("\n")]
    assert lines[0].startswith("note: ")
    assert any(line.startswith("lower_front") and line.endswith(" bends") for line in lines)


def test_every_fault_is_listed(faulty: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(faulty)]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert f"{faulty}:5:39: axle.wheel.toe" in shown.err
    assert f"{faulty}:14:17: axle.rod.carried_by" in shown.err
    assert shown.err.endswith("2 faults\n")


def test_json_of_a_sound_file(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(FRONT), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["sound"] is True
    rod = document["ends"][0]
    assert rod["point"] == pytest.approx(
        [10.0, 205.0 + 76 * math.cos(math.radians(52)), 475.0 + 76 * math.sin(math.radians(52))], abs=1e-12
    )
    assert [one["name"] for one in document["links"]][-1] == "steering"
    assert document["variables"][0] == {
        "path": "rocker.pivot.y",
        "low": 185.0,
        "high": 230.0,
        "value": 205.0,
        "choices": [],
    }
    assert document["states"] == 831


def test_json_of_a_faulty_file(faulty: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(faulty), "--json"]) == 2
    shown = capsys.readouterr()
    document = json.loads(shown.out)
    assert document["sound"] is False
    assert [(one["line"], one["column"], one["path"]) for one in document["faults"]] == [
        (5, 39, "axle.wheel.toe"),
        (14, 17, "axle.rod.carried_by"),
    ]
    assert shown.err == ""


def test_a_folder_and_a_binary_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(tmp_path)]) == 2
    assert "Is a directory" in capsys.readouterr().err
    file = tmp_path / "binary"
    file.write_bytes(bytes(range(256)))
    assert main(["check", str(file)]) == 2
    assert "no UTF-8" in capsys.readouterr().err


def test_goals_in_words() -> None:
    assert goal_in_words(Limit("heave.tilt_max", at_most=3.0)) == "heave.tilt_max at most 3 deg (must hold)"
    assert goal_in_words(Miss("roll.ratio_drift", 0.0, 1.0)) == (
        "roll.ratio_drift as near to 0 % as can be, in units of 1"
    )
    assert goal_in_words(Best("rocker.arm_sum", "minimise")) == "rocker.arm_sum as small as can be"
    assert goal_in_words(Band("heave.motion_ratio", 1.1, 0.01)).endswith("(must hold)")


ROOM = """
envelope:
  margins: {moving_to_fixed: 5, moving_to_moving: 3}
  bodies: {heave: {diameter: 46}, rod: {diameter: 20}, rocker: {thickness: 16}, links: {diameter: 14}}
  keep_out: {tray: {box: {min: [-20, 300, 470], max: [40, 320, 520]}}}
"""


def test_the_room_is_told_with_the_pairs_that_are_nearest_at_static(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "room.yaml"
    file.write_text(FRONT.read_text(encoding="utf-8") + ROOM, encoding="utf-8")
    assert main(["check", str(file)]) == 0
    shown = capsys.readouterr().out
    assert max(len(line) for line in shown.split("\n")) <= 100
    assert main(["check", str(file), "--json"]) == 0
    pairs = json.loads(capsys.readouterr().out)["room"]["pairs"]
    lines = [" ".join(line.split()) for line in shown.split("\n")]
    assert f"{len(pairs)} pairs of bodies are watched over all states; nearest as the axle stands at static:" in lines
    at = next(number for number, line in enumerate(lines) if line.startswith("pair apart margin"))
    first = pairs[0]
    assert first["name"] == "rod_to_tray"
    assert lines[at + 2] == f"rod_to_tray {first['at_static']:.2f} 5 foul at static"
    assert [line.split()[0] for line in lines[at + 2 : at + 8]] == [pair["name"] for pair in pairs[:6]]


def test_no_room_is_told_where_none_is_written(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(FRONT), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["room"] is None
    assert main(["check", str(FRONT)]) == 0
    assert "watched" not in capsys.readouterr().out
