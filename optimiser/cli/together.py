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
    "--storage needs Optuna 5 and psycopg 3, which are not installed here: pip install '.[postgres]' in the folder of "
    "rockwright's sources, on every machine that takes part"
)


class OtherFolderError(RockwrightError):
    """A results folder whose contents a campaign of several machines would write over."""


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

    Raises MissingEngineError, OtherFolderError where the folder holds another search's finds, and what
    `optimiser.search.shared.part.part_taken` and its board raise.
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
    _join(folder, name)
    board, begin = Board(address, name, BEAT, GRACE), unbegun(len(tools.problem.lower), tools.problem.objectives)
    return explored_together(
        board, study, budget, Settings(study.seed, islands=study.islands), begin, folder.versions, workers, stop, _tell
    )


def _join(folder: "ResultsFolder", campaign: str) -> None:
    """Have the folder be a state of the campaign, which it is written over with."""
    before, of = folder.before, folder.share.of
    if of > 1:
        raise OtherFolderError("--islands is for machines that do not meet; leave it out with --storage")
    if before is not None and before.manifest.evaluations and before.manifest.campaign != campaign:
        raise OtherFolderError(
            f"the results folder holds {before.manifest.evaluations} candidates of another search, which the campaign "
            f"in the storage would write over: name another folder with --out (`front A B` reads both)"
        )
    folder.campaign = campaign


def _tell(text: str) -> None:
    sys.stderr.write(f"{text}\n")
