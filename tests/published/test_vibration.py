"""Vibrations of quarter, half and whole cars against published examples; each number beside its source.

The same assembly gives all of them: fewer wheels, and coordinates held still. Book numbers to half their last digit.
"""

from itertools import pairwise

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.vehicle.modes import modes
from objectives.vehicle.rates import warp_stiffness
from objectives.vehicle.stance import WHEEL_MODES, ground_stiffness, stand
from objectives.vehicle.system import Body, System, WheelSet, assemble, axle_block, two_axles

RIGID = 1e15
"""Rate of a tyre that does not give [N/m]."""


def quarter(sprung: float, unsprung: float, spring: float, tyre: float, damper: float = 0.0) -> System:
    """A body that heaves on one wheel under its centre."""
    wheel = WheelSet(("wheel",), np.zeros(1), np.zeros(1), np.array([unsprung]), np.array([tyre]))
    car = assemble(Body(sprung, 1.0, 1.0), wheel, np.array([[spring]]), np.array([[damper]]))
    return car.keep(("heave", "wheel"))


def body_on_springs(mass: float, inertia: float, front: float, rear: float, rates: tuple[float, float]) -> System:
    """A body that heaves and pitches on two springs, `front` before and `rear` behind its centre."""
    wheels = WheelSet(("front", "rear"), np.array([front, -rear]), np.zeros(2), np.ones(2), np.full(2, RIGID))
    car = assemble(Body(mass, inertia, 1.0), wheels, np.diag(rates), np.zeros((2, 2)))
    return car.keep(("heave", "pitch"))


def nodes(system: System) -> Array:
    shape = modes(system).shape
    return shape[:, 0] / shape[:, 1]


def jazar_full(left: float = 0.7, right: float = 0.75) -> System:
    # Jazar, Vehicle Dynamics, full-car example (inputs from memory, results recomputed): its wheels are numbered round
    # the car, and b1 belongs to the first and the third.
    wheels = WheelSet(
        ("fl", "fr", "rl", "rr"),
        np.array([1.4, 1.4, -1.47, -1.47]),
        np.array([left, -right, right, -left]),
        np.array([53.0, 53.0, 76.0, 76.0]),
        np.full(4, 200e3),
    )
    springs = two_axles(axle_block(10e3, 10e3), axle_block(13e3, 13e3))
    return assemble(Body(840.0, 1100.0, 820.0), wheels, springs, np.zeros((4, 4)))


def test_rao_body_on_two_springs() -> None:
    # Rao, Mechanical Vibrations, example 5.7 (5th edition; number from memory).
    system = body_on_springs(1000, 1000 * 0.9**2, 1.0, 1.5, (18e3, 22e3))
    assert modes(system).frequency == pytest.approx([5.8593, 9.4341], abs=5e-5)
    assert nodes(system) == pytest.approx([-2.6461, 0.3061], abs=5e-5)


def test_wong_two_axle_vehicle() -> None:
    # Wong, Theory of Ground Vehicles, chapter 7 (from memory).
    system = body_on_springs(2120, 2120 * 1.33**2, 1.267, 1.548, (35e3, 38e3))
    found = modes(system).frequency
    assert found == pytest.approx([5.58, 6.52], abs=5e-3)
    assert found / (2 * np.pi) == pytest.approx([0.89, 1.04], abs=5e-3)
    assert nodes(system) == pytest.approx([-2.095, 0.844], abs=5e-4)


def test_gillespie_pitch_and_bounce() -> None:
    # Gillespie, Fundamentals of Vehicle Dynamics, chapter 5 (inputs from memory, results recomputed), in lb, in, s.
    front, rear, wheelbase, gravity = 957.0, 730.0, 100.6, 386.4
    mass = (front + rear) / gravity
    ahead, behind = wheelbase * rear / (front + rear), wheelbase * front / (front + rear)
    k2 = 1.1 * ahead * behind
    assert k2 == pytest.approx(2732.7, abs=0.05)
    alone = np.sqrt(np.array([127 / front, 92.3 / rear]) * gravity) / (2 * np.pi)
    assert alone == pytest.approx([1.1397, 1.1124], abs=5e-5)
    system = body_on_springs(mass, mass * k2, ahead, behind, (127.0, 92.3))
    assert modes(system).frequency / (2 * np.pi) == pytest.approx([1.0690, 1.1308], abs=5e-5)
    centres = nodes(system)
    assert centres == pytest.approx([11.69, -233.9], rel=5e-4)
    assert centres.prod() == pytest.approx(-k2, rel=1e-9)


