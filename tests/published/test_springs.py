"""Springs, bars and dampers against published examples; each number beside its source.

Book numbers to half their last digit. Where the source's own number is wrong, the test says so and holds the right one.
"""

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.squeeze import Squeeze
from objectives.fittings.dampers import DamperCurve
from objectives.fittings.damping import damper_law
from objectives.fittings.forces import knee_at, law_of, slack_at, solid_at
from objectives.fittings.installed import Installed
from objectives.fittings.law import Law, side_by_side, straight
from objectives.fittings.sizing import bar_rate, coil_rate, coil_room, coil_stress, polar_moment, wahl_factor
from objectives.fittings.springs import BarSpring, CoilSpring, CurveSpring, OpposedSprings, SeriesSprings, Spring
from objectives.rate_figures import PER_DEGREE
from objectives.strain import ElementStrain
from objectives.vehicle.rates import frequency
from tests.on_springs import number

POUND_FORCE, INCH = 4.4482216152605, 25.4
"""[N], [mm]."""
SHEAR = 81_370.0
"""Shear modulus in Bhandari's examples [N/mm^2]."""


def at_constant_ratio(
    law: Law, by_left: float, by_right: float = 0.0, bend: float = 0.0, z: float = 0.0
) -> ElementStrain:
    """Springs on an element squeezed by (by_left + bend z / 2) z of the left wheel and by `by_right` of the right."""
    none = np.zeros(1)
    squeeze = Squeeze(
        compression=np.array([by_left * z + 0.5 * bend * z * z]),
        by_left=np.array([by_left + bend * z]),
        by_right=np.array([by_right]),
        status=np.zeros(1, dtype=np.int8),
        _bend=lambda: (np.array([bend]), none, none),
    )
    return ElementStrain(Installed(law, number(-np.inf), number(np.inf), number(np.inf)), squeeze)


def force(spring: Spring, c: float) -> float:
    return float(law_of(spring).force(np.array([c]))[0])


def wheel_rate(strain: ElementStrain) -> float:
    return float((strain.spring + strain.geometric).left[0])


# Ride rates -----------------------------------------------------------------------------------------------------------


def test_a_lever_changes_a_rate_by_its_square() -> None:
    # Barton and Fieldhouse, Automotive Chassis Engineering, Springer 2018, eq 3.29 to 3.33, page 178: k (c / b)^2.
    strain = at_constant_ratio(straight(number(0.0), number(120.0)), 0.31 / 0.50)
    assert wheel_rate(strain) == pytest.approx(120 * (0.31 / 0.50) ** 2)
    # Study notes to Milliken and Milliken, Race Car Vehicle Dynamics, chapter 16, exercise 16.1: 46.13 N/mm.
    assert wheel_rate(strain) == pytest.approx(46.13, abs=5e-3)


@pytest.mark.parametrize(("bend", "sign"), [(0.004, 1.0), (-0.004, -1.0)])
def test_a_loaded_spring_on_a_rising_ratio_makes_the_rate_rise(bend: float, sign: float) -> None:
    # Milliken and Milliken, chapter 16, as study notes give it: K = k IR^2 + F dIR/dz, with IR = element / wheel.
    strain = at_constant_ratio(straight(number(2500.0), number(120.0)), 0.62, bend=bend, z=10.0)
    ratio = 0.62 + 10 * bend
    loaded = 2500 + 120 * (6.2 + 50 * bend)
    assert strain.spring.left[0] == pytest.approx(120 * ratio**2)
    assert strain.geometric.left[0] == pytest.approx(loaded * bend)
    assert np.sign(strain.geometric.left[0]) == sign
    # Written with the inverse ratio, wheel / spring: K = k / MR^2 - (F / MR^2) dMR/dz.
    inverse, slope = 1 / ratio, -bend / ratio**2
    assert wheel_rate(strain) == pytest.approx(120 / inverse**2 - loaded / inverse**2 * slope)


