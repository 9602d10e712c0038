"""What an axle must carry, as a study writes it: frozen records."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from geometry.arrays import Array


@dataclass(frozen=True)
class LoadCase:
    """Forces of the ground on each tyre's contact point, `left` and `right` (3,) [N], both as x, y, z of the car.

    `brake_inboard`: the moment of a longitudinal force about the wheel's spin axis goes to the chassis by a shaft, not
    to the upright.
    """

    left: Array
    right: Array
    brake_inboard: bool = False


@dataclass(frozen=True)
class RodTube:
    """The rod as a tube: `outer`, `wall` [mm]; `modulus`, `yield_stress` [N/mm^2]."""

    outer: float
    wall: float
    modulus: float
    yield_stress: float


@dataclass(frozen=True)
class Loads:
    """`sprung_per_wheel`: the sprung weight that each wheel carries at static [N]."""

    sprung_per_wheel: float | None = None
    cases: Mapping[str, LoadCase] = field(default_factory=dict)
    rod_tube: RodTube | None = None
