"""What each spring does: continuous over its knees, its force the slope of its energy, and as said in plain words."""

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.fittings.damping import damper_law
from objectives.fittings.forces import PER_RADIAN, STOP_RATE, carries_weight, knee_at, law_of, slack_at, solid_at
from objectives.fittings.law import side_by_side
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
from tests.on_springs import CURVE, RUBBER, number

COIL = CoilSpring("e", number(220.0), number(4000.0), number(190.0), number(136.0))
PULLING = CoilSpring("e", number(150.0), number(300.0), pulls=True)
PAIR = OpposedSprings("e", number(90.0), number(900.0))
LOOSE = OpposedSprings("e", number(120.0), number(-300.0))
UNLOADED = OpposedSprings("e", number(80.0), number(0.0))
RUBBERED = CurveSpring("e", number(3.0), RUBBER)
TENDER = SeriesSprings("e", (number(25.0), number(140.0)), number(40.0), number(1200.0))
SOFT = SeriesSprings("e", (number(25.0), number(140.0)), number(40.0), number(300.0))
TORSION = TorsionSpring("e", number(60.0), number(500.0))
BAR = BarSpring("e", number(25.0))


def coil(c: float) -> float:
    force = max(4000.0 + 220.0 * c, 0.0)
    solid = 190.0 - 4000.0 / 220.0 - 136.0
    return force + (STOP_RATE - 220.0) * max(c - solid, 0.0)


def opposed(rate: float, preload: float) -> Callable[[float], float]:
    return lambda c: max(preload + rate * c, 0.0) - max(preload - rate * c, 0.0)


def rubber(c: float) -> float:
    x = c - 3.0
    return float(np.interp(x, *RUBBER.T)) if x < 10.0 else 1500.0 + 220.0 * (x - 10.0)


def in_series(static: float) -> Callable[[float], float]:
    """Each spring's compression by its own force, the two added: the inverse of the law, solved by halving."""

    def both(force: float) -> float:
        return min(force / 25.0, 40.0) + force / 140.0

    def force(c: float) -> float:
        low, high = 0.0, 1e5
        for _ in range(200):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if both(middle) - both(static) > c else (middle, high)
        return 0.5 * (low + high)

    return force


TWINS: dict[str, tuple[Spring, Callable[[float], float]]] = {
    "coil": (COIL, coil),
    "coil that pulls": (PULLING, lambda c: 300.0 + 150.0 * c),
    "opposed pair": (PAIR, opposed(90.0, 900.0)),
    "opposed pair with a dead band": (LOOSE, opposed(120.0, -300.0)),
    "opposed pair without preload": (UNLOADED, opposed(80.0, 0.0)),
    "curve behind a gap": (RUBBERED, rubber),
    "series, the first solid at static": (TENDER, in_series(1200.0)),
    "series, the first free at static": (SOFT, in_series(300.0)),
    "torsion": (TORSION, lambda c: 500e3 + 60e3 * np.degrees(c)),
    "bar": (BAR, lambda c: 25e3 * np.degrees(c)),
}
TRAVELS = np.linspace(-60.0, 40.0, 401)


def reach(spring: Spring) -> Array:
    """Compressions to look at: mm, or a bar's few degrees in rad."""
    return TRAVELS / 100.0 if isinstance(spring, TorsionSpring | BarSpring) else TRAVELS


def knees_of(spring: Spring) -> list[float]:
    return [float(knee.at) for knee in law_of(spring).knees]


@pytest.mark.parametrize("kind", TWINS)
def test_a_spring_does_what_is_said_of_it(kind: str) -> None:
    spring, twin = TWINS[kind]
    c = reach(spring)
    expected = [twin(float(at)) for at in c]
    np.testing.assert_allclose(law_of(spring).force(c), expected, rtol=1e-12, atol=1e-8)


@pytest.mark.parametrize("kind", TWINS)
def test_force_is_continuous_over_every_knee(kind: str) -> None:
    spring, _ = TWINS[kind]
    law = law_of(spring)
    assert len(law.knees) == (0 if kind in ("coil that pulls", "torsion", "bar") else 2)
    for knee in knees_of(spring):
        below, at, above = law.force(np.array([knee - 1e-9, knee, knee + 1e-9]))
        steepest = np.abs(law.slope(np.array([knee - 1e-6, knee + 1e-6]))).max()
        assert abs(above - at) <= 1e-9 * steepest + 1e-9
        assert abs(at - below) <= 1e-9 * steepest + 1e-9


@pytest.mark.parametrize("kind", TWINS)
def test_energy_is_the_exact_integral_of_force(kind: str) -> None:
    # Between two neighbouring knees the force is straight, so that the trapezium from one to the other is exact.
    spring, twin = TWINS[kind]
    c = reach(spring)
    stations = np.unique(np.concatenate([c, knees_of(spring), [0.0]]))
    pieces = [(b - a) * (twin(float(a)) + twin(float(b))) / 2.0 for a, b in pairwise(stations)]
    summed = np.concatenate([[0.0], np.cumsum(pieces)])
    expected = summed - summed[np.flatnonzero(stations == 0.0)[0]]
    np.testing.assert_allclose(law_of(spring).energy(stations), expected, rtol=1e-10, atol=1e-6)