def test_a_progressive_law_keeps_its_frequency() -> None:
    # Barton and Fieldhouse, eq 3.22 to 3.28, page 177: W = W_s exp((x - x_s) / delta) has f = sqrt(g / delta) / 2 pi.
    x = np.linspace(0.0, 60.0, 60_001)
    load = 2000.0 * np.expm1(x / 100.0)
    law = law_of(CurveSpring("e", number(0.0), np.stack([x, load], axis=-1)))
    for at in (5.0005, 20.0005, 50.0005):
        carried = 2000.0 + float(law.force(np.array([at]))[0])
        hertz = frequency(float(law.slope(np.array([at]))[0]), carried / 9.80665)
        assert hertz == pytest.approx(np.sqrt(9.80665 / 0.1) / (2 * np.pi), rel=1e-6)
        assert hertz == pytest.approx(1.576, abs=5e-4)
    # The old rule 188 / sqrt(inches) in cycles a minute, from memory: 59.45 at 10 in; by the formula 59.4.
    assert 60 * np.sqrt(9.80665 / 0.254) / (2 * np.pi) == pytest.approx(59.4, abs=0.1)
    assert pytest.approx(59.45, abs=5e-3) == 188 / np.sqrt(10)


def test_an_axle_of_a_heave_and_a_roll_strut() -> None:
    # Energy; no source needed: strokes 0.45 (z_l + z_r) and 0.5 (z_l - z_r) on 200 and 150 N/mm, track 1.6 m.
    heave = at_constant_ratio(straight(number(0.0), number(200.0)), 0.45, 0.45).spring
    roll = at_constant_ratio(straight(number(0.0), number(150.0)), 0.5, -0.5).spring
    both = heave + roll
    assert float(both.heave[0]) == pytest.approx(81.0)
    assert float(both.roll[0]) == pytest.approx(75.0)
    assert float(both.one_wheel[0]) == pytest.approx(78.0)
    assert float(both.cross[0]) == pytest.approx(0.0, abs=1e-12)
    assert float(both.roll[0]) * 1600**2 / 2 * PER_DEGREE == pytest.approx(96_000 * np.pi / 180)


# Bars -----------------------------------------------------------------------------------------------------------------


def bar_roll_stiffness(rate: float, ratio: float, arm: float, track: float) -> float:
    """Roll stiffness [N.m/rad] of a bar [N.m/rad] between arms [mm], each link moving by `ratio` of its wheel."""
    spring = BarSpring("e", number(rate * np.pi / 180.0))
    strain = at_constant_ratio(law_of(spring), ratio / arm, -ratio / arm)
    per_wheel = float(strain.spring.roll[0])
    return per_wheel * track**2 / 2 * PER_DEGREE * 180 / np.pi


def test_a_bar_between_its_arms_is_twice_what_a_spring_at_each_wheel_would_be() -> None:
    # Energy: K_phi = k (IR t / r)^2, with k between the arms. Study notes, chapter 16, exercise 16.3, get 25 951: they
    # take k / r^2 for a spring of its own at each wheel, and are a factor of 2 short.
    stiffness = bar_roll_stiffness(2200.0, 0.85, 280.0, 1600.0)
    assert stiffness == pytest.approx(2200 * (0.85 * 1.6 / 0.28) ** 2)
    assert stiffness == pytest.approx(51_902, abs=0.5)
    assert stiffness != pytest.approx(25_951, rel=0.4)
    assert stiffness / 2 == pytest.approx(25_951, abs=0.5)


def test_a_bar_held_in_the_middle_is_two_of_twice_the_rate() -> None:
    # The half-bar reading: each half, clamped at the middle, is a spring of its own at each wheel; both agree.
    whole = bar_rate(26.0, 18.0, 900.0, 79_000.0)
    half = bar_rate(26.0, 18.0, 450.0, 79_000.0)
    assert half == pytest.approx(2 * whole)
    at_each_wheel = half / 1000 * (0.85 / 0.28) ** 2 * 1.6**2 / 2
    assert bar_roll_stiffness(whole / 1000, 0.85, 280.0, 1600.0) == pytest.approx(at_each_wheel)


def test_a_hollow_bar() -> None:
    # Study notes, chapter 21, exercise 21.5. Its J = 3.4556e-8 m^4 is 3.4558e-8 by its own formula; its rate is right.
    assert polar_moment(26.0, 18.0) == pytest.approx(np.pi * (26**4 - 18**4) / 32)
    assert polar_moment(26.0, 18.0) == pytest.approx(3.4558e4, abs=0.5)
    rate = bar_rate(26.0, 18.0, 900.0, 79_000.0)
    assert rate / 1000 == pytest.approx(3033, abs=0.5)
    # The notes round the rate before they go on.
    assert pytest.approx(48_528, abs=0.5) == 3033 / 0.25**2
    assert rate / 250.0**2 * 1000 == pytest.approx(48_528, abs=8)


