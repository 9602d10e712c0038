"""Modes of a car against an independent assembly, written out by hand entry by entry, and the names of the modes."""

import numpy as np
import pytest
from scipy.linalg import eig

from geometry.arrays import Array
from objectives.vehicle.mode_names import MOTIONS, name_modes
from objectives.vehicle.modes import modes
from objectives.vehicle.system import Body, System, WheelSet, assemble, axle_block, two_axles
from tests.cars import BODY, H_F, H_R, HALF_F, HALF_R, M_F, M_R, R_F, R_R, T_F, T_R, X_F, X_R, A, B, car, wheels

DAMPING = ((5.1e3, 3.2e3, 0.1e3), (6.4e3, 3.9e3, 0.0))


def by_hand(front: tuple[float, float, float], rear: tuple[float, float, float], tyres: bool) -> Array:
    """The 7 x 7 by each entry's own formula: heave, pitch (nose down), roll (left up), then the four wheels.

    An axle's body height is z -+ x pitch in the middle and roll b on top; a wheel alone meets (h + r) / 2 +- x, the
    other (h - r) / 2; both together h +- x; in roll r +- x.
    """
    (h, r, x), (k, s, y) = front, rear
    e, f = HALF_F, HALF_R
    own_f, own_r = ((h + r) / 2 + x, (h + r) / 2 - x), ((k + s) / 2 + y, (k + s) / 2 - y)
    t_f, t_r = (T_F, T_R) if tyres else (0.0, 0.0)
    rows = [
        [2 * h + 2 * k, 2 * (B * k - A * h), 2 * (e * x + f * y), -h - x, -h + x, -k - y, -k + y],
        [
            0,
            2 * (A * A * h + B * B * k),
            2 * (B * f * y - A * e * x),
            A * (h + x),
            A * (h - x),
            -B * (k + y),
            B * (y - k),
        ],
        [0, 0, 2 * (e * e * r + f * f * s), -e * (r + x), e * (r - x), -f * (s + y), f * (s - y)],
        [0, 0, 0, own_f[0] + t_f, (h - r) / 2, 0, 0],
        [0, 0, 0, 0, own_f[1] + t_f, 0, 0],
        [0, 0, 0, 0, 0, own_r[0] + t_r, (k - s) / 2],
        [0, 0, 0, 0, 0, 0, own_r[1] + t_r],
    ]
    upper = np.array(rows, dtype=np.float64)
    return upper + np.triu(upper, 1).T


MASSES = np.diag([BODY.mass, BODY.pitch, BODY.roll, M_F, M_F, M_R, M_R])
HAND = by_hand((H_F, R_F, X_F), (H_R, R_R, X_R), tyres=True)


def test_matrices_against_those_by_hand() -> None:
    damping = two_axles(*(axle_block(*one) for one in DAMPING))
    found = car(damping)
    np.testing.assert_allclose(found.stiffness, HAND, rtol=0, atol=1e-8)
    np.testing.assert_allclose(found.damping, by_hand(*DAMPING, tyres=False), rtol=0, atol=1e-9)
    np.testing.assert_array_equal(found.mass, MASSES)


def test_natural_frequencies_against_a_general_solver() -> None:
    square = np.sort(eig(HAND, MASSES)[0].real)
    np.testing.assert_allclose(modes(car()).frequency, np.sqrt(square), rtol=1e-8)


def test_damped_eigenvalues_against_a_general_solver() -> None:
    damping = two_axles(*(axle_block(*one) for one in DAMPING))
    none, one = np.zeros((7, 7)), np.eye(7)
    left = np.block([[none, one], [-HAND, -by_hand(*DAMPING, tyres=False)]])
    values = eig(left, np.block([[one, none], [none, MASSES]]))[0]
    values = values[values.imag > 0]
    found = modes(car(damping))
    theirs, own = np.argsort(np.abs(values)), np.argsort(found.damped)
    np.testing.assert_allclose(found.damped[own], np.abs(values[theirs]), rtol=1e-8)
    np.testing.assert_allclose(found.ratio[own], (-values.real / np.abs(values))[theirs], rtol=1e-8)


def test_shapes_are_modes_and_share_all_their_energy() -> None:
    found = modes(car())
    for w, u in zip(found.frequency, found.shape, strict=True):
        np.testing.assert_allclose(HAND @ u, w**2 * MASSES @ u, atol=1e-6 * w**2)
    np.testing.assert_allclose(found.shape @ MASSES @ found.shape.T, np.eye(7), atol=1e-10)
    np.testing.assert_allclose(found.energy.sum(axis=1), 1.0, rtol=1e-12)


