"""The compiled upright against its slow twin, numpy, and against itself as plain Python."""

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Axle, Link
from geometry.kernel import PLAIN
from geometry.lanes import KERNEL, LANES
from geometry.side import SideTree, pair_up
from geometry.travel import AxleStates
from geometry.upright import SHORTEST_STRIDE, UprightMotion, trace_upright
from geometry.upright_compiled import trace_upright_compiled
from objectives.survey import UprightMemory, plan_states
from tests.axles import KINDS, front, rear, travel_of, vector
from tests.batches import pick, scatter

ROOT = Path(__file__).parents[2]
NEAR = 1e-9
"""Poses agree to this [mm, and rotations and rates likewise]."""


def both(axle: Axle, tree: SideTree) -> tuple[UprightMotion, UprightMotion]:
    return trace_upright_compiled(axle.wheel, axle.links, tree), trace_upright(axle.wheel, axle.links, tree)


def agree(compiled: UprightMotion, plain: UprightMotion) -> None:
    np.testing.assert_array_equal(compiled.locked, plain.locked)
    np.testing.assert_allclose(compiled.reached, plain.reached, rtol=0, atol=20 * SHORTEST_STRIDE)
    for part in ("centre", "rotation", "rate"):
        np.testing.assert_allclose(getattr(compiled, part), getattr(plain, part), rtol=0, atol=NEAR, err_msg=part)


def shortened(axle: Axle, share: Array) -> Axle:
    """The axle with its upper links cut to some shares (...) of their length: the shorter, the sooner they lock."""
    short = {
        name: replace(link, inboard=link.outboard + share[..., None] * (link.inboard - link.outboard))
        for name, link in axle.links.items()
        if name.startswith("upper")
    }
    return replace(axle, links={**axle.links, **short})


def sweep(travel: float, rack: float) -> SideTree:
    """Wheel travel either way, and the rack either way at its ends and at static."""
    ends = [(z, s) for z in (-travel, 0.0, travel) for s in (-rack, 0.0, rack)]
    z, s = np.array(ends).T
    return pair_up(AxleStates(z, z, s))[0]


@pytest.mark.parametrize("shape", [(3, LANES), (5,), (), (0,)], ids=str)
@pytest.mark.parametrize("kind", KINDS)
def test_agrees_with_numpy_at_all_states_of_a_study(kind: str, shape: tuple[int, ...]) -> None:
    axle = KINDS[kind]()
    tree = plan_states(travel_of(axle)).tree
    compiled, plain = both(scatter(axle, shape, size=8.0, links=True), tree)
    assert compiled.centre.shape == (*shape, len(tree), 3)
    assert not plain.locked.any()
    agree(compiled, plain)


@pytest.mark.parametrize("axle", [front(), rear()], ids=["rack", "no rack"])
def test_agrees_where_links_lock(axle: Axle) -> None:
    """Some lock at once, some late, some not at all; what lies beyond a lock is NaN in both."""
    batch = scatter(shortened(axle, np.linspace(0.05, 0.3, 60)), (60,), links=True)
    compiled, plain = both(batch, sweep(60.0, 40.0))
    candidates = plain.locked.any(axis=-1)
    assert 20 < candidates.sum() < 60
    assert np.isnan(plain.reached).any()
    assert ((plain.reached > 0.0) & (plain.reached < 1.0)).sum() > 20
    agree(compiled, plain)


def test_agrees_on_axles_that_would_jump_to_another_assembly() -> None:
    """Points up to 80 mm off and far more travel than an axle has: without either rule of what a trial must keep to,
    the Jacobian's sign and the size of the correction, a score of these states would count as reached."""
    batch = scatter(shortened(front(), np.linspace(0.05, 0.3, 60)), (60,), size=80.0, links=True)
    compiled, plain = both(batch, sweep(120.0, 100.0))
    assert plain.locked.any(axis=-1).all()
    agree(compiled, plain)


def test_agrees_where_the_rack_locks() -> None:
    axle = front()
    steering = axle.links["steering"]
    share = np.linspace(0.05, 0.4, 24)[:, None]
    short = replace(steering, inboard=steering.outboard + share * (steering.inboard - steering.outboard))
    compiled, plain = both(replace(axle, links={**axle.links, "steering": short}), sweep(20.0, 120.0))
    assert plain.locked.any()
    assert not plain.locked.all(axis=-1).any()
    agree(compiled, plain)


