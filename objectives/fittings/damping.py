"""What a damper does, and how an element's damping is felt at the wheels.

| symbol | meaning | unit |
|---|---|---|
| v | speed of the element's compression, of a bar's twist | m/s |
| F | the damper's force, positive when it resists compression | N |
| C | damping coefficient dF/dv | N.s/m |
"""

import numpy as np

from geometry.arrays import Array
from objectives.fittings.dampers import DamperCurve
from objectives.fittings.law import Law, through


def damper_law(damper: DamperCurve) -> Law:
    """F [N] against the speed of compression [m/s], straight between its points and beyond the last ones."""
    return through(damper.points)


def critical_damping(rate: Array, mass: Array) -> Array:
    """2 sqrt(k m) [N.s/m] of a mass [kg] on a rate [N/mm]."""
    return np.asarray(2.0 * np.sqrt(1e3 * rate * mass))


def at_wheel(coefficient: Array, ratio: Array, wheels: int = 1) -> Array:
    """Coefficient at each wheel [N.s/m] of an element's, `ratio` its compression per wheel travel [mm/mm].

    By virtual work C ratio^2, shared by the `wheels` that move the one element: 2 for a cross-car strut, whose ratio is
    per mm of both.
    """
    return np.asarray(coefficient * ratio**2 / wheels)


def at_element(coefficient: Array, ratio: Array, wheels: int = 1) -> Array:
    """The other way: the element's coefficient [N.s/m] that gives each wheel this one."""
    return np.asarray(coefficient * wheels / ratio**2)
