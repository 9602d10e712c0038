"""Ride rates, roll gradients and load transfer against published examples; each number beside its source.

Book numbers to half their last digit. Where the source's own number is wrong, the test says so and holds the right one.
"""

import numpy as np
import pytest

from objectives.vehicle.rates import (
    critical_damping,
    frequency,
    in_series,
    rate_for,
    roll_stiffness,
    warp_stiffness,
    without_tyre,
)
from objectives.vehicle.transfer import (
    RollingAxle,
    Transfer,
    load_transfer,
    roll_arm,
    roll_gradient,
    stiffness_for,
)

G = 9.81
"""Gravity as the books take it [m/s2]."""


def test_wheel_and_tyre_in_series() -> None:
    # Study notes to Milliken and Milliken, Race Car Vehicle Dynamics, chapter 16, exercise 16.1.
    wheel = 120 * 0.62**2
    assert wheel == pytest.approx(46.13, abs=5e-3)
    ride = in_series(wheel, 320.0)
    assert ride == pytest.approx(40.32, abs=6e-3)
    assert frequency(ride, 155) == pytest.approx(2.57, abs=5e-3)
    assert frequency(wheel, 155) == pytest.approx(2.75, abs=5e-3)


def test_roll_stiffness_of_an_axle() -> None:
    # The same, exercise 16.2; its ride rate is rounded to 40.32 N/mm.
    assert roll_stiffness(40.32, 1600.0) == pytest.approx(51_610, abs=5)
    assert np.radians(roll_stiffness(40.32, 1600.0)) == pytest.approx(900.7, abs=0.1)


def test_spring_for_a_frequency() -> None:
    # The same, exercise 16.4: 3.2 Hz at 145 kg on a 300 N/mm tyre, ratio 0.70.
    ride = rate_for(3.2, 145)
    assert ride == pytest.approx(58.62, abs=5e-3)
    wheel = without_tyre(ride, 300.0)
    assert without_tyre(58.62, 300.0) == pytest.approx(72.86, abs=5e-3)
    assert wheel / 0.70**2 == pytest.approx(148.7, abs=0.05)
    assert in_series(wheel, 300.0) == pytest.approx(ride, rel=1e-12)


@pytest.mark.parametrize(("wheel", "loss"), [(55.0, 16.4), (150.0, 34.9), (300.0, 51.7)])
def test_what_the_tyre_takes(wheel: float, loss: float) -> None:
    # The same, exercise 16.7, on a 280 N/mm tyre.
    assert 100 * (1 - in_series(wheel, 280.0) / wheel) == pytest.approx(loss, abs=0.05)


def test_no_wheel_rate_makes_up_for_a_soft_tyre() -> None:
    # K_R < K_t whatever the spring: the tyre rules (statics; no source).
    assert without_tyre(280.0, 280.0) == np.inf
    assert without_tyre(300.0, 280.0) == np.inf
    assert in_series(1e9, 280.0) < 280.0


def test_an_error_in_the_ratio_counts_twice() -> None:
    # The same, exercise 16.6: 10 % in the ratio are 21 % in the wheel rate and 10 % in the frequency.
    rates = [100 * ratio**2 for ratio in (0.6, 0.66)]
    assert rates[1] / rates[0] == pytest.approx(1.21)
    assert frequency(rates[1], 150) / frequency(rates[0], 150) == pytest.approx(1.10)


def test_critical_damping_of_a_corner() -> None:
    # Study notes, chapter 22, exercises 22.1 to 22.4.
    ride = in_series(65.0, 300.0)
    assert ride == pytest.approx(53.42, abs=5e-3)
    assert frequency(ride, 160) == pytest.approx(2.91, abs=5e-3)
    critical = critical_damping(ride, 160)
    assert critical * 1e3 == pytest.approx(5847, abs=0.5)
    assert 0.7 * critical * 1e3 == pytest.approx(4093, abs=0.5)
    at_the_damper = 4093 / 0.60**2
    assert at_the_damper == pytest.approx(11_369, abs=0.5)
    assert frequency(65.0 + 300.0, 38) == pytest.approx(15.6, abs=0.05)


