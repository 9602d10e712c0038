"""The record of a whole car, its tables and its JSON document."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.axle import Mode
from objectives.fittings.springs import CoilSpring
from objectives.vehicle.aero import Aero
from objectives.vehicle.car import Car, CarAxle, Targets
from optimiser.report.car.analyse import NoCarError, analyse_car
from optimiser.report.car.document import to_json
from optimiser.report.car.record import CarAnalysis
from optimiser.report.car.tables import car_tables
from optimiser.report.handoff.document import handoff_document, write_handoff
from optimiser.report.tables.cells import View
from optimiser.study.car import read_car
from tests.car_files import CONFIGS
from tests.report.handed_over import ORIGIN, shipped
from tests.sprung import bar_axle, car, corner_axle, front_axle, rear_axle

TARGETS = Targets(3.2, None, 1.2, 0.53, 0.7, 0.65, (180.0, 220.0))
HEADINGS = (
    "AXLES AT STATIC",
    "VIBRATION",
    "CORNER",
    "ROLL CENTRE THROUGH HEAVE",
    "BRAKING AND DRIVING",
    "RIDE HEIGHT AGAINST SPEED",
    "ONE WHEEL ON A KERB",
    "STATES OF A LAP",
    "BUMP TRAVEL USED UP",
    "FROM TARGETS BACK",
    "DAMPERS",
    "BESIDE IT: CORNER SPRINGS AND A BAR",
)


@pytest.fixture(scope="module")
def analysis() -> CarAnalysis:
    return analyse_car(car(targets=TARGETS))


def shown(one: CarAnalysis, every_step: bool = False) -> str:
    return "\n".join(car_tables(one, View(every_step=every_step, width=100)))


def test_record_holds_the_axles(analysis: CarAnalysis) -> None:
    front, rear = analysis.axles
    assert (front.end, rear.end) == ("front", "rear")
    assert front.rate[Mode.HEAVE] == pytest.approx(139.2, abs=0.1)
    assert front.ride[Mode.ROLL] == pytest.approx(1 / (1 / front.rate[Mode.ROLL] + 1 / 270))
    assert front.roll_stiffness == pytest.approx(front.rate[Mode.ROLL] * 1e3 * 1.66**2 / 2 * np.pi / 180)
    middle = int(np.flatnonzero(front.centre_travel == 0.0)[0])
    assert front.centre_height[middle] == pytest.approx(front.roll_centre)
    assert analysis.weight == pytest.approx(1240 * 9.80665)
    assert analysis.warp == pytest.approx(
        front.ride_roll_stiffness * rear.ride_roll_stiffness / (front.ride_roll_stiffness + rear.ride_roll_stiffness)
    )


def test_struts_at_speed_count_down_to_slack_and_solid(analysis: CarAnalysis) -> None:
    front = analysis.at_speed[0]
    heave = next(one for one in front.struts if one.name == "heave")
    static = analysis.axles[0].forces["heave"]
    # Slack where its static force is spent; solid where 190 - static / rate has become 110.
    np.testing.assert_allclose(heave.to_slack - heave.compression, static / 220.0, rtol=1e-9)
    np.testing.assert_allclose(heave.to_solid + heave.compression, 80.0 - static / 220.0, rtol=1e-9)
    np.testing.assert_allclose(heave.force, static + 220.0 * heave.compression, rtol=1e-9)
    np.testing.assert_allclose(front.travel_left, 38.0 - front.balance.travel)
    roll = next(one for one in front.struts if one.name == "roll")
    assert np.isinf(roll.to_slack).all()
    assert np.isinf(roll.to_solid).all()
    assert (np.diff(front.frequency) > 0).all()


def test_rake_and_balance_of_downforce_follow_the_sinking() -> None:
    growing = replace(car(), aero=Aero(3.2, 0.44, growth=(0.01, 0.0)), speeds=(0.0, 70.0))
    found = analyse_car(growing)
    front, rear = (one.balance for one in found.at_speed)
    assert np.isnan(found.speed_front_share[0])
    assert found.speed_front_share[1] == pytest.approx(front.downforce[1] / (front.downforce[1] + rear.downforce[1]))
    assert found.speed_front_share[1] > 0.44
    assert np.tan(np.radians(found.speed_pitch[1])) == pytest.approx((front.sink[1] - rear.sink[1]) / 2700)
    assert found.speed_pitch[0] == pytest.approx(0.0, abs=1e-9)
    assert analyse_car(replace(car(), aero=None, speeds=())).speed_pitch.shape == (0,)


def test_kerbs_stand_under_one_wheel_each(analysis: CarAnalysis) -> None:
    front, rear = analysis.kerbs
    assert (front.wheel, rear.wheel) == ("front left", "rear left")
    assert front.fast.argmax() == 0
    assert rear.fast.argmax() == 2
    assert front.slow.sum() == pytest.approx(0, abs=1e-6)
    assert front.pitch < 0 < front.roll
    assert rear.pitch > 0
    assert 0 < front.travel < front.height


def test_downforce_that_grows_leaves_less_spare() -> None:
    growing = replace(car(), aero=Aero(3.2, 0.44, growth=(0.01, 0.0)))
    plain, grown = (analyse_car(one).at_speed for one in (car(), growing))
    assert (grown[0].balance.sink > plain[0].balance.sink).all()
    push = 0.5 * 1.225 * np.array([30.0, 50.0, 70.0]) ** 2 * 3.2 * 0.44
    np.testing.assert_allclose(grown[0].gain, 0.01 * push)
    assert (grown[0].spare < plain[0].spare).all()
    np.testing.assert_allclose(grown[1].spare, plain[1].spare)


def test_a_car_that_sinks_without_end_is_shown_by_dashes() -> None:
    one = analyse_car(replace(car(), aero=Aero(3.2, 0.44, growth=(0.2, 0.0))))
    assert np.isnan(one.at_speed[0].balance.travel[-1])
    line = next(line for line in shown(one).splitlines() if line.startswith(" 70.0"))
    assert line.split()[1:4] == ["-", "-", "-"]
    json.dumps(to_json(one), allow_nan=False)


def test_tables_stay_within_100_columns(analysis: CarAnalysis) -> None:
    for every_step in (False, True):
        assert [line for line in shown(analysis, every_step).splitlines() if len(line) > 100] == []


def test_strange_cars_stay_within_100_columns_too() -> None:
    one = car(targets=TARGETS)
    strange = (
        replace(one, front=replace(one.front, tyre_rate=20.0, unsprung=150.0), roll_inertia=2.0),
        replace(one, mass=60_000.0, aero=Aero(100.0, 0.5), speeds=(200.0,)),
        replace(one, cg_height=9_000.0, kerb=500.0, pitch_inertia=1e6),
    )
    for given in strange:
        found = analyse_car(given)
        assert [line for line in shown(found).splitlines() if len(line) > 100] == []
        json.dumps(to_json(found), allow_nan=False)


def test_tables_have_every_part_in_order(analysis: CarAnalysis) -> None:
    text = shown(analysis)
    places = [text.index(f"\n{title}") for title in HEADINGS]
    assert places == sorted(places)


def test_tables_say_what_an_engineer_must_not_miss(analysis: CarAnalysis) -> None:
    text = " ".join(shown(analysis).split())
    assert "it is a result and no free choice" in text
    assert "ISO 8855" in text
    assert "r < 0" in text
    assert "the tyre rules" in text
    assert "never softer in roll than in heave" in text
    assert "sums to 5228.9 N.m; W a h is 5228.9 N.m" in text


def test_a_tyre_that_is_too_soft_is_said() -> None:
    text = " ".join(shown(analyse_car(car(targets=Targets(front_heave_frequency=6.0)))).split())
    assert "front heave: the tyre is too soft" in text
    steep = " ".join(shown(analyse_car(car(targets=Targets(roll_gradient=0.2)))).split())
    assert "front roll: the tyre is too soft" in steep


def test_a_car_without_air_or_targets_leaves_those_parts_out() -> None:
    text = shown(analyse_car(replace(car(), aero=None, speeds=())))
    assert "RIDE HEIGHT" not in text
    assert "FROM TARGETS BACK" not in text
    assert "DAMPERS" in text


def test_a_bar_that_does_it_is_told_with_its_rate() -> None:
    stiff = analyse_car(car(front_axle(180.0, 160.0), rear_axle(200.0, 170.0)))
    assert "N.m/deg of roll does it" in shown(stiff)


def test_weights_that_differ_and_springs_that_miss_are_noted(analysis: CarAnalysis) -> None:
    assert analysis.notes == ("the rear axle's file names 2240 N of sprung weight per wheel, the car has 3034.2 N",)
    heavier = analyse_car(replace(car(), mass=1500.0))
    assert any("front axle's file names 2240 N" in note for note in heavier.notes)
    assert "note: the rear axle's file" in shown(analysis)


def test_springs_that_miss_the_weight_are_noted() -> None:
    bare = front_axle()
    off = CoilSpring("heave", np.array(220.0), np.array(3000.0))
    front = replace(bare, fittings=replace(bare.fittings, springs={**bare.fittings.springs, "heave": off}))
    notes = analyse_car(car(front_end=front)).notes
    assert any("front springs press each wheel with 592 N less" in note for note in notes)


def test_what_holds_nothing_up_is_refused_with_its_place() -> None:
    bare = front_axle()
    fitted = replace(bare.fittings, springs={"rubber": bare.fittings.springs["heave_rubber"]}, dampers={})
    with pytest.raises(NoCarError, match="front axle has no rate in heave"):
        analyse_car(car(front_end=replace(bare, fittings=fitted)))


def test_bars_make_a_car_too_in_their_own_units() -> None:
    found = analyse_car(car(front_end=bar_axle(), targets=TARGETS))
    heave, roll = (one for one in found.rates if one.end == "front")
    assert (heave.element, roll.element) == ("torsion", "anti_roll")
    assert heave.of_bar
    # 60 N.m/deg on each side, by the rocker's angle: K = k (dc/dz)^2 in N.mm/rad and rad/mm.
    assert heave.present_rate == pytest.approx(60.0)
    spring = 60e3 * 180 / np.pi * np.radians(heave.ratio) ** 2
    assert heave.present - heave.geometric == pytest.approx(spring, rel=1e-9)
    assert heave.ratios == ()
    # Carried by virtual work: moment x rad/mm = the weight.
    moment = found.axles[0].forces["torsion"]
    assert moment * 1e3 * np.radians(heave.ratio) == pytest.approx(228.6 * 9.80665, rel=1e-9)
    top = next(one for one in found.at_speed[0].struts if one.name == "torsion")
    np.testing.assert_allclose(top.force - moment, 60.0 * top.compression, rtol=1e-9)
    corner = found.lap[0][1].struts["anti_roll"]
    assert corner.force == pytest.approx(25.0 * corner.compression, rel=1e-9)
    assert np.isnan(found.corners.axles[0].mount)
    assert "[N.m]" in shown(found)


def test_corner_struts_make_a_car_too() -> None:
    text = shown(analyse_car(car(front_end=corner_axle(), targets=TARGETS)))
    assert "corner" in text


def undamped() -> CarAxle:
    axle = front_axle()
    return replace(axle, fittings=replace(axle.fittings, dampers={}))


def test_a_car_without_dampers_swings_on() -> None:
    found = analyse_car(CARS[-1])
    assert [mode.ratio for mode in found.modes] == pytest.approx([0.0] * 7, abs=1e-9)
    assert {one.element for one in found.dampers} == {""}
    assert {one.present for one in found.dampers} == {0.0}
    assert found.dampers[0].true_asked is not None


CARS = (
    car(targets=TARGETS),
    replace(car(), aero=None, speeds=()),
    car(targets=Targets(6.0, 6.0, 0.2)),
    car(front_end=corner_axle()),
    car(front_end=bar_axle(), targets=TARGETS),
    car(front_end=undamped(), rear_end=undamped(), targets=TARGETS),
)


@pytest.mark.parametrize("one", CARS, ids=["demo", "no air", "too much asked", "corner struts", "bars", "no dampers"])
def test_json_has_no_nan_and_full_precision(one: Car) -> None:
    found = analyse_car(one)
    document = json.loads(json.dumps(to_json(found), allow_nan=False))
    assert document["units"]["rate"] == "N/mm"
    assert document["axles"]["front"]["rate"]["heave"] == found.axles[0].rate[Mode.HEAVE]
    assert [mode["frequency"] for mode in document["modes"]] == [mode.frequency for mode in found.modes]
    assert document["cornering"]["soft"] == found.cornering.soft
    assert set(document["at_speed"]) == ({"front", "rear"} if one.aero else set())
    assert document["corner_springs"]["axles"]["front"]["bar_does"] == found.corners.axles[0].bar_does


def test_json_says_null_where_nothing_is_finite() -> None:
    document = json.loads(json.dumps(to_json(analyse_car(car(targets=Targets(6.0)))), allow_nan=False))
    assert document["asked_rates"][0]["wheel_rate"] is None
    roll = next(one for one in document["at_speed"]["front"]["struts"].values() if one["name"] == "roll")
    assert roll["to_slack"] == [None, None, None]


def test_hand_offs_make_the_car_that_their_studies_make(tmp_path: Path) -> None:
    shipped_car = read_car(CONFIGS / "car.yaml")
    text = (CONFIGS / "car.yaml").read_text(encoding="utf-8")
    for name in ("front_sprung", "rear_sprung"):
        study = shipped(name)
        path = tmp_path / f"{name}.yaml"
        write_handoff(handoff_document(study, study.axle, ORIGIN), path)
    (tmp_path / "car.yaml").write_text(text, encoding="utf-8")
    studied, handed_over = analyse_car(shipped_car), analyse_car(read_car(tmp_path / "car.yaml"))
    for one, other in zip(studied.modes, handed_over.modes, strict=True):
        assert one.name == other.name
        assert (one.frequency, one.ratio) == pytest.approx((other.frequency, other.ratio), rel=1e-9)
    assert studied.cornering.soft == pytest.approx(handed_over.cornering.soft, rel=1e-9)
    assert studied.braking.anti.dive == pytest.approx(handed_over.braking.anti.dive, rel=1e-9)
