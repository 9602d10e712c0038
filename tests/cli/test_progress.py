"""The line that a search shows on a terminal."""

from dataclasses import replace

import numpy as np
import pytest

from optimiser.cli.progress import SearchProgress, told
from optimiser.search.island import Budget
from optimiser.search.snapshot import GrowthPoint, Snapshot

NONE = np.zeros((0, 2))
NOTHING = Snapshot(np.zeros(0, dtype=np.int64), NONE, NONE, NONE, 0, 0.0, 1, (), None, None, np.inf)


def test_before_anything_is_feasible_it_says_how_near_the_search_is() -> None:
    assert told(replace(NOTHING, evaluations=1200)) == "1,200 tried, none feasible yet"
    near = replace(NOTHING, evaluations=1200, closest=np.zeros(2), closest_violation=1.8765)
    assert told(near).endswith("the closest violates 1.88")


def test_growth_is_told_over_the_last_quarter() -> None:
    growth = tuple(GrowthPoint(n, float(n), n, n, v) for n, v in ((10, 1.0), (75, 4.0), (90, 4.5), (100, 5.0)))
    line = told(replace(NOTHING, evaluations=100, growth=growth))
    assert line == "100 tried, 100 members, hypervolume 5 +25.0%"


def test_nothing_is_shown_where_there_is_no_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    with SearchProgress(Budget(seconds=1.0)) as progress:
        progress.show(NOTHING)
    shown = capsys.readouterr()
    assert shown.out == shown.err == ""
