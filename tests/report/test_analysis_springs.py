"""What an analysis says of springs, dampers and load cases: it adds up, agrees with the figures, and is shown."""

import json
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from geometry.motion import move
from geometry.travel import AxleStates
from objectives.fittings.fitted import Fittings
from objectives.fittings.loads import LoadCase, RodTube
from objectives.fittings.springs import CoilSpring, OpposedSprings, SeriesSprings
from objectives.strain import strain
from optimiser.report.analysis.case_record import CaseRow
from optimiser.report.analysis.document import to_json
from optimiser.report.analysis.hints import hints
from optimiser.report.analysis.record import Analysis, analyse
from optimiser.report.analysis.spring_record import GRAVITY, OnSprings
from optimiser.report.analysis.tables import analysis_tables
from optimiser.report.tables.cells import View
from optimiser.study.study import Study
from tests.report.fitted import sprung, sprung_on_a_link
from tests.report.studies import front_study


@cache
def analysed() -> Analysis:
    """The sprung study, analysed."""
    return analyse(sprung())


def springs(analysis: Analysis) -> OnSprings:
    """Its springs."""
    assert analysis.on_springs is not None
    return analysis.on_springs


def fitted_with(fittings: Fittings) -> Study:
    """The sprung study with something else fitted."""
    return replace(sprung(), fittings=fittings)


def coil() -> CoilSpring:
    """Its heave spring, with a static force of its own."""
    main = sprung().fittings.springs["main"]
    assert isinstance(main, CoilSpring)
    return replace(main, static=np.array(4000.0))


def test_nothing_is_said_where_nothing_is_fitted() -> None:
    bare = analyse(front_study())
    assert bare.on_springs is None
    assert bare.cases == {}
    document = to_json(bare)
    assert "springs" not in document
    assert "cases" not in document
    assert not any("RATES" in line for line in analysis_tables(bare, View()))


@pytest.mark.parametrize(("mode", "sweep"), [("heave", "heave"), ("roll", "roll")])
def test_rates_at_static_are_the_figures(mode: str, sweep: str) -> None:
    analysis = analysed()
    found = springs(analysis).sweeps[sweep]
    (static,) = np.flatnonzero(found.travel == 0.0)
    rates = {"heave": found.heave_rate, "roll": found.roll_rate}[mode]
    told = [rates.whole[static], rates.spring[static], rates.geometric[static]]
    names = (f"axle.{mode}_rate", f"axle.{mode}_rate_spring", f"axle.{mode}_rate_geometric")
    assert told == pytest.approx([analysis.figures[name] for name in names], rel=1e-12)


def test_the_parts_by_force_are_the_geometric_part() -> None:
    for sweep in springs(analysed()).sweeps.values():
        total = np.sum(list(sweep.roll_rate_by_force.values()), axis=0)
        np.testing.assert_allclose(total, sweep.roll_rate.geometric, rtol=0.0, atol=1e-9)


def test_a_force_of_the_heave_strut_stiffens_roll() -> None:
    (static,) = np.flatnonzero(springs(analysed()).sweeps["heave"].travel == 0.0)
    share = springs(analysed()).sweeps["heave"].roll_rate_by_force["heave"][static]
    assert 5.0 < share < 7.0


def test_the_rate_is_the_slope_of_the_push() -> None:
    """K_h at a travel of 10 mm, by central differences of what the springs press the wheels down with."""
    study = sprung()
    z = 10.0 + np.array([-1e-3, 1e-3])
    here = move(study.axle, AxleStates(z, z, np.zeros(2)))
    static = move(study.axle, AxleStates(np.zeros(1), np.zeros(1), np.zeros(1)))
    push = strain(study.axle, study.fittings, here, static)
    slope = np.diff(push.by_left + push.by_right)[0] / 2e-3 / 2.0
    sweep = springs(analysed()).sweeps["heave"]
    (at,) = np.flatnonzero(sweep.travel == 10.0)
    assert sweep.heave_rate.whole[at] == pytest.approx(slope, rel=1e-6)


def test_the_balance_adds_up() -> None:
    balance = springs(analysed()).balance
    held = [share.per_wheel for share in balance.shares.values()]
    assert sum(one for one in held if one is not None) == pytest.approx(2240.0, rel=1e-12)
    assert balance.carrier == "main"
    assert balance.miss == pytest.approx(0.0, abs=1e-9)


