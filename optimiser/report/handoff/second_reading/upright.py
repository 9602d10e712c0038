"""The upright's pose from its five links, by natural coordinates.

| symbol | meaning | unit |
|---|---|---|
| c | wheel centre; its height is given, x and y are sought | mm |
| e1, e2 | two directions fixed in the upright, x and y at static | - |
| e3 | e1 x e2 | - |
| b | a point of the upright in (e1, e2, e3), from the wheel centre | mm |

Eight unknowns (c_x, c_y, e1, e2), eight equations: five link lengths, and e1, e2 of length one and square to each
other. Natural coordinates: J. Garcia de Jalon and E. Bayo, Kinematic and Dynamic Simulation of Multibody Systems
(1994), chapter 2.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root

from optimiser.report.handoff.second_reading.plain import PlainAxle, Vector, skew

Matrix = NDArray[np.float64]

CLOSED = 1e-10
"""Largest residual of a pose that counts as closed [mm]; the polish leaves about 1e-13."""
POLISHES = 2
"""Newton steps after scipy's root finder."""
FRAME = 400.0
"""Weight of the frame equations, so that they are in mm at about an upright's size."""
LARGEST_TURN = 0.35
"""Turn of the upright in one step of the path that counts as a leap to another assembly [rad]."""


@dataclass(frozen=True)
class Pose:
    """Upright at one state: `unknowns` (8,), the wheel centre, the matrix (3, 3) with columns e1, e2, e3."""

    unknowns: Vector
    centre: Vector
    frame: Matrix
    orientation: float
    """Sign of the determinant of the equations: it changes where the links lock."""

    def place(self, local: Vector) -> Vector:
        """A point of the upright, given from the wheel centre at static."""
        return self.centre + self.frame @ local


class Upright:
    """The five links of an axle, ready to be closed at any wheel height and rack position."""

    def __init__(self, axle: PlainAxle) -> None:
        links = list(axle.links.values())
        self._height = float(axle.wheel_centre[2])
        self._inboard = np.array([link.inboard for link in links])
        self._local = np.array([link.outboard - axle.wheel_centre for link in links])
        self._length = np.linalg.norm(np.array([link.outboard - link.inboard for link in links]), axis=1)
        self._rack = np.array([[0.0, float(link.follows_rack), 0.0] for link in links])
        start = np.array([axle.wheel_centre[0], axle.wheel_centre[1], 1.0, 0.0, 0.0, 0.0, 1.0, 0.0])
        self.static = self._pose(start, 0.0, 0.0)

    def follow(self, start: Pose, z: float, rack: float) -> Pose | None:
        """The pose at wheel travel `z` and rack travel `rack` [mm] next to `start`; None where there is none."""
        solution = root(self._equations, start.unknowns, args=(z, rack), jac=True, method="hybr", tol=1e-12)
        q = np.asarray(solution.x)
        for _ in range(POLISHES):
            residual, jacobian = self._equations(q, z, rack)
            try:
                q = q - np.linalg.solve(jacobian, residual)
            except np.linalg.LinAlgError:
                return None
        residual, _ = self._equations(q, z, rack)
        if not np.max(np.abs(residual)) < CLOSED:
            return None
        pose = self._pose(q, z, rack)
        leapt = np.trace(start.frame.T @ pose.frame) < 1.0 + 2.0 * np.cos(LARGEST_TURN)
        return None if leapt or pose.orientation != self.static.orientation else pose

    def _pose(self, q: Vector, z: float, rack: float) -> Pose:
        _, jacobian = self._equations(q, z, rack)
        e1, e2 = q[2:5], q[5:8]
        frame = np.column_stack([e1, e2, skew(e1) @ e2])
        centre = np.array([q[0], q[1], self._height + z])
        return Pose(q, centre, frame, float(np.sign(np.linalg.det(jacobian))))

    def _equations(self, q: Vector, z: float, rack: float) -> tuple[Vector, Matrix]:
        e1, e2 = q[2:5], q[5:8]
        x, y, w = self._local.T[:, :, None]
        outboard = np.array([q[0], q[1], self._height + z]) + x * e1 + y * e2 + w * (skew(e1) @ e2)
        d = outboard - self._inboard - rack * self._rack
        length = self._length
        links = (np.sum(d * d, axis=1) - length**2) / (2.0 * length)
        frame = FRAME * np.array([(e1 @ e1 - 1.0) / 2.0, (e2 @ e2 - 1.0) / 2.0, e1 @ e2])
        by_e1, by_e2 = x * d + w * (d @ skew(e2).T), y * d + w * (d @ skew(e1))
        jacobian = np.zeros((8, 8))
        jacobian[:5] = np.hstack([d[:, :2], by_e1, by_e2]) / length[:, None]
        jacobian[5, 2:5], jacobian[6, 5:8] = FRAME * e1, FRAME * e2
        jacobian[7, 2:5], jacobian[7, 5:8] = FRAME * e2, FRAME * e1
        return np.concatenate([links, frame]), jacobian
