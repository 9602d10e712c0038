"""Springs as installed on an axle: the law of each element, its static force known.

The weight is carried by virtual work. With W the sprung weight on each wheel, and every spring's force F_i at static,
heave asks for sum of F_i dc_i/dh = 2 W: a cross-car strut that carries it all has F = 2 W / MR_h, and a corner strut or
a torsion bar, of which there are two, F = W / MR.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from geometry.axle import Axle, CornerStrut, TorsionBar
from geometry.motion import Motion
from objectives.fittings.fitted import Fittings
from objectives.fittings.forces import carries_weight, knee_at, law_of, slack_at, solid_at
from objectives.fittings.law import Law, side_by_side
from objectives.fittings.springs import Spring
from objectives.readings import NOTHING


@dataclass(frozen=True)
class Installed:
    """The springs of one element together: their law, and where it changes (*B) [mm].

    `slack_at`: the compression at and below which a spring that cannot pull is slack, -inf where there is none.
    `solid_at`: the one at which a coil is solid, inf where none is. `knee_at`: |c| at which an opposed pair lets go.
    """

    law: Law
    slack_at: Array
    solid_at: Array
    knee_at: Array


def install(axle: Axle, fittings: Fittings, static: Motion) -> dict[str, Installed]:
    """The springs of every element that has any, in the axle's order; `static`: its motion at static alone.

    All numbers of an element whose spring carries the weight are NaN where heave does not move it. Raises ValueError
    where a spring carries the weight and none is given.
    """
    pulls = {name: _heave_pull(axle, static, name) for name in axle.elements if fittings.on(name)}
    carried = _carried(fittings, pulls)
    return {name: _together(fittings.on(name), carried) for name in pulls}


def _heave_pull(axle: Axle, static: Motion, name: str) -> Array:
    """d(compression)/dh at static (*B), of both where there is one on each side."""
    squeeze = static.squeeze(name)
    pull = (squeeze.by_left + squeeze.by_right)[..., 0]
    return np.asarray(2.0 * pull if isinstance(axle.elements[name], CornerStrut | TorsionBar) else pull)


def _carried(fittings: Fittings, pulls: Mapping[str, Array]) -> Array | None:
    """The static force (*B) of the spring that carries the weight which the others leave; None where none does."""
    carrier = next((one for one in fittings.springs.values() if carries_weight(one)), None)
    if carrier is None:
        return None
    if fittings.loads.sprung_per_wheel is None:
        raise ValueError(f"the spring on {carrier.on} carries the weight: give sprung_per_wheel")
    others = [one for one in fittings.springs.values() if one is not carrier]
    borne = sum((_static_force(one) * pulls[one.on] for one in others), np.asarray(0.0))
    pull = pulls[carrier.on]
    idle = np.abs(pull) < NOTHING
    left = 2.0 * fittings.loads.sprung_per_wheel - borne
    return np.where(idle, np.nan, left / np.where(idle, 1.0, pull))


def _static_force(spring: Spring) -> Array:
    return np.asarray(law_of(spring).force(np.zeros(1))[..., 0])


def _together(springs: tuple[Spring, ...], carried: Array | None) -> Installed:
    given = [(one, carried if carries_weight(one) else None) for one in springs]
    return Installed(
        law=side_by_side(law_of(one, static) for one, static in given),
        slack_at=np.asarray(np.max(np.broadcast_arrays(*(slack_at(one, static) for one, static in given)), axis=0)),
        solid_at=np.asarray(np.min(np.broadcast_arrays(*(solid_at(one, static) for one, static in given)), axis=0)),
        knee_at=np.asarray(np.min(np.broadcast_arrays(*(knee_at(one) for one in springs)), axis=0)),
    )