def test_a_missed_balance_is_told() -> None:
    study = fitted_with(replace(sprung().fittings, springs={"main": coil()}))
    balance = springs(analyse(study)).balance
    assert balance.carrier is None
    assert balance.miss is not None
    assert balance.miss == pytest.approx(4000.0 * 1.1 / 2.0 - 2240.0, abs=1.0)
    text = "\n".join(analysis_tables(analyse(study), View()))
    assert f"by {abs(balance.miss):.1f} N: too little" in text


def test_a_weight_that_is_not_given() -> None:
    study = fitted_with(Fittings({"main": coil()}))
    text = " ".join("\n".join(analysis_tables(analyse(study), View())).split())
    assert "The file gives no sprung weight (loads.sprung_per_wheel) to compare with." in text


def test_dampers() -> None:
    analysis = analysed()
    rows = springs(analysis).dampers
    curve, asked = rows["heave"], rows["roll"]
    assert curve.wheel_coefficient == analysis.figures["heave.wheel_damping"]
    assert curve.bump == (analysis.figures["heave.bump_force_slow"], analysis.figures["heave.bump_force_fast"])
    assert curve.rebound[1] == analysis.figures["heave.rebound_force_fast"]
    ratio = analysis.figures["heave.motion_ratio"]
    assert ratio is not None
    assert curve.wheel_coefficient is not None
    assert curve.element_coefficient == pytest.approx(curve.wheel_coefficient * 2.0 / ratio**2)
    assert (asked.asked, asked.wheel_coefficient) == (0.65, None)


def test_a_share_of_critical_in_heave() -> None:
    """2 zeta sqrt(K m): of the mass of the sprung weight on K_h."""
    fittings = sprung().fittings
    study = fitted_with(replace(fittings, dampers={"heave": fittings.dampers["roll"]}))
    analysis = analyse(study)
    rate = analysis.figures["axle.heave_rate"]
    assert rate is not None
    wanted = 2.0 * 0.65 * np.sqrt(rate * 1e3 * 2240.0 / GRAVITY)
    assert springs(analysis).dampers["heave"].wheel_coefficient == pytest.approx(wanted, rel=1e-12)


def test_cases_are_the_figures() -> None:
    analysis = analysed()
    rows = list(analysis.cases.values())
    rods = [force for row in rows for force in row.rod if force is not None]
    assert max(rods) == pytest.approx(analysis.figures["rod.force_max"])
    pivots = [force for row in rows for force in row.pivot if force is not None]
    assert max(pivots) == pytest.approx(analysis.figures["rocker.pivot_force_max"])
    for name in sprung().axle.links:
        ends = [force for row in rows for pair in row.links[name] for force in pair if force is not None]
        assert max(ends, key=abs) == pytest.approx(analysis.figures[f"link.{name}.force"])


def test_a_case_at_rest() -> None:
    kerb = analysed().cases["kerb"]
    assert kerb.status == "ok"
    assert kerb.heave is not None
    assert kerb.roll is not None
    assert kerb.travel == pytest.approx((kerb.heave + kerb.roll, kerb.heave - kerb.roll))
    assert kerb.forces["heave"][0] == kerb.forces["heave"][1]
    assert kerb.forces["corner"][0] != kerb.forces["corner"][1]
    assert kerb.stops == ()


def test_stops_and_ends_of_travel_are_told() -> None:
    fittings, nothing = sprung().fittings, np.zeros(3)
    cases = {
        "lift": LoadCase(nothing, np.array([0.0, 0.0, 14e3])),
        "landing": LoadCase(np.array([0.0, 0.0, 40e3]), np.array([0.0, 0.0, 40e3])),
        "gone": LoadCase(np.array([0.0, 0.0, 1e9]), nothing),
    }
    tender = fittings.springs["tender"]
    assert isinstance(tender, SeriesSprings)
    springs = {**fittings.springs, "tender": replace(tender, static=np.array(50.0))}
    analysis = analyse(fitted_with(Fittings(springs, {}, replace(fittings.loads, cases=cases))))
    lift, landing, gone = analysis.cases.values()
    assert lift.stops == ("corner slack",)
    assert landing.stops == ("heave solid",)
    assert landing.status == "past_travel"
    assert (gone.status, gone.rod, gone.stops) == ("no_balance", (None, None), ())
    text = " ".join("\n".join(analysis_tables(analysis, View())).split())
    assert "reckoned with; corner slack there" in text
    assert "landing: a wheel goes past its travel; no stop but a spring's own is reckoned with; heave solid" in text
    assert "gone: springs and loads come to rest nowhere near the travel" in text


