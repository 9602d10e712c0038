"""No clearance between the states that are looked at is below what is told, whatever kind of bodies meet."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import MIRROR_Y, Array, Indices
from geometry.axle import Axle
from geometry.clearance import cylinder_box, segment_box, segment_cylinder, segment_segment
from geometry.meetings import BOX, WHEEL
from geometry.motion import Motion, move
from geometry.travel import AxleStates, rack_states
from objectives.envelope.bodies import Assembly, assemble
from objectives.envelope.envelope import Envelope, KeepOutBox, KeepOutCylinder, WheelSize
from objectives.envelope.room import outline, pair_names, path_of, still_point
from objectives.envelope.states import OF_BOTH
from objectives.evaluate import evaluate
from objectives.fittings.fitted import Fittings
from tests.axles import FRONT_TRAVEL, front, vector
from tests.batches import scatter
from tests.rooms import ROOM

DIP = 0.05
"""Most that a clearance between the states looked at may be below the one told [mm]."""
NEAR = Envelope(
    diameters={"heave": 46.0, "roll": 44.0, "rod": 20.0, "rocker": 16.0, "links": 14.0},
    wheel=WheelSize(650.0, 260.0),
    keep_out={
        "box": KeepOutBox(vector(60, 120, 400), vector(120, 190, 520)),
        "tube": KeepOutCylinder(vector(-120, 260, 560), vector(150, 280, 560), 40.0),
    },
)
THROUGH = Envelope(
    diameters={"heave": 46.0, "rod": 20.0, "rocker": 16.0},
    keep_out={
        "slab": KeepOutBox(vector(20, 100, 540), vector(60, 102, 560)),
        "tube": KeepOutCylinder(vector(-120, 230, 520), vector(150, 230, 520), 10.0),
        "bar": KeepOutCylinder(vector(20, -100, 470), vector(60, 150, 600), 10.0),
    },
)
"""Thin bodies that the rocker and the struts go through between states."""
KINDS = (
    "rod_to_upper_front",
    "box_to_rocker",
    "rocker_to_tube",
    "heave_to_roll",
    "heave_to_upper_rear",
    "rocker_to_wheel",
    "steering_to_upper_rear",
    "box_to_wheel",
    "roll_to_tube",
)
"""Pairs of every kind, some of which are nearest at an end of a wheel's travel, or with full rack there."""


def test_no_kind_of_pair_dips_unseen() -> None:
    assert set(KINDS) <= set(pair_names(front(), NEAR))
    over = margins_to_told(scattered(12), NEAR, step=3.1)
    for name in KINDS:
        assert over[name].min() > -DIP, name
        assert np.median(over[name]) < 0.1, name


def test_axes_that_go_through_one_another_between_states_are_told_to_touch() -> None:
    over = margins_to_told(scattered(12), THROUGH, step=3.1)
    assert over["rocker_to_tube"].min() > -DIP
    assert min(amount.min() for amount in over.values()) > -DIP


@pytest.mark.long
@pytest.mark.parametrize("envelope", [NEAR, ROOM], ids=["near", "shipped"])
def test_no_pair_of_all_dips_unseen_on_200_candidates(envelope: Envelope) -> None:
    axle = scattered(200)
    over = margins_to_told(axle, envelope, step=2.3)
    assert set(over) == set(pair_names(axle, envelope))
    for name, amount in over.items():
        assert amount.min() > -DIP, name
        assert np.median(amount) < 0.1, name


def scattered(count: int) -> Axle:
    return replace(scatter(front(), (count,), seed=9, size=4.0), wheel=front().wheel)


def margins_to_told(axle: Axle, envelope: Envelope, step: float) -> dict[str, Array]:
    """By how much the least clearance of other states is above what is told, of every pair (N,) [mm]."""
    told = evaluate(
        axle, FRONT_TRAVEL, [f"clearance.{name}" for name in pair_names(axle, envelope)], Fittings(envelope=envelope)
    ).values
    assembly = assemble(outline(axle, envelope))
    least: dict[str, Array] = {}
    for of_both, states in all_states(step):
        motion = move(axle, states)
        for name, low in clearances(motion, envelope, assembly, of_both=of_both):
            least[name] = np.minimum(least.get(name, np.inf), low)
    return {name: low - told[f"clearance.{name}"] for name, low in least.items()}


