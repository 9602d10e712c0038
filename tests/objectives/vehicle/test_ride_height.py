"""Ride height against speed: the balance against the least of the potential energy, and its limits."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from geometry.motion import move
from geometry.travel import heave_states
from objectives.fittings.springs import CarriesWeight, CoilSpring
from objectives.strain import strain
from objectives.vehicle.aero import effective_rate
from objectives.vehicle.car import CarAxle, carrying
from objectives.vehicle.ride_height import ride_height
from tests.sprung import front_axle, rear_axle

MASS = 228.6


def energy(axle: CarAxle, h: float, load: float) -> float:
    static = move(axle.axle, heave_states(np.zeros(1)))
    held = strain(axle.axle, carrying(axle, MASS), move(axle.axle, heave_states(np.array([h]))), static).energy
    return float(held[0]) - load * h


@pytest.mark.parametrize("axle", [front_axle(), rear_axle()])
def test_the_balance_is_the_least_of_the_energy(axle: CarAxle) -> None:
    loads = np.array([0.0, 900.0, 4000.0, 8000.0])
    found = ride_height(axle, carrying(axle, MASS), loads)
    weight = 2 * MASS * 9.80665
    for h, load in zip(found.travel, loads, strict=True):
        best = minimize_scalar(
            lambda x, load=load: energy(axle, x, weight + load),
            bounds=(-5, 40),
            method="bounded",
            options={"xatol": 1e-7},
        )
        assert h == pytest.approx(best.x, abs=2e-4)
    np.testing.assert_allclose(found.tyre, loads / (2 * axle.tyre_rate), rtol=1e-12)
    pressed = found.strain.by_left + found.strain.by_right
    np.testing.assert_allclose(pressed, weight + loads, atol=1e-6)
    assert (np.diff(found.rate) > 0).all()


def test_small_loads_sink_by_the_ride_rate() -> None:
    axle = front_axle()
    found = ride_height(axle, carrying(axle, MASS), np.array([2.0]))
    rate = found.rate[0] * axle.tyre_rate / (found.rate[0] + axle.tyre_rate)
    assert found.sink[0] == pytest.approx(1.0 / rate, rel=1e-4)


def test_the_coil_goes_solid_and_the_axle_hardly_sinks_on() -> None:
    axle = front_axle(rubber=False)
    short = CoilSpring("heave", np.array(220.0), CarriesWeight(), np.array(190.0), np.array(155.0))
    axle = replace(axle, fittings=replace(axle.fittings, springs={**axle.fittings.springs, "heave": short}))
    found = ride_height(axle, carrying(axle, MASS), np.array([1000.0, 12000.0, 20000.0]))
    solid = found.strain.elements["heave"].solid
    assert not solid[0]
    assert solid[1:].all()
    assert found.travel[2] - found.travel[1] < 0.5


def test_a_load_beyond_the_travel_has_no_balance() -> None:
    axle = front_axle(rubber=False)
    loose = CoilSpring("heave", np.array(220.0), CarriesWeight())
    axle = replace(axle, fittings=replace(axle.fittings, springs={"heave": loose}))
    found = ride_height(axle, carrying(axle, MASS), np.array([1000.0, 60000.0]))
    assert np.isfinite(found.travel[0])
    assert np.isnan([found.travel[1], found.sink[1], found.rate[1], found.downforce[1]]).all()


def test_downforce_that_grows_with_sinking_closes_its_loop() -> None:
    axle, gain = front_axle(rubber=False), 0.01
    start = np.array([800.0, 3000.0])
    found = ride_height(axle, carrying(axle, MASS), start, gain)
    np.testing.assert_allclose(found.downforce, start * (1 + gain * found.sink), rtol=1e-9)
    pressed = found.strain.by_left + found.strain.by_right
    np.testing.assert_allclose(pressed, 2 * MASS * 9.80665 + found.downforce, atol=1e-5)
    # For little of it, the closed loop of the linear rate.
    rate = 2 * found.rate[0] * axle.tyre_rate / (found.rate[0] + axle.tyre_rate)
    assert found.sink[0] == pytest.approx(start[0] / effective_rate(rate, gain * start[0]), rel=0.02)


def test_downforce_that_outgrows_the_springs_has_no_balance() -> None:
    axle = front_axle(rubber=False)
    found = ride_height(axle, carrying(axle, MASS), np.array([500.0, 60000.0, 4000.0]), 0.05)
    assert np.isfinite(found.travel[0])
    assert np.isnan(found.downforce[1:]).all()
    assert np.isnan(found.travel[1:]).all(), "the tyres alone do not hold the second, the springs not the third"
