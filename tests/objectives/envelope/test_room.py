"""Clearances of the axle's bodies over all states, against every state looked at one by one."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import MIRROR_Y, Array
from geometry.axle import Axle, CornerStrut
from geometry.clearance import cylinder_box, segment_box, segment_segment
from geometry.motion import Motion, move
from geometry.travel import AxleStates, travel_points
from objectives.envelope.bodies import CUT
from objectives.envelope.envelope import Envelope, KeepOutBox, KeepOutCylinder, Margins, WheelSize
from objectives.envelope.room import outline, pair_names
from objectives.evaluate import evaluate
from objectives.fittings.fitted import Fittings
from objectives.readings import FigureStatus
from tests.axles import FRONT_TRAVEL, front, front_corner, vector
from tests.batches import pick, scatter
from tests.rooms import ROOM

DIP = 0.05
"""Most that a clearance between travel points may be below the one reported [mm]."""
CANDIDATES = 200


def figures(axle: Axle, envelope: Envelope, *names: str) -> dict[str, Array]:
    found = evaluate(axle, FRONT_TRAVEL, names, Fittings(envelope=envelope))
    assert all(np.all(status == FigureStatus.OK) for status in found.status.values())
    return dict(found.values)


def fine_grid(step: float) -> AxleStates:
    """Heave and roll on a grid with both wheels inside their travel."""
    h, r = np.meshgrid(travel_points(FRONT_TRAVEL.heave, step), travel_points(FRONT_TRAVEL.roll, step), indexing="ij")
    left, right = (h + r).ravel(), (h - r).ravel()
    low, high = FRONT_TRAVEL.wheel
    inside = (left >= low) & (left <= high) & (right >= low) & (right <= high)
    return AxleStates(left[inside], right[inside], np.zeros(int(inside.sum())))


def pickups(motion: Motion, name: str) -> tuple[Array, Array]:
    """A pick-up left, and right, at every state (*B, S, 3) [mm]."""
    point = motion.side.pickup(name)[0]
    return point[..., motion.pairs.left, :], MIRROR_Y * point[..., motion.pairs.right, :]


def test_no_clearance_between_travel_points_is_below_what_is_reported_on_200_candidates() -> None:
    axle = scatter(front(), (CANDIDATES,), seed=3, size=4.0)
    envelope = Envelope({"heave": 46.0, "roll": 44.0, "rod": 20.0})
    names = ("clearance.heave_to_roll", "clearance.heave_to_rod", "clearance.min")
    told = figures(axle, envelope, *names)
    lowest = {name: np.full(CANDIDATES, np.inf) for name in names}
    motion = move(axle, fine_grid(1.0))
    heave, rolls = pickups(motion, "heave"), (pickups(motion, "roll_upper")[0], pickups(motion, "roll_lower")[1])
    rod_end = motion.side.rod_inboard[0]
    eye = np.broadcast_to(motion.side.eye, rod_end.shape)
    lowest[names[0]] = (segment_segment(*heave, *rolls) - 45.0).min(axis=-1)
    rods = [
        segment_segment(*heave, sign * eye[..., side, :], sign * rod_end[..., side, :]) - 33.0
        for sign, side in ((np.ones(3), motion.pairs.left), (MIRROR_Y, motion.pairs.right))
    ]
    lowest[names[1]] = np.minimum(rods[0], rods[1]).min(axis=-1)
    for name in names[:2]:
        assert np.all(lowest[name] > told[name] - DIP), name
    crossing = np.abs(lowest[names[0]] - told[names[0]])
    assert np.quantile(crossing, 0.9) < DIP
    assert np.all(told["clearance.min"] <= np.minimum(told[names[0]], told[names[1]]) + 1e-9)


def test_the_least_clearance_is_that_of_the_nearest_pair() -> None:
    pairs = [f"clearance.{name}" for name in pair_names(front(), ROOM)]
    told = figures(front(), ROOM, "clearance.min", "clearance.reserve", *pairs)
    assert told["clearance.min"] == pytest.approx(min(told[name] for name in pairs), abs=1e-9)
    fixed = ("bulkhead", "steering_column", "tank", "tube")
    margins = [5.0 if any(one in name for one in fixed) else 3.0 for name in pairs]
    reserve = min(told[name] - margin for name, margin in zip(pairs, margins, strict=True))
    assert told["clearance.reserve"] == pytest.approx(reserve, abs=1e-9)
    assert len(pairs) > 80


def test_a_wheel_clears_a_box_as_far_as_its_cylinder_is_from_it_at_full_lock() -> None:
    box = KeepOutBox(vector(250, 300, 200), vector(300, 560, 500))
    envelope = Envelope(wheel=WheelSize(650.0, 260.0), keep_out={"box": box})
    told = figures(front(), envelope, "clearance.box_to_wheel")["clearance.box_to_wheel"]
    states = AxleStates(*(np.repeat([[-44.0, 0.0, 48.0]], 3, 0).T.ravel(),) * 2, np.tile([-30.0, 0.0, 30.0], 3))
    motion = move(front(), states)
    size = np.asarray(325.0), np.asarray(260.0)
    apart = cylinder_box(motion.wheel.centre, motion.wheel.spin_axis, *size, box.low, box.high)
    assert float(told) <= apart.min() + 1e-6
    assert float(told) > apart.min() - 1e-6
    assert apart.min() > 0.0
    straight = AxleStates(*(np.zeros(1),) * 3)
    assert float(told) < move(front(), straight).wheel.centre[0, 1] - 130.0 - 560.0


def test_parts_that_share_a_joint_are_judged_beyond_it() -> None:
    """The rod against the arm that it is on: cut back by twice the sum of both radii, they are far from fouling."""
    assert CUT == 2.0
    envelope = Envelope({"rod": 20.0, "rocker": 16.0})
    told = figures(front(), envelope, "clearance.rocker_to_rod")["clearance.rocker_to_rod"]
    assert float(told) > 5.0
    names = pair_names(front(), ROOM)
    assert "rod_to_wheel" not in names
    assert "lower_front_to_wheel" not in names
    assert "rocker_to_wheel" in names


def test_links_that_share_an_outboard_point_are_one_wishbone() -> None:
    axle = front()
    joined = replace(axle.links["upper_rear"], outboard=axle.links["upper_front"].outboard)
    wishbone = replace(axle, links={**axle.links, "upper_rear": joined})
    alike = outline(wishbone, ROOM).links
    assert dict(alike)["upper_rear"] == "upper_front"
    assert dict(outline(axle, ROOM).links)["upper_rear"] == "upper_rear"


def test_a_batch_equals_single_axles() -> None:
    batch = scatter(front(), (2, 3), seed=5, size=2.0)
    names = ("clearance.min", "clearance.reserve", "envelope.overstep", "inboard.width", "inboard.height")
    told = figures(batch, ROOM, *names)
    for index in np.ndindex(2, 3):
        alone = figures(pick(batch, index, (2, 3)), ROOM, *names)
        for name in names:
            assert told[name][index] == pytest.approx(float(alone[name]), abs=1e-8), name


def test_a_keep_out_on_one_side_is_seen_by_the_side_that_meets_it() -> None:
    """The same keep-out, mirrored, is as far away: bodies are the same on both sides."""
    tube = ROOM.keep_out["tube"]
    assert isinstance(tube, KeepOutCylinder)
    mirrored = KeepOutCylinder(tube.first * MIRROR_Y, tube.last * MIRROR_Y, tube.diameter)
    told = [
        float(figures(front(), Envelope({"rocker": 16.0}, keep_out={"k": one}), "clearance.min")["clearance.min"])
        for one in (tube, mirrored)
    ]
    assert told[0] == pytest.approx(told[1], abs=1e-9)
    assert told[0] < 200.0


def test_a_corner_strut_is_a_body_from_rocker_to_chassis() -> None:
    axle = front_corner()
    name, strut = next((name, one) for name, one in axle.struts.items() if isinstance(one, CornerStrut))
    box = KeepOutBox(strut.chassis - 5.0, strut.chassis + 5.0)
    told = figures(axle, Envelope({name: 40.0}, keep_out={"a": box}), f"clearance.a_to_{name}")
    assert float(told[f"clearance.a_to_{name}"]) == pytest.approx(-20.0, abs=1e-9)


def test_inboard_points_span_a_box_and_overstep_their_bounds() -> None:
    told = figures(front(), ROOM, "inboard.width", "inboard.height", "inboard.depth", "envelope.overstep")
    motion = move(front(), fine_grid(2.0))
    ends = [pickups(motion, name)[0] for name in ("heave", "roll_upper", "roll_lower")]
    ends.append(motion.side.rod_inboard[0][..., motion.pairs.left, :])
    points = np.concatenate([*ends, [vector(10, 205, 475)]])
    low, high = points.min(axis=0), points.max(axis=0)
    assert told["inboard.depth"] == pytest.approx(high[0] - low[0], abs=0.2)
    assert told["inboard.height"] == pytest.approx(high[2] - low[2], abs=0.2)
    assert told["inboard.width"] == pytest.approx(2.0 * high[1], abs=0.2)
    over = max(*(ROOM.low - low), *(high - ROOM.high))
    assert told["envelope.overstep"] == pytest.approx(over, abs=0.2)


def test_margins_move_the_reserve_and_nothing_else() -> None:
    wider = replace(ROOM, margins=Margins(15.0, 13.0))
    names = ("clearance.min", "clearance.reserve")
    first, second = (figures(front(), one, *names) for one in (ROOM, wider))
    assert first["clearance.min"] == second["clearance.min"]
    assert second["clearance.reserve"] == pytest.approx(first["clearance.reserve"] - 10.0, abs=1e-9)


def test_a_box_in_the_way_of_a_strut_is_as_near_as_its_nearest_state() -> None:
    box = KeepOutBox(vector(20, -60, 560), vector(80, 60, 580))
    told = figures(front(), Envelope({"heave": 46.0}, keep_out={"box": box}), "clearance.min")["clearance.min"]
    heave = pickups(move(front(), fine_grid(1.0)), "heave")
    nearest = (segment_box(*heave, box.low, box.high) - 23.0).min()
    assert float(told) == pytest.approx(float(nearest), abs=DIP)
