"""Values of a JSON document: numbers at full precision, null where there is none."""

from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy as np

from geometry.arrays import Array

Json: TypeAlias = "bool | int | float | str | Sequence[Json] | Mapping[str, Json] | None"
"""What `json.dumps` writes."""


def numbers(values: Array) -> list[Json]:
    """A row of numbers, null where one is not finite."""
    return [value if np.isfinite(value) else None for value in values.tolist()]
