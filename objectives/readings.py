"""What a figure's measurement gives: a number a candidate, or null and the word that says why."""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from geometry.arrays import Array, Codes
from geometry.status import Status


class FigureStatus(IntEnum):
    """Why a figure is null, or for `beyond_search` and `beyond_travel` a bound; `past_travel` is but a warning.

    The first four are those of `geometry.status.Status`.
    """

    OK = Status.OK
    UNREACHABLE = Status.UNREACHABLE
    WHEEL_LOCKED = Status.WHEEL_LOCKED
    OVER_CENTRE = Status.OVER_CENTRE
    BEYOND_SEARCH = 4
    """Nothing was met in the travel searched: the value is the travel searched, not null."""
    NOT_DECOUPLED = 5
    """A corner strut serves no mode: the figure has no meaning for it."""
    ROLL_ONLY = 6
    """The figure has a meaning for elements that serve roll alone."""
    NO_MOTION = 7
    """The motion that the figure is a ratio to is nothing."""
    BEYOND_TRAVEL = 8
    """Nothing was met within the travel: the value is the travel itself, not null."""
    NOTHING_FITTED = 9
    """There is no spring, damper or load that the figure tells of."""
    OF_STRUTS = 10
    """The figure is of elements that have a length."""
    OF_BARS = 11
    """The figure is of elements that twist."""
    PAST_TRAVEL = 12
    """A load case takes a wheel past its travel: the value is what the springs alone give there, not null."""
    NO_BALANCE = 13
    """Springs and wheel loads come to no rest in a load case."""
    NEVER_PRESSED = 14
    """No load case presses the rod."""

    @property
    def word(self) -> str:
        """The name used in tables and files: `ok`, `unreachable`, `no_motion`, ..."""
        return self.name.lower()


MEANINGLESS = (
    FigureStatus.NOT_DECOUPLED,
    FigureStatus.ROLL_ONLY,
    FigureStatus.NOTHING_FITTED,
    FigureStatus.OF_STRUTS,
    FigureStatus.OF_BARS,
)
"""Why a figure is null for every candidate alike, whatever its numbers: it has no meaning there."""
NOTHING = 1e-9
"""A motion ratio [mm/mm] or a stroke [mm] below this is none: ratios to it are null. Compiled code has it too."""


@dataclass(frozen=True)
class Reading:
    """`value` (*B), NaN where null; `status` (*B) of `FigureStatus`."""

    value: Array
    status: Codes


def read(value: Array, status: Codes) -> Reading:
    """A reading over states of which each candidate has a worst status (*B); null where that is not OK."""
    value, status = np.broadcast_arrays(value, status)
    return Reading(np.where(status == FigureStatus.OK, value, np.nan), status)


def at_static(value: Array, shape: tuple[int, ...]) -> Reading:
    """A reading of the static points alone, spread over a batch; null only where a degenerate axis leaves no number."""
    value = np.broadcast_to(value, shape)
    return read(value, np.where(np.isfinite(value), FigureStatus.OK, FigureStatus.UNREACHABLE).astype(np.int8))


def ratio(over: Array, under: Array, status: Codes) -> Reading:
    """over / under (*B); `no_motion` where `under` is nothing, unless the states' own status says more."""
    over, under, status = np.broadcast_arrays(over, under, status)
    still = np.abs(under) < NOTHING
    status = np.where((status == FigureStatus.OK) & still, FigureStatus.NO_MOTION, status).astype(np.int8)
    return read(over / np.where(still, 1.0, under), status)


def without_meaning(shape: tuple[int, ...], why: FigureStatus) -> Reading:
    """A reading that is null for every candidate."""
    return Reading(np.full(shape, np.nan), np.full(shape, why, dtype=np.int8))
