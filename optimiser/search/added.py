"""What points add to the hypervolume of a front that lacks them.

Symbols: N members of the front, K points, M objectives, all minimised.
"""

import heapq

import numpy as np

from geometry.arrays import Array
from optimiser.search.volume import nondominated, volume


def added(point: Array, front: Array, reference: Array) -> float:
    """The volume that `point` (M,) dominates before `reference` (M,) and nothing of `front` (N, M) does; at least 0.

    What both dominate is what the front dominates once it is drawn back behind the point, objective by objective.
    Source: L. While, L. Bradstreet, L. Barone, "A fast way of calculating exact hypervolumes", IEEE Transactions on
    Evolutionary Computation 16 (2012), section III ("limit set").
    """
    if not (point < reference).all():
        return 0.0
    behind = np.maximum(front, point)
    shared = volume(behind[nondominated(behind)], reference)
    return max(0.0, float(np.prod(reference - point)) - shared)


def most_adding(points: Array, front: Array, reference: Array, count: int) -> list[tuple[int, float]]:
    """Up to `count` of the points (K, M), each the one that adds most to the front and the points named before it.

    Each as its row and the volume that it adds, above 0. What a point adds never grows as others join: the last known
    value bounds it, and only the points that lead by it are measured again.
    """
    waiting = [(-added(point, front, reference), row, 0) for row, point in enumerate(points)]
    heapq.heapify(waiting)
    chosen: list[tuple[int, float]] = []
    while waiting and len(chosen) < count and waiting[0][0] < 0.0:
        gain, row, known = waiting[0]
        if known == len(chosen):
            heapq.heappop(waiting)
            chosen.append((row, -gain))
        else:
            both = np.concatenate([front, points[[one for one, _ in chosen]]])
            heapq.heapreplace(waiting, (-added(points[row], both, reference), row, len(chosen)))
    return chosen
