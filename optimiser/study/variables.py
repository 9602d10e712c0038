"""The variables of a study: from points of the search to candidate axles."""

from functools import lru_cache

import numpy as np

from geometry.arrays import Array
from geometry.axle import Axle
from objectives.adjustment.holes import with_hole
from optimiser.study.keys import number_at
from optimiser.study.numbers import change_numbers
from optimiser.study.study import Study, Variable

PICKUPS, HOLE = "rocker.pickups.", ".hole"
"""How the path of a pick-up's hole begins and ends."""


def candidates(study: Study, x: Array) -> Axle:
    """The axle, or batch of axles, at points `x` (..., V) of the search, in the file's units [mm, deg].

    A variable of listed values, such as a hole's number, is taken at the nearest of them.
    Varied numbers carry the batch axes (...) of `x`; all others keep those of the study's axle (none), so that what
    does not vary is computed once. Raises ValueError where the last axis of `x` is not the study's V variables.
    """
    if x.shape[-1:] != (len(study.variables),):
        raise ValueError(f"x has the shape {x.shape}; its last axis must be the {len(study.variables)} variables")
    taken = {one.path: _taken(one, x[..., index]) for index, one in enumerate(study.variables)}
    numbers = {path: to_inside(path, value) for path, value in taken.items() if pickup_of(path) is None}
    axle = change_numbers(study.axle, numbers.get)
    for path, value in taken.items():
        if (pickup := pickup_of(path)) is not None:
            axle = with_hole(axle, pickup, study.fittings.adjust.holes[pickup], value.astype(np.intp))
    return axle


def nearest(values: Array, x: Array) -> Array:
    """The nearest of `values` (n,), rising, to each of `x` (...); the lower of two that are as near."""
    return np.asarray(values[np.searchsorted(0.5 * (values[:-1] + values[1:]), x)])


def pickup_of(path: str) -> str | None:
    """The pick-up whose hole a path under `vary` chooses; None for the path of a number."""
    return path[len(PICKUPS) : -len(HOLE)] if path.startswith(PICKUPS) and path.endswith(HOLE) else None


def _taken(variable: Variable, x: Array) -> Array:
    return nearest(np.array(variable.choices), x) if variable.choices else x


def base_point(study: Study) -> Array:
    """The study's own geometry as a point of the search: (V,), in the file's units [mm, deg]."""
    return np.array([variable.value for variable in study.variables], dtype=np.float64)


@lru_cache(maxsize=1024)
def is_angle(path: str) -> bool:
    """Whether the number at a path below `axle` is an angle, deg in files and rad inside."""
    form = number_at(path)
    return form is not None and form.unit == "deg"


def to_inside(path: str, value: Array) -> Array:
    """A number in the file's unit [mm, deg] as it is kept inside [mm, rad]."""
    return np.deg2rad(value) if is_angle(path) else value


def to_file(path: str, value: Array) -> Array:
    """A number as it is kept inside [mm, rad] in the file's unit [mm, deg]."""
    return np.rad2deg(value) if is_angle(path) else value
