"""One left half axle as a rigid-body model in exudyn, a general multibody library: an independent solver.

The upright and the rocker are rigid bodies, a plain link is a distance, a wishbone or a link that carries the rod is a
rigid body on its own joints. Wheel-centre height and rack are prescribed; as many constraints as coordinates leave one
static solution, which Newton's method follows in small steps from static. Nothing here uses a solver of the package.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from importlib import import_module

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, Axle, Link
from tests.twin import twin_rocker

exudyn = import_module("exudyn")
items = import_module("exudyn.itemInterface")
"""The library carries no types: reached as plain modules."""

BODY_INERTIA = [1e4, 1e4, 1e4, 0.0, 0.0, 0.0]
"""Any inertia will do: the solution is fixed by the constraints alone."""


@dataclass(frozen=True)
class HalfState:
    """What the model says of the left half at one state: points (3,) [mm], the rocker's angle [rad]."""

    centre: Array
    spin_axis: Array
    rod_outboard: Array
    rocker_angle: float
    pickups: dict[str, Array]
    arms: dict[str, float]
    """Turn of each anti-roll bar's arm about +y [rad]."""
    rod_inboard: Array
    carrier_turn: Array
    """Rotation (3, 3) from static of what carries the rod's outboard eye, and of the rocker."""
    rocker_turn: Array


@dataclass(frozen=True)
class Body:
    """A rigid body: its numbers in the model and its reference point and frame at static."""

    number: int
    node: int
    origin: Array
    frame: Array

    def local(self, point: Array) -> list[float]:
        return [float(number) for number in self.frame.T @ (point - self.origin)]