def told(study: Study) -> str:
    """Everything worth knowing about an axle, in one line."""
    return " ".join(hints(analyse(study)))


def test_what_is_worth_knowing_of_springs() -> None:
    assert "heave: its spring goes slack 16.3 mm from static in heave" in told(sprung())
    assert "lets go" not in told(sprung())
    fittings = sprung().fittings
    pair = fittings.springs["pair"]
    assert isinstance(pair, OpposedSprings)
    loose = {**fittings.springs, "pair": replace(pair, preload=np.array(900.0))}
    assert "roll: one of its opposed springs lets go, or takes hold, 10.0 mm from static in roll" in told(
        fitted_with(replace(fittings, springs=loose))
    )


def test_what_is_worth_knowing_of_loads() -> None:
    fittings = sprung().fittings
    assert "of weight stand on it" not in told(sprung())
    assert "of weight stand on it" not in told(fitted_with(replace(fittings, springs={"main": coil()}, dampers={})))
    weak = replace(coil(), static=np.array(3500.0))
    text = told(fitted_with(replace(fittings, springs={"main": weak}, dampers={})))
    assert "the springs hold 1925 N at each wheel, and 2240 N of weight stand on it" in text
    tube = RodTube(outer=9.0, wall=1.0, modulus=205e3, yield_stress=700.0)
    text = told(fitted_with(replace(fittings, loads=replace(fittings.loads, rod_tube=tube))))
    assert "the rod buckles in some load case" in text
    short = replace(coil(), free_length=np.array(150.0))
    assert "heave: its coil would be solid" in told(fitted_with(replace(fittings, springs={"main": short})))
    landing = {"landing": LoadCase(np.array([0.0, 0.0, 40e3]), np.array([0.0, 0.0, 40e3]))}
    text = told(fitted_with(replace(fittings, loads=replace(fittings.loads, cases=landing))))
    assert "a wheel goes past its travel under landing" in text


def test_a_link_that_carries_the_rod_has_two_forces_and_bends() -> None:
    analysis = analyse(sprung_on_a_link())
    kerb: CaseRow = analysis.cases["kerb"]
    outer, inner = kerb.links["lower_front"]
    assert outer != inner
    assert kerb.bending["lower_front"][0] is not None
    lines = list(analysis_tables(analysis, View()))
    assert any("lower_front, outboard" in line for line in lines)
    assert any("lower_front bends [N.m]" in line for line in lines)


def test_the_document_has_numbers_or_null() -> None:
    document = json.loads(json.dumps(to_json(analysed()), allow_nan=False))
    found, cases = document["springs"], document["cases"]
    assert set(found) == {"units", "sweeps", "static", "dampers"}
    assert set(found["sweeps"]) == {"heave", "roll"}
    heave = found["sweeps"]["heave"]
    lists = [*heave["heave_rate"].values(), *heave["roll_rate"].values(), *heave["force"].values()]
    assert {len(one) for one in lists} == {len(heave["travel"])}
    assert found["static"]["miss"] == pytest.approx(0.0, abs=1e-9)
    assert found["dampers"]["roll"]["wheel_coefficient"] is None
    assert set(cases) == {"kerb", "brake"}
    assert len(cases["kerb"]["links"]["steering"]["outboard"]) == 2


def test_the_tables_stay_within_the_screen() -> None:
    for every_step in (False, True):
        lines = list(analysis_tables(analysed(), View(every_step=every_step)))
        assert max(map(len, lines)) <= 100
        assert [line for line in lines if line != line.rstrip()] == []
    text = "\n".join(lines)
    for title in ("STATIC BALANCE", "RATES THROUGH HEAVE", "RATES THROUGH ROLL", "DAMPERS", "LOAD CASES"):
        assert title in text
    assert "main carries what the others leave" in text
