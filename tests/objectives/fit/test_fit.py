"""Built cars made up with known deviations, and what is found of these from readings."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import chdtri

from geometry.arrays import Array
from geometry.axle import Arm, Axle
from geometry.built import built
from geometry.hardpoints import place
from geometry.motion import move
from geometry.travel import AxleStates
from objectives.fit.deviations import Deviation, deviations_of, points_off
from objectives.fit.fit import fit
from objectives.fit.rig import Measured, expected
from objectives.tolerance.build import LEFT, RIGHT, Build, Spread
from tests.axles import KINDS, front

BUILD = Build(pivots=0.5, pickups=0.1, rod_length=0.25)
NOISE = 0.1
EXACT = 1e-9
"""Error of an instrument that leaves rounding alone [mm]."""
STRUTS = ("heave", "roll")
SEEN = ("rod length", "rocker.pivot.y", "rocker.pivot.z", "rocker.pickups.heave length")
"""Deviations that readings of both struts can tell from each other."""


def rig(error: float, struts: tuple[str, ...] = STRUTS, side: str = LEFT) -> Measured:
    """Both wheels, opposite ones, the left one and the right one, in steps of 5 mm, each strut's length."""
    z = np.arange(-25.0, 26.0, 5.0)
    left, right = np.concatenate([z, z, z, 0.0 * z]), np.concatenate([z, -z, 0.0 * z, z])
    states = AxleStates(*(np.repeat(one, len(struts)) for one in (left, right, 0.0 * left)))
    rows = len(states)
    nothing = np.zeros(rows)
    return Measured(states, struts * len(left), (side,) * rows, np.full(rows, False), nothing, np.full(rows, error))


def sigmas(deviations: tuple[Deviation, ...]) -> Array:
    return np.array([one.sigma for one in deviations])


def cars(deviations: tuple[Deviation, ...], count: int, seed: int) -> Array:
    """Deviations (count, D) [mm] of as many cars."""
    return np.random.default_rng(seed).standard_normal((count, len(deviations))) * sigmas(deviations)


def without_noise(axle: Axle, on: Measured, deviations: tuple[Deviation, ...], truth: Array) -> Measured:
    return replace(on, value=expected(axle, on, deviations, truth[None])[0])


def named(names: tuple[str, ...]) -> tuple[Deviation, ...]:
    return tuple(one for one in deviations_of(BUILD, front()) if one.name.split(" ", 1)[1] in names)


@pytest.mark.parametrize(("count", "seed"), [(40, 1), pytest.param(200, 2, marks=pytest.mark.long)])
def test_the_truth_lies_in_the_stated_region_of_most_cars(count: int, seed: int) -> None:
    axle, on = front(), rig(NOISE)
    deviations = deviations_of(BUILD, axle)
    truth, chance = cars(deviations, count, seed), np.random.default_rng(seed + 100)
    limit = float(chdtri(float(len(deviations)), 0.05))
    inside, within, told = 0, 0, []
    for one, clean in zip(truth, expected(axle, on, deviations, truth), strict=True):
        found = fit(axle, replace(on, value=clean + NOISE * chance.standard_normal(len(on))), deviations)
        assert found.settled
        inside += found.distance(one) <= limit
        along = found.directions @ ((one - found.sizes) / found.sigma) * np.hypot(1.0, found.seen)
        told.append(np.abs(along[~found.blind]) <= 1.96)
        within += int(np.sum(np.abs(found.sizes - one) <= 1.96 * np.sqrt(np.diag(found.covariance))))
    assert 0.90 <= inside / count <= 0.99
    assert 0.90 <= np.mean(np.concatenate(told)) <= 0.99
    assert 0.93 <= within / truth.size <= 0.97


def test_without_noise_deviations_that_can_be_seen_come_back() -> None:
    axle, on, deviations = front(), rig(EXACT), named(SEEN)
    assert len(deviations) == 2 * len(SEEN)
    for truth in cars(deviations, 5, seed=3):
        found = fit(axle, without_noise(axle, on, deviations, truth), deviations)
        assert found.seen.min() > 1e5
        np.testing.assert_allclose(found.sizes, truth, rtol=0.0, atol=1e-6)


def test_without_noise_readings_come_back_whatever_may_be_off() -> None:
    axle, on = front(), rig(EXACT)
    deviations = deviations_of(BUILD, axle)
    found = fit(axle, without_noise(axle, on, deviations, cars(deviations, 1, seed=4)[0]), deviations)
    assert np.abs(found.drawn).max() > 0.05
    assert np.abs(found.fitted).max() < 1e-6


def test_blind_directions_change_no_reading_and_seen_ones_do() -> None:
    axle, on = front(), rig(NOISE)
    deviations = deviations_of(BUILD, axle)
    found = fit(axle, without_noise(axle, on, deviations, np.zeros(len(deviations))), deviations)
    moved = expected(axle, on, deviations, found.directions * found.sigma) - expected(
        axle, on, deviations, np.zeros((1, len(deviations)))
    )
    told = np.linalg.norm(moved / NOISE, axis=-1)
    np.testing.assert_allclose(told, found.seen, rtol=0.02, atol=0.02)
    assert found.seen[0] > 20.0
    assert 2 <= np.sum(~found.blind) <= 8


