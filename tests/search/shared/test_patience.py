"""Waiting for a storage that is away."""

import pytest

from optimiser.search.shared.patience import AwayError, Patience, StorageLostError


class Storage:
    """Is away for so many questions, and back then."""

    def __init__(self, away: int) -> None:
        self.left = away

    def __call__(self) -> str:
        if self.left:
            self.left -= 1
            raise AwayError("nobody there")
        return "here"


def test_what_answers_is_asked_once_and_nothing_is_told() -> None:
    told: list[str] = []
    assert Patience(told.append, lambda: False).call(Storage(0)) == "here"
    assert told == []


def test_a_storage_that_comes_back_is_waited_for_and_told_of_twice() -> None:
    told: list[str] = []
    assert Patience(told.append, lambda: False).call(Storage(2)) == "here"
    assert len(told) == 2
    assert "nobody there" in told[0]
    assert "back" in told[1]


def test_a_storage_that_stays_away_is_given_up_once_for_all_with_the_next_step() -> None:
    told: list[str] = []
    patience = Patience(told.append, lambda: False, most=0.6)
    for _ in range(2):
        with pytest.raises(StorageLostError, match=r"nobody there(.|\n)*--resume") as lost:
            patience.call(Storage(10**9))
        assert lost.value.exit_code == 3
    assert len(told) == 1


def test_who_is_to_stop_waits_no_longer() -> None:
    with pytest.raises(StorageLostError):
        Patience(lambda _: None, lambda: True, most=1e9).call(Storage(10**9))
