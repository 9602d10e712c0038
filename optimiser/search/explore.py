"""A search of a study on one machine, with as many workers as asked for."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

from optimiser.search.campaign import campaign
from optimiser.search.crew import Alone, Tools, Workers, tools_of
from optimiser.search.island import Budget, Settings, bounded
from optimiser.search.plan import OPENING
from optimiser.search.share import ALONE, Share
from optimiser.search.snapshot import Snapshot
from optimiser.study.study import Study


def explored(
    study: Study,
    tools: Tools,
    budget: Budget,
    settings: Settings,
    start: Snapshot,
    workers: int = 1,
    stop: Callable[[], bool] = lambda: False,
    share: Share = ALONE,
) -> Iterator[Snapshot]:
    """The states of a search, as `optimiser.search.campaign.campaign` hands them out.

    Where all variables take listed values, and these are not too many, it ends with every point measured.

    The opening, which is one island, is done here while the workers make their tools. Where all there is to do is the
    opening there are none. Raises WorkersLostError where workers die again and again.
    """
    deadline = None if budget.seconds is None else settings.clock() + budget.seconds

    def over() -> bool:
        return stop() or (deadline is not None and settings.clock() >= deadline)

    budget, alone = bounded(tools.problem, budget), Alone(tools, over)
    if workers == 1 or (budget.evaluations is not None and budget.evaluations <= OPENING):
        yield from campaign(alone, budget, settings, start, stop, share)
        return
    with Workers(partial(tools_of, study), workers) as crew:
        opened = start
        if not start.epochs:
            for opened in campaign(alone, replace(budget, epochs=1), settings, start, over, share):
                yield opened
        left = None if deadline is None else max(0.0, deadline - settings.clock())
        yield from campaign(crew, replace(budget, seconds=left), settings, opened, stop, share)