def test_a_pickup_that_no_strut_holds_keeps_its_spread() -> None:
    """The roll strut ends on the left rocker's upper and the right rocker's lower pick-up."""
    axle, on = front(), rig(NOISE)
    deviations = deviations_of(BUILD, axle)
    found = fit(axle, without_noise(axle, on, deviations, cars(deviations, 1, seed=5)[0]), deviations)
    kept = dict(zip([one.name for one in deviations], np.sqrt(np.diag(found.covariance)) / found.sigma, strict=True))
    assert kept["left rocker.pickups.roll_lower length"] == pytest.approx(1.0)
    assert kept["right rocker.pickups.roll_upper length"] == pytest.approx(1.0)
    assert kept["left rocker.pickups.roll_upper length"] < 0.98


def test_one_dimension_alone_is_named() -> None:
    axle, on = front(), rig(NOISE)
    deviations = deviations_of(BUILD, axle)
    culprit = [one.name for one in deviations].index("right rocker.pivot.y")
    truth = np.zeros(len(deviations))
    truth[culprit] = 0.4
    found = fit(axle, without_noise(axle, on, deviations, truth), deviations)
    assert int(np.argmax(found.explained)) == culprit
    assert found.explained[culprit] > 0.98
    assert found.alone[culprit] == pytest.approx(0.4, abs=0.01)


def test_a_rig_reads_what_the_axle_does() -> None:
    """As drawn, and with both sides off alike, the sides mirror each other; compression counts from static."""
    axle, on = front(), rig(NOISE)
    deviations = deviations_of(BUILD, axle)
    one_side = cars(deviations[: len(deviations) // 2], 1, seed=6)[0]
    both = np.concatenate([one_side, one_side])
    own = built(axle, *points_off(deviations, both, LEFT))
    for off, sizes in ((axle, 0.0 * both), (own, both)):
        motion = move(off, on.states)
        for compressed in (False, True):
            asked = replace(on, compressed=np.full(len(on), compressed))
            read = expected(axle, asked, deviations, sizes[None])[0]
            for first, name in enumerate(STRUTS):
                strut = motion.strut(name)
                told = strut.compression if compressed else strut.length
                np.testing.assert_allclose(read[first::2], told[first::2], rtol=0.0, atol=1e-9)


@pytest.mark.parametrize(("kind", "strut"), [("five split links, rod on the upright", "heave"), ("corner struts", "")])
def test_what_is_off_on_the_right_shows_there(kind: str, strut: str) -> None:
    """Seen in a mirror: the strut across the car by jacking the other wheel, a corner's by the other strut."""
    axle = KINDS[kind]() if kind in KINDS else front()
    name = strut or next(iter(axle.struts))
    deviations = deviations_of(BUILD, axle)
    half = len(deviations) // 2
    one_side = cars(deviations[:half], 1, seed=7)[0]
    z, nothing = np.array([-20.0, 15.0]), np.zeros(2)
    plain = (np.full(2, False), nothing, np.full(2, NOISE))
    left = Measured(AxleStates(z, nothing, nothing), (name,) * 2, (LEFT,) * 2, *plain)
    right = Measured(AxleStates(nothing, z, nothing), (name,) * 2, (LEFT if strut else RIGHT,) * 2, *plain)
    on_left = expected(axle, left, deviations, np.concatenate([one_side, np.zeros(half)])[None])
    on_right = expected(axle, right, deviations, np.concatenate([np.zeros(half), one_side])[None])
    np.testing.assert_allclose(on_left, on_right, rtol=0.0, atol=1e-9)
    drawn = expected(axle, left, (), np.zeros((1, 0)))
    assert np.abs(on_left - drawn).max() > 1e-3


def test_the_spread_of_a_build_is_told_in_standard_deviations() -> None:
    build = replace(BUILD, spread=Spread.THREE_SIGMA)
    found = {one.name: one for one in deviations_of(build, front())}
    assert found["left rocker.pivot.x"].sigma == pytest.approx(0.5 / 3.0)
    assert found["right rod length"].sigma == pytest.approx(0.25 / 3.0)
    angle = found["left rocker.pickups.heave angle"]
    assert angle.unit == "deg"
    assert angle.per_mm == pytest.approx(float(np.degrees(1.0 / 74.43)))


@pytest.mark.parametrize("word", ["length", "angle", "offset"])
def test_a_deviation_of_an_arm_changes_what_it_is_called_by(word: str) -> None:
    """The angle counts against the rod's arm: the rocker settles until the rod fits."""
    axle, size = front(), 0.02
    deviations = deviations_of(BUILD, axle)
    sizes = np.array([size if one.name == f"left rocker.pickups.heave {word}" else 0.0 for one in deviations])
    rocker = built(axle, *points_off(deviations, sizes, LEFT)).rocker
    drawn, heave, rod = place(axle), rocker.pickups["heave"], rocker.rod
    assert isinstance(heave, Arm)
    assert isinstance(rod, Arm)
    was = drawn.arms["heave"]
    turned = (heave.angle - rod.angle) - (was.angle - drawn.rod_arm.angle)
    changed = {"length": heave.length - was.length, "angle": turned * was.length, "offset": heave.offset - was.offset}
    assert sizes.any()
    assert {name: float(value) for name, value in changed.items()} == pytest.approx(
        {name: size if name == word else 0.0 for name in changed}, abs=1e-5
    )
