"""The sweeps of a rig: how wheels and rack stand at a travel, and how far each may go."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.travel import INSIDE, AxleStates, Range, Travel


@dataclass(frozen=True)
class Sweep:
    """What 1 mm of a sweep's travel is of left wheel, right wheel and rack."""

    left: float
    right: float
    rack: float
    what: str


SWEEPS: Mapping[str, Sweep] = {
    "heave": Sweep(1.0, 1.0, 0.0, "both wheels up"),
    "roll": Sweep(1.0, -1.0, 0.0, "left wheel up, right wheel down"),
    "one_wheel": Sweep(1.0, 0.0, 0.0, "left wheel up, right wheel at static"),
    "one_wheel_right": Sweep(0.0, 1.0, 0.0, "right wheel up, left wheel at static"),
    "rack": Sweep(0.0, 0.0, 1.0, "rack to the left, wheel centres at static height"),
}


def span_of(sweep: str, travel: Travel) -> Range | None:
    """The travel [mm] that a sweep may use: both wheels stay inside `travel.wheel`; None where there is no rack."""
    low, high = travel.wheel
    if sweep == "rack":
        return travel.rack
    return (max(low, -high), min(high, -low)) if sweep == "roll" else (low, high)


def holds(span: Range, travel: float) -> bool:
    """Whether a travel [mm] lies in a range."""
    return span[0] - INSIDE <= travel <= span[1] + INSIDE


def states_of(sweeps: Sequence[str], travel: Sequence[float]) -> AxleStates:
    """The states (R,) of sweeps at travels [mm]."""
    factors = np.array([(SWEEPS[one].left, SWEEPS[one].right, SWEEPS[one].rack) for one in sweeps]).reshape(-1, 3)
    left, right, rack = (factors * np.asarray(travel, dtype=np.float64)[:, None]).T
    return AxleStates(left, right, rack)
