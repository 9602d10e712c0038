"""Linkages with published numbers, through the same closure that turns every rocker."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.arrays import Array
from tests.loops import RodLoop

HALF_OF_THE_LAST_DIGIT = 5e-4
"""Textbook angles are printed to a thousandth of a degree."""


# Four-bar: R. L. Norton, Design of Machinery, example 4-1 (from memory; worked again here from its lengths):
# ground d = 100, crank a = 40, coupler b = 120, rocker c = 80, crank angle 40 deg.
GROUND, CRANK, COUPLER, ROCKER = 100.0, 40.0, 120.0, 80.0
OPEN, CROSSED = 1.0, -1.0
ANYHOW = Rotation.from_euler("xyz", [31.0, -47.0, 112.0], degrees=True)
"""The plane of a four-bar may lie anyhow in space."""


def crank_end(angle: float) -> Array:
    """The crank's end (1, 3) with the ground link along x."""
    return CRANK * np.array([[np.cos(np.radians(angle)), np.sin(np.radians(angle)), 0.0]])


def four_bar(assembly: float) -> RodLoop:
    """The four-bar at crank angle 0, where the law of cosines gives its rocker's angle."""
    gap = GROUND - CRANK
    from_ground = np.pi - np.arccos((gap**2 + ROCKER**2 - COUPLER**2) / (2 * gap * ROCKER))
    pivot = np.array([GROUND, 0.0, 0.0])
    inboard = pivot + ROCKER * np.array([np.cos(from_ground), assembly * np.sin(from_ground), 0.0])
    return RodLoop.of(*ANYHOW.apply([pivot, [0.0, 0.0, 1.0], inboard, crank_end(0.0)[0]]))


def angles(loop: RodLoop, crank: float) -> tuple[float, float]:
    """Angles of rocker and coupler against the ground link [deg]."""
    end = ANYHOW.inv().apply(loop.inboard(ANYHOW.apply(crank_end(crank))))[0]
    arm, rod = end - np.array([GROUND, 0.0, 0.0]), end - crank_end(crank)[0]
    assert arm[2] == pytest.approx(0.0, abs=1e-12)
    return float(np.degrees(np.arctan2(arm[1], arm[0]))), float(np.degrees(np.arctan2(rod[1], rod[0])))


@pytest.mark.parametrize(
    ("assembly", "rocker", "coupler"), [(OPEN, 57.325, 20.298), (CROSSED, -98.005, -60.978)], ids=["open", "crossed"]
)
def test_norton_example_4_1(assembly: float, rocker: float, coupler: float) -> None:
    assert angles(four_bar(assembly), 40.0) == pytest.approx((rocker, coupler), abs=HALF_OF_THE_LAST_DIGIT)


def test_a_loop_with_parallel_axes_is_the_four_bar() -> None:
    # The limit of the spatial RSSR linkage; angles of example 4-1 worked again with more digits.
    assert angles(four_bar(OPEN), 40.0)[0] == pytest.approx(57.324880, abs=5e-7)
    assert angles(four_bar(CROSSED), 40.0)[0] == pytest.approx(-98.004964, abs=5e-7)


def test_norton_example_4_1_velocity_ratio() -> None:
    # Worked again here from the example's lengths: omega_4 / omega_2 = 0.279919 (open).
    eye = crank_end(40.0)
    velocity = np.cross([0.0, 0.0, 1.0], eye)
    rate = four_bar(OPEN).rate(ANYHOW.apply(eye), ANYHOW.apply(velocity))
    assert rate[0] == pytest.approx(0.279919, abs=5e-7)


def test_freudenstein_equation_all_the_way_round() -> None:
    # A. Ghosal, The Freudenstein equation, Resonance, August 2010: K1 cos th4 - K2 cos th2 + K3 = cos(th2 - th4).
    loop = four_bar(OPEN)
    k1, k2 = GROUND / CRANK, GROUND / ROCKER
    k3 = (CRANK**2 - COUPLER**2 + ROCKER**2 + GROUND**2) / (2 * CRANK * ROCKER)
    for crank in range(-180, 180, 15):
        th4, th2 = np.radians(angles(loop, crank)[0]), np.radians(crank)
        assert k1 * np.cos(th4) - k2 * np.cos(th2) + k3 == pytest.approx(np.cos(th2 - th4), abs=1e-12)


@pytest.mark.parametrize(("crank", "expected"), [(0.0, 26.384), (40.0, 37.027), (180.0, 86.417)])
def test_transmission_angle_of_the_four_bar(crank: float, expected: float) -> None:
    # cos mu = (b^2 + c^2 - a^2 - d^2 + 2 a d cos th2) / (2 b c), the law of cosines; least at 0 and most at 180 deg.
    mu = np.degrees(four_bar(OPEN).transmission(ANYHOW.apply(crank_end(crank))))
    assert mu[0] == pytest.approx(expected, abs=HALF_OF_THE_LAST_DIGIT)


