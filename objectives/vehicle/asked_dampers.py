"""Dampers that a car's targets ask for, and what the tyre makes of them.

The handbooks' ratio is C / (2 sqrt(K_R m)), the sprung mass on spring and tyre as one spring. But the damper has the
tyre in series: it can shake the body on the tyre with the wheel standing still against it, and beyond some coefficient
more damping damps less. The ratio that is really left is that of the quarter car's damped eigenvalue.
"""

from dataclasses import dataclass

import numpy as np

from geometry.axle import Mode
from objectives.vehicle.asked import ENDS
from objectives.vehicle.car_state import CarState
from objectives.vehicle.damping import per_wheel
from objectives.vehicle.modes import modes
from objectives.vehicle.rates import MM
from objectives.vehicle.system import Body, System, WheelSet, assemble

TRIED = np.geomspace(0.02, 20.0, 31)
"""Handbook ratios around the best of which the one that damps the body best is found."""
FINER = 15
"""Ratios tried between the two neighbours of the best: it is then known to 4 %, and what it damps far better."""


@dataclass(frozen=True)
class AskedDamper:
    """One mode of one axle. Ratios as in the handbooks (`asked`, None where no target; `present`), and what the body's
    mode really has on its tyre (`true_asked`, `true_present`).

    `wheel`: coefficient per wheel asked, or present where none is [N.s/mm]; `element`, its `coefficient` there
    [N.s/mm] (NaN without a damped element). `best`: the most that any coefficient damps, with `best_ratio` by the
    handbooks.
    """

    end: str
    mode: Mode
    asked: float | None
    present: float
    wheel: float
    element: str
    coefficient: float
    true_asked: float | None
    true_present: float
    best: float
    best_ratio: float


def asked_dampers(state: CarState) -> tuple[AskedDamper, ...]:
    """Both modes of both axles, at the present rates: front heave, rear heave, front roll, rear roll."""
    return tuple(_asked(state, end, mode) for mode in Mode for end in (0, 1))


def _asked(state: CarState, end: int, mode: Mode) -> AskedDamper:
    targets = state.car.targets
    asked = targets.heave_damping if mode is Mode.HEAVE else targets.roll_damping
    present = state.damping_ratio(end, mode)
    wheel = (present if asked is None else asked) * state.critical[end][mode]
    element, share = _damped_element(state, end, mode)
    best_ratio = _best(state, end, mode)
    return AskedDamper(
        end=ENDS[end],
        mode=mode,
        asked=asked,
        present=present,
        wheel=wheel,
        element=element,
        coefficient=wheel / share if share > 0.0 else np.nan,
        true_asked=None if asked is None else _true_ratio(state, end, mode, asked),
        true_present=_true_ratio(state, end, mode, present),
        best=_true_ratio(state, end, mode, best_ratio),
        best_ratio=best_ratio,
    )


def _damped_element(state: CarState, end: int, mode: Mode) -> tuple[str, float]:
    """The damped element that moves most in a mode, and what 1 N.s/mm on it is per wheel."""
    pulls = state.axles[end].pulls
    shares = {name: per_wheel(pulls[name].block, mode) for name in state.car.axles[end].fittings.dampers}
    name = max(shares, key=lambda one: shares[one], default="")
    return (name, shares[name]) if name else ("", 0.0)


def _best(state: CarState, end: int, mode: Mode) -> float:
    """The handbook ratio that damps the body best."""
    tried = TRIED
    for _ in range(2):
        best = int(np.argmax([_true_ratio(state, end, mode, float(ratio)) for ratio in tried]))
        low, high = tried[max(best - 1, 0)], tried[min(best + 1, len(tried) - 1)]
        found, tried = float(tried[best]), np.geomspace(low, high, FINER)
    return found


def _true_ratio(state: CarState, end: int, mode: Mode, ratio: float) -> float:
    return float(modes(corner_of(state, end, mode, ratio)).ratio[0])


def corner_of(state: CarState, end: int, mode: Mode, ratio: float) -> System:
    """The quarter car of an axle in one mode, damped by a handbook's ratio; its coordinates heave and wheel.

    Its body has the sprung mass per wheel, or in roll the mass at the wheel that makes the axle's share of the inertia.
    """
    axle, tyre = state.car.axles[end], state.car.axles[end].tyre_rate / MM
    critical = state.critical[end][mode] / MM
    body = (critical / 2.0) ** 2 / (state.ride_rate(end, mode) / MM)
    wheel = WheelSet(("wheel",), np.zeros(1), np.zeros(1), np.array([axle.unsprung]), np.array([tyre]))
    rate, coefficient = np.array([[state.axles[end].rate(mode) / MM]]), np.array([[ratio * critical]])
    return assemble(Body(body, 1.0, 1.0), wheel, rate, coefficient).keep(("heave", "wheel"))
