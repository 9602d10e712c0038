"""The left half axle of `tests.multibody` under a force of the ground, held by one strut: what its joints carry."""

from dataclasses import dataclass
from importlib import import_module

import numpy as np

from geometry.arrays import Array
from geometry.axle import Axle, Link
from tests.multibody import Body, HalfAxle, HalfState, exudyn

items = import_module("exudyn.itemInterface")


@dataclass(frozen=True)
class Reactions:
    """What joints carry, from the library's constraint forces.

    `bars`: tension [N] of every bar with two eyes, in order: plain links, rod, strut. `joint` (3,) [N]: force of the
    carrier's outboard joint on the upright, zeros where the upright carries the rod. `pivot` (3,) [N]: of the rocker
    on its bearing; `pivot_moment` [N.mm]: the size of its moment there.
    """

    bars: list[float]
    joint: Array
    pivot: Array
    pivot_moment: float


class LoadedHalf(HalfAxle):
    """A half axle whose height is held by a strut from the pick-up `pickup` to `far` (3,) [mm] on the chassis."""

    def __init__(self, axle: Axle, pickup: str, far: Array) -> None:
        self._pickup, self._far = pickup, far
        self._bars: list[int] = []
        self._joints: list[int] = []
        self._hinges: list[tuple[int, Array]] = []
        super().__init__(axle)

    def carry(self, lengths: list[float], contact: Array, force: Array) -> tuple[HalfState, Reactions]:
        """Give the strut each length [mm] in turn, then press `force` (3,) [N] on the upright.

        `contact` (3,) [mm]: where the force acts in the last state.
        """
        for length in lengths:
            self._mbs.SetObjectParameter(self._height, "distance", length)
            self._solve()
        self._load(contact, force)
        self._solve()
        return self._read(), self._reactions()

    def _load(self, contact: Array, force: Array) -> None:
        body = self._upright
        at = body.origin + self._rotation(body).T @ (contact - self._now(body, body.origin))
        marker = self._at(body, at)
        self._mbs.AddLoad(items.LoadForceVector(markerNumber=marker, loadVector=[float(part) for part in force]))
        state = self._mbs.systemData.GetSystemState()
        self._mbs.Assemble()
        self._mbs.systemData.SetSystemState(state)

    def _solve(self) -> None:
        settings = exudyn.SimulationSettings()
        settings.solution.file.write = False
        settings.staticSolver.verboseMode = 0
        settings.staticSolver.newton.relativeTolerance = 1e-14
        settings.staticSolver.newton.absoluteTolerance = 1e-9
        self._mbs.SolveStatic(settings, updateInitialValues=True)

    def _reactions(self) -> Reactions:
        kinds = exudyn.OutputVariableType
        joints = [np.asarray(self._mbs.GetObjectOutput(number, kinds.Force)) for number in self._joints]
        hinge, frame = self._hinges[-1]
        force, torque = (
            np.asarray(self._mbs.GetObjectOutput(hinge, kind)) for kind in (kinds.ForceLocal, kinds.TorqueLocal)
        )
        return Reactions(
            bars=[-float(self._mbs.GetObjectOutput(number, kinds.Force)) for number in self._bars],
            joint=-joints[-1] if joints else np.zeros(3),
            pivot=-frame @ force,
            pivot_moment=float(np.linalg.norm(torque)),
        )

    def _add_distance(self, a: int, b: int, link: Link) -> None:
        length = float(np.linalg.norm(link.outboard - link.inboard))
        self._bars.append(
            int(self._mbs.AddObject(items.ObjectConnectorDistance(markerNumbers=[a, b], distance=length)))
        )

    def _add_height(self) -> int:
        point = self._points.pickups[self._pickup]
        chassis = self._mbs.AddMarker(items.MarkerBodyPosition(bodyNumber=self._ground, localPosition=list(self._far)))
        self._add_distance(int(chassis), self._at(self._rocker, point), Link(self._far, point))
        return self._bars[-1]

    def _join(self, a: int, b: int) -> None:
        self._joints.append(int(self._mbs.AddObject(items.ObjectJointSpherical(markerNumbers=[a, b]))))

    def _hinge(self, body: Body, point: Array, frame: Array) -> None:
        super()._hinge(body, point, frame)
        self._hinges.append((self._mbs.systemData.NumberOfObjects() - 1, frame))
