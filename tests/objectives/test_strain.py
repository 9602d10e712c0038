"""Springs at the wheels: forces and rates are the slopes of the energy, over states that are solved again."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import CrossStrut, Mode
from geometry.motion import Motion, move
from geometry.travel import AxleStates, heave_states, travel_points
from objectives.fittings.fitted import NOTHING_FITTED, Fittings
from objectives.fittings.forces import law_of
from objectives.fittings.installed import install
from objectives.fittings.loads import Loads
from objectives.fittings.springs import CarriesWeight, CoilSpring, OpposedSprings
from objectives.strain import Strain, strain
from tests.axles import arm, front, travel_of
from tests.batches import pick, scatter
from tests.on_springs import FITTED, WEIGHT, FittedAxle, bars, corners, knees, number, plain, unbalanced

STEP = 0.25
"""Step of the differences [mm]."""
FIRST = np.array([-1 / 60, 3 / 20, -3 / 4, 0.0, 3 / 4, -3 / 20, 1 / 60])
SECOND = np.array([1 / 90, -3 / 20, 3 / 2, -49 / 18, 3 / 2, -3 / 20, 1 / 90])
"""Central differences of the sixth order over seven points (common tables)."""
AGREE = 1e-7
"""Forces and rates are the slopes of the energy to this share of the largest one."""


def at_static(fitted: FittedAxle) -> Motion:
    return move(fitted.axle, heave_states(np.zeros(1)))


def strained(fitted: FittedAxle, z_left: Array, z_right: Array, rack: Array) -> Strain:
    states = AxleStates(z_left.ravel(), z_right.ravel(), np.broadcast_to(rack, z_left.shape).ravel())
    return strain(fitted.axle, fitted.fittings, move(fitted.axle, states), at_static(fitted))


def random_states(fitted: FittedAxle, count: int) -> tuple[Array, Array, Array]:
    """States clear of every knee by the width of the differences, so that the energy is smooth there."""
    rng = np.random.default_rng(4)
    low, high = travel_of(fitted.axle).wheel
    z = rng.uniform(low + 2, high - 2, (2, 8 * count))
    rack = rng.uniform(-20, 20, 8 * count) if fitted.axle.has_rack else np.zeros(8 * count)
    motion = move(fitted.axle, AxleStates(z[0], z[1], rack))
    clear = np.ones(8 * count, dtype=np.bool_)
    installed = install(fitted.axle, fitted.fittings, at_static(fitted))
    other = move(fitted.axle, AxleStates(z[1], z[0], -rack))
    for name, springs in installed.items():
        for knee in springs.law.knees:
            for way in (motion, other):
                clear &= np.abs(way.squeeze(name).compression - knee.at) > 4 * STEP
    chosen = np.flatnonzero(clear)[:count]
    assert len(chosen) == count
    return z[0][chosen], z[1][chosen], rack[chosen]


@pytest.mark.parametrize("kind", FITTED)
def test_force_is_the_slope_of_energy(kind: str) -> None:
    fitted = FITTED[kind]()
    left, right, rack = random_states(fitted, 12)
    steps = STEP * np.arange(-3, 4)[:, None]
    here = strained(fitted, left, right, rack)
    for found, to_left, to_right in ((here.by_left, 1.0, 0.0), (here.by_right, 0.0, 1.0)):
        energy = strained(fitted, left + to_left * steps, right + to_right * steps, rack).energy.reshape(7, -1)
        slope = FIRST @ energy / STEP
        np.testing.assert_allclose(found, slope, rtol=0, atol=AGREE * np.abs(slope).max())


@pytest.mark.parametrize("kind", FITTED)
def test_rates_are_the_second_slopes_of_energy(kind: str) -> None:
    fitted = FITTED[kind]()
    left, right, rack = random_states(fitted, 12)
    steps = STEP * np.arange(-3, 4)[:, None]
    rates = strained(fitted, left, right, rack).curvature
    ways = {"left": (1.0, 0.0), "right": (0.0, 1.0), "both": (1.0, 1.0), "opposite": (1.0, -1.0)}
    bent = {
        way: SECOND @ strained(fitted, left + a * steps, right + b * steps, rack).energy.reshape(7, -1) / STEP**2
        for way, (a, b) in ways.items()
    }
    assert np.abs(bent["left"]).max() > 20
    scale = AGREE * np.abs(bent["both"]).max()
    np.testing.assert_allclose(rates.left, bent["left"], rtol=0, atol=scale)
    np.testing.assert_allclose(rates.right, bent["right"], rtol=0, atol=scale)
    np.testing.assert_allclose(rates.across, (bent["both"] - bent["opposite"]) / 4, rtol=0, atol=scale)
    np.testing.assert_allclose(rates.heave, bent["both"] / 2, rtol=0, atol=scale)
    np.testing.assert_allclose(rates.roll, bent["opposite"] / 2, rtol=0, atol=scale)
    np.testing.assert_allclose(rates.cross, (bent["left"] - bent["right"]) / 2, rtol=0, atol=scale)
    one = (rates.heave + rates.roll) / 2 + rates.cross
    np.testing.assert_allclose(rates.one_wheel, one, rtol=0, atol=scale)


@pytest.mark.parametrize("build", [plain, knees, corners, bars])
def test_the_weight_is_carried_by_virtual_work(build: Callable[[], FittedAxle]) -> None:
    fitted = build()
    here = strained(fitted, np.zeros(1), np.zeros(1), np.zeros(1))
    np.testing.assert_allclose([here.by_left[0], here.by_right[0]], WEIGHT, rtol=1e-9)


def test_a_strut_across_the_car_carries_both_wheels_and_a_corner_strut_one() -> None:
    across = plain()
    heave = at_static(across).squeeze("heave")
    force = strained(across, np.zeros(1), np.zeros(1), np.zeros(1)).forces["heave"]
    assert force == pytest.approx(2 * WEIGHT / (heave.by_left + heave.by_right))
    corner = corners()
    by_left = at_static(corner).squeeze("corner").by_left
    alone = strained(corner, np.zeros(1), np.zeros(1), np.zeros(1)).forces["corner"]
    assert alone == pytest.approx(WEIGHT / by_left)


def test_a_weight_not_carried_shows() -> None:
    fitted = unbalanced()
    heave = at_static(fitted).squeeze("heave")
    roll = at_static(fitted).squeeze("roll")
    here = strained(fitted, np.zeros(1), np.zeros(1), np.zeros(1))
    assert here.by_left == pytest.approx(4000 * heave.by_left + 200 * roll.by_left)
    assert abs(here.by_left[0] - 2600) > 50


def test_the_heave_force_has_a_share_in_the_roll_rate() -> None:
    # F_h (d2c_h/dr2) / 2, about +6 N/mm per wheel on this axle.
    fitted = plain()
    here = strained(fitted, np.zeros(1), np.zeros(1), np.zeros(1))
    share = here.elements["heave"].geometric.roll[0]
    r = STEP * np.arange(-3.0, 4.0)
    compression = move(fitted.axle, AxleStates(r, -r, np.zeros(7))).strut("heave").compression
    assert share == pytest.approx(here.forces["heave"][0] * (SECOND @ compression) / STEP**2 / 2, rel=1e-6)
    assert share == pytest.approx(6.0, abs=0.5)


def test_spring_parts_are_rate_times_ratio_squared() -> None:
    # k MR^2 / 2 for a strut across the car, k MR^2 for corner struts.
    fitted, corner = plain(), corners()
    heave = at_static(fitted).squeeze("heave")
    here = strained(fitted, np.zeros(1), np.zeros(1), np.zeros(1))
    assert here.spring.heave == pytest.approx(220 * (heave.by_left + heave.by_right) ** 2 / 2, rel=1e-6)
    only = Fittings({"corner": CoilSpring("corner", number(30.0), number(500.0))})
    alone = strained(FittedAxle(corner.axle, only), np.zeros(1), np.zeros(1), np.zeros(1))
    ratio = at_static(corner).squeeze("corner").by_left
    assert alone.spring.heave == pytest.approx(30 * ratio**2)
    assert alone.spring.roll == pytest.approx(30 * ratio**2)


def test_parts_add_up_and_elements_too() -> None:
    fitted = knees()
    z = travel_points((-30.0, 38.0), 4.0)
    here = strained(fitted, z, z, np.zeros(1))
    np.testing.assert_allclose(here.curvature.heave, here.spring.heave + here.geometric.heave)
    each = here.elements["heave"].by_left + here.elements["roll"].by_left
    np.testing.assert_allclose(here.by_left, each)


def test_a_solid_coil_is_flagged_where_it_is_so() -> None:
    fitted = knees()
    z = np.linspace(0.0, 38.0, 39)
    here = strained(fitted, z, z, np.zeros(1)).elements["heave"]
    limit = 190.0 - here.force[0] / 220.0 - 136.0
    np.testing.assert_array_equal(here.solid, here.compression >= limit)
    assert here.solid.any()
    assert not here.solid.all()


def test_nothing_fitted_takes_up_nothing() -> None:
    here = strained(FittedAxle(front(), NOTHING_FITTED), np.array([0.0, 9.0]), np.array([0.0, 3.0]), np.zeros(1))
    for part in (here.energy, here.by_left, here.curvature.heave, here.geometric.roll):
        np.testing.assert_array_equal(part, [0.0, 0.0])


@pytest.mark.parametrize("build", [plain, knees, corners, bars, unbalanced])
def test_a_batch_is_a_loop(build: Callable[[], FittedAxle]) -> None:
    fitted = build()
    batch = replace(fitted, axle=scatter(fitted.axle, (2, 2), links=False, size=1.0))
    z = np.array([-11.0, 0.0, 14.0]), np.array([3.0, 0.0, 19.0])
    together = strained(batch, *z, np.zeros(1))
    assert together.energy.shape == (2, 2, 3)
    for index in np.ndindex((2, 2)):
        one = strained(replace(fitted, axle=pick(batch.axle, index, (2, 2))), *z, np.zeros(1))
        for whole, single in (
            (together.energy, one.energy),
            (together.by_right, one.by_right),
            (together.curvature.roll, one.curvature.roll),
        ):
            np.testing.assert_allclose(whole[index], single, rtol=1e-9, atol=1e-6)


def test_a_spring_that_no_heave_moves_carries_no_weight() -> None:
    # A strut straight across the car between two arms that lie along it: heave moves its ends square to it.
    base = front()
    rocker = replace(base.rocker, pickups={"level": arm(60, 0, 0)})
    axle = replace(base, rocker=rocker, elements={"idle": CrossStrut("level", "level", Mode.HEAVE)})
    springs = {"coil": CoilSpring("idle", number(180.0), CarriesWeight())}
    here = strained(FittedAxle(axle, Fittings(springs, {}, Loads(WEIGHT))), np.zeros(1), np.zeros(1), np.zeros(1))
    assert np.isnan(here.forces["idle"]).all()
    assert np.isnan(here.by_left).all()


def test_without_a_weight_there_is_nothing_to_carry() -> None:
    fitted = plain()
    weightless = replace(fitted, fittings=replace(fitted.fittings, loads=Loads(None)))
    with pytest.raises(ValueError, match="sprung_per_wheel"):
        strained(weightless, np.zeros(1), np.zeros(1), np.zeros(1))


def test_an_opposed_pair_between_the_rockers_pushes_neither_way_at_static() -> None:
    fitted = knees()
    pair = fitted.fittings.springs["roll"]
    assert isinstance(pair, OpposedSprings)
    assert law_of(pair).force(np.zeros(1))[0] == 0.0
    assert strained(fitted, np.zeros(1), np.zeros(1), np.zeros(1)).forces["roll"] == pytest.approx(0.0, abs=1e-9)
