"""Buckling of columns against published examples: half of the last printed digit."""

import numpy as np
import pytest

from objectives.fittings.loads import RodTube
from objectives.loads.buckling import buckling_load, euler_load, johnson_load, transition, tube_section

TUBE = RodTube(outer=44.5, wall=2.5, modulus=200e3, yield_stress=324.0)
"""A tube of 44.5 mm by 2.5 mm, E = 200 GPa, yield stress 324 MPa: a worked example of column design whose inputs are
published; its results were computed again from them, by the formulas alone."""


def test_section_of_the_tube() -> None:
    section = tube_section(TUBE)
    assert section.second_moment == pytest.approx(72993.4, abs=0.05)
    assert section.area == pytest.approx(329.867, abs=0.0005)


@pytest.mark.parametrize(("length", "euler", "rankine"), [(2700.0, 19764.5, 16679.9), (1500.0, 64037.0, 40044.0)])
def test_euler_and_rankine_loads_of_the_tube(length: float, euler: float, rankine: float) -> None:
    # Rankine: 1 / P = 1 / P_E + 1 / (A S).
    section = tube_section(TUBE)
    load = float(euler_load(TUBE.modulus, section.second_moment, np.asarray(length)))
    assert load == pytest.approx(euler, abs=0.05)
    assert 1 / (1 / load + 1 / (section.area * TUBE.yield_stress)) == pytest.approx(rankine, abs=0.05)


def test_the_short_tube_is_no_euler_column() -> None:
    # Shigley, Mechanical Engineering Design, ch. 4, from memory: below (L/k)_1 = sqrt(2 pi^2 C E / S) the parabola.
    assert transition(TUBE.modulus, TUBE.yield_stress) == pytest.approx(np.sqrt(2 * np.pi**2 * 200e3 / 324), rel=1e-15)
    section = tube_section(TUBE)
    radius = np.sqrt(section.second_moment / section.area)
    long, short = 2700.0 / radius, 1500.0 / radius
    assert short < transition(TUBE.modulus, TUBE.yield_stress) < long
    assert buckling_load(TUBE, np.asarray(2700.0)) == pytest.approx(19764.5, abs=0.05)
    parabola = 329.867 * (324 - (324 * short / (2 * np.pi)) ** 2 / 200e3)
    assert buckling_load(TUBE, np.asarray(1500.0)) == pytest.approx(parabola, rel=1e-5)
    assert buckling_load(TUBE, np.asarray(1500.0)) < 64037.0
    assert johnson_load(200e3, 324.0, 1.0, np.asarray(0.0)) == 324.0


def test_square_timber_of_a_textbook() -> None:
    # F. P. Beer, E. R. Johnston, Mechanics of Materials, ex. 10.1, from memory: a pinned square column of 2 m,
    # E = 12.5 GPa, is to carry 100 kN with a factor of safety of 2.5: sides of 99.3 mm.
    side = 99.3
    assert euler_load(12.5e3, side**4 / 12, np.asarray(2000.0)) == pytest.approx(250e3, rel=4 * 0.05 / side)
    exact = (12 * 250e3 * 2000.0**2 / (np.pi**2 * 12.5e3)) ** 0.25
    assert exact == pytest.approx(99.3, abs=0.05)
    assert euler_load(12.5e3, exact**4 / 12, np.asarray(2000.0)) == pytest.approx(250e3, rel=1e-12)
