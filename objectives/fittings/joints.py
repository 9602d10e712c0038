"""The spherical joints of an axle, as a study writes them."""

from dataclasses import dataclass

from geometry.arrays import Array


@dataclass(frozen=True)
class Joint:
    """One joint of the left side, or of a cross-car strut.

    `bolt` (3,), a direction of any length at static in the car's axes; None for one along the rocker's axis, and there
    alone. `limit` [deg]: how far it may be out of true; None where nothing is said of it.
    """

    bolt: Array | None = None
    limit: float | None = None
