"""The second reading of springs, dampers and derivatives, against closed forms and against the first reading."""

import math

import numpy as np
import pytest

from objectives.fittings.dampers import DamperCurve
from objectives.fittings.damping import damper_law
from objectives.fittings.forces import law_of
from optimiser.report.handoff.second_reading.dampers import damper_force
from optimiser.report.handoff.second_reading.laws import force, plain_springs, rate, slack_at, solid_at
from optimiser.report.handoff.second_reading.plain import UnreadableError
from optimiser.report.handoff.second_reading.slopes import bend, rough_slope, slope
from optimiser.study.fitting_tree import spring_tree
from tests.report.fitted import sprung

CARRIED = 3861.0
"""A static force of the spring that carries the weight [N]."""


@pytest.mark.parametrize("name", list(sprung().fittings.springs))
def test_both_readings_of_a_spring_agree(name: str) -> None:
    spring = sprung().fittings.springs[name]
    plain = plain_springs({"springs": {name: spring_tree(spring)}})[name]
    law = law_of(spring, np.asarray(CARRIED))
    width = 0.5 if name in ("shaft", "blade") else 70.0
    c = np.random.default_rng(7).uniform(-width, width, 200)
    told = [force(plain, CARRIED, at) for at in c.tolist()]
    np.testing.assert_allclose(told, law.force(c), rtol=1e-12, atol=1e-9)
    rates = [rate(plain, CARRIED, at) for at in c.tolist()]
    np.testing.assert_allclose(rates, law.slope(c), rtol=1e-7)


def test_stops() -> None:
    springs = plain_springs({"springs": {name: spring_tree(s) for name, s in sprung().fittings.springs.items()}})
    main, tender = springs["main"], springs["tender"]
    assert solid_at(main, 2200.0) == pytest.approx(190.0 - 10.0 - 110.0)
    assert force(main, 2200.0, slack_at(main, 2200.0)) == 0.0
    assert force(main, 2200.0, slack_at(main, 2200.0) + 1e-6) > 0.0
    assert slack_at(tender, 0.0) == pytest.approx(-(300.0 / 25.0 + 300.0 / 140.0))


def test_a_damper_goes_straight_between_and_beyond_its_points() -> None:
    curve = sprung().fittings.dampers["heave"]
    assert isinstance(curve, DamperCurve)
    points = tuple((float(v), float(f)) for v, f in curve.points)
    v = np.linspace(-0.6, 0.6, 101)
    told = [damper_force(points, speed) for speed in v.tolist()]
    np.testing.assert_allclose(told, damper_law(curve).force(v), rtol=1e-12, atol=1e-9)


def test_derivatives_of_a_smooth_number() -> None:
    def along(travel: float) -> float:
        return 20.0 * math.sin(travel / 20.0 + 0.3)

    assert slope(along) == pytest.approx(math.cos(0.3), abs=1e-12)
    assert rough_slope(along) == pytest.approx(math.cos(0.3), abs=1e-7)
    assert bend(along) == pytest.approx(-math.sin(0.3) / 20.0, abs=1e-11)


def test_derivatives_beside_the_end_of_reach() -> None:
    """Neighbours further than 0.3 mm are out of reach: narrower differences do."""

    def along(travel: float) -> float:
        return math.exp(travel / 10.0) if abs(travel) < 0.3 else math.nan

    assert slope(along) == pytest.approx(0.1, abs=1e-11)
    assert bend(along) == pytest.approx(0.01, abs=1e-9)
    assert math.isnan(slope(lambda _: math.nan))


@pytest.mark.parametrize(
    ("spring", "told"),
    [
        ({"on": "heave", "kind": "coil", "rate": 10.0}, "springs.main.static: a number is needed here"),
        ({"on": "heave", "kind": "leaf", "rate": 10.0}, "springs.main.kind: a kind of spring is needed here"),
        ({"on": "heave", "kind": "curve", "gap": 1.0, "points": [[0, 0]]}, "springs.main.points: rising points"),
        ({"on": "heave", "kind": "curve", "gap": 1.0, "points": [[0, 0], [0, 1]]}, "springs.main.points: rising"),
        ({"on": "heave", "kind": "series", "rates": [1], "solid_at": 1, "static": 1}, "springs.main.rates: two"),
    ],
)
def test_a_spring_that_cannot_be_read(spring: dict[str, object], told: str) -> None:
    with pytest.raises(UnreadableError, match=told):
        plain_springs({"springs": {"main": spring}})
