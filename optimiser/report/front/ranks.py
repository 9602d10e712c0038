"""Rank correlation: which objectives are nearly one. Plain lists, no numpy: showing a front starts quickly."""

import math
from collections.abc import Sequence
from itertools import groupby


def ranks(values: Sequence[float]) -> list[float]:
    """The ranks of `values`, from 1, equal values sharing the mean of their places."""
    order = sorted(range(len(values)), key=values.__getitem__)
    shared = [0.0] * len(values)
    done = 0
    for _, group in groupby(order, key=values.__getitem__):
        places = list(group)
        for place in places:
            shared[place] = done + (len(places) + 1) / 2.0
        done += len(places)
    return shared


def rank_correlation(a: Sequence[float], b: Sequence[float]) -> float:
    """Spearman's rank correlation of two equally long columns: Pearson's of their ranks, -1..1.

    NaN where either is the same throughout, or has fewer than two values. Source: C. Spearman, "The proof and
    measurement of association between two things", American Journal of Psychology 15 (1904).
    """
    middle = (len(a) + 1) / 2.0
    first = [rank - middle for rank in ranks(a)]
    second = [rank - middle for rank in ranks(b)]
    scale = math.sqrt(_product(first, first) * _product(second, second))
    return _product(first, second) / scale if scale > 0.0 else math.nan


def _product(a: Sequence[float], b: Sequence[float]) -> float:
    return math.fsum(x * y for x, y in zip(a, b, strict=True))
