"""An invented car that the tests share: its rates as numbers, before any axle, in SI units."""

import numpy as np

from geometry.arrays import Array
from objectives.vehicle.system import Body, System, WheelSet, assemble, axle_block, two_axles

BODY = Body(mass=1076.0, pitch=1150.0, roll=310.0)
A, B, HALF_F, HALF_R = 1.55, 1.15, 0.83, 0.815
M_F, M_R, T_F, T_R = 38.0, 44.0, 270e3, 300e3
H_F, R_F, X_F = 138.9e3, 95.7e3, 4.1e3
H_R, R_R, X_R = 151.3e3, 84.2e3, -2.6e3
"""Rates in heave, in roll and across, per wheel, front and rear [N/m]."""


def wheels() -> WheelSet:
    return WheelSet(
        ("front left", "front right", "rear left", "rear right"),
        np.array([A, A, -B, -B]),
        np.array([HALF_F, -HALF_F, HALF_R, -HALF_R]),
        np.array([M_F, M_F, M_R, M_R]),
        np.array([T_F, T_F, T_R, T_R]),
    )


def car(damping: Array | None = None) -> System:
    springs = two_axles(axle_block(H_F, R_F, X_F), axle_block(H_R, R_R, X_R))
    return assemble(BODY, wheels(), springs, np.zeros((4, 4)) if damping is None else damping)
