"""The compiled kernel against its slow twin, numpy, and against itself as plain Python."""

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from geometry.kernel import PLAIN
from geometry.lanes import KERNEL, LANES, in_lanes, out_of_lanes
from objectives.evaluate import Evaluator
from objectives.readings import FigureStatus
from tests.axles import KINDS, travel_of
from tests.batches import scatter

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("links", [False, True], ids=["one outboard geometry", "each its own links"])
@pytest.mark.parametrize("kind", KINDS)
def test_lanes_agree_with_numpy_to_rounding(kind: str, links: bool) -> None:
    axle = KINDS[kind]()
    batch = scatter(axle, (2, LANES), links=links)
    plain = Evaluator(travel_of(axle), None, PLAIN).evaluate(batch)
    lanes = Evaluator(travel_of(axle), None, KERNEL).evaluate(batch)
    for name, values in plain.values.items():
        np.testing.assert_array_equal(lanes.status[name], plain.status[name], err_msg=name)
        np.testing.assert_allclose(lanes.values[name], values, rtol=1e-9, atol=1e-9, err_msg=name)
    assert sum(np.any(status == FigureStatus.OK) for status in plain.status.values()) > 15


@pytest.mark.parametrize("count", [1, LANES - 1, LANES, LANES + 1, 5 * LANES])
def test_rows_go_into_lanes_and_out_again(count: int) -> None:
    rows = np.arange(3.0 * count).reshape(count, 3)
    blocks = in_lanes(rows)
    assert blocks.shape[1:] == (LANES, 3)
    np.testing.assert_array_equal(out_of_lanes(blocks, count), rows)


SCRIPT = """
import json
import numpy as np
from geometry.lanes import KERNEL, LANES
from objectives.evaluate import Evaluator
from tests.axles import front, travel_of
from tests.batches import scatter
values = Evaluator(travel_of(front()), None, KERNEL).evaluate(scatter(front(), (1, LANES), links=False)).values
print(json.dumps(np.nan_to_num(np.concatenate([*values.values()]), nan=-1.0).ravel().tolist()))
"""


def test_the_same_code_runs_without_compiling(tmp_path: Path) -> None:
    def figures(**more: str) -> list[float]:
        environment = {**os.environ, "ROCKWRIGHT_CACHE": str(tmp_path), "PYTHONPATH": str(ROOT), **more}
        environment.pop("NUMBA_CACHE_DIR", None)  # set by this process's own kernel
        done = subprocess.run(
            [sys.executable, "-c", SCRIPT], env=environment, capture_output=True, text=True, check=True
        )
        return list(json.loads(done.stdout))

    compiled, plain = figures(), figures(NUMBA_DISABLE_JIT="1")
    assert len(compiled) > 20 * LANES
    np.testing.assert_allclose(compiled, plain, rtol=1e-9, atol=1e-9)
    assert any(tmp_path.rglob("*.nbi"))