# Spatial RSSR: J. M. McCarthy and G. S. Soh, Geometric Design of Linkages, 2nd ed., Springer 2011, app. A, eq. A.1-A.7:
# A cos psi + B sin psi = C, psi = atan2(B, A) +- arccos(C / sqrt(A^2 + B^2)), closed where A^2 + B^2 >= C^2.


def rssr(rng: np.random.Generator) -> tuple[RodLoop, Array]:
    """A loop thrown at random, and 200 eyes around its own."""
    pivot, axis, inboard, eye = rng.normal(size=(4, 3)) * [[60], [1], [90], [300]]
    return RodLoop.of(pivot, axis, inboard, eye), eye + rng.normal(size=(200, 3)) * 60


def coefficients(loop: RodLoop, eye: Array) -> tuple[Array, Array, Array]:
    """A, B, C of the published equation, psi counted from the loop's e0."""
    points = loop.points
    centre = points.pivot + points.rod_arm.offset * points.axis
    d, r = eye - centre, points.rod_arm.length
    c = (d**2).sum(-1) + r**2 - points.rod_length**2
    return 2 * r * (d @ points.e0), 2 * r * (d @ points.e1), c


@pytest.mark.parametrize("seed", range(12))
def test_rssr_closes_exactly_where_the_discriminant_says(seed: int) -> None:
    loop, eye = rssr(np.random.default_rng(seed))
    a, b, c = coefficients(loop, eye)
    closed = a**2 + b**2 - c**2 >= 0
    assert closed.any()
    np.testing.assert_array_equal(np.isfinite(loop.turn(eye)), closed)
    np.testing.assert_array_equal(loop.reserve(eye) >= 0, closed)
    psi = loop.points.rod_arm.angle + loop.turn(eye)[closed]
    size = np.hypot(a, b)[closed]
    np.testing.assert_allclose((a[closed] * np.cos(psi) + b[closed] * np.sin(psi) - c[closed]) / size, 0, atol=1e-12)
    length = np.linalg.norm(eye[closed] - loop.inboard(eye[closed]), axis=-1)
    np.testing.assert_allclose(length, loop.points.rod_length, rtol=0, atol=1e-9)


def test_the_random_loops_include_open_ones() -> None:
    eyes = [rssr(np.random.default_rng(seed)) for seed in range(12)]
    assert sum(np.count_nonzero(loop.reserve(eye) < 0) for loop, eye in eyes) > 100


@pytest.mark.parametrize("seed", range(4))
def test_rssr_is_a_root_of_the_half_angle_quadratic(seed: int) -> None:
    # The same source: with y = tan(psi / 2), (A + C) y^2 - 2 B y - (A - C) = 0.
    loop, eye = rssr(np.random.default_rng(seed))
    a, b, c = coefficients(loop, eye)
    psi = loop.points.rod_arm.angle + loop.turn(eye)
    closed = np.isfinite(psi)
    for k in np.flatnonzero(closed)[:50]:
        roots = np.roots([a[k] + c[k], -2 * b[k], -(a[k] - c[k])]).real
        assert np.abs(np.sin((2 * np.arctan(roots) - psi[k]) / 2)).min() < 1e-7


def test_the_printed_arctan_fails_where_a_is_negative() -> None:
    # Negative control: eq. A.5 prints arctan(B/A), which loses the quadrant; with atan2 the same line closes the loop.
    loops = [rssr(np.random.default_rng(seed)) for seed in range(12)]
    a, b, c = (np.concatenate(parts) for parts in zip(*(coefficients(*loop) for loop in loops), strict=True))
    keep = (a**2 + b**2 - c**2 >= 0) & (a < 0)
    assert keep.sum() > 100
    a, b, c = a[keep], b[keep], c[keep]
    for middle, closes in ((np.arctan2(b, a), True), (np.arctan(b / a), False)):
        psi = middle + np.arccos(c / np.hypot(a, b))
        miss = np.abs(a * np.cos(psi) + b * np.sin(psi) - c) / np.hypot(a, b)
        assert (miss.max() < 1e-12) if closes else (np.median(miss) > 0.1)


# Hooke's joint: intersecting axes at beta, equal arms r, rod r sqrt(2), arms square to each other at the start.
# tan(out) = tan(in) cos(beta) where the input arm starts square to both axes, tan(out) = tan(in) / cos(beta) where the
# output arm does: shaft makers' handbooks; the numbers at 30 deg were worked again by hand from these.


def hooke(beta: float, input_square_to_both: bool) -> tuple[RodLoop, Array, Array]:
    """The joint as a rod loop, with its input axis and the input arm at the start."""
    bend = np.radians(beta)
    common, first, second = np.eye(3)[0], np.eye(3)[2], np.array([0.0, np.sin(bend), np.cos(bend)])
    arm_in = common if input_square_to_both else np.cross(first, common)
    arm_out = np.cross(second, common) if input_square_to_both else -common
    loop = RodLoop.of(np.zeros(3), second, 40.0 * arm_out, 40.0 * arm_in)
    assert loop.points.rod_length == pytest.approx(40.0 * np.sqrt(2), rel=1e-15)
    return loop, first, 40.0 * arm_in


