"""How much of an axle's bump travel the states of a lap use up together, and when a roll strut's springs let go.

Wheel travels of the more loaded wheel add up as if springs were lines from the height at speed on: a budget, not a
state. Travels mm, accelerations g.
"""

from dataclasses import dataclass
from math import inf

import numpy as np

from geometry.axle import Mode
from objectives.vehicle.car_state import CarState


@dataclass(frozen=True)
class Budget:
    """Bump travel of one axle's more loaded wheel: at the top `speed`, in `braking` and `cornering` at 1 g each, on the
    `kerb`; `range` that the axle has. NaN where a part is not known."""

    speed: float
    braking: float
    cornering: float
    kerb: float
    range: float

    @property
    def left(self) -> float:
        """What is left where all come together."""
        return self.range - self.speed - self.braking - self.cornering - self.kerb


def budget(state: CarState, end: int, travels: tuple[float, float, float, float]) -> Budget:
    """The budget of an axle from its travels at speed, braking, cornering and on a kerb; droop counts as 0."""
    speed, braking, cornering, kerb = (one if np.isnan(one) else max(one, 0.0) for one in travels)
    return Budget(speed, braking, cornering, kerb, state.car.axles[end].travel.wheel[1])


def lets_go(state: CarState, end: int, roll_travel: float) -> float:
    """Lateral acceleration at which one spring of the axle's opposed pairs lets go [g]; infinite where none does.

    `roll_travel`: r at 1 g, springs as lines about static. A pair with a dead band takes hold there instead.
    """
    axle = state.axles[end]
    found = inf
    for name, springs in axle.installed.items():
        moved = abs(axle.pulls[name].ratio(Mode.ROLL) * roll_travel)
        if moved > 0.0:
            found = min(found, float(springs.knee_at) / moved)
    return found
