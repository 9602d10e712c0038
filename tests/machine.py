"""One machine of a shared campaign on a small problem, as a process that a test starts, kills and listens to.

    python machine.py ADDRESS EVALUATIONS WORKERS OUT

writes its last state to the file OUT as the text of a plan without islands.
"""

import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from geometry.arrays import Array
from optimiser.search.campaign import unbegun
from optimiser.search.crew import Tools, Workers
from optimiser.search.island import Budget
from optimiser.search.problem import Batch
from optimiser.search.shared.board import Board
from optimiser.search.shared.part import part_taken
from optimiser.search.shared.patience import Patience
from optimiser.search.shared.text import Plan, plan_text
from optimiser.search.snapshot import Epoch
from tests.islands import SETTINGS, bnh_tools, small_islands

CAMPAIGN = "a campaign"
VERSIONS = {"program": "1"}
SLOWLY = 0.02
"""What a call of the problem takes longer [s], so that an island is not done before anything can happen to it."""
BEAT, GRACE = 1, 4


def slow_tools() -> Tools:
    """The small problem, slowly."""
    tools = bnh_tools()

    def evaluate(x: Array) -> Batch:
        time.sleep(SLOWLY)
        return tools.problem.evaluate(x)

    return replace(tools, problem=replace(tools.problem, evaluate=evaluate))


def main(address: str, evaluations: int, workers: int, out: Path) -> None:
    """Take part to the end."""
    small_islands(pytest.MonkeyPatch())
    with Board(address, CAMPAIGN, BEAT, GRACE) as board, Workers(slow_tools, workers) as crew:
        budget, patience = Budget(evaluations), Patience(_tell, lambda: False)
        *_, state = part_taken(board, crew, budget, SETTINGS, unbegun(2, 2), VERSIONS, patience)
    whole = Epoch(replace(state, epoch=None), (), (), (), ())
    out.write_text(plan_text(Plan(whole, VERSIONS)), encoding="utf-8")


def _tell(text: str) -> None:
    sys.stderr.write(f"{text}\n")


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), Path(sys.argv[4]))
