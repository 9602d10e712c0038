"""Status of a state: what a linkage could do there. Failure is data, never an exception."""

from enum import IntEnum

import numpy as np

from geometry.arrays import Codes


class Status(IntEnum):
    """One code per state, kept in int8 arrays; `Status(code).word` is its name in tables and files."""

    OK = 0
    UNREACHABLE = 1
    """The rod cannot reach its rocker arm."""
    WHEEL_LOCKED = 2
    """The five links cannot reach this wheel travel or rack position."""
    OVER_CENTRE = 3
    """A signed arm about the rocker axis has changed sign against static: the state lies beyond a toggle."""

    @property
    def word(self) -> str:
        """The name used in tables and files: `ok`, `unreachable`, `wheel_locked`, `over_centre`."""
        return self.name.lower()


_BY_SEVERITY = np.array([Status.OK, Status.OVER_CENTRE, Status.UNREACHABLE, Status.WHEEL_LOCKED], dtype=np.int8)
_RANK = np.argsort(_BY_SEVERITY)


def worst(status: Codes) -> Codes:
    """The most severe status over the last axis (..., S) -> (...); OK over none.

    Links come before the rod, and a rod that cannot reach before a toggle passed.
    """
    if not status.any():
        return np.zeros(status.shape[:-1], dtype=np.int8)
    return np.asarray(_BY_SEVERITY[_RANK[status].max(axis=-1, initial=0)])