def test_edwards_and_penney_two_axle_automobile() -> None:
    # Edwards and Penney, Differential Equations and Linear Algebra, 7.4-24 (2nd edition): springs of 2000 at 6 and 4
    # from the centre give its equations, 100 x'' = -4000 x + 4000 th and 1000 th'' = 4000 x - 104000 th.
    system = body_on_springs(100, 1000, 6.0, 4.0, (2000, 2000))
    np.testing.assert_allclose(system.stiffness, [[4000, -4000], [-4000, 104000]], rtol=1e-12)
    assert modes(system).frequency == pytest.approx([6.13, 10.31], abs=6e-3)
    assert modes(system).frequency == pytest.approx([6.1311, 10.3155], abs=5e-5)


@pytest.mark.parametrize("seed", range(5))
def test_centres_of_any_car_lie_at_the_radius_of_gyration(seed: int) -> None:
    # (z/theta)_1 (z/theta)_2 = -r^2, for the shapes are orthogonal by the masses (Gillespie; Olley).
    rng = np.random.default_rng(seed)
    mass, r = rng.uniform(500, 3000), rng.uniform(0.8, 2.0)
    front, rear = rng.uniform(1.0, 2.0, 2)
    system = body_on_springs(mass, mass * r**2, front, rear, (rng.uniform(1e4, 1e5), rng.uniform(1e4, 1e5)))
    assert nodes(system).prod() == pytest.approx(-(r**2), rel=1e-9)


def test_heave_and_pitch_part_where_the_rates_balance() -> None:
    # Uncoupled where k_f a = k_r b; with r^2 = a b besides, the centres may lie at the axles (Gillespie; from memory).
    parted = body_on_springs(1000, 700, 1.2, 1.5, (30e3, 24e3))
    assert np.abs(modes(parted).energy).max(axis=1) == pytest.approx([1.0, 1.0], abs=1e-12)
    at_the_axles = body_on_springs(1000, 1000 * 1.2 * 1.5, 1.2, 1.5, (30e3, 20e3))
    assert np.sort(nodes(at_the_axles)) == pytest.approx([-1.5, 1.2], rel=1e-9)


def test_jazar_quarter_car() -> None:
    # Jazar, Vehicle Dynamics, quarter-car example (from memory).
    found = modes(quarter(375, 75, 35e3, 193e3)).frequency
    assert found == pytest.approx([8.8671, 55.269], abs=5e-4)
    assert found / (2 * np.pi) == pytest.approx([1.41, 8.80], abs=0.005)


def test_rajamani_quarter_car() -> None:
    # Rajamani, Vehicle Dynamics and Control, chapter 10 (inputs from memory, results recomputed).
    found = modes(quarter(250, 45, 16e3, 160e3, 1000))
    assert found.frequency == pytest.approx([7.6219, 62.5861], abs=5e-5)
    assert found.damped == pytest.approx([7.6988, 61.961], abs=5e-4)
    assert found.ratio == pytest.approx([0.2177, 0.1846], abs=5e-5)


def reply(system: System, omega: float) -> tuple[complex, complex]:
    """Heights of body and wheel on a road that waves by 1 at `omega` [rad/s]."""
    dynamic = -(omega**2) * system.mass + 1j * omega * system.damping + system.stiffness
    body, wheel = np.linalg.solve(dynamic, system.ground[:, 0])
    return complex(body), complex(wheel)


