"""Whether a search has stopped gaining: what its log of growth says of the last minutes."""

from collections.abc import Sequence

from optimiser.search.snapshot import GrowthPoint

FLAT_SHARE = 0.001
"""A front whose hypervolume differs by less than this share of itself over a time is flat over it."""


def is_flat(growth: Sequence[GrowthPoint], window: float, share: float = FLAT_SHARE) -> bool:
    """Whether the front stood still over the last `window` seconds, by a log of growth in the order of its times.

    It did if there were members throughout, and the largest hypervolume of that time is no more than `share` above the
    smallest: members that go and come back are no standstill. False while the log does not reach back so far; what
    was known when the time began counts as its first moment.
    """
    if not growth:
        return False
    since = growth[-1].seconds - window
    known = [point for point in growth if point.seconds <= since]
    seen = [*known[-1:], *(point for point in growth if point.seconds > since)]
    if not known or not all(point.members for point in seen):
        return False
    volumes = [point.hypervolume for point in seen]
    return max(volumes) <= (1.0 + share) * min(volumes)
