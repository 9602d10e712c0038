"""Springs, dampers, loads and bars as they are read, told and written out again."""

from collections.abc import Callable
from dataclasses import fields

import numpy as np
import pytest
import yaml

from geometry.axle import AntiRollBar, TorsionBar
from objectives.fittings.dampers import DamperCurve, DampingRatio
from objectives.fittings.fitted import NOTHING_FITTED
from objectives.fittings.springs import (
    BarSpring,
    CarriesWeight,
    CoilSpring,
    CurveSpring,
    OpposedSprings,
    SeriesSprings,
    Spring,
    TorsionSpring,
)
from optimiser.study.fitting_tree import fitting_tree
from optimiser.study.portrait import portray
from optimiser.study.read import read_text
from optimiser.study.variables import base_point, candidates


def same(record: Spring, other: Spring) -> bool:
    """Whether two springs are of one kind and hold the same numbers."""
    values = [(getattr(record, one.name), getattr(other, one.name)) for one in fields(record)]
    return type(record) is type(other) and all(np.array_equal(one, another) for one, another in values)


def test_every_kind_of_spring(sprung: str) -> None:
    springs = read_text(sprung, "sprung.yaml").fittings.springs
    wanted: dict[str, Spring] = {
        "main": CoilSpring("heave", np.array(220.0), CarriesWeight(), np.array(190.0), np.array(110.0)),
        "pair": OpposedSprings("roll", np.array(90.0), np.array(2400.0)),
        "rubber": CurveSpring("heave", np.array(26.0), np.array([[0.0, 0.0], [5.0, 400.0], [10.0, 1500.0]])),
        "tender": SeriesSprings("corner", (np.array(25.0), np.array(140.0)), np.array(40.0), np.array(300.0)),
        "shaft": TorsionSpring("torsion", np.array(12.0), np.array(0.0)),
        "blade": BarSpring("anti_roll", np.array(35.0)),
    }
    assert list(springs) == list(wanted)
    for name, spring in wanted.items():
        assert same(springs[name], spring), name


def test_dampers_and_loads(sprung: str) -> None:
    fittings = read_text(sprung, "sprung.yaml").fittings
    curve, ratio = fittings.dampers["heave"], fittings.dampers["roll"]
    assert isinstance(curve, DamperCurve)
    assert isinstance(ratio, DampingRatio)
    assert curve.points.tolist() == [[-0.25, -2600], [-0.05, -900], [0, 0], [0.05, 500], [0.25, 1300]]
    assert float(ratio.ratio) == 0.65
    loads = fittings.loads
    assert loads.sprung_per_wheel == 2240.0
    assert list(loads.cases) == ["kerb", "brake"]
    assert loads.cases["kerb"].left.tolist() == [0, 0, 7845]
    assert loads.cases["kerb"].right.tolist() == [0, 0, 2615]
    assert not loads.cases["kerb"].brake_inboard
    assert loads.cases["brake"].left.tolist() == loads.cases["brake"].right.tolist() == [-6000, 0, 5000]
    assert loads.cases["brake"].brake_inboard
    tube = loads.rod_tube
    assert tube is not None
    assert (tube.outer, tube.wall, tube.modulus, tube.yield_stress) == (20.0, 2.0, 205000.0, 700.0)


def test_a_coil_that_pulls(sprung_changed: Callable[[dict[str, str]], str]) -> None:
    text = sprung_changed({"static: carries_weight}": "static: -50, pulls: true}"})
    coil = read_text(text, "sprung.yaml").fittings.springs["main"]
    assert isinstance(coil, CoilSpring)
    assert coil.pulls
    assert float(np.asarray(coil.static)) == -50.0


def test_bars(sprung: str) -> None:
    elements = read_text(sprung, "sprung.yaml").axle.elements
    bar = elements["anti_roll"]
    assert isinstance(elements["torsion"], TorsionBar)
    assert isinstance(bar, AntiRollBar)
    assert bar.pickup == "arb"
    assert bar.pivot.tolist() == [-70, 145, 330]
    assert bar.end.tolist() == [30, 145, 330]


def test_a_bar_may_be_varied(sprung: str) -> None:
    study = read_text(sprung, "sprung.yaml")
    base = base_point(study)
    assert base.tolist() == [205.0, 30.0]
    bar = candidates(study, np.array([base, base + np.array([0.0, 5.0])])).elements["anti_roll"]
    assert isinstance(bar, AntiRollBar)
    assert bar.end.tolist() == [[30, 145, 330], [35, 145, 330]]
    assert bar.pivot.tolist() == [-70, 145, 330]


def test_a_study_without_them_has_nothing_fitted(sound: str) -> None:
    assert read_text(sound, "sound.yaml").fittings == NOTHING_FITTED
    assert fitting_tree(NOTHING_FITTED) == {}


def test_written_out_and_read_again_they_are_the_same(sprung: str) -> None:
    study = read_text(sprung, "sprung.yaml")
    tree = {**yaml.safe_load(sprung), **fitting_tree(study.fittings)}
    text = yaml.safe_dump(tree, sort_keys=False)
    again = read_text(text, "again.yaml").fittings
    assert fitting_tree(again) == fitting_tree(study.fittings)
    for name, spring in study.fittings.springs.items():
        assert same(again.springs[name], spring), name


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("main", "coil of 220 N/mm; carries the weight; free 190 mm, solid 110 mm; cannot pull"),
        ("pair", "opposed pair of 90 N/mm; preload 2400 N, lets go after 26.67 mm"),
        ("rubber", "curve from 26 mm of compression; 1500 N at 36 mm"),
        ("tender", "25 and 140 N/mm in series; the first solid after 40 mm of its own; 300 N at static"),
        ("shaft", "torsion bar of 12 N.m/deg; 0 N.m at static"),
        ("blade", "anti-roll bar of 35 N.m/deg between its arms"),
    ],
)
def test_a_spring_in_words(sprung: str, name: str, said: str) -> None:
    told = {one.name: one.said for one in portray(read_text(sprung, "sprung.yaml")).springs}
    assert told[name] == said


def test_a_dead_band_in_words(sprung_changed: Callable[[dict[str, str]], str]) -> None:
    portrait = portray(read_text(sprung_changed({"preload: 2400": "preload: -180"}), "sprung.yaml"))
    assert portrait.springs[1].said == "opposed pair of 90 N/mm; dead band of 4 mm"


def test_the_rest_in_words(sprung: str) -> None:
    portrait = portray(read_text(sprung, "sprung.yaml"))
    assert [one.said for one in portrait.dampers] == [
        "curve of 5 points; 500 N at 0.05 m/s, -900 N at -0.05 m/s",
        "asks for 0.65 of critical damping",
    ]
    assert portrait.sprung_per_wheel == 2240.0
    assert [(one.name, one.torque_on) for one in portrait.cases] == [("kerb", "upright"), ("brake", "chassis")]
    assert portrait.cases[0].left == [0, 0, 7845]
    assert portrait.rod_tube == "tube of 20 mm outer diameter and 2 mm wall, modulus 205000, yield 700 N/mm^2"
    bar, torsion = portrait.elements[-1], portrait.elements[-2]
    assert (bar.kind, bar.ends, bar.length) == ("anti-roll bar", "arb - [30, 145, 330] about [-70, 145, 330]", 145.0)
    assert (torsion.kind, torsion.length) == ("torsion bar, one a side", None)