def turned_by(axis: Array, angles: Array, arm: Array) -> Array:
    return np.asarray(Rotation.from_rotvec(np.radians(angles)[:, None] * axis).apply(arm))


def test_hooke_joint_from_the_common_perpendicular() -> None:
    loop, axis, arm = hooke(30.0, input_square_to_both=True)
    eye = turned_by(axis, np.array([20.0, 45.0, 70.0]), arm)
    assert np.degrees(loop.turn(eye)) == pytest.approx([17.495241, 40.893395, 67.204123], abs=5e-7)
    turn = np.arange(-85.0, 86.0, 5.0)
    expected = np.degrees(np.arctan(np.tan(np.radians(turn)) * np.cos(np.radians(30.0))))
    np.testing.assert_allclose(np.degrees(loop.turn(turned_by(axis, turn, arm))), expected, rtol=0, atol=1e-9)


def test_hooke_joint_from_the_other_start() -> None:
    loop, axis, arm = hooke(30.0, input_square_to_both=False)
    turn = np.arange(-85.0, 86.0, 5.0)
    expected = np.degrees(np.arctan(np.tan(np.radians(turn)) / np.cos(np.radians(30.0))))
    np.testing.assert_allclose(np.degrees(loop.turn(turned_by(axis, turn, arm))), expected, rtol=0, atol=1e-9)


def hooke_ratio(beta: float, angles: Array) -> Array:
    loop, axis, arm = hooke(beta, input_square_to_both=True)
    eye = turned_by(axis, angles, arm)
    return loop.rate(eye, np.cross(axis, eye))


def test_hooke_joint_speed_ratio() -> None:
    # omega_out / omega_in = cos(beta) / (1 - sin^2(beta) sin^2(in)) from this start.
    assert hooke_ratio(30.0, np.array([0.0, 45.0, 90.0])) == pytest.approx([0.866025, 0.989743, 1.154701], abs=5e-7)
    # Shaft makers' worked example: 25 deg at 100 rad/s gives 90.631 to 110.338 rad/s.
    ratio = 100.0 * hooke_ratio(25.0, np.arange(-90.0, 91.0, 1.0))
    assert (ratio.min(), ratio.max()) == pytest.approx((90.631, 110.338), abs=5e-4)


def test_hooke_joint_runs_at_equal_speed_where_the_handbook_says() -> None:
    # Equal speeds at tan(angle) = +- sqrt(cos(beta)), counted from the start at which the output arm is square to both
    # axes: +- 1 / sqrt(cos(beta)) from the common perpendicular.
    at = np.degrees(np.arctan(1.0 / np.sqrt(np.cos(np.radians(25.0)))))
    assert hooke_ratio(25.0, np.array([at, -at])) == pytest.approx([1.0, 1.0], abs=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_ratio_without_differentiation(seed: int) -> None:
    # d(phi)/d(theta) = e . (u1 x rA) / (e . (u2 x rB)), e along the rod: the rod's length does not change. Statics.
    rng = np.random.default_rng(seed)
    loop, eye = rssr(rng)
    eye = eye[loop.reserve(eye) > 0.05]
    u1, centre = rng.normal(size=(2, 3))
    r_a = eye - centre
    e, r_b = eye - loop.inboard(eye), loop.inboard(eye) - loop.points.pivot
    formula = (e * np.cross(u1, r_a)).sum(-1) / (e * np.cross(loop.points.axis, r_b)).sum(-1)
    np.testing.assert_allclose(loop.rate(eye, np.cross(u1, r_a)), formula, rtol=1e-12)
    h = 1e-5
    plus, minus = (loop.turn(centre + Rotation.from_rotvec(sign * h * u1).apply(r_a)) for sign in (1, -1))
    np.testing.assert_allclose((plus - minus) / (2 * h), formula, rtol=1e-6)


def test_the_ratio_grows_without_bound_towards_the_toggle() -> None:
    # The denominator is 0 where the rod's line meets the rocker's axis: eye drawn straight away from the pivot.
    loop = RodLoop.of(np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 0, 60.0]), np.array([0, 300.0, 0]))
    out = np.array([0.0, 1.0, 0.0])
    furthest = loop.points.rod_length + 60.0
    eye = out * (furthest - np.array([1.0, 1e-2, 1e-4, 1e-6]))[:, None]
    rate, reserve = np.abs(loop.rate(eye, np.broadcast_to(out, eye.shape))), loop.reserve(eye)
    assert np.all(reserve > 0)
    assert rate[1:] / rate[:-1] == pytest.approx(10.0, rel=0.02)
    assert loop.reserve(out[None] * (furthest + 1e-6))[0] < 0
