"""How near the bodies of a batch of axles come to one another, and where."""

import math
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from geometry.arrays import Array, Codes, Indices
from geometry.axle import Axle, CornerStrut
from geometry.meetings import Points
from geometry.rocker import lever_of
from geometry.side import SideTree
from geometry.side_motion import SideMotion
from geometry.status import Status, worst
from geometry.upright import UprightMotion
from objectives.envelope.bodies import Assembly, Outline, assemble
from objectives.envelope.envelope import Envelope, KeepOutCylinder
from objectives.envelope.states import RoomStates

SAME_POINT = 1e-6
"""Outboard points nearer than this are shared [mm]."""
ROOM = 2.0
"""Clearances that are above the least one by more than this are not looked into by a search [mm]."""


@dataclass(frozen=True)
class Nearest:
    """Least clearances of every pair, less an offset, over all states (*B, G) [mm]; NaN where the axle cannot move.

    `state` (*B, G): number of the state in `RoomStates`, -1 where nothing was found; `beside` (*B, G, 2) [mm]: how far
    from it.
    """

    least: Array
    state: Indices
    beside: Array


@dataclass
class Room:
    """A batch of axles (batch axes B) in their room: `side` is their left side at the states of `states`."""

    side: SideMotion
    envelope: Envelope
    states: RoomStates
    _found: dict[tuple[object, ...], Nearest] = field(default_factory=dict)

    @cached_property
    def assembly(self) -> Assembly:
        """The bodies and their pairs."""
        return assemble(outline(self.side.axle, self.envelope))

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The name of every pair (G), as in the names of figures."""
        return tuple(pair_name(pair) for pair in self.assembly.pairs)

    @cached_property
    def margins(self) -> Array:
        """The margin of every pair (G,) [mm]; 0 where none is given."""
        return _margins(self.assembly, self.envelope)

    @cached_property
    def status(self) -> Codes:
        """The worst status of all states (*B)."""
        return worst(self.side.status[..., self.states.used])

    def nearest(self, *, less_margins: bool = False, pair: str | None = None, room: float = ROOM) -> Nearest:
        """The least clearance of every pair, or of one alone; less its margin where `less_margins`.

        What is above the least one of all by more than `room` [mm] is given as so much.
        """
        key = (less_margins, pair, room)
        if key not in self._found:
            wanted = np.array([pair is None or name == pair for name in self.names])
            offset = self.margins if less_margins else np.zeros(len(self.names))
            limit = math.inf if pair is not None else room
            from geometry.nearest import nearest  # noqa: PLC0415  (compiled: only where it is asked for)

            found = nearest(self._points, self.states.charts, self.assembly.bodies, offset, wanted, limit)
            void = (self.status != Status.OK)[..., None]
            batch, pairs = self.side.batch, len(self.names)
            least = np.where(void, np.nan, found[0].reshape(*batch, pairs))
            self._found[key] = Nearest(least, found[1].reshape(*batch, pairs), found[2].reshape(*batch, pairs, 2))
        return self._found[key]

    @cached_property
    def _points(self) -> Points:
        side, batch = self.side, self.side.batch
        rows = int(np.prod(batch))

        def flat(values: Array, tail: int) -> Array:
            """(*b, tail) as (N or 1, tail)."""
            own, last = values.shape[: values.ndim - tail], values.shape[values.ndim - tail :]
            if int(np.prod(own)) == 1:
                return values.reshape(1, *last)
            return np.broadcast_to(values, (*batch, *last)).reshape(rows, *last)

        states = len(self.states.tree)
        turning = [flat(lever, 1) for lever in (_lever(side, end) for end in self.assembly.turning)]
        still = [flat(still_point(side.axle, self.envelope, end), 1) for end in self.assembly.still]
        paths = [flat(path_of(side.axle, side.upright, side.tree, side.eye, end), 2) for end in self.assembly.paths]
        return Points(
            np.ascontiguousarray(np.broadcast_to(side.closing.turn.cos, (*batch, states)).reshape(rows, states)),
            np.ascontiguousarray(np.broadcast_to(side.closing.turn.sin, (*batch, states)).reshape(rows, states)),
            stacked(turning, (9,)),
            stacked(still, (3,)),
            stacked(paths, (states, 3)),
            np.array([len(one) > 1 for one in (*turning, *still, *paths)]),
        )


def pair_name(pair: tuple[str, str]) -> str:
    """How a pair of bodies is called: `heave_to_rod`."""
    return f"{pair[0]}_to_{pair[1]}"


def pair_names(axle: Axle, envelope: Envelope) -> tuple[str, ...]:
    """The names of all pairs of bodies of an axle that can meet."""
    return tuple(pair_name(pair) for pair in assemble(outline(axle, envelope)).pairs)


def pair_margins(axle: Axle, envelope: Envelope) -> dict[str, float]:
    """The margin of every pair of bodies of an axle that can meet, by its name [mm]; 0 where none is given."""
    assembly = assemble(outline(axle, envelope))
    names = (pair_name(pair) for pair in assembly.pairs)
    return dict(zip(names, _margins(assembly, envelope).tolist(), strict=True))


def outline(axle: Axle, envelope: Envelope) -> Outline:
    """What the bodies of an axle follow from."""
    struts = [
        (name, strut.left, None if isinstance(strut, CornerStrut) else strut.right)
        for name, strut in axle.struts.items()
    ]
    wheel = envelope.wheel
    return Outline(
        axle.rod.carried_by,
        tuple(_shared(axle).items()),
        tuple(struts),
        tuple(envelope.diameters.items()),
        None if wheel is None else (wheel.diameter, wheel.width),
        tuple(
            (name, one.diameter if isinstance(one, KeepOutCylinder) else None)
            for name, one in envelope.keep_out.items()
        ),
    )


def still_point(axle: Axle, envelope: Envelope, end: str) -> Array:
    """A point that stands still (..., 3) [mm]: the pivot, a corner strut's chassis point, an end of a keep-out."""
    kind, _, name = end.partition(".")
    if kind == "pivot":
        return axle.rocker.pivot
    if kind == "chassis":
        strut = axle.elements[name]
        if isinstance(strut, CornerStrut):
            return strut.chassis
    keep_out = envelope.keep_out[name]
    if isinstance(keep_out, KeepOutCylinder):
        return keep_out.first if kind == "first" else keep_out.last
    return keep_out.low if kind == "first" else keep_out.high


