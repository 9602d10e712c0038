"""A search of a study together with other machines, by workers of this one's own."""

from collections.abc import Callable, Iterator, Mapping
from functools import partial

from optimiser.search.crew import Workers, tools_of
from optimiser.search.island import Budget, Settings
from optimiser.search.shared.board import Board
from optimiser.search.shared.part import part_taken
from optimiser.search.shared.patience import Patience
from optimiser.search.snapshot import Snapshot
from optimiser.study.study import Study


def explored_together(
    board: Board,
    study: Study,
    budget: Budget,
    settings: Settings,
    begin: Snapshot,
    versions: Mapping[str, str],
    workers: int,
    stop: Callable[[], bool],
    tell: Callable[[str], None],
) -> Iterator[Snapshot]:
    """The states of a campaign that this machine takes part in: see `optimiser.search.shared.part.part_taken`."""
    with board, Workers(partial(tools_of, study), workers) as crew:
        yield from part_taken(board, crew, budget, settings, begin, versions, Patience(tell, stop), stop)
