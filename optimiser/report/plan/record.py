"""What a search of a study is going to do, as a record."""

from dataclasses import dataclass

from optimiser.search.forecast import Stage, forecast
from optimiser.search.island import Budget
from optimiser.search.preview import Preview
from optimiser.study.study import Study


@dataclass(frozen=True)
class SearchPlan:
    """A search that has not begun: its study, with the seed that counts, and until when and by how many it is done.

    `at_once`: islands that are at work at one time. `stages`: its epochs; of a budget without an end, the first of
    them.
    """

    study: Study
    budget: Budget
    until_flat: float | None
    workers: int
    at_once: int
    preview: Preview
    stages: tuple[Stage, ...]


def search_plan(
    study: Study, preview: Preview, budget: Budget, workers: int, cores: int, until_flat: float | None = None
) -> SearchPlan:
    """The plan of a new search by so many workers on a machine of so many cores; no more than these work at once."""
    at_once = min(workers, cores)
    return SearchPlan(
        study, budget, until_flat, workers, at_once, preview, forecast(budget, preview.searched, at_once, study.islands)
    )
