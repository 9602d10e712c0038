"""The seven modes of a car against exudyn, a general multibody library, linearised by itself.

There the body is a rigid body in space, each wheel a mass point on a vertical spring (the tyre) and under a corner
spring and damper; the heave spring of an axle stands on the middle of a balance beam that rests on both wheels, and so
works in heave alone. Nothing of the package's assembly is used.
"""

from importlib import import_module

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.vehicle.modes import modes
from objectives.vehicle.system import Body, WheelSet, assemble, axle_block, two_axles

exudyn = import_module("exudyn")
items = import_module("exudyn.itemInterface")
solver = import_module("exudyn.solver")
"""The library carries no types: reached as plain modules."""

BODY = Body(mass=1076.0, pitch=1150.0, roll=310.0)
WHEELS = WheelSet(
    ("fl", "fr", "rl", "rr"),
    x=np.array([1.55, 1.55, -1.15, -1.15]),
    y=np.array([0.83, -0.83, 0.815, -0.815]),
    mass=np.array([38.0, 38.0, 44.0, 44.0]),
    tyre=np.array([270e3, 270e3, 300e3, 300e3]),
)
CORNER = np.array([95.7e3, 95.7e3, 80e3, 80e3])
"""Corner springs [N/m]: rates in roll per wheel."""
HEAVE = np.array([86.4e3, 120e3])
"""Springs of the balance beams [N/m]: half of each is what heave adds per wheel."""
CORNER_DAMPER = np.array([3.1e3, 3.1e3, 3.6e3, 3.6e3])
HEAVE_DAMPER = np.array([2.4e3, 1.9e3])
"""Dampers at the same places [N.s/m]."""
WEIGHTLESS = 1e-9
"""Mass of a balance beam [kg]."""


class Model:
    """The car as exudyn sees it."""

    def __init__(self, damped: bool) -> None:
        self._damped = damped
        self.mbs = exudyn.SystemContainer().AddSystem()
        self._ground = self.mbs.AddObject(items.ObjectGround())
        self._point = self._still([0.0, 0.0, 0.0])
        self._body = self._rigid(BODY.mass, [BODY.roll, BODY.pitch, 1.0], [0.0, 0.0, 0.0], free=(2, 3, 4))
        wheels = [self._wheel(index) for index in range(4)]
        for axle in range(2):
            self._beam(axle, wheels[2 * axle : 2 * axle + 2])
        self.mbs.Assemble()

    def _marker(self, body: int, at: list[float]) -> int:
        return int(self.mbs.AddMarker(items.MarkerBodyPosition(bodyNumber=body, localPosition=at)))

    def _still(self, at: list[float]) -> int:
        return self._marker(self._ground, at)

    def _rigid(self, mass: float, inertia: list[float], at: list[float], free: tuple[int, ...]) -> int:
        """A rigid body of which only the coordinates `free` may move."""
        node = self.mbs.AddNode(items.NodeRigidBodyRxyz(referenceCoordinates=[*at, 0.0, 0.0, 0.0]))
        self._hold(node, [one for one in range(6) if one not in free])
        return int(
            self.mbs.AddObject(items.ObjectRigidBody(mass=mass, inertia=[*inertia, 0.0, 0.0, 0.0], nodeNumber=node))
        )

    def _hold(self, node: int, coordinates: list[int]) -> None:
        fixed = self.mbs.AddNode(items.NodePointGround())
        ground = self.mbs.AddMarker(items.MarkerNodeCoordinate(nodeNumber=fixed, coordinate=0))
        for one in coordinates:
            moving = self.mbs.AddMarker(items.MarkerNodeCoordinate(nodeNumber=node, coordinate=one))
            self.mbs.AddObject(items.ObjectConnectorCoordinate(markerNumbers=[ground, moving]))

    def _wheel(self, index: int) -> int:
        at = [float(WHEELS.x[index]), float(WHEELS.y[index]), 0.0]
        node = self.mbs.AddNode(items.NodePoint(referenceCoordinates=at))
        self._hold(node, [0, 1])
        wheel = int(self.mbs.AddObject(items.ObjectMassPoint(mass=float(WHEELS.mass[index]), nodeNumber=node)))
        marker = self._marker(wheel, [0.0, 0.0, 0.0])
        self._spring(self._still(at), marker, float(WHEELS.tyre[index]), 0.0)
        self._spring(self._marker(self._body, at), marker, float(CORNER[index]), float(CORNER_DAMPER[index]))
        return marker

    def _beam(self, axle: int, wheels: list[int]) -> None:
        x, y = float(WHEELS.x[2 * axle]), float(WHEELS.y[2 * axle])
        beam = self._rigid(WEIGHTLESS, [WEIGHTLESS] * 3, [x, 0.0, 0.0], free=(2, 3))
        for side, wheel in zip((y, -y), wheels, strict=True):
            end = self._marker(beam, [0.0, side, 0.0])
            self.mbs.AddObject(items.ObjectJointSpherical(markerNumbers=[wheel, end], constrainedAxes=[0, 0, 1]))
        middle = self._marker(beam, [0.0, 0.0, 0.0])
        self._spring(self._marker(self._body, [x, 0.0, 0.0]), middle, float(HEAVE[axle]), float(HEAVE_DAMPER[axle]))

    def _spring(self, a: int, b: int, rate: float, damper: float) -> None:
        coefficient = damper if self._damped else 0.0
        self.mbs.AddObject(
            items.ObjectConnectorCartesianSpringDamper(
                markerNumbers=[a, b], stiffness=[0.0, 0.0, rate], damping=[0.0, 0.0, coefficient]
            )
        )

    def frequencies(self) -> Array:
        """Natural frequencies [rad/s], rising."""
        square, _ = solver.ComputeODE2Eigenvalues(self.mbs)
        rising: Array = np.sqrt(np.sort(np.abs(np.asarray(square, dtype=np.float64))))
        return rising

    def damped(self) -> Array:
        """Damped eigenvalues [1/s]."""
        values, _ = solver.ComputeODE2Eigenvalues(self.mbs, computeComplexEigenvalues=True, useAbsoluteValues=False)
        return np.asarray(values, dtype=np.complex128)


def suspension(corner: Array, heave: Array) -> Array:
    return two_axles(*(axle_block(corner[2 * axle] + heave[axle] / 2, corner[2 * axle]) for axle in range(2)))


def test_natural_frequencies() -> None:
    car = assemble(BODY, WHEELS, suspension(CORNER, HEAVE), np.zeros((4, 4)))
    np.testing.assert_allclose(modes(car).frequency, Model(damped=False).frequencies(), rtol=1e-8)


def test_damped_eigenvalues() -> None:
    car = assemble(BODY, WHEELS, suspension(CORNER, HEAVE), suspension(CORNER_DAMPER, HEAVE_DAMPER))
    found = modes(car)
    theirs = Model(damped=True).damped()
    theirs = theirs[theirs.imag > 0]
    order, own = np.argsort(np.abs(theirs)), np.argsort(found.damped)
    np.testing.assert_allclose(found.damped[own], np.abs(theirs[order]), rtol=1e-8)
    np.testing.assert_allclose(found.ratio[own], (-theirs.real / np.abs(theirs))[order], rtol=1e-7)
    assert found.ratio == pytest.approx(found.ratio.clip(0.01, 0.99))