@pytest.mark.parametrize(("spring", "damper"), [(16e3, 1000.0), (40e3, 3100.0)])
def test_invariant_points_depend_on_neither_spring_nor_damper(spring: float, damper: float) -> None:
    # Hedrick and Butsuen, Invariant properties of automotive suspensions, Proc IMechE D 204 (1990) 21-27.
    sprung, unsprung, tyre = 250.0, 45.0, 160e3
    car = quarter(sprung, unsprung, spring, tyre, damper)
    hop = np.sqrt(tyre / unsprung)
    assert hop == pytest.approx(59.628, abs=5e-4)
    assert abs(reply(car, hop)[0]) * hop**2 == pytest.approx(tyre / sprung, rel=1e-9)
    assert tyre / sprung == 640.0
    rattle = np.sqrt(tyre / (sprung + unsprung))
    body, wheel = reply(car, rattle)
    assert rattle == pytest.approx(23.289, abs=5e-4)
    assert abs(body - wheel) == pytest.approx((sprung + unsprung) / sprung, rel=1e-9)


def test_guiggiani_optimal_damper() -> None:
    # Guiggiani, The Science of Vehicle Dynamics, chapter 10 (from memory), for a light wheel: at the first fixed point
    # w_A the body's acceleration does not depend on the damper, and with this one it is stationary there.
    sprung, k, p = 250.0, 16e3, 160e3
    best = np.sqrt(sprung * k / 2 * (p + 2 * k) / p)
    fixed = np.sqrt(2 * k * p / (sprung * (p + 2 * k)))
    assert best == pytest.approx(1549.19, abs=0.005)
    assert fixed == pytest.approx(10.32796, abs=5e-6)
    shaken = [acceleration(quarter(sprung, 1e-9, k, p, c), fixed) for c in (300.0, best, 5000.0)]
    assert shaken == pytest.approx([shaken[0]] * 3, rel=1e-9)
    assert abs(slope(quarter(sprung, 1e-9, k, p, best), fixed)) < 1e-6
    assert abs(slope(quarter(sprung, 1e-9, k, p, 0.9 * best), fixed)) > 1e-2


def acceleration(system: System, omega: float) -> float:
    return omega**2 * abs(reply(system, omega)[0])


def slope(system: System, omega: float) -> float:
    """d ln(acceleration) / d ln(frequency)."""
    step = 1e-4
    low, high = (np.log(acceleration(system, omega * (1 + s))) for s in (-step, step))
    return float((high - low) / (2 * step))


def test_full_car_frequencies() -> None:
    expected = [0.8396, 1.1131, 1.4637, 8.4272, 8.4334, 10.0190, 10.0219]
    assert modes(jazar_full()).frequency / (2 * np.pi) == pytest.approx(expected, abs=5e-5)


def test_full_car_made_symmetric_and_its_half() -> None:
    expected = [0.839821, 1.113066, 1.463326, 8.427188, 8.433386, 10.019027, 10.021884]
    assert modes(jazar_full(0.725, 0.725)).frequency / (2 * np.pi) == pytest.approx(expected, abs=5e-7)
    wheels = WheelSet(("f", "r"), np.array([1.4, -1.47]), np.zeros(2), np.array([53.0, 76.0]), np.full(2, 200e3))
    half = assemble(Body(420, 1100, 1), wheels, np.diag([10e3, 13e3]), np.zeros((2, 2)))
    found = modes(half.keep(("heave", "pitch", "f", "r"))).frequency / (2 * np.pi)
    assert found == pytest.approx([0.97666, 1.17971, 8.43093, 10.02078], abs=5e-6)


def test_logarithmic_decrement() -> None:
    # NCERT, Physics, exercise 14.21: 3000 kg sag 150 mm on four wheels, amplitude halves in each swing, g = 10.
    k = 3000 * 10 / (4 * 0.15)
    assert k == pytest.approx(5e4)
    coefficient = 1351.58
    x, y = np.array([1.0, 1.0, -1.0, -1.0]), np.array([1.0, -1.0, 1.0, -1.0])
    wheels = WheelSet(("a", "b", "c", "d"), x, y, np.ones(4), np.full(4, RIGID))
    car = assemble(Body(3000, 1, 1), wheels, k * np.eye(4), coefficient * np.eye(4)).keep(("heave",))
    found = modes(car)
    assert 2 * np.pi / found.frequency[0] == pytest.approx(0.7691, rel=1e-3)
    ratio = found.ratio[0]
    swing = np.exp(-2 * np.pi * ratio / np.sqrt(1 - ratio**2))
    assert swing == pytest.approx(0.5, rel=1e-2)
    # By the formula for little damping, as in the book: b = m ln 2 / (2 T).
    assert 3000 * np.log(2) / (2 * 0.7691) == pytest.approx(coefficient, rel=1e-3)


