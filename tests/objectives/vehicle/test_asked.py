"""From targets back: fit what was asked for, and the car meets its targets."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Mode
from objectives.vehicle.asked import AskedRate, asked_rates
from objectives.vehicle.asked_dampers import asked_dampers, corner_of
from objectives.vehicle.car import Targets
from objectives.vehicle.car_state import car_at_static
from objectives.vehicle.damping import per_wheel
from objectives.vehicle.modes import modes
from objectives.vehicle.rates import frequency
from objectives.vehicle.transfer import GRAVITY, roll_gradient
from tests.sprung import car, corner_axle, front_axle, rear_axle

TARGETS = Targets(3.4, 3.1, 1.2, 0.53, 0.7, 0.5, (180.0, 220.0))


def by_name(asked: tuple[AskedRate, ...]) -> dict[tuple[str, Mode], AskedRate]:
    return {(one.end, one.mode): one for one in asked}


def test_springs_asked_for_meet_the_targets() -> None:
    asked = by_name(asked_rates(car_at_static(car(targets=TARGETS))))
    heave, roll = ([asked[end, mode].element_rate for end in ("front", "rear")] for mode in (Mode.HEAVE, Mode.ROLL))
    # An opposed pair has twice the rate of each.
    made = car_at_static(car(front_axle(heave[0], roll[0] / 2), rear_axle(heave[1], roll[1] / 2)))
    for end, hertz in enumerate((3.4, 3.1)):
        assert frequency(made.ride_rate(end, Mode.HEAVE), made.masses.per_wheel[end]) == pytest.approx(hertz, rel=1e-6)
    gradient = np.degrees(roll_gradient(made.rolling, made.masses.height * 1e-3) * GRAVITY)
    # The heave strut's geometric part in roll stays as it is, for its static force does.
    assert gradient == pytest.approx(1.2, rel=1e-6)
    front, rear = made.ride_roll_stiffness
    assert front / (front + rear) == pytest.approx(0.53, rel=1e-6)


def test_ratio_for_a_spring_gives_the_same_spring_part() -> None:
    for one in asked_rates(car_at_static(car(targets=TARGETS))):
        assert [rate for rate, _ in one.ratios] == [180.0, 220.0]
        asked = one.present_rate * one.ratio_asked**2
        assert asked == pytest.approx(one.element_rate * one.ratio**2, rel=1e-9)
        for rate, ratio in one.ratios:
            assert rate * ratio**2 / 2 == pytest.approx(one.element_rate * one.ratio**2 / 2, rel=1e-9)
        assert one.wheel_rate == pytest.approx(one.geometric + one.element_rate * one.ratio**2 / 2, abs=0.02)


def test_a_ride_rate_above_the_tyres_is_told() -> None:
    stiff = Targets(front_heave_frequency=6.0, roll_gradient=0.2)
    asked = by_name(asked_rates(car_at_static(car(targets=stiff))))
    heave = asked["front", Mode.HEAVE]
    assert heave.ride_rate > heave.tyre_rate
    assert np.isinf(heave.wheel_rate)
    assert np.isnan(heave.element_rate)
    assert heave.tyre_rules
    # The tyres' own roll is more than this gradient: there is no rate at all.
    assert np.isinf(asked["front", Mode.ROLL].wheel_rate)


def test_only_what_is_asked_is_told() -> None:
    assert asked_rates(car_at_static(car())) == ()
    only = asked_rates(car_at_static(car(targets=Targets(rear_heave_frequency=3.0))))
    assert [(one.end, one.mode) for one in only] == [("rear", Mode.HEAVE)]
    share = asked_rates(car_at_static(car(targets=Targets(front_roll_share=0.6))))
    state = car_at_static(car())
    total = sum(one.ride_rate * axle.track**2 / 2 * 1e-3 for one, axle in zip(share, state.axles, strict=True))
    assert total == pytest.approx(sum(state.ride_roll_stiffness), rel=1e-9)


def test_a_corner_spring_counts_in_full() -> None:
    state = car_at_static(car(front_end=corner_axle(), targets=Targets(front_heave_frequency=3.0)))
    (one,) = asked_rates(state)
    assert one.element == "corner"
    assert one.wheel_rate == pytest.approx(one.geometric + one.element_rate * one.ratio**2, rel=1e-9)


def test_dampers_asked_for_have_the_handbooks_ratio() -> None:
    state = car_at_static(car(targets=TARGETS))
    for one in asked_dampers(state):
        end = ("front", "rear").index(one.end)
        assert one.asked == (0.7 if one.mode is Mode.HEAVE else 0.5)
        assert one.wheel == pytest.approx(one.asked * state.critical[end][one.mode])
        block = state.axles[end].pulls[one.element].block * one.coefficient
        assert per_wheel(block, one.mode) == pytest.approx(one.wheel, rel=1e-9)


def test_no_damper_damps_more_than_the_best() -> None:
    state = car_at_static(car(targets=TARGETS))
    front = asked_dampers(state)[0]
    tried = [modes(corner_of(state, 0, Mode.HEAVE, ratio)).ratio[0] for ratio in np.geomspace(0.1, 5, 60)]
    assert max(tried) <= front.best + 1e-6
    assert front.best == pytest.approx(max(tried), rel=1e-3)
    assert front.true_asked is not None
    assert front.true_asked < front.best < 0.7


def test_on_a_stiff_tyre_the_handbooks_ratio_is_the_true_one() -> None:
    one = car(targets=TARGETS)
    stiff = [replace(axle, tyre_rate=1e6, unsprung=0.01) for axle in one.axles]
    for found in asked_dampers(car_at_static(replace(one, front=stiff[0], rear=stiff[1]))):
        assert found.true_asked == pytest.approx(found.asked, rel=2e-3)


def test_the_quarter_car_has_the_axles_frequency_in_roll() -> None:
    state = car_at_static(car())
    car_roll = np.sqrt(sum(state.ride_roll_stiffness) / 310)
    for end in (0, 1):
        assert modes(corner_of(state, end, Mode.ROLL, 0.0)).frequency[0] == pytest.approx(car_roll, rel=0.02)
