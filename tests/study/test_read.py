"""What a sound file becomes: numbers as written, points as meant, notes where the user should know something."""

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.axle import Arm, AxisAligned, AxisAngles, CornerStrut, CrossStrut, Mode
from geometry.hardpoints import place
from objectives.goals import Band, Best, Limit, Miss
from optimiser.study.faults import Fault, FaultsError, Place
from optimiser.study.nodes import Leaf
from optimiser.study.read import DEFAULT_SEED, read_study, read_text
from optimiser.study.scalars import NoNumber, read_number

Changed = Callable[[dict[str, str]], str]
CONFIGS = sorted(path for path in Path("configs").glob("*.yaml") if "\naxle:" in path.read_text(encoding="utf-8"))
"""The shipped studies: a car file has no axle of its own."""


def test_the_sound_study_is_read_in_full(sound: str) -> None:
    study = read_text(sound, "sound.yaml")
    axle = study.axle
    assert study.name == "Two-seat track car, front"
    assert axle.wheel.centre.tolist() == [0.0, 830.0, 335.0]
    assert (float(axle.wheel.toe), float(axle.wheel.camber)) == (math.radians(0.05), math.radians(-2.2))
    assert list(axle.links) == ["upper_front", "upper_rear", "lower_front", "lower_rear", "steering"]
    assert [link.follows_rack for link in axle.links.values()] == [False] * 4 + [True]
    assert axle.links["steering"].outboard.tolist() == [132.0, 745.0, 205.0]
    assert axle.rod.carried_by == ()
    rod = axle.rocker.rod
    assert isinstance(rod, Arm)
    assert (float(rod.length), float(rod.angle), float(rod.offset)) == (76.0, math.radians(52.0), 0.0)
    assert axle.elements["roll"] == CrossStrut("roll_upper", "roll_lower", Mode.ROLL)
    assert (study.travel.wheel, study.travel.rack, study.travel.step) == ((-45.0, 48.0), (-30.0, 30.0), 2.0)
    assert study.goals[0] == Band("heave.motion_ratio", 1.1, 0.01)
    assert study.goals[2] == Limit("roll.crosstalk", at_most=1.0)
    assert study.goals[5] == Limit("heave.length_static", at_most=450.0, at_least=380.0)
    assert study.goals[7] == Best("heave.progressivity", "maximise")
    assert [(one.path, one.low, one.value, one.high) for one in study.variables[:2]] == [
        ("rocker.pivot.y", 185.0, 205.0, 230.0),
        ("rocker.pivot.z", 445.0, 475.0, 510.0),
    ]
    assert (study.seed, study.notes, study.text) == (1, (), sound)


@pytest.mark.parametrize("path", CONFIGS, ids=lambda path: path.stem)
def test_each_shipped_study_is_sound(path: Path) -> None:
    assert read_study(path).goals


def test_a_study_may_ask_nothing(sound: str) -> None:
    study = read_text(sound[: sound.index("vary:")], "plain.yaml")
    assert (study.variables, study.goals, study.seed) == ((), (), DEFAULT_SEED)


def test_a_fingerprint_is_of_the_bytes(sound: str) -> None:
    first, second = read_text(sound, "a"), read_text(sound + "# a word\n", "a")
    assert len(first.fingerprint) == 64
    assert first.fingerprint == read_text(sound, "b").fingerprint != second.fingerprint


AXIS = "axis: [1, 0, 0]"


def test_every_form_of_an_axis(changed: Changed) -> None:
    aligned = read_text(changed({AXIS: "axis: aligned"}), "a").axle
    assert isinstance(aligned.rocker.axis, AxisAligned)
    angles = read_text(changed({AXIS: "axis: {azimuth: 5, elevation: -10}"}), "a").axle.rocker.axis
    assert isinstance(angles, AxisAngles)
    assert float(angles.elevation) == math.radians(-10.0)
    turned = changed({AXIS: "axis: [2, 0.1, 0]\n    reference: [0, 1, 1]"})
    rocker = read_text(turned, "a").axle.rocker
    assert rocker.reference is not None
    assert rocker.reference.tolist() == [0.0, 1.0, 1.0]
    np.testing.assert_allclose(place(read_text(turned, "a").axle).axis, np.array([2, 0.1, 0]) / math.hypot(2, 0.1))


def test_a_corner_strut_and_a_miss(changed: Changed) -> None:
    text = changed(
        {
            "    heave: {kind": "    corner: {kind: strut, left: heave, chassis: [50, 100, 300]}\n    heave: {kind",
            "heave.progressivity: maximise": "corner.motion_ratio: {aim: 0.6, scale: 0.1}",
        }
    )
    study = read_text(text, "a")
    corner = study.axle.elements["corner"]
    assert isinstance(corner, CornerStrut)
    assert corner.chassis.tolist() == [50.0, 100.0, 300.0]
    assert Miss("corner.motion_ratio", 0.6, 0.1) in study.goals


def test_a_link_that_carries_the_rod_bends_and_the_eye_is_moved(changed: Changed) -> None:
    eye = {"[10, 742, 206]": "[33.137, 720.8636, 175.275]", "by: upright": "by: lower_front"}
    study = read_text(changed(eye), "a")
    assert study.axle.rod.carried_by == ("lower_front",)
    assert any(
        "moved by 0.0" in note and "the link lower_front carries the rod: it bends" in note for note in study.notes
    )


def test_a_start_outside_its_bounds_is_allowed_and_told(changed: Changed) -> None:
    study = read_text(changed({"rocker.pivot.y: [185, 230]": "rocker.pivot.y: [210, 230]"}), "a")
    assert study.variables[0].value == 205.0
    assert study.notes == ("the study's own rocker.pivot.y = 205 lies outside its bounds [210, 230]",)