def test_a_bar_in_inches() -> None:
    # A. Staniforth, Race and Rally Car Source Book, as quoted: 1e4 T^2 K^2 (D^4 - d^4) / (R^2 L / 2) [lb.in per degree
    # of roll]. Its constant is rounded: 2.4 % from the energy, with G = 11.4e6 psi. Read with L it is half of it.
    track, ratio, arm, outer, inner, length = 60.0, 0.8, 9.0, 1.0, 0.75, 36.0
    book = 1e4 * track**2 * ratio**2 * (outer**4 - inner**4) / (arm**2 * length / 2)
    psi = POUND_FORCE / INCH**2
    rate = bar_rate(outer * INCH, inner * INCH, length * INCH, 11.4e6 * psi) / 1000
    ours = np.radians(bar_roll_stiffness(rate, ratio, arm * INCH, track * INCH)) * 1000 / (POUND_FORCE * INCH)
    assert book / ours == pytest.approx(1.024, abs=5e-4)
    assert book / 2 / ours == pytest.approx(0.512, abs=5e-4)


# Coils ----------------------------------------------------------------------------------------------------------------


def test_a_coil_of_music_wire() -> None:
    # J. E. Shigley, Mechanical Engineering Design, helical compression spring, from memory: 4.13 lbf/in.
    assert coil_rate(0.037, 0.400, 10.5, 11.85e6) == pytest.approx(4.13, abs=5e-3)


def test_a_calculation_sheet_after_the_standard() -> None:
    # A spring maker's sheet following DIN EN 13906-1; it rounds the room up.
    assert coil_rate(5.0, 34.6, 9.5, 81_500.0) == pytest.approx(16.181, abs=5e-4)
    assert pytest.approx(6.92, abs=5e-3) == 34.6 / 5.0
    assert 280 / coil_rate(5.0, 34.6, 9.5, 81_500.0) == pytest.approx(17.3, abs=0.05)
    assert pytest.approx(88.5, abs=0.05) == 105.8 - 280 / 16.181
    assert coil_room(5.0, 34.6, 9.5, dynamic=False) == pytest.approx(8.162, abs=5e-4)
    assert np.ceil(10 * coil_room(5.0, 34.6, 9.5)) / 10 == 12.3


def test_a_coil_for_a_force_and_a_deflection() -> None:
    # V. B. Bhandari, Design of Machine Elements, example 10.1: 1250 N, index 6, 7 mm wire, 8 of 10 coils work.
    rate = coil_rate(7.0, 42.0, 8.0, SHEAR)
    assert rate == pytest.approx(41.20, abs=5e-3)
    assert 1250 / rate == pytest.approx(30.34, abs=5e-3)
    # Free length 109.34 mm with a gap of 1 mm between ten coils, solid 70 mm: what is left under load is those 9 mm.
    spring = CoilSpring("e", number(rate), number(1250.0), number(109.34), number(70.0))
    assert solid_at(spring) == pytest.approx(9.0, abs=5e-3)
    # Example 10.2.
    assert coil_rate(11.0, 55.0, 5.0, SHEAR) == pytest.approx(179.014, abs=5e-4)


def test_a_second_coil_that_comes_in_after_a_gap() -> None:
    # Bhandari, example 10.19: free lengths 15 mm apart, 1000 N together.
    outer, inner = coil_rate(6.0, 36.0, 10.0, SHEAR), coil_rate(5.0, 30.0, 8.0, SHEAR)
    assert (outer, inner) == pytest.approx((28.2535, 29.4307), abs=5e-5)
    first = CoilSpring("e", number(outer), number(0.0))
    second = CurveSpring("e", number(15.0), np.array([[0.0, 0.0], [10.0, 10 * inner]]))
    both = side_by_side([law_of(first), law_of(second)])
    at = 24.98884
    assert both.force(np.array([at]))[0] == pytest.approx(1000, abs=5e-4)
    assert force(first, at) == pytest.approx(706.0215, abs=2e-4)
    assert force(second, at) == pytest.approx(293.9785, abs=2e-4)
    assert force(second, 15.0) == 0.0
    assert coil_stress(706.0215, 6.0, 36.0) == pytest.approx(375.31, abs=5e-3)
    assert coil_stress(293.9785, 5.0, 30.0) == pytest.approx(225.03, abs=5e-3)


