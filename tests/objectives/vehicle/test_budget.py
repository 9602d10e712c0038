"""What a lap uses up of an axle's travel, and where opposed springs let go."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.motion import move
from geometry.travel import roll_states
from objectives.fittings.springs import CoilSpring
from objectives.vehicle.budget import budget, lets_go
from objectives.vehicle.car_state import car_at_static
from objectives.vehicle.platform import cornering
from tests.sprung import car, front_axle


def test_parts_add_up_and_droop_counts_for_nothing() -> None:
    state = car_at_static(car())
    found = budget(state, 0, (14.0, 9.0, 13.0, 17.0))
    assert found.range == 48.0
    assert found.left == pytest.approx(48 - 14 - 9 - 13 - 17)
    assert budget(state, 1, (14.0, -6.0, 13.0, 17.0)).left == pytest.approx(50 - 14 - 13 - 17)


def test_what_is_not_known_leaves_nothing_known() -> None:
    assert np.isnan(budget(car_at_static(car()), 0, (np.nan, 9.0, 13.0, 17.0)).left)


def test_opposed_springs_let_go_where_their_preload_is_spent() -> None:
    state = car_at_static(car())
    r = cornering(state).roll_travel[0]
    at = lets_go(state, 0, r)
    # 2400 / 90 mm of squeeze, less by what the ratio changes on the way.
    squeezed = move(state.car.front.axle, roll_states(np.array([abs(r) * at]))).strut("roll").compression[0]
    assert squeezed == pytest.approx(2400 / 90, rel=0.02)


def test_one_spring_never_lets_go() -> None:
    axle = front_axle()
    held = CoilSpring("roll", np.array(180.0), np.array(0.0), pulls=True)
    plain = replace(axle, fittings=replace(axle.fittings, springs={**axle.fittings.springs, "roll": held}))
    state = car_at_static(car(front_end=plain))
    assert lets_go(state, 0, -14.0) == np.inf
    assert lets_go(state, 1, 0.0) == np.inf