def test_links_locked_at_static_already() -> None:
    """A link without length holds nothing: no state has a pose that is reached."""
    axle = front()
    nothing = Link(axle.links["upper_rear"].outboard, axle.links["upper_rear"].outboard)
    links = {**axle.links, "upper_rear": nothing}
    tree = sweep(8.0, 8.0)
    compiled, plain = both(replace(axle, links=links), tree)
    assert plain.locked.all()
    agree(compiled, plain)
    assert np.isnan(compiled.rate).all()


def test_a_candidate_does_not_depend_on_its_batch() -> None:
    batch = scatter(front(), (7,), links=True)
    tree = plan_states(travel_of(batch)).tree
    alone = pick(batch, (4,), (7,))
    together, single = (trace_upright_compiled(one.wheel, one.links, tree) for one in (batch, alone))
    for part in ("centre", "rotation", "rate", "reached"):
        np.testing.assert_array_equal(getattr(together, part)[4], getattr(single, part), err_msg=part)


def test_a_wheel_centre_alone_may_vary() -> None:
    axle = front()
    centres = axle.wheel.centre + np.array([vector(0, 0, 0), vector(1, 2, 3)])
    compiled, plain = both(replace(axle, wheel=replace(axle.wheel, centre=centres)), sweep(20.0, 10.0))
    assert compiled.centre.shape[0] == 2
    agree(compiled, plain)


def test_the_comparison_sees_a_link_a_micrometre_longer() -> None:
    """Negative control."""
    axle = front()
    link = axle.links["lower_rear"]
    longer = {**axle.links, "lower_rear": replace(link, inboard=link.inboard - vector(0, 1e-3, 0))}
    tree = sweep(20.0, 10.0)
    other = trace_upright_compiled(axle.wheel, longer, tree)
    with pytest.raises(AssertionError, match="centre"):
        agree(other, trace_upright(axle.wheel, axle.links, tree))


def test_a_search_compiles_uprights_of_many_and_not_of_one(monkeypatch: pytest.MonkeyPatch) -> None:
    used: list[str] = []

    def spy(name: str, axle: Axle) -> list[str]:
        used.clear()
        UprightMemory(KERNEL if name == "lanes" else PLAIN).trace(axle, sweep(8.0, 4.0))
        return list(used)

    def compiled(*args: object) -> None:
        used.append("compiled")

    def plain(*args: object) -> None:
        used.append("numpy")

    monkeypatch.setattr("geometry.lanes.trace_upright_compiled", compiled)
    monkeypatch.setattr("geometry.lanes.trace_upright", plain)
    monkeypatch.setattr("geometry.kernel.trace_upright", plain)
    many = scatter(front(), (2, LANES), links=True)
    assert spy("lanes", many) == ["compiled"]
    assert spy("lanes", scatter(front(), (2, LANES), links=False)) == ["numpy"]
    assert spy("plain", many) == ["numpy"]


SCRIPT = """
import json
import numpy as np
from geometry.side import pair_up
from geometry.travel import AxleStates
from geometry.upright_compiled import trace_upright_compiled
from tests.axles import front
from tests.batches import scatter
axle = scatter(front(), (2,), links=True)
tree, _ = pair_up(AxleStates(np.array([-9.0, 20.0]), np.array([0.0, 6.0]), np.array([0.0, 5.0])))
motion = trace_upright_compiled(axle.wheel, axle.links, tree)
print(json.dumps(np.concatenate([motion.centre.ravel(), motion.rate.ravel(), motion.reached.ravel()]).tolist()))
"""


def test_the_same_code_runs_without_compiling(tmp_path: Path) -> None:
    def numbers(**more: str) -> list[float]:
        environment = {**os.environ, "ROCKWRIGHT_CACHE": str(tmp_path), "PYTHONPATH": str(ROOT), **more}
        environment.pop("NUMBA_CACHE_DIR", None)  # set by this process's own kernel
        done = subprocess.run(
            [sys.executable, "-c", SCRIPT], env=environment, capture_output=True, text=True, check=True
        )
        return list(json.loads(done.stdout))

    compiled, plain = numbers(), numbers(NUMBA_DISABLE_JIT="1")
    assert len(compiled) > 2 * 16 * 10
    np.testing.assert_allclose(compiled, plain, rtol=0, atol=NEAR)
    assert any(tmp_path.rglob("*.nbi"))
