"""Variables that take listed values alone: a pick-up's holes, lengths that parts come in.

Refinement holds them fixed, fresh starts are spread over them, and evolution mixes them.

Symbols: N points, V variables.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from geometry.arrays import Array, Flags
from optimiser.study.study import Study
from optimiser.study.variables import nearest


@dataclass(frozen=True)
class Choices:
    """The `values` (n,), rising, of variables by their column; columns that are not there are free."""

    values: Mapping[int, Array] = field(default_factory=dict)

    def fixed(self, variables: int) -> Flags:
        """(V,) which variables take listed values alone."""
        return np.isin(np.arange(variables), list(self.values))

    def snapped(self, x: Array) -> Array:
        """Points (N, V) with each listed variable at the nearest of its values."""
        if not self.values:
            return x
        x = x.copy()
        for column, values in self.values.items():
            x[:, column] = nearest(values, x[:, column])
        return x

    def placed(self, unit: Array, lower: Array, upper: Array) -> Array:
        """Points (N, V) between the bounds from points in the unit cube; every listed value has an equal share."""
        x = lower + unit * (upper - lower)
        for column, values in self.values.items():
            x[:, column] = values[np.minimum((unit[:, column] * len(values)).astype(np.intp), len(values) - 1)]
        return np.asarray(x)

    def mixed(self, x: Array, rng: np.random.Generator) -> Array:
        """Children (N, V) snapped, and now and then, once a child on average over all variables, put elsewhere."""
        if not self.values:
            return x
        x = self.snapped(x)
        for column, values in self.values.items():
            moved = rng.random(len(x)) < 1.0 / x.shape[1]
            x[:, column] = np.where(moved, rng.choice(values, len(x)), x[:, column])
        return x


FREE = Choices()
"""No variable takes listed values alone."""


def choices_of(study: Study) -> Choices:
    """The listed values of a study's variables."""
    listed = enumerate(study.variables)
    return Choices({column: np.array(one.choices) for column, one in listed if one.choices})
