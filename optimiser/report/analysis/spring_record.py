"""What an axle does on its springs: rates and forces through travel, the static balance, dampers; see `record`.

Rates are per wheel [N/mm], the tyre left out; a spring part and a geometric part make a whole. Forces are N, of bars
N.m; where there is an element on each side, they are the left one's. N = travel points of a sweep.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, CornerStrut, Mode, TorsionBar
from objectives.damper_figures import FAST, SLOW
from objectives.evaluate import measure
from objectives.fittings.dampers import DampingRatio
from objectives.fittings.forces import NEWTON_MM, carries_weight
from objectives.strain import Strain
from objectives.survey import StateSet, Survey

GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s^2]: the sprung mass is the weight over it."""
SPEEDS = (SLOW, FAST)
"""Wheel speeds at which a damper's force is shown [m/s]."""


@dataclass(frozen=True)
class Parts:
    """A rate over a sweep in its two parts (N,) [N/mm]."""

    spring: Array
    geometric: Array

    @property
    def whole(self) -> Array:
        """Both together (N,) [N/mm]."""
        return np.asarray(self.spring + self.geometric)


@dataclass(frozen=True)
class SpringSweep:
    """An axle on its springs over a sweep, each array (N,)."""

    travel: Array
    """[mm]."""
    heave_rate: Parts
    """K_h."""
    roll_rate: Parts
    """K_r."""
    roll_rate_by_force: Mapping[str, Array]
    """What each element's force adds to K_r, the geometric part by the element's name [N/mm]."""
    force: Mapping[str, Array]
    """Of the springs on each element, by its name [N, of bars N.m]."""


@dataclass(frozen=True)
class Share:
    """What the springs on an element do at static."""

    force: float | None
    """[N, of bars N.m]."""
    per_wheel: float | None
    """Vertical force with which it presses each wheel down, the mean of both [N]."""


@dataclass(frozen=True)
class Balance:
    """The axle at static: what its springs hold, and what they should."""

    shares: Mapping[str, Share]
    """By the element's name."""
    carrier: str | None
    """The spring whose force follows from the weight."""
    weight: float | None
    """Sprung weight on each wheel [N]; None where the file gives none."""
    held: float | None
    """What the springs hold at each wheel [N]."""

    @property
    def miss(self) -> float | None:
        """What they hold too much [N]."""
        return None if self.weight is None or self.held is None else self.held - self.weight


@dataclass(frozen=True)
class DamperRow:
    """A damper as the wheels feel it at static."""

    asked: float | None
    """The share of critical damping that it is to give; None for one given by its curve."""
    wheel_coefficient: float | None
    """[N.s/m] at each wheel. Of one that is asked for, on K_h and the mass of the sprung weight, the tyre left out;
    None in roll, where the car's inertia decides."""
    element_coefficient: float | None
    """[N.s/m] at the element; of a curve, between -v and +v at the slower of `SPEEDS`."""
    bump: tuple[float | None, ...]
    """Force at each wheel at each of `SPEEDS` of the wheel, squeezing the damper [N]."""
    rebound: tuple[float | None, ...]
    """The same drawing it out."""


@dataclass(frozen=True)
class OnSprings:
    """All that `analyse` shows of springs and dampers."""

    sweeps: Mapping[str, SpringSweep]
    """heave and roll."""
    balance: Balance
    dampers: Mapping[str, DamperRow]
    """By the element's name."""


def on_springs(surveyed: Survey) -> OnSprings | None:
    """What springs and dampers do on a surveyed axle (no batch axes); None where neither is fitted."""
    if not surveyed.fittings.springs and not surveyed.fittings.dampers:
        return None
    sweeps = (StateSet.HEAVE, StateSet.ROLL) if surveyed.fittings.springs else ()
    dampers = surveyed.fittings.dampers
    return OnSprings(
        sweeps={name.value: _sweep(surveyed, name) for name in sweeps},
        balance=_balance(surveyed),
        dampers={name: _damper(surveyed, name) for name in dampers},
    )


def in_file_unit(surveyed: Survey, name: str, force: Array) -> Array:
    """A force as files and tables have it: N, of bars N.m."""
    is_bar = isinstance(surveyed.axle.elements[name], TorsionBar | AntiRollBar)
    return force / NEWTON_MM if is_bar else force


def _sweep(surveyed: Survey, name: StateSet) -> SpringSweep:
    strain = surveyed.strain(name)
    return SpringSweep(
        travel=surveyed.plan.points[name],
        heave_rate=Parts(strain.spring.heave, strain.geometric.heave),
        roll_rate=Parts(strain.spring.roll, strain.geometric.roll),
        roll_rate_by_force={element: one.geometric.roll for element, one in strain.elements.items()},
        force={element: in_file_unit(surveyed, element, one.force) for element, one in strain.elements.items()},
    )


def _balance(surveyed: Survey) -> Balance:
    strain: Strain = surveyed.strain(StateSet.STATIC)
    carriers = [name for name, spring in surveyed.fittings.springs.items() if carries_weight(spring)]
    shares = {
        name: Share(_number(in_file_unit(surveyed, name, one.force)[0]), _number(0.5 * (one.by_left + one.by_right)[0]))
        for name, one in strain.elements.items()
    }
    held = _number(0.5 * (strain.by_left + strain.by_right)[0]) if shares else None
    return Balance(shares, carriers[0] if carriers else None, surveyed.fittings.loads.sprung_per_wheel, held)


def _damper(surveyed: Survey, name: str) -> DamperRow:
    damper = surveyed.fittings.dampers[name]
    if isinstance(damper, DampingRatio):
        return _asked(surveyed, name, float(damper.ratio))
    bump, rebound = ((f"{name}.{way}_force_slow", f"{name}.{way}_force_fast") for way in ("bump", "rebound"))
    coefficient = _measured(surveyed, f"{name}.wheel_damping")
    return DamperRow(
        asked=None,
        wheel_coefficient=coefficient,
        element_coefficient=_at_element(surveyed, name, coefficient),
        bump=tuple(_measured(surveyed, figure) for figure in bump),
        rebound=tuple(_measured(surveyed, figure) for figure in rebound),
    )


def _asked(surveyed: Survey, name: str, share: float) -> DamperRow:
    """A damper by the share of critical damping that it gives, known here in heave alone: see `DamperRow`."""
    weight = surveyed.fittings.loads.sprung_per_wheel
    rate = float(surveyed.strain(StateSet.STATIC).curvature.heave[0]) if surveyed.fittings.springs else 0.0
    known = surveyed.mode(name) is Mode.HEAVE and weight is not None and rate > 0.0
    coefficient = 2.0 * share * sqrt(1e3 * rate * (weight or 0.0) / GRAVITY) if known else None
    return DamperRow(share, coefficient, _at_element(surveyed, name, coefficient), (), ())


def _at_element(surveyed: Survey, name: str, coefficient: float | None) -> float | None:
    """A coefficient at each wheel as that of the damper itself: C MR^2 / 2 or, where there is one a side, C MR^2."""
    ratio = _measured(surveyed, f"{name}.motion_ratio")
    wheels = 1.0 if isinstance(surveyed.axle.elements[name], CornerStrut) else 2.0
    return None if coefficient is None or not ratio else coefficient * wheels / ratio**2


def _measured(surveyed: Survey, figure: str) -> float | None:
    return _number(float(measure(surveyed, figure).value))


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
