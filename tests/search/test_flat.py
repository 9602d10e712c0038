"""When a front counts as flat: by how much it grew, over the whole of a time."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.search.flat import FLAT_SHARE, is_flat
from optimiser.search.snapshot import GrowthPoint


def log(*points: tuple[float, float], members: int = 3) -> list[GrowthPoint]:
    """A log of growth from (seconds, hypervolume)."""
    return [GrowthPoint(100 * k, seconds, k, members, volume) for k, (seconds, volume) in enumerate(points, 1)]


def test_no_growth_is_flat() -> None:
    assert is_flat(log((0.0, 5.0), (60.0, 5.0), (120.0, 5.0)), 100.0)


@pytest.mark.parametrize(("times", "flat"), [(0.5, True), (1.5, False)])
def test_the_share_is_the_border(times: float, flat: bool) -> None:
    grown = 8.0 * (1.0 + times * FLAT_SHARE)
    assert is_flat(log((0.0, 8.0), (30.0, 8.0), (60.0, grown)), 60.0) is flat


def test_only_the_time_asked_for_counts() -> None:
    grew_early = log((0.0, 1.0), (50.0, 4.0), (100.0, 4.0), (200.0, 4.0))
    assert is_flat(grew_early, 150.0)
    assert not is_flat(grew_early, 151.0)


def test_a_time_not_wholly_seen_is_not_flat() -> None:
    assert not is_flat(log((10.0, 5.0), (60.0, 5.0)), 51.0)
    assert is_flat(log((10.0, 5.0), (60.0, 5.0)), 50.0)
    assert not is_flat([], 0.0)


def test_what_stood_when_the_time_began_counts() -> None:
    """A log with a long pause: the front at the beginning is that of the entry before."""
    assert not is_flat(log((0.0, 1.0), (90.0, 4.0), (100.0, 4.0)), 20.0)
    assert is_flat(log((0.0, 4.0), (90.0, 4.0), (100.0, 4.0)), 20.0)


def test_a_front_that_lost_members_and_recovers_is_not_flat() -> None:
    assert not is_flat(log((0.0, 5.0), (50.0, 4.0), (100.0, 5.0)), 100.0)


def test_a_front_that_gained_and_lost_it_again_is_not_flat() -> None:
    assert not is_flat(log((0.0, 5.0), (50.0, 6.0), (100.0, 5.0)), 100.0)


def test_an_empty_front_is_not_flat() -> None:
    assert not is_flat(log((0.0, 0.0), (100.0, 0.0), members=0), 50.0)
    found = [*log((0.0, 0.0), members=0), *log((40.0, 5.0), (100.0, 5.0))]
    assert not is_flat(found, 80.0)
    assert is_flat(found, 60.0)


@given(st.lists(st.floats(1.0, 1.01), min_size=2, max_size=20), st.floats(0.1, 30.0))
def test_a_longer_time_is_never_flat_where_a_shorter_one_is_not(volumes: list[float], window: float) -> None:
    seen = log(*((float(k), volume) for k, volume in enumerate(volumes)))
    if is_flat(seen, window):
        assert all(is_flat(seen, window * part) for part in (0.2, 0.5, 0.9))