def light(stiffness: float, sprung: float = 0.0, centre: float = 0.0, track: float = 1.6) -> RollingAxle:
    """An axle without unsprung mass on rigid tyres."""
    return RollingAxle(sprung, 0.0, centre, 0.3, track, stiffness)


def test_roll_gradient_and_elastic_split() -> None:
    # Study notes, chapter 16, exercise 16.5: 6800 N at 0.26 m above the roll axis, 42 and 36 kN.m/rad.
    mass = 6800 / G
    axles = (light(42_000, mass / 2), light(36_000, mass / 2))
    gradient = roll_gradient(axles, 0.26, softening=False) * G
    assert mass * G * 0.26 == pytest.approx(1768)
    assert gradient == pytest.approx(0.02267, abs=5e-6)
    assert np.degrees(gradient) == pytest.approx(1.30, abs=5e-3)
    front, rear = load_transfer(axles, 0.26, G, softening=False)
    assert 100 * front.elastic / (front.elastic + rear.elastic) == pytest.approx(53.8, abs=0.05)


def test_roll_gradient_with_gravity_softening() -> None:
    # Barton and Fieldhouse, Automotive Chassis Engineering, Springer 2018, eq 3.18, page 174 (g = 9.81 there).
    axles = (light(28_650 / 2, 640), light(28_650 / 2, 640))
    hard, soft = (roll_gradient(axles, 0.365, softening) for softening in (False, True))
    assert soft == pytest.approx(0.0194, abs=5e-5)
    assert np.degrees(soft * G) == pytest.approx(10.9, abs=0.05)
    assert soft / hard == pytest.approx(28_650 / (28_650 - 1280 * 9.80665 * 0.365), rel=1e-12)


def test_load_transfer_by_parts_and_a_sum_that_the_book_misses() -> None:
    # The same page: 0.6 g on a track of 1.46 m. Its front total, 1919 N, is not the sum of its parts, 1909 N.
    a = 0.6 * G
    front = RollingAxle(1280 * 0.54, 140, 0.07, 0.28, 1.46, 1.0)
    rear = RollingAxle(1280 * 0.46, 180, 0.32, 0.30, 1.46, 1.0)
    shifts = load_transfer((front, rear), 0.365, a)
    assert [shift.geometric for shift in shifts] == pytest.approx([195, 760], abs=1.0)
    assert [shift.unsprung for shift in shifts] == pytest.approx([158, 218], abs=0.5)
    totals = [Transfer(195, 1556, 158).total, Transfer(760, 671, 218).total]
    assert totals == [1909, 1649]
    assert totals[0] != 1919


def exercise_18(front_share: float = 0.45) -> tuple[RollingAxle, RollingAxle]:
    sprung, unsprung = 6900 / G, 450 / G
    return (
        RollingAxle(sprung * front_share, unsprung, 0.040, 0.32, 1.58, 44_000),
        RollingAxle(sprung * (1 - front_share), unsprung, 0.070, 0.32, 1.58, 38_000),
    )


def test_complete_load_transfer() -> None:
    # Study notes, chapter 18, exercises 18.2 and 18.3: 1.5 g, no softening. They round on the way and cut
    # W a h / t = 2336.87 N to 2336.8 N.
    axles = exercise_18()
    assert roll_arm(axles, 0.315) == pytest.approx(0.2585, abs=5e-5)
    front, rear = load_transfer(axles, 0.315, 1.5 * G, softening=False)
    assert (front.geometric, front.elastic, front.unsprung) == pytest.approx((117.9, 908.7, 136.7), abs=0.1)
    assert (rear.geometric, rear.elastic, rear.unsprung) == pytest.approx((252.2, 784.7, 136.7), abs=0.1)
    assert front.total == pytest.approx(1163.3, abs=0.1)
    assert rear.total == pytest.approx(1173.6, abs=0.1)
    assert 100 * front.total / (front.total + rear.total) == pytest.approx(49.8, abs=0.05)
    # It sums to W a h / t of the whole car.
    whole = 6900 * 0.315 + 2 * 450 * 0.32
    assert front.total + rear.total == pytest.approx(whole * 1.5 / 1.58, rel=1e-12)
    assert front.total + rear.total == pytest.approx(2336.9, abs=0.05)


