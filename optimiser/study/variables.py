"""The variables of a study: from points of the search to candidate axles."""

from functools import lru_cache

import numpy as np

from geometry.arrays import Array
from geometry.axle import Axle
from optimiser.study.keys import number_at
from optimiser.study.numbers import change_numbers
from optimiser.study.study import Study


def candidates(study: Study, x: Array) -> Axle:
    """The axle, or batch of axles, at points `x` (..., V) of the search, in the file's units [mm, deg].

    Varied numbers carry the batch axes (...) of `x`; all others keep those of the study's axle (none), so that what
    does not vary is computed once. Raises ValueError where the last axis of `x` is not the study's V variables.
    """
    if x.shape[-1:] != (len(study.variables),):
        raise ValueError(f"x has the shape {x.shape}; its last axis must be the {len(study.variables)} variables")
    columns = {one.path: to_inside(one.path, x[..., index]) for index, one in enumerate(study.variables)}
    return change_numbers(study.axle, columns.get)


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
