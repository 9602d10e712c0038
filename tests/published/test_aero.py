"""Downforce and what it does to ride height, against published examples; each number beside its source."""

import pytest

from objectives.vehicle.aero import STANDARD_DENSITY, Aero, downforce, dynamic_force, effective_rate


def test_downforce_of_a_fast_car() -> None:
    # A public worked example: 1.2 kg/m3, 80 m/s, C_L 3.0 on 1.5 m2.
    assert dynamic_force(1.2, 80.0, 3.0 * 1.5) == pytest.approx(17_280)


def test_a_wing() -> None:
    # Study notes to Milliken and Milliken, Race Car Vehicle Dynamics, chapter 15: 1.4 x 0.30 m, 60 m/s, 1.225 kg/m3.
    assert dynamic_force(1.225, 60.0, 2.4 * 1.4 * 0.30) == pytest.approx(2223, abs=0.5)
    assert dynamic_force(1.225, 60.0, 0.55 * 1.4 * 0.30) == pytest.approx(509, abs=0.5)


@pytest.mark.parametrize(("share", "front", "rear"), [(0.42, 4538, 6266), (0.47, 5078, 5726)])
def test_downforce_by_axle(share: float, front: float, rear: float) -> None:
    # The same, exercise 15.3: C_L A 3.6 m2 at 70 m/s; the whole is rounded before it is shared out.
    found = downforce(Aero(3.6, share), 70.0)
    assert sum(found) == pytest.approx(10_804, abs=1)
    assert found == pytest.approx((front, rear), abs=0.7)


def test_sink_on_two_linear_corners() -> None:
    # 4538 N on two corners of 53.42 N/mm, tyres included: statics from the exercises 15.3 and 22.2; no source.
    assert 4538 / 2 / effective_rate(53.42, 0.0) == pytest.approx(42.47, abs=5e-3)


def test_standard_air() -> None:
    # ISA, ISO 2533 (from memory): 101 325 Pa and 288.15 K give 1.225 kg/m3 with R = 287.053 J/(kg K).
    assert pytest.approx(101_325 / (287.053 * 288.15), abs=5e-4) == STANDARD_DENSITY


def test_downforce_that_grows_as_the_car_sinks() -> None:
    # The closed loop, from statics: k z = F0 + g z; it diverges where g reaches k.
    ride, gain = 53.42, 20.0
    assert effective_rate(ride, gain) == pytest.approx(33.42)
    z = 2269.0 / effective_rate(ride, gain)
    assert ride * z == pytest.approx(2269.0 + gain * z)
    assert effective_rate(ride, 53.42) == 0.0
    assert effective_rate(ride, 60.0) < 0.0
