"""Buckling of the rod's tube: where Euler holds, where Johnson does, and that they meet."""

import numpy as np
import pytest

from objectives.fittings.loads import RodTube
from objectives.loads.buckling import buckling_load, euler_load, johnson_load, transition, tube_section

TUBE = RodTube(outer=20.0, wall=2.0, modulus=205000.0, yield_stress=700.0)


def slender(tube: RodTube, length: float) -> float:
    section = tube_section(tube)
    return float(length / np.sqrt(section.second_moment / section.area))


def test_a_pushrod_is_short_and_johnson_holds() -> None:
    length = np.asarray(400.0)
    assert slender(TUBE, 400.0) < transition(TUBE.modulus, TUBE.yield_stress)
    load = buckling_load(TUBE, length)
    section = tube_section(TUBE)
    assert load < euler_load(TUBE.modulus, section.second_moment, length)
    assert load < section.area * TUBE.yield_stress
    parabola = johnson_load(TUBE.modulus, TUBE.yield_stress, section.area, np.asarray(slender(TUBE, 400.0)))
    np.testing.assert_allclose(load, parabola, rtol=1e-14)


def test_the_two_touch_at_the_transition() -> None:
    # Both give half the yield load there, with one slope: no jump and no kink for a search to stumble over.
    section = tube_section(TUBE)
    critical = transition(TUBE.modulus, TUBE.yield_stress) * np.sqrt(section.second_moment / section.area)
    half = section.area * TUBE.yield_stress / 2
    step = 1e-3
    below, at, above = (float(buckling_load(TUBE, np.asarray(critical + by))) for by in (-step, 0.0, step))
    assert at == pytest.approx(half, rel=1e-12)
    assert (at - below) / step == pytest.approx((above - at) / step, rel=1e-5)


def test_a_long_rod_follows_euler_and_never_johnson_beyond() -> None:
    # Beyond the transition the parabola lies below Euler's curve and falls through nothing: it no longer holds.
    section = tube_section(TUBE)
    length = np.array([600.0, 900.0, 2000.0])
    assert slender(TUBE, 600.0) > transition(TUBE.modulus, TUBE.yield_stress)
    np.testing.assert_array_equal(buckling_load(TUBE, length), euler_load(TUBE.modulus, section.second_moment, length))


def test_a_solid_bar_is_a_tube_whose_wall_is_its_radius() -> None:
    section = tube_section(RodTube(outer=10.0, wall=5.0, modulus=1.0, yield_stress=1.0))
    assert section.area == pytest.approx(np.pi * 25.0, rel=1e-15)
    assert section.second_moment == pytest.approx(np.pi * 5.0**4 / 4, rel=1e-15)
