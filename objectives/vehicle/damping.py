"""Damping of an axle by the travels of its wheels, from curves and from ratios that are asked for.

Coefficients [N.s/mm], masses [kg], inertias [kg.m2], rates [N/mm]. A curve counts as in the figure `E.wheel_damping`:
by (F(v) - F(-v)) / (2 v) at the element's speed v when its wheels move by 50 mm/s.
"""

from collections.abc import Mapping
from math import sqrt

import numpy as np

from geometry.arrays import Array
from geometry.axle import Mode
from objectives.damper_figures import SLOW
from objectives.fittings.dampers import Damper, DamperCurve
from objectives.fittings.damping import damper_law
from objectives.vehicle.axle_state import Pull
from objectives.vehicle.rates import MM


def damping_block(pulls: Mapping[str, Pull], dampers: Mapping[str, Damper], asked: Mapping[Mode, float]) -> Array:
    """The damping of an axle by its wheels' travels (2, 2) [N.s/mm].

    `asked`: the coefficient per wheel [N.s/mm] that is critical in each mode: a damper that names a ratio gets the
    coefficient with which it alone brings its element's mode there, the mode that moves the element more.
    """
    total = np.zeros((2, 2))
    for name, damper in dampers.items():
        pull = pulls[name]
        total = total + coefficient(damper, pull, asked) * pull.block
    return total


def coefficient(damper: Damper, pull: Pull, critical: Mapping[Mode, float]) -> float:
    """A damper's own coefficient [N.s/mm]; 0 where no motion of the wheels moves its element."""
    mode = max(Mode, key=lambda one: abs(pull.ratio(one)))
    if isinstance(damper, DamperCurve):
        speed = abs(pull.ratio(mode)) * SLOW
        force = damper_law(damper).force(np.array([-speed, speed]))
        return float(force[1] - force[0]) / (2.0 * speed) * MM if speed > 0.0 else 0.0
    share = per_wheel(pull.block, mode)
    return float(damper.ratio) * critical[mode] / share if share > 0.0 else 0.0


def per_wheel(block: Array, mode: Mode) -> float:
    """The coefficient or rate per wheel in heave or in roll of a block (2, 2): U_hh / 2, U_rr / 2."""
    sign = 1.0 if mode is Mode.HEAVE else -1.0
    return float(0.5 * (block[0, 0] + block[1, 1]) + sign * 0.5 * (block[0, 1] + block[1, 0]))


def critical_roll(ride_stiffness: float, all_stiffness: float, inertia: float, track: float) -> float:
    """Coefficient in roll per wheel [N.s/mm] at which an axle does its share of critically damping the body's roll.

    The car's is 2 sqrt(K I) about the sprung mass's centre, K its roll stiffness with the tyres [N.m/rad]; each axle's
    share is that of its stiffness; on a track [mm], C t^2 / 2 of it.
    """
    share = ride_stiffness / all_stiffness
    return share * 2.0 * sqrt(all_stiffness * inertia) * 2.0 / (track * MM) ** 2 * MM