def path_of(axle: Axle, upright: UprightMotion, tree: SideTree, eye: Array, end: str) -> Array:
    """A point that moves otherwise, or the wheel's spin axis, at side states (..., K, 3) [mm]; `eye` is the rod's."""
    kind, _, name = end.partition(".")
    if kind == "eye":
        return eye
    if kind == "wheel":
        return upright.centre
    if kind == "spin":
        return np.asarray((upright.rotation @ axle.wheel.spin_axis[..., None, :, None])[..., 0])
    if kind == "outboard":
        return upright.carry(axle.links[name].outboard)[0]
    moved = np.zeros((len(tree), 3))
    moved[:, 1] = tree.rack * axle.links[name].follows_rack
    return axle.links[name].inboard[..., None, :] + moved


def stacked(values: list[Array], tail: tuple[int, ...]) -> Array:
    """Values (N or 1, *tail) as (len, N or 1, *tail)."""
    rows = max((len(one) for one in values), default=1)
    return np.array([np.broadcast_to(one, (rows, *tail)) for one in values]).reshape(len(values), rows, *tail)


def _margins(assembly: Assembly, envelope: Envelope) -> Array:
    """(G,) the margin of every pair [mm]."""
    margins = envelope.margins
    if margins is None:
        return np.zeros(len(assembly.pairs))
    return np.where(assembly.fixed, margins.to_fixed, margins.to_moving)


def _shared(axle: Axle) -> dict[str, str]:
    """For each link the first one that has the same outboard point."""
    found: dict[str, str] = {}
    for name, link in axle.links.items():
        same = (one for one in found if np.all(np.abs(axle.links[one].outboard - link.outboard) < SAME_POINT))
        found[name] = next(same, name)
    return found


def _lever(side: SideMotion, end: str) -> Array:
    """A point of the rocker by its lever (..., 9): centre, u and w."""
    arm = side.points.rod_arm if end == "turning.rod" else side.points.arms[end.removeprefix("turning.pickups.")]
    lever = lever_of(arm, side.points)
    return np.concatenate(np.broadcast_arrays(lever.centre, lever.u, lever.w), axis=-1)
