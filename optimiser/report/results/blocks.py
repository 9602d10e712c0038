"""Columns of a results folder's files as one array, and back."""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import Array
from optimiser.report.front.columns import Columns


def block_of(columns: Columns) -> Array:
    """Columns side by side: (rows, columns)."""
    rows = len(next(iter(columns.values()), []))
    return np.array(list(columns.values()), dtype=np.float64).reshape(len(columns), rows).T.copy()


def named(names: Sequence[str], block: Array) -> Columns:
    """The columns of a block (rows, names)."""
    return {name: block[:, k].tolist() for k, name in enumerate(names)}