def test_weight_on_the_wrong_axle_moves_the_roll_axis() -> None:
    # The same notes, exercise 17.2, take 46 % in front for 46 % of the wheelbase behind the front axle: the roll axis
    # is then read at the wrong place. 18.2 has it right, and so has `roll_arm`.
    right, wrong = (roll_arm(exercise_18(share), 0.315) for share in (0.46, 0.54))
    assert right == pytest.approx(0.315 - (0.46 * 0.040 + 0.54 * 0.070))
    assert abs(right - wrong) > 2e-3
    # The book's mistake: 0.46 of the way from the front roll centre to the rear one.
    assert right != pytest.approx(0.315 - (0.040 + 0.46 * (0.070 - 0.040)), abs=1e-3)


def test_warp_of_the_same_car() -> None:
    # Statics; no source needed.
    assert warp_stiffness(44_000.0, 38_000.0) == pytest.approx(20_390, abs=0.5)


def test_rolling_on_tyres_against_every_moment_in_one_system() -> None:
    # Statics; no source needed: body and two axles as three angles, solved at once.
    axles = (RollingAxle(300, 90, 0.04, 0.33, 1.6, 60e3, 330e3), RollingAxle(380, 100, 0.09, 0.34, 1.55, 40e3, 300e3))
    height, a, g = 0.45, 9.0, 9.80665
    mass = sum(axle.sprung_mass for axle in axles)
    arm = roll_arm(axles, height)
    k = np.array([axle.stiffness for axle in axles])
    tyres = np.array([axle.tyres for axle in axles])
    matrix = np.diag([k.sum() - mass * g * arm, *(k + tyres)])
    matrix[0, 1:] = matrix[1:, 0] = -k
    angles = np.linalg.solve(matrix, [mass * a * arm, *(a * axle.direct_moment for axle in axles)])
    assert roll_gradient(axles, height) * a == pytest.approx(angles[0], rel=1e-12)
    shifts = load_transfer(axles, height, a)
    assert [shift.total * axle.track for shift, axle in zip(shifts, axles, strict=True)] == pytest.approx(
        list(tyres * angles[1:]), rel=1e-12
    )


@pytest.mark.parametrize("tyres", [np.inf, 400e3])
def test_stiffness_asked_gives_the_gradient_asked(tyres: float) -> None:
    shares, gradient = (0.53, 0.47), np.radians(1.2) / 9.80665
    asked = (RollingAxle(300, 90, 0.04, 0.33, 1.6, 1.0, tyres), RollingAxle(380, 100, 0.09, 0.34, 1.55, 1.0, tyres))
    whole = stiffness_for(asked, 0.45, gradient, shares)
    made = tuple(
        RollingAxle(
            axle.sprung_mass,
            axle.unsprung_mass,
            axle.roll_centre,
            axle.unsprung_height,
            axle.track,
            without_tyre(share * whole, tyres) if np.isfinite(tyres) else share * whole,
            tyres,
        )
        for axle, share in zip(asked, shares, strict=True)
    )
    assert sum(axle.ride_stiffness for axle in made) == pytest.approx(whole, rel=1e-12)
    assert roll_gradient(made, 0.45) == pytest.approx(gradient, rel=1e-12)


def test_what_cannot_stand_has_no_gradient() -> None:
    assert np.isnan(roll_gradient((light(1000, 640), light(1000, 640)), 0.365))
    assert np.isnan(stiffness_for((RollingAxle(300, 90, 0.04, 0.33, 1.6, 1.0, 10.0),), 0.45, 1e-3, (1.0,)))
