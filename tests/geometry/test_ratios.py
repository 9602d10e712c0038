"""Motion ratios are analytic: they agree with central differences of lengths that are solved anew, to 1e-7."""

from collections.abc import Callable

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Axle
from geometry.motion import move
from geometry.travel import AxleStates
from tests.axles import KINDS, travel_of

STEPS = (0.2, 0.1)
"""Steps of the two central differences [mm] that Richardson's extrapolation joins."""
NEAR = 1e-7


def some_states(axle: Axle, seed: int = 4) -> AxleStates:
    """Forty states anywhere inside the travel, wheels and rack all moved at once, static first."""
    travel, rng = travel_of(axle), np.random.default_rng(seed)
    low, high = travel.wheel[0] + 1, travel.wheel[1] - 1
    rack = np.zeros(40) if travel.rack is None else rng.uniform(-20, 20, 40)
    left, right = rng.uniform(low, high, (2, 40))
    left[0] = right[0] = rack[0] = 0.0
    return AxleStates(left, right, rack)


def shifted(states: AxleStates, by: Array) -> AxleStates:
    return AxleStates(states.z_left + by[0], states.z_right + by[1], states.rack + by[2])


def slope(axle: Axle, name: str, states: AxleStates, way: Array) -> Array:
    """d(compression) along `way` by central differences and Richardson's extrapolation, all lengths solved anew."""

    def difference(h: float) -> Array:
        plus, minus = (move(axle, shifted(states, sign * h * way)).strut(name).compression for sign in (1.0, -1.0))
        return (plus - minus) / (2.0 * h)

    coarse, fine = (difference(h) for h in STEPS)
    return fine + (fine - coarse) / 3.0


@pytest.mark.parametrize("build", KINDS.values(), ids=KINDS.keys())
def test_ratios_agree_with_differences_of_lengths(build: Callable[[], Axle]) -> None:
    axle = build()
    states = some_states(axle)
    motion = move(axle, states)
    for name in axle.struts:
        strut = motion.strut(name)
        ways = {"by_left": [1.0, 0, 0], "by_right": [0, 1.0, 0]} | ({"by_rack": [0, 0, 1.0]} if axle.has_rack else {})
        for field, way in ways.items():
            measured = slope(axle, name, states, np.array(way))
            assert np.isfinite(measured).all()
            np.testing.assert_allclose(getattr(strut, field), measured, rtol=0, atol=NEAR, err_msg=f"{name} {field}")


@pytest.mark.parametrize("build", KINDS.values(), ids=KINDS.keys())
def test_compression_is_zero_at_static_and_counts_from_the_static_length(build: Callable[[], Axle]) -> None:
    axle = build()
    motion = move(axle, some_states(axle))
    for name in axle.struts:
        strut = motion.strut(name)
        assert strut.compression[0] == pytest.approx(0.0, abs=1e-12)
        np.testing.assert_allclose(strut.compression, strut.length[0] - strut.length, rtol=0, atol=1e-11)
