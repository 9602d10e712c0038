"""Clearances at static, in plain numpy, against the compiled pass over a travel that hardly leaves static."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import MIRROR_Y
from geometry.axle import Axle, CornerStrut
from geometry.clearance import segment_segment
from geometry.hardpoints import place
from geometry.travel import Travel
from objectives.envelope.at_static import static_clearances
from objectives.envelope.envelope import Envelope, KeepOutBox
from objectives.envelope.room import pair_names
from objectives.evaluate import evaluate
from objectives.fittings.fitted import Fittings
from tests.axles import front, front_corner, vector
from tests.rooms import ROOM

HARDLY = 1e-5
"""How far the axle moves at most [mm]."""


def moved(axle: Axle, envelope: Envelope) -> dict[str, float]:
    """The least clearance of every pair over a travel of next to nothing."""
    span = (-HARDLY, HARDLY)
    names = [f"clearance.{name}" for name in pair_names(axle, envelope)]
    found = evaluate(axle, Travel(span, span, span, span, HARDLY), names, Fittings(envelope=envelope)).values
    return {name.removeprefix("clearance."): float(found[name]) for name in names}


@pytest.mark.parametrize("wheel_in", [False, True], ids=["links", "wheel near the tank"])
def test_every_pair_is_as_near_as_the_compiled_pass_says(wheel_in: bool) -> None:
    near = KeepOutBox(vector(-400, 300, 100), vector(-260, 680, 500))
    envelope = replace(ROOM, keep_out={**ROOM.keep_out, "tank": near}) if wheel_in else ROOM
    told, least = static_clearances(front(), envelope), moved(front(), envelope)
    assert list(told) == list(least)
    assert len(told) > 80
    for name, clearance in least.items():
        assert told[name] == pytest.approx(clearance, abs=20.0 * HARDLY), name
    assert (told["tank_to_wheel"] < 50.0) == wheel_in


def test_a_corner_strut_and_its_mirror_are_bodies_too() -> None:
    axle = front_corner()
    name = next(name for name, one in axle.struts.items() if isinstance(one, CornerStrut))
    envelope = Envelope({name: 40.0, "rod": 20.0, "rocker": 16.0})
    told, least = static_clearances(axle, envelope), moved(axle, envelope)
    assert f"{name}_to_{name}" in told
    for pair, clearance in least.items():
        assert told[pair] == pytest.approx(clearance, abs=20.0 * HARDLY), pair


def test_two_struts_are_as_far_apart_as_their_lines_less_both_radii() -> None:
    pickups = place(front()).pickups
    ends = (pickups["heave"], MIRROR_Y * pickups["heave"], pickups["roll_upper"], MIRROR_Y * pickups["roll_lower"])
    told = static_clearances(front(), Envelope({"heave": 46.0, "roll": 44.0}))
    assert told == {"heave_to_roll": pytest.approx(float(segment_segment(*ends)) - 45.0, abs=1e-9)}


def test_no_bodies_have_no_pairs() -> None:
    assert static_clearances(front(), Envelope(low=np.zeros(3))) == {}
