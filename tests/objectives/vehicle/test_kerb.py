"""A kerb under one wheel, its springs as they are: against the linear car, and against the least of the energy."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.motion import move
from geometry.travel import AxleStates, heave_states
from objectives.fittings.springs import CarriesWeight, CoilSpring
from objectives.strain import strain
from objectives.vehicle.car import CarAxle, carrying
from objectives.vehicle.car_state import car_at_static
from objectives.vehicle.kerb import strike_wheel
from tests.sprung import car, front_axle, rear_axle

MASS = 228.6


def energy(axle: CarAxle, z: Array, height: float) -> float:
    """Of springs, weight and tyres, the body still."""
    static = move(axle.axle, heave_states(np.zeros(1)))
    motion = move(axle.axle, AxleStates(z[:1], z[1:], np.zeros(1)))
    fitted = carrying(axle, MASS)
    rest = strain(axle.axle, fitted, static, static)
    held = float(strain(axle.axle, fitted, motion, static).energy[0])
    held -= float(rest.by_left[0] * z[0] + rest.by_right[0] * z[1])
    return held + 0.5 * axle.tyre_rate * float((height - z[0]) ** 2 + z[1] ** 2)


@pytest.mark.parametrize("axle", [front_axle(), rear_axle()])
def test_a_kerb_is_met_with_the_least_energy(axle: CarAxle) -> None:
    # High enough for the rubber in the heave strut to be met.
    found = strike_wheel(axle, carrying(axle, MASS), 60.0)
    step = 0.02
    here = energy(axle, found.travel, 60.0)
    for way in np.eye(2):
        ahead, behind = (energy(axle, found.travel + sign * step * way, 60.0) for sign in (1, -1))
        curve = (ahead - 2 * here + behind) / step**2
        assert curve > 0
        assert abs(ahead - behind) / (2 * step) / curve < 1e-4, "the least lies within 1e-4 mm"


def test_a_low_kerb_is_that_of_the_linear_car() -> None:
    state = car_at_static(car())
    low = 0.01
    wheels = state.system.keep(state.system.names[3:])
    tyres = np.diagonal(wheels.ground)
    ground = np.array([low, 0.0, 0.0, 0.0]) * 1e-3
    linear = np.linalg.solve(wheels.stiffness, tyres * ground)
    found = strike_wheel(state.car.front, carrying(state.car.front, state.masses.per_wheel[0]), low)
    np.testing.assert_allclose(found.force, (tyres * (ground - linear))[:2], rtol=1e-3)
    np.testing.assert_allclose(found.travel, 1e3 * linear[:2], rtol=1e-3)


def test_a_solid_coil_leaves_the_kerb_to_the_tyre() -> None:
    axle = front_axle(rubber=False)
    short = CoilSpring("heave", np.array(220.0), CarriesWeight(), np.array(190.0), np.array(168.0))
    axle = replace(axle, fittings=replace(axle.fittings, springs={**axle.fittings.springs, "heave": short}))
    found = strike_wheel(axle, carrying(axle, MASS), 30.0)
    free = strike_wheel(front_axle(rubber=False), carrying(front_axle(), MASS), 30.0)
    assert found.strain.elements["heave"].solid[0]
    assert not free.strain.elements["heave"].solid[0]
    assert found.force[0] > 1.05 * free.force[0]


def test_a_kerb_beyond_what_the_axle_can_do_is_not_met() -> None:
    axle = front_axle(rubber=False)
    soft = CoilSpring("heave", np.array(1.0), CarriesWeight())
    loose = replace(axle, fittings=replace(axle.fittings, springs={"heave": soft}))
    found = strike_wheel(loose, carrying(loose, MASS), 400.0)
    assert np.isnan(found.travel).all()
    assert np.isnan(found.force).all()