def test_little_damping_gives_the_ratios_of_the_shapes() -> None:
    damping = 1e-4 * two_axles(*(axle_block(*one) for one in DAMPING))
    found = modes(car(damping))
    expected = np.einsum("ij,jk,ik->i", found.shape, car(damping).damping, found.shape) / (2 * found.frequency)
    np.testing.assert_allclose(found.ratio, expected, rtol=1e-5)


def test_overdamped_mode_has_a_ratio_above_1() -> None:
    # One mass on one wheel: s^2 + 2 z w s + w^2 = 0 with z = 1.7.
    one = WheelSet(("wheel",), np.zeros(1), np.zeros(1), np.ones(1), np.array([1e9]))
    coefficient = 2 * 1.7 * np.sqrt(40e3 * 250)
    body = assemble(Body(250, 1, 1), one, np.array([[40e3]]), np.array([[coefficient]])).keep(("heave",))
    found = modes(body)
    assert found.ratio == pytest.approx([1.7], rel=1e-12)
    assert found.damped == pytest.approx(found.frequency, rel=1e-12)


def test_several_overdamped_modes_keep_apart() -> None:
    # Dampers in proportion to the springs: each mode has its own ratio, w / 24 here, on both sides of 1.
    springs = two_axles(axle_block(H_F, R_F), axle_block(H_R, R_R))
    stiff = assemble(BODY, wheels(), springs, np.zeros((4, 4)))
    tied = System(stiff.names, stiff.mass, stiff.stiffness / 12.0, stiff.stiffness, stiff.ground)
    found = modes(tied)
    assert found.ratio == pytest.approx(found.frequency / 24, rel=1e-6)
    assert found.ratio.min() < 1.0 < found.ratio.max()


def test_a_symmetric_car_has_seven_names() -> None:
    springs = two_axles(axle_block(H_F, R_F), axle_block(H_R, R_R))
    named = name_modes(modes(assemble(BODY, wheels(), springs, np.zeros((4, 4)))))
    assert sorted(mode.name for mode in named) == sorted(MOTIONS)
    for mode in named:
        assert max(abs(part) for part in mode.shape) == 1.0
        assert sum(mode.shares.values()) == pytest.approx(1.0)
        assert mode.purity == max(mode.shares.values())
        assert mode.shares[mode.name] == mode.purity
    for name, sign in (("front hop", 1), ("front hop, opposite", -1)):
        hop = next(mode for mode in named if mode.name == name)
        assert hop.shape[3] == pytest.approx(sign * hop.shape[4], rel=1e-9)
    # Left and right alike: what rolls neither heaves nor pitches.
    roll = next(mode for mode in named if mode.name == "roll")
    assert roll.shares["heave"] + roll.shares["pitch"] + roll.shares["front hop"] + roll.shares["rear hop"] < 1e-20
    assert roll.shares["front hop, opposite"] > 1e-3


def test_a_wheel_that_stands_on_its_tyre_alone_hops() -> None:
    # Without suspension rates each wheel is sqrt(K_t / m), and the body, which nothing holds, does not come back.
    none = np.zeros((4, 4))
    found = name_modes(modes(assemble(BODY, wheels(), none, none)))
    assert [mode.frequency for mode in found[:3]] == pytest.approx([0.0] * 3, abs=1e-6)
    hop = np.sqrt(np.array([T_F / M_F, T_F / M_F, T_R / M_R, T_R / M_R])) / (2 * np.pi)
    assert [mode.frequency for mode in found[3:]] == pytest.approx(np.sort(hop))


def test_node_of_a_pitching_mode() -> None:
    # The shape stands still where z = pitch x; the two nodes of a body without wheels lie at -k^2 (see the centres).
    named = name_modes(modes(car()))
    first = modes(car()).shape
    for mode, shape in zip(named, first, strict=True):
        if mode.name in ("heave", "pitch"):
            assert shape[0] - shape[1] * mode.node == pytest.approx(0.0, abs=1e-12)


def test_what_is_no_car_is_refused() -> None:
    with pytest.raises(ValueError, match="seven"):
        name_modes(modes(car().keep(("heave", "pitch"))))
    massless = assemble(Body(0.0, 1, 1), wheels(), np.eye(4), np.zeros((4, 4)))
    with pytest.raises(ValueError, match="mass"):
        modes(massless)
    with pytest.raises(ValueError, match="yaw"):
        car().keep(("yaw",))