def test_a_coil_and_its_stress() -> None:
    # Study notes, chapter 21, exercises 21.1 and 21.2.
    assert coil_rate(14.0, 76.0, 7.0, 79_000.0) == pytest.approx(123.5, abs=0.1)
    assert pytest.approx(5.43, abs=5e-3) == 76 / 14
    assert wahl_factor(14.0, 76.0) == pytest.approx(1.283, abs=5e-4)
    assert coil_stress(6000.0, 14.0, 76.0) == pytest.approx(543, abs=0.5)


def test_two_opposed_springs_that_cannot_pull() -> None:
    # Statics; no source needed. 100 N/mm each, preloaded by 8 mm: 200 N/mm up to 1600 N, then 100 N/mm.
    pair = OpposedSprings("e", number(100.0), number(800.0))
    assert knee_at(pair) == pytest.approx(8.0)
    assert force(pair, 8.0) == pytest.approx(1600.0)
    assert force(pair, 12.0) == pytest.approx(2000.0)
    assert force(pair, -12.0) == pytest.approx(-2000.0)
    np.testing.assert_allclose(law_of(pair).slope(np.array([-9.0, 0.0, 7.9, 8.1])), [100, 200, 200, 100])
    assert law_of(pair).energy(np.array([12.0]))[0] == pytest.approx(13_600.0)
    unloaded = OpposedSprings("e", number(100.0), number(0.0))
    np.testing.assert_allclose(law_of(unloaded).slope(np.array([-1.0, 0.0, 1.0])), 100.0)
    loose = OpposedSprings("e", number(100.0), number(-300.0))
    np.testing.assert_allclose(law_of(loose).force(np.array([-4.0, -3.0, 0.0, 3.0, 4.0])), [-100, 0, 0, 0, 100])


def test_a_tender_that_binds() -> None:
    # Study notes, chapter 21, exercise 21.4: 25 and 140 N/mm; the tender binds after 40 mm, at 1000 N, 650 N at a wheel
    # with a ratio of 0.65; the wheel's rate goes from 8.96 to 59.2 N/mm.
    pair = SeriesSprings("e", (number(25.0), number(140.0)), number(40.0), number(0.0))
    law = law_of(pair)
    bind = float(law.knees[1].at)
    assert force(pair, bind) == pytest.approx(1000.0)
    assert slack_at(pair) == 0.0
    assert 0.65 * force(pair, bind) == pytest.approx(650.0)
    below, above = law.slope(np.array([bind - 1e-6, bind + 1e-6]))
    assert below == pytest.approx(21.2, abs=0.05)
    assert above == pytest.approx(140.0)
    soft, hard = (wheel_rate(at_constant_ratio(straight(number(0.0), number(k)), 0.65)) for k in (below, above))
    assert soft == pytest.approx(8.96, abs=5e-3)
    assert hard == pytest.approx(59.2, abs=0.06)


# Dampers --------------------------------------------------------------------------------------------------------------


def through_a_ratio(damper: DamperCurve, ratio: float, speed: float) -> float:
    """Force at the wheel [N] at a wheel speed [m/s]: virtual work."""
    return ratio * float(damper_law(damper).force(np.array([ratio * speed]))[0])


def test_a_damper_seen_from_the_wheel() -> None:
    # Study notes, chapter 22, exercise 22.1: 900 N at 50 mm/s and a ratio of 0.62 are 558 N at 80.6 mm/s. They divide
    # by the rounded speed: 6923 N.s/m; unrounded, c IR^2 = 6919 N.s/m.
    points: Array = np.array([[-0.05, -900.0], [0.0, 0.0], [0.05, 900.0]])
    speed = 0.05 / 0.62
    assert 1e3 * speed == pytest.approx(80.6, abs=0.05)
    at_wheel = through_a_ratio(DamperCurve(points), 0.62, speed)
    assert at_wheel == pytest.approx(558.0)
    assert at_wheel / 0.0806 == pytest.approx(6923, abs=0.5)
    assert at_wheel / speed == pytest.approx(6919, abs=0.5)
    assert at_wheel / speed == pytest.approx(900 / 0.05 * 0.62**2)