def test_bounce_pitch_roll_and_warp_of_four_wheels() -> None:
    # Smith and Walker, Interconnected vehicle suspension, Proc IMechE D 219 (2005) 295-307.
    pure = np.array([[1, 1, 1, 1], [1, 1, -1, -1], [1, -1, 1, -1], [1, -1, -1, 1]], dtype=float)
    np.testing.assert_array_equal(pure @ WHEEL_MODES.T, np.eye(4))
    np.testing.assert_allclose(4 * WHEEL_MODES @ WHEEL_MODES.T, np.eye(4), atol=1e-15)


@pytest.mark.parametrize(("front", "rear", "expected"), [(58_400, 53_000, 27_784.56), (44_000, 38_000, 20_390.2)])
def test_warp_stiffness_by_condensation_of_four_wheels(front: float, rear: float, expected: float) -> None:
    # By the Schur complement of a car on four wheels; statics, no source needed.
    track, a, b = 1.6, 1.3, 1.4
    x, y = np.array([a, a, -b, -b]), np.array([1.0, -1.0, 1.0, -1.0]) * track / 2
    wheels = WheelSet(("fl", "fr", "rl", "rr"), x, y, np.ones(4), np.full(4, RIGID))
    blocks = [axle_block(90e3, 2 * stiffness / track**2) for stiffness in (front, rear)]
    car = assemble(Body(1000, 1000, 1000), wheels, two_axles(*blocks), np.zeros((4, 4)))
    # Rigid tyres: what the ground presses is what the springs press once body and wheels rest.
    heave = car.keep(("heave", "pitch", "roll"))
    coupling = -car.stiffness[:3, 3:]
    springs = two_axles(*blocks) - coupling.T @ np.linalg.solve(heave.stiffness, coupling)
    twist = np.array([1.0, -1.0, 0.0, 0.0]) * track / 2
    assert twist @ springs @ twist == pytest.approx(expected, abs=0.005 if front > 50e3 else 0.5)
    assert warp_stiffness(front, rear) == pytest.approx(expected, abs=0.005 if front > 50e3 else 0.5)
    values = np.abs(np.linalg.eigvalsh(springs))
    assert np.sort(values)[-2] < 1e-9 * values.max()


def test_a_car_with_tyres_resists_warp_alone() -> None:
    pressed = ground_stiffness(jazar_full(0.725, 0.725))
    np.testing.assert_allclose(pressed, pressed.T, atol=1e-6 * np.abs(pressed).max())
    values = np.sort(np.abs(np.linalg.eigvalsh(pressed)))
    assert values[-2] < 1e-9 * values[-1]
    k_f, k_r = (k * 200e3 / (k + 200e3) * 1.45**2 / 2 for k in (10e3, 13e3))
    twist = np.array([1.0, -1.0, 0.0, 0.0]) * 1.45 / 2
    assert twist @ pressed @ twist == pytest.approx(warp_stiffness(k_f, k_r), rel=1e-9)


def test_what_the_ground_presses_holds_no_more_than_before() -> None:
    force = stand(jazar_full(), np.array([0.025, 0.0, 0.0, 0.0])).force
    assert force.sum() == pytest.approx(0.0, abs=1e-6)
    assert all(one != other for one, other in pairwise(force))
    assert force[0] > 0.0 > force[1]


def test_heave_and_roll_struts_as_rates_of_an_axle() -> None:
    # Strokes h (z_L + z_R) and r (z_L - z_R): 2 k_h h^2, 2 k_r r^2, one wheel k_h h^2 + k_r r^2 (statics, recomputed).
    k_h, h, k_r, r = 200.0, 0.45, 150.0, 0.5
    by_heave, by_roll = np.array([h, h]), np.array([r, -r])
    strut = k_h * np.outer(by_heave, by_heave) + k_r * np.outer(by_roll, by_roll)
    np.testing.assert_allclose(axle_block(81.0, 75.0), strut, rtol=1e-12)
    assert strut[0, 0] == pytest.approx(78.0)
    assert k_r * r**2 * 1600.0**2 * 1e-3 == pytest.approx(96_000)