HEAVE = "heave: {length: 74.43, angle: 76.42, offset: 34}"
POINT = "heave: [44, 222.48, 547.35]"


def test_a_point_rides_if_an_arm_number_of_it_varies_and_stays_if_none_does(changed: Changed) -> None:
    rides = read_text(changed({HEAVE: POINT}), "a")
    arm = rides.axle.rocker.pickups["heave"]
    assert isinstance(arm, Arm)
    assert rides.variables[4].path == "rocker.pickups.heave.length"
    assert rides.variables[4].value == pytest.approx(math.hypot(17.48, 72.35), abs=1e-12)
    np.testing.assert_allclose(place(rides.axle).pickups["heave"], [44, 222.48, 547.35], atol=1e-12)
    unvaried = {
        HEAVE: POINT,
        "  rocker.pickups.heave.length: [60, 95]\n": "",
        "  rocker.pickups.heave.angle: [50, 120]\n": "",
    }
    stays = read_text(changed(unvaried), "a").axle.rocker.pickups["heave"]
    assert not isinstance(stays, Arm)
    assert stays.tolist() == [44.0, 222.48, 547.35]


HAND_OFF = """
kind: hand_off
goals:
  heave.motion_ratio: {aim: 1.10, within: 0.01, met: true, left: 0.004}
  rocker.arm_sum: minimise
figures: {heave.motion_ratio: 1.104, rocker.toggle_margin: null}
units: {heave.motion_ratio: mm/mm}
tables: {heave: [{travel: 0, ratio: 1.1}]}
caution: |
  Computed geometry.
  To be checked.
"""


def test_a_hand_off_is_read_as_a_study_that_varies_nothing(sound: str) -> None:
    study = read_text(sound[: sound.index("vary:")] + HAND_OFF, "a")
    assert study.variables == ()
    assert study.goals == (Band("heave.motion_ratio", 1.1, 0.01), Best("rocker.arm_sum", "minimise"))


def test_a_hand_off_has_its_own_keys(sound: str) -> None:
    with pytest.raises(FaultsError) as caught:
        read_text(sound[: sound.index("goals:")] + HAND_OFF.replace("units:", "unit:"), "a")
    assert [fault.path for fault in caught.value.faults] == ["units", "vary", "unit"]
    assert caught.value.faults[-1].hint == "did you mean units?"


def test_another_kind_is_a_fault(sound: str) -> None:
    with pytest.raises(FaultsError, match="did you mean hand_off"):
        read_text(sound[: sound.index("vary:")] + HAND_OFF.replace("hand_off", "handoff"), "a")


def test_all_faults_of_a_file_come_at_once_in_its_order(changed: Changed) -> None:
    text = changed(
        {
            "toe: 0.05": "toe: off",
            "by: upright": "by: uprigth",
            "angle: 52, offset": "angle: 52, ofset",
            "[-26, 26]": "[26, -26]",
            "[185, 230]": "[230, 185]",
            "roll.crosstalk: {at_most: 1.0}": "rol.crosstalk: {at_most: 1.0}",
            "{seed: 1}": "{seed: x}",
        }
    )
    with pytest.raises(FaultsError) as caught:
        read_text(text, "case.yaml")
    assert [fault.path for fault in caught.value.faults] == [
        "axle.wheel.toe",
        "axle.rod.carried_by",
        "axle.rocker.rod.offset",
        "axle.rocker.rod.ofset",
        "travel.roll",
        "vary.rocker.pivot.y",
        "goals.rol.crosstalk",
        "search.seed",
    ]


def test_a_fault_is_shown_like_this() -> None:
    fault = Fault(2, 6, "name", "'yes'", "text", "write another")
    assert str(FaultsError([fault], "a.yaml", "format: 1\nname: yes\n")) == (
        "a.yaml:2:6: name\n"
        "    name: yes\n"
        "         ^\n"
        "  found     'yes'\n"
        "  expected  text\n"
        "  next      write another\n"
        "\n"
        "a.yaml: 1 fault"
    )


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1e-3", 0.001),
        ("1E3", 1000.0),
        (".5", 0.5),
        ("5.", 5.0),
        ("+1", 1),
        ("-0", 0),
        ("-1.5e+2", -150.0),
        ("0.0", 0.0),
    ],
)
def test_numbers_as_an_engineer_writes_them(text: str, value: float) -> None:
    assert read_number(Leaf(Place(1, 1), text, quoted=False)) == value


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_finite_number_survives_being_written(value: float) -> None:
    assert read_number(Leaf(Place(1, 1), repr(value), quoted=False)) == value


@given(st.integers())
def test_integers_pass_up_to_18_digits(value: int) -> None:
    found = read_number(Leaf(Place(1, 1), str(value), quoted=False))
    if abs(value) < 10**18:
        assert found == value
        assert isinstance(found, int)
    else:
        assert isinstance(found, NoNumber)


@given(st.floats(min_value=-40, max_value=40), st.floats(min_value=183, max_value=230))
def test_angles_and_lengths_survive_the_study(camber: float, y: float) -> None:
    text = Path(__file__).with_name("sound.yaml").read_text(encoding="utf-8")
    text = text[: text.index("vary:")].replace("camber: -2.2", f"camber: {camber!r}")
    text = text.replace("pivot: [10, 205, 475]", f"pivot: [10, {y!r}, 475]") + "vary: {wheel.camber: [-45, 45]}\n"
    study = read_text(text, "a")
    assert study.variables[0].value == camber
    assert float(study.axle.wheel.camber) == math.radians(camber)
    assert float(study.axle.rocker.pivot[1]) == y
