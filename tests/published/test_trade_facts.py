"""Facts of the trade on whole axles: common practice, no source. What works which of the struts between rockers."""

from collections.abc import Callable

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Axle
from geometry.motion import move
from geometry.travel import AxleStates, heave_states, one_wheel_states, roll_states, travel_points
from objectives.evaluate import evaluate
from tests.axles import front, front_corner, rear, travel_of
from tests.twin import side_at, strut_length

AXLES = pytest.mark.parametrize("build", [front, rear])


def value(axle: Axle, name: str) -> float:
    return float(evaluate(axle, travel_of(axle), [name]).values[name])


def compression(axle: Axle, name: str, h: Array, r: Array) -> Array:
    """Compression of a strut at states of heave h with roll r."""
    return move(axle, AxleStates(h + r, h - r, np.zeros_like(h))).strut(name).compression


@AXLES
def test_pure_heave_leaves_the_roll_strut_idle(build: Callable[[], Axle]) -> None:
    axle = build()
    travel = travel_of(axle)
    carried = move(axle, heave_states(travel_points(travel.heave, travel.step))).strut("roll").compression
    worked = move(axle, roll_states(travel_points(travel.roll, travel.step))).strut("roll").compression
    share = 100 * np.abs(carried).max() / np.abs(worked).max()
    assert share < 0.05
    assert value(axle, "roll.crosstalk") == pytest.approx(share, abs=1e-9)


@AXLES
def test_the_roll_struts_ends_move_the_same_way_in_heave(build: Callable[[], Axle]) -> None:
    axle = build()
    motion = move(axle, heave_states(np.array([0.0, 15.0])))
    upper, lower = (motion.side.pickup(name)[0][motion.pairs.left] for name in ("roll_upper", "roll_lower"))
    left, right = upper[1] - upper[0], (lower[1] - lower[0]) * np.array([1.0, -1.0, 1.0])
    line = (upper[0] - lower[0] * np.array([1.0, -1.0, 1.0])) / motion.strut("roll").length[0]
    assert abs(left @ line) > 5
    assert left @ line == pytest.approx(right @ line, rel=0.01)


@AXLES
def test_pure_roll_leaves_the_heave_strut_idle_to_first_order(build: Callable[[], Axle]) -> None:
    axle = build()
    assert value(axle, "heave.coupling") == pytest.approx(0.0, abs=1e-12)
    r = np.array([20.0, 10.0, 5.0])
    c = compression(axle, "heave", np.zeros(3), r)
    np.testing.assert_allclose(c, compression(axle, "heave", np.zeros(3), -r), rtol=0, atol=1e-10)
    # What is left is of second order: half the roll, a quarter of the stroke.
    assert np.abs(c).max() > 0.1
    assert c[:-1] / c[1:] == pytest.approx([4.0, 4.0], rel=0.05)


@AXLES
def test_one_wheel_alone_loads_both_struts_in_part(build: Callable[[], Axle]) -> None:
    axle = build()
    motion = move(axle, one_wheel_states(np.array([0.0])))
    for name, partner in (("heave", "heave.motion_ratio"), ("roll", "roll.motion_ratio")):
        share = motion.strut(name).by_left[0] / value(axle, partner)
        assert share == pytest.approx(0.5, abs=0.001)


@AXLES
def test_a_cross_car_strut_has_twice_one_rockers_share(build: Callable[[], Axle]) -> None:
    axle = build()
    strut = move(axle, heave_states(np.zeros(1))).strut("heave")
    assert strut.by_left[0] == pytest.approx(strut.by_right[0], rel=1e-12)
    assert value(axle, "heave.motion_ratio") == pytest.approx(2 * strut.by_left[0], rel=1e-12)


def test_corner_struts_alone_tie_roll_to_heave() -> None:
    # K_phi = K t^2 / 2: each strut sees its own wheel alone, so its ratio is the same in heave and in roll.
    motion = move(front_corner(), heave_states(np.array([-20.0, 0.0, 20.0])))
    rolled = move(front_corner(), roll_states(np.array([-20.0, 0.0, 20.0])))
    corner = motion.strut("corner")
    np.testing.assert_allclose(corner.by_right, 0.0, atol=0)
    np.testing.assert_allclose(corner.by_left, rolled.strut("corner").by_left, rtol=0, atol=1e-12)


def test_heave_crosstalk_grows_with_the_rise_of_the_heave_ratio() -> None:
    # Measured rule of the trade: crosstalk is about p r^2 / (2 h^2 (1 + p/2)), p the rising share of the heave ratio:
    # 2.02 % by the rule, 2.17 % in truth on this axle.
    axle = front()
    travel = travel_of(axle)
    p = value(axle, "heave.progressivity") / 100
    h, r = travel.heave[1], travel.roll[1]
    rule = 100 * p * r**2 / (2 * h**2 * (1 + p / 2))
    assert rule == pytest.approx(2.02, abs=0.01)
    assert value(axle, "heave.crosstalk") == pytest.approx(2.17, abs=0.005)


def twin_length(axle: Axle, name: str, left: float, right: float) -> float:
    return strut_length(axle, name, side_at(axle, left), side_at(axle, right))


def twin_ratio(axle: Axle, name: str, way: float) -> float:
    """Ratio at static by the slow twin: central differences of lengths, Richardson's extrapolation."""
    coarse, fine = (
        (twin_length(axle, name, -h, -way * h) - twin_length(axle, name, h, way * h)) / (2 * h) for h in (0.4, 0.2)
    )
    return fine + (fine - coarse) / 3


def twin_stroke(axle: Axle, name: str, way: float) -> float:
    travel = travel_of(axle)
    static = twin_length(axle, name, 0.0, 0.0)
    points = travel_points(travel.heave if way > 0 else travel.roll, travel.step)
    return max(abs(static - twin_length(axle, name, float(z), way * float(z))) for z in points)


@AXLES
def test_ratios_and_crosstalk_of_the_shipped_axles_by_the_slow_twin(build: Callable[[], Axle]) -> None:
    axle = build()
    for name, way in (("heave", 1.0), ("roll", -1.0)):
        assert value(axle, f"{name}.motion_ratio") == pytest.approx(twin_ratio(axle, name, way), abs=1e-8)
        assert value(axle, f"{name}.coupling") == pytest.approx(twin_ratio(axle, name, -way), abs=1e-8)
        crosstalk = 100 * twin_stroke(axle, name, -way) / twin_stroke(axle, name, way)
        assert value(axle, f"{name}.crosstalk") == pytest.approx(crosstalk, abs=1e-8)


def test_the_front_axles_heave_ratio_rises_as_laid_out() -> None:
    # 1.00 - 1.10 - 1.20 over the heave travel.
    travel = travel_of(front()).heave
    strut = move(front(), heave_states(np.array([travel[0], 0.0, travel[1]]))).strut("heave")
    assert strut.by_left + strut.by_right == pytest.approx([1.00, 1.10, 1.20], abs=0.02)