class HalfAxle:
    """The left half of one axle, at static until `go` moves it."""

    def __init__(self, axle: Axle) -> None:
        self._points = twin_rocker(axle)
        self._mbs = exudyn.SystemContainer().AddSystem()
        self._ground = self._mbs.AddObject(items.ObjectGround(referencePosition=[0, 0, 0]))
        self._rack_markers: list[tuple[int, Array]] = []
        self._upright = self._add_body(axle.wheel.centre, np.eye(3))
        self._spin_axis = _spin_axis(axle)
        carriers = {name: axle.links[name] for name in axle.rod.carried_by}
        self._carrier = self._add_carrier(list(carriers.values()))
        for name, link in axle.links.items():
            if name not in carriers:
                self._add_distance(self._on_ground(link), self._at(self._upright, link.outboard), link)
        self._rocker = self._add_rocker()
        self._arms = {name: self._add_arm(bar) for name, bar in axle.anti_roll_bars.items()}
        self._height = self._add_height()
        self._mbs.Assemble()

    def go(self, z: float, rack: float) -> HalfState:
        """Solve at wheel travel `z` and rack position `rack` [mm], starting from the last state."""
        self._mbs.SetObjectParameter(self._height, "offset", z)
        for marker, inboard in self._rack_markers:
            self._mbs.SetMarkerParameter(marker, "localPosition", list(inboard + np.array([0.0, rack, 0.0])))
        settings = exudyn.SimulationSettings()
        settings.solution.file.write = False
        settings.staticSolver.verboseMode = 0
        settings.staticSolver.newton.relativeTolerance = 1e-14
        settings.staticSolver.newton.absoluteTolerance = 1e-11
        self._mbs.SolveStatic(settings, updateInitialValues=True)
        return self._read()

    def follow(self, path: Iterable[tuple[float, float]]) -> list[HalfState]:
        """Solve at each (z, rack) in turn."""
        return [self.go(z, rack) for z, rack in path]

    def _read(self) -> HalfState:
        points = self._points
        arm = points.e0
        turned = self._rotation(self._rocker) @ arm
        angle = np.arctan2(np.cross(arm, turned) @ points.axis, arm @ turned)
        return HalfState(
            centre=self._now(self._upright, self._upright.origin),
            spin_axis=self._rotation(self._upright) @ self._spin_axis,
            rod_outboard=self._now(self._carrier, points.rod_outboard),
            rocker_angle=float(angle),
            pickups={name: self._now(self._rocker, at) for name, at in points.pickups.items()},
            arms={name: self._turn_about_y(body) for name, body in self._arms.items()},
            rod_inboard=self._now(self._rocker, points.rod_inboard),
            carrier_turn=self._rotation(self._carrier),
            rocker_turn=self._rotation(self._rocker),
        )

    def _turn_about_y(self, body: Body) -> float:
        forward = self._rotation(body) @ np.array([1.0, 0.0, 0.0])
        return float(np.arctan2(-forward[2], forward[0]))

    def _rotation(self, body: Body) -> Array:
        """Rotation of a body away from static, (3, 3)."""
        kind = exudyn.OutputVariableType.RotationMatrix
        matrix = np.asarray(self._mbs.GetNodeOutput(body.node, kind), dtype=np.float64).reshape(3, 3)
        return matrix @ body.frame.T

    def _now(self, body: Body, static: Array) -> Array:
        """Where a body's point that is `static` at static is now."""
        kind = exudyn.OutputVariableType.Position
        return np.asarray(self._mbs.GetObjectOutputBody(body.number, kind, body.local(static)), dtype=np.float64)

    def _add_body(self, origin: Array, frame: Array) -> Body:
        node = self._mbs.AddNode(items.NodeRigidBodyRxyz(referenceCoordinates=[*origin, *_rxyz(frame)]))
        number = self._mbs.AddObject(items.ObjectRigidBody(mass=1.0, inertia=BODY_INERTIA, nodeNumber=node))
        return Body(number, node, np.asarray(origin, dtype=np.float64), frame)

    def _at(self, body: Body, point: Array) -> int:
        return int(
            self._mbs.AddMarker(items.MarkerBodyPosition(bodyNumber=body.number, localPosition=body.local(point)))
        )

    def _frame_at(self, body: Body, point: Array, frame: Array) -> int:
        """A marker of a body at `point`, its axes the columns of `frame` at static."""
        local = exudyn.HT(rotation=body.frame.T @ frame, translation=body.local(point))
        return int(self._mbs.AddMarker(items.MarkerBodyRigid(bodyNumber=body.number, localHT=local)))

    def _on_ground(self, link: Link) -> int:
        marker = int(
            self._mbs.AddMarker(items.MarkerBodyPosition(bodyNumber=self._ground, localPosition=list(link.inboard)))
        )
        if link.follows_rack:
            self._rack_markers.append((marker, link.inboard))
        return marker

    def _add_distance(self, a: int, b: int, link: Link) -> None:
        length = float(np.linalg.norm(link.outboard - link.inboard))
        self._mbs.AddObject(items.ObjectConnectorDistance(markerNumbers=[a, b], distance=length))

    def _add_carrier(self, links: list[Link]) -> Body:
        """The body that carries the rod: the upright, a link (its spin held), or a wishbone hinged on its two eyes."""
        if not links:
            return self._upright
        outboard = links[0].outboard
        if len(links) == 1:
            body = self._add_body(links[0].inboard, _frame_along_x(outboard - links[0].inboard))
            self._join(self._on_ground(links[0]), self._at(body, links[0].inboard))
            self._hold(body, coordinate=3, offset=0.0)
        else:
            hinge = _frame_along_z(links[1].inboard - links[0].inboard)
            body = self._add_body(links[0].inboard, np.eye(3))
            self._hinge(body, links[0].inboard, hinge)
        self._join(self._at(self._upright, outboard), self._at(body, outboard))
        return body

    def _add_rocker(self) -> Body:
        points = self._points
        body = self._add_body(points.pivot, np.eye(3))
        self._hinge(body, points.pivot, _frame_along_z(points.axis))
        rod = Link(points.rod_inboard, points.rod_outboard)
        self._add_distance(self._at(self._carrier, rod.outboard), self._at(body, rod.inboard), rod)
        return body

    def _add_arm(self, bar: AntiRollBar) -> Body:
        """The left arm of an anti-roll bar, hinged about y, with its drop link to the rocker."""
        body = self._add_body(bar.pivot, np.eye(3))
        self._hinge(body, bar.pivot, _frame_along_z(np.array([0.0, 1.0, 0.0])))
        link = Link(bar.end, self._points.pickups[bar.pickup])
        self._add_distance(self._at(self._rocker, link.outboard), self._at(body, link.inboard), link)
        return body

    def _add_height(self) -> int:
        return self._hold(self._upright, coordinate=2, offset=0.0)

    def _hold(self, body: Body, coordinate: int, offset: float) -> int:
        """Hold one coordinate of a body at `offset` from its reference."""
        ground = self._mbs.AddNode(items.NodePointGround())
        fixed = self._mbs.AddMarker(items.MarkerNodeCoordinate(nodeNumber=ground, coordinate=0))
        moving = self._mbs.AddMarker(items.MarkerNodeCoordinate(nodeNumber=body.node, coordinate=coordinate))
        return int(self._mbs.AddObject(items.ObjectConnectorCoordinate(markerNumbers=[fixed, moving], offset=offset)))

    def _join(self, a: int, b: int) -> None:
        self._mbs.AddObject(items.ObjectJointSpherical(markerNumbers=[a, b]))

    def _hinge(self, body: Body, point: Array, frame: Array) -> None:
        """Hinge a body to the ground at `point`, about the third column of `frame`."""
        still = Body(self._ground, -1, np.zeros(3), np.eye(3))
        markers = [self._frame_at(still, point, frame), self._frame_at(body, point, frame)]
        self._mbs.AddObject(items.ObjectJointRevoluteZ(markerNumbers=markers))


def _spin_axis(axle: Axle) -> Array:
    toe, camber = float(axle.wheel.toe), float(axle.wheel.camber)
    return np.array([np.sin(toe) * np.cos(camber), np.cos(toe) * np.cos(camber), -np.sin(camber)])


def _frame_along_z(direction: Array) -> Array:
    """A right-handed frame whose third column lies along `direction`."""
    z = direction / np.linalg.norm(direction)
    x = np.cross(z, np.eye(3)[np.argmin(np.abs(z))])
    x /= np.linalg.norm(x)
    return np.stack([x, np.cross(z, x), z], axis=1)


def _frame_along_x(direction: Array) -> Array:
    """A frame whose first column lies along `direction`, turned from the axes by a y and then a z rotation alone."""
    x = direction / np.linalg.norm(direction)
    c = np.arcsin(x[1])
    b = np.arctan2(-x[2], x[0])
    about_y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    about_z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    result: Array = about_y @ about_z
    return result


def _rxyz(frame: Array) -> list[float]:
    """Tait-Bryan angles of frame = Rx(a) Ry(b) Rz(c)."""
    a = np.arctan2(-frame[1, 2], frame[2, 2])
    b = np.arcsin(frame[0, 2])
    c = np.arctan2(-frame[0, 1], frame[0, 0])
    return [float(a), float(b), float(c)]