@pytest.mark.parametrize("kind", TWINS)
def test_rate_is_the_slope_of_force_and_at_a_knee_that_above_it(kind: str) -> None:
    spring, twin = TWINS[kind]
    law, step = law_of(spring), 1e-5
    for at in [*knees_of(spring), *reach(spring)[::7]]:
        slope = (twin(float(at) + 2 * step) - twin(float(at) + step)) / step
        if all(not 0.0 < knee - at <= 2 * step for knee in knees_of(spring)):
            assert law.slope(np.array([at]))[0] == pytest.approx(slope, rel=1e-6, abs=1e-3)


def test_springs_side_by_side_add() -> None:
    both = side_by_side([law_of(COIL), law_of(RUBBERED)])
    np.testing.assert_allclose(both.force(TRAVELS), law_of(COIL).force(TRAVELS) + law_of(RUBBERED).force(TRAVELS))
    np.testing.assert_allclose(both.energy(TRAVELS), law_of(COIL).energy(TRAVELS) + law_of(RUBBERED).energy(TRAVELS))
    np.testing.assert_array_equal(side_by_side([]).force(TRAVELS), 0.0)


def test_where_springs_change_is_told() -> None:
    assert slack_at(COIL) == pytest.approx(-4000.0 / 220.0)
    assert slack_at(PULLING) == slack_at(PAIR) == slack_at(RUBBERED) == -np.inf
    assert slack_at(SOFT) == pytest.approx(-300.0 / 25.0 - 300.0 / 140.0)
    assert law_of(SOFT).force(np.array([float(slack_at(SOFT))]))[0] == pytest.approx(0.0, abs=1e-9)
    assert solid_at(COIL) == pytest.approx(190.0 - 4000.0 / 220.0 - 136.0)
    assert solid_at(PULLING) == solid_at(TENDER) == np.inf
    assert knee_at(PAIR) == pytest.approx(10.0)
    assert knee_at(LOOSE) == pytest.approx(2.5)
    assert knee_at(COIL) == np.inf


def test_a_solid_coil_stays_finite_and_hardly_moves() -> None:
    solid = float(solid_at(COIL))
    pressed = law_of(COIL).force(np.array([solid, solid + 0.1]))
    assert pressed[1] - pressed[0] == pytest.approx(10e3, rel=1e-9)


@pytest.mark.parametrize("shape", [(), (5,), (2, 3), (0,)])
def test_a_batch_is_a_loop(shape: tuple[int, ...]) -> None:
    rng = np.random.default_rng(5)
    rate, static = rng.uniform(50, 250, shape), rng.uniform(-500, 4000, shape)
    c = rng.uniform(-40, 40, (*shape, 7))
    spring = CoilSpring("e", rate, CarriesWeight(), number(180.0), rng.uniform(120, 140, shape))
    law = law_of(spring, static)
    for what in ("force", "slope", "energy"):
        together = getattr(law, what)(c)
        assert together.shape == (*shape, 7)
        for index in np.ndindex(shape):
            one = CoilSpring("e", rate[index], static[index], number(180.0), np.asarray(spring.solid_length)[index])
            np.testing.assert_array_equal(together[index], getattr(law_of(one), what)(c[index]))


def test_a_force_that_follows_from_the_weight_must_be_given() -> None:
    springs: list[Spring] = [
        CoilSpring("e", number(220.0), CarriesWeight()),
        SeriesSprings("e", (number(25.0), number(140.0)), number(40.0), CarriesWeight()),
        TorsionSpring("e", number(60.0), CarriesWeight()),
    ]
    for spring in springs:
        assert carries_weight(spring)
        with pytest.raises(ValueError, match="carries the weight"):
            law_of(spring)
        assert law_of(spring, number(2500.0)).force(np.zeros(1))[0] == pytest.approx(2500.0)
    assert not any(carries_weight(spring) for spring, _ in TWINS.values())


def test_bars_work_in_radians_inside() -> None:
    assert law_of(BAR).force(np.radians([2.0]))[0] == pytest.approx(50e3)
    assert law_of(BAR).slope(np.zeros(1))[0] == pytest.approx(25.0 * PER_RADIAN)


def test_a_damper_goes_straight_between_its_points_and_beyond() -> None:
    law = damper_law(CURVE)
    speeds = np.array([-0.35, -0.25, -0.15, 0.0, 0.025, 0.05, 0.25, 0.5])
    np.testing.assert_allclose(law.force(speeds), [-3450, -2600, -1750, 0, 250, 500, 1300, 2300], atol=1e-9)
    np.testing.assert_allclose(law.slope(np.array([-0.3, -0.01, 0.01, 0.3])), [8500, 18000, 10000, 4000])