def all_states(step: float) -> Iterator[tuple[bool, AxleStates]]:
    """States of both sides (True) and of one side: between those that the tool looks at, and at every end of travel."""
    yield True, heave_and_roll(step)
    z = np.append(np.arange(FRONT_TRAVEL.wheel[0], FRONT_TRAVEL.wheel[1], step / 3.0), FRONT_TRAVEL.wheel[1])
    yield False, AxleStates(z, z, np.zeros(len(z)))
    for of_both, ends in ((True, FRONT_TRAVEL.heave), (False, FRONT_TRAVEL.wheel)):
        yield of_both, rack_states(np.append(np.arange(-30.0, 30.0, step / 3.0), 30.0))
        yield of_both, AxleStates(*(np.repeat(ends, 2),) * 2, np.tile([-30.0, 30.0], 2))


def heave_and_roll(step: float) -> AxleStates:
    """A lattice that is none of the tool's own, and the whole edge of where heave and roll may be."""
    low, high = FRONT_TRAVEL.wheel
    h, r = (one.ravel() for one in np.meshgrid(np.arange(-29.5, 38.0, step), np.arange(-25.5, 26.0, step)))
    inside = np.abs(r) <= np.minimum(high - h, h - low)
    edge = np.linspace(*FRONT_TRAVEL.heave, 69)
    most = np.minimum(np.minimum(high - edge, edge - low), FRONT_TRAVEL.roll[1])
    ends = [np.linspace(-1.0, 1.0, 15) * most[end] for end in (0, -1)]
    heave = np.concatenate([h[inside], edge, edge, np.repeat(FRONT_TRAVEL.heave, 15)])
    roll = np.concatenate([r[inside], most, -most, *ends])
    return AxleStates(heave + roll, heave - roll, np.zeros(len(heave)))


def clearances(motion: Motion, envelope: Envelope, assembly: Assembly, *, of_both: bool) -> Iterator[tuple[str, Array]]:
    """The least clearance (N,) over states of every meeting of this kind, by the name of its pair."""
    ends = (*assembly.turning, *assembly.still, *assembly.paths)
    parts, girth, static = (
        assembly.bodies.parts,
        assembly.bodies.girth,
        move(motion.side.axle, rack_states(np.zeros(1))),
    )

    def segment(of: Motion, part: Indices) -> tuple[Array, Array]:
        first, second = (
            point(of, envelope, ends[place], mirrored=bool(mirrored), of_both=of_both)
            for place, mirrored in ((part[1], part[2]), (part[3], part[4]))
        )
        return first, second

    for (a, b, group, kind), cuts in zip(assembly.bodies.meetings, assembly.bodies.cuts, strict=True):
        if (kind == OF_BOTH) == of_both:
            own = shortened(*segment(motion, parts[a]), *segment(static, parts[a]), cuts[:2])
            its = shortened(*segment(motion, parts[b]), *segment(static, parts[b]), cuts[2:])
            away = apart(*own, parts[a, 0], girth[a], *its, parts[b, 0], girth[b])
            yield "_to_".join(assembly.pairs[group]), away.min(axis=-1)


def shortened(p: Array, q: Array, p0: Array, q0: Array, cuts: Array) -> tuple[Array, Array]:
    """What is left of segments of which lengths are cut off at the ends, as shares of their length at static."""
    if not cuts.any():
        return p, q
    most = 0.5 if cuts.all() else 1.0
    first, second = (np.minimum(cut / np.linalg.norm(q0 - p0, axis=-1), most)[..., None] for cut in cuts)
    return p + first * (q - p), q + second * (p - q)


def apart(p: Array, q: Array, own: int, size: Array, r: Array, s: Array, other: int, its: Array) -> Array:
    """Clearance of two bodies at every state."""
    if own == WHEEL:
        away = cylinder_box(p, q, size[0], 2.0 * size[1], r, s)
    elif other == WHEEL:
        away = segment_cylinder(p, q, r, s, its[0], 2.0 * its[1]) - size[0]
    else:
        away = segment_box(p, q, r, s) - size[0] if other == BOX else segment_segment(p, q, r, s) - size[0] - its[0]
    return np.asarray(away)


def point(motion: Motion, envelope: Envelope, end: str, *, mirrored: bool, of_both: bool) -> Array:
    """An end of a body at every state; of bodies of one side the right one is at the left one's own states."""
    side, axle = motion.side, motion.side.axle
    kind, _, name = end.partition(".")
    if kind == "turning":
        path = side.rod_inboard[0] if name == "rod" else side.pickup(name.removeprefix("pickups."))[0]
    elif kind in ("pivot", "chassis", "first", "last"):
        path = np.broadcast_to(still_point(axle, envelope, end)[..., None, :], side.rod_inboard[0].shape)
    else:
        path = path_of(axle, side.upright, side.tree, side.eye, end)
    states = motion.pairs.right if mirrored and of_both else motion.pairs.left
    return path[..., states, :] * (MIRROR_Y if mirrored else np.ones(3))
