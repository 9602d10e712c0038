"""A search that takes part in a campaign of several machines: the storage found, and what is told of it."""

import sys
from typing import TYPE_CHECKING

from optimiser.errors import RockwrightError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from optimiser.report.results.folder import ResultsFolder
    from optimiser.search.crew import Tools
    from optimiser.search.island import Budget
    from optimiser.search.snapshot import Snapshot
    from optimiser.study.study import Study

MISSING = (
    "--storage needs Optuna 5 and psycopg 3, which are not installed: pip install 'rockwright[postgres]' on every "
    "machine that takes part"
)


class MissingEngineError(RockwrightError):
    """A storage asked for where what talks to it is not installed."""


def together(
    address: str,
    study: "Study",
    tools: "Tools",
    folder: "ResultsFolder",
    budget: "Budget",
    workers: int,
    stop: "Callable[[], bool]",
) -> "Iterator[Snapshot]":
    """The states of a campaign that this machine takes part in.

    Raises MissingEngineError, and what `optimiser.search.shared.part.part_taken` and its board raise.
    """
    try:
        from optimiser.search.shared.board import BEAT, GRACE, Board, campaign_name
    except ModuleNotFoundError as error:
        raise MissingEngineError(MISSING) from error
    from optimiser.report.results.manifest import fingerprint
    from optimiser.search.campaign import unbegun
    from optimiser.search.island import Settings, bounded
    from optimiser.search.shared.together import explored_together

    budget = bounded(tools.problem, budget)
    name = campaign_name(fingerprint(study.text), study.seed, budget.evaluations)
    board, begin = Board(address, name, BEAT, GRACE), unbegun(len(tools.problem.lower), tools.problem.objectives)
    return explored_together(board, study, budget, Settings(study.seed), begin, folder.versions, workers, stop, _tell)


def _tell(text: str) -> None:
    sys.stderr.write(f"{text}\n")
