"""One machine's part in a shared campaign, in this process, on a real server."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import zip_longest

import numpy as np
import pytest

from optimiser.search.campaign import unbegun
from optimiser.search.crew import Alone
from optimiser.search.island import Budget, Settings
from optimiser.search.shared.board import Board, StorageError
from optimiser.search.shared.part import OtherVersionsError, part_taken
from optimiser.search.shared.patience import Patience, StorageLostError
from optimiser.search.shared.text import found_of
from optimiser.search.snapshot import Snapshot
from tests.islands import SETTINGS, bnh_tools, explored, same, small_islands
from tests.server import Server

CAMPAIGN = "a campaign"
VERSIONS = {"numpy": "2.4.6", "python": "3.11.9"}
ENOUGH = 3_000


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    small_islands(monkeypatch)


@pytest.fixture
def board(server: Server) -> Iterator[Board]:
    with Board(server.database(), CAMPAIGN, beat=1, grace=4) as one:
        yield one


def part(
    board: Board,
    budget: Budget | None = None,
    begin: Snapshot | None = None,
    settings: Settings = SETTINGS,
    patience: float = 1.0,
    stop: Callable[[], bool] = lambda: False,
) -> Iterator[Snapshot]:
    """The states of a machine's part, with no worker but this process."""
    return part_taken(
        board,
        Alone(bnh_tools()),
        budget or Budget(ENOUGH),
        settings,
        begin or unbegun(2, 2),
        VERSIONS,
        Patience(lambda _: None, stop, patience),
        stop,
    )


def fast() -> Settings:
    """Settings with a clock that runs so fast that every report is handed out and every look is due."""
    ticks = iter(np.arange(0.0, 1e9, 10.0))
    return replace(SETTINGS, clock=lambda: next(ticks))


def test_one_machine_finds_what_a_search_without_a_storage_finds(board: Board) -> None:
    *_, end = part(board)
    assert same(end, explored(ENOUGH))
    assert end.epoch is None


def test_designs_to_begin_with_are_begun_with(board: Board) -> None:
    begin = unbegun(2, 2, np.array([[1.0, 1.0], [4.0, 3.0]]))
    *_, end = part(board, begin=begin)
    assert same(end, explored(ENOUGH, begin))
    assert not same(end, explored(ENOUGH))


def test_two_machines_that_take_turns_find_the_same(server: Server) -> None:
    address = server.database()
    with Board(address, CAMPAIGN) as one, Board(address, CAMPAIGN) as other:
        *_, (first, second) = zip_longest(part(one, settings=fast()), part(other, settings=fast()))
        ends = [first or second, *part(one)]
    assert all(same(end, explored(ENOUGH)) for end in ends)


def test_who_stops_within_an_epoch_can_go_on_alone_or_together(board: Board) -> None:
    asked = iter(range(10**9))
    *_, state = part(board, settings=fast(), stop=lambda: next(asked) > 9)
    assert 0 < state.evaluations < ENOUGH
    assert state.epoch is not None
    (left,) = [one for one in board.look(state.epochs, len(state.epoch.quotas)).waiting if one.begun is not None]
    begun = state.epoch.islands[left.island]
    assert begun is not None
    assert same(found_of(state.epoch.start, left.begun or ""), begun)
    assert same(explored(ENOUGH, state), explored(ENOUGH))
    *_, end = part(board)
    assert same(end, explored(ENOUGH))


def test_time_ends_a_part_and_the_campaign_s_own_time_goes_on(board: Board) -> None:
    *_, first = part(board, Budget(ENOUGH, seconds=1000.0), settings=fast())
    *_, second = part(board, Budget(ENOUGH), settings=fast())
    assert 0 < first.evaluations < second.evaluations
    evaluations = [point.evaluations for point in second.growth]
    assert evaluations == sorted(set(evaluations))
    assert [point.seconds for point in second.growth] == sorted(point.seconds for point in second.growth)


def test_a_machine_of_other_versions_is_refused_by_name(server: Server, board: Board) -> None:
    next(part(board, settings=fast()))
    other = {"numpy": "2.5.0", "python": "3.11.9", "scipy": "1.17.1"}
    patience = Patience(lambda _: None, lambda: False)
    with pytest.raises(OtherVersionsError, match=r"numpy 2\.4\.6 there, 2\.5\.0 here, scipy none there") as refused:
        next(part_taken(board, Alone(bnh_tools()), Budget(ENOUGH), SETTINGS, unbegun(2, 2), other, patience))
    assert "python" not in str(refused.value)


def test_a_storage_that_holds_something_else_is_refused(board: Board) -> None:
    board.propose(0, "{}")
    with pytest.raises(StorageError, match="no plan"):
        next(part(board))


def test_a_storage_that_stays_away_ends_the_part_after_the_state_is_handed_out(server: Server, board: Board) -> None:
    states = part(board, settings=fast(), patience=0.6)
    first = next(state for state in states if state.evaluations)
    server.stop()
    try:
        later: list[Snapshot] = []
        with pytest.raises(StorageLostError, match="--resume"):
            later.extend(iter(states))
    finally:
        server.start()
    assert first.evaluations < ENOUGH
    *_, end = part(board)
    assert same(end, explored(ENOUGH))
