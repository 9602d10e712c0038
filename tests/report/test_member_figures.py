"""The figures that go with a front: each member's own, measured once."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.lanes import in_lanes
from objectives.evaluate import evaluate
from optimiser.report.results import member_figures
from optimiser.report.results.member_figures import MemberFigures
from optimiser.search.snapshot import Snapshot
from optimiser.study.read import read_study
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates


@pytest.fixture(scope="module")
def front() -> Study:
    return read_study(Path(__file__).parents[2] / "configs" / "front.yaml")


def snapshot(study: Study, ids: list[int], closest: Array | None = None) -> Snapshot:
    """A front whose member k lies k thousandths of each range from the study's own geometry."""
    span = np.array([variable.high - variable.low for variable in study.variables])
    x = base_point(study) + np.array(ids)[:, None] * 1e-3 * span
    none = np.zeros((0, len(span)))
    return Snapshot(
        np.array(ids, dtype=np.int64), x, none, none, 9, 1.0, 9, (), None, closest, np.inf if closest is None else 1.0
    )


def expected(study: Study, taken: Snapshot) -> dict[str, Array]:
    return dict(evaluate(candidates(study, taken.x), study.travel).values)


def test_each_member_gets_its_own_figures_however_members_come_and_go(front: Study) -> None:
    figures = MemberFigures(front)
    for ids in ([0, 2, 5], [2, 5, 7], [], [1, 7, 8, 9]):
        taken = snapshot(front, ids)
        found = figures.of(taken)
        for name, column in expected(front, taken).items():
            np.testing.assert_allclose(found.members[name], column, rtol=1e-9, atol=1e-9, err_msg=name)
            assert len(found.members[name]) == len(ids)


def test_a_member_is_measured_once(front: Study, monkeypatch: pytest.MonkeyPatch) -> None:
    figures = MemberFigures(front)
    figures.of(snapshot(front, [1, 3]))
    measured: list[int] = []

    def counting(rows: Array) -> Array:
        measured.append(len(rows))
        return in_lanes(rows)

    monkeypatch.setattr(member_figures, "in_lanes", counting)
    figures.of(snapshot(front, [1, 3, 4]))
    assert set(measured) == {1}


def test_the_base_and_the_closest_have_theirs(front: Study) -> None:
    closest = base_point(front) + 0.5
    found = MemberFigures(front).of(snapshot(front, [], closest))
    base = evaluate(front.axle, front.travel).values
    nearest = evaluate(candidates(front, closest), front.travel).values
    assert found.base == pytest.approx({name: float(value) for name, value in base.items()}, nan_ok=True)
    assert found.closest == pytest.approx({name: float(value) for name, value in nearest.items()}, nan_ok=True)
    assert MemberFigures(front).of(replace(snapshot(front, []), closest=None)).closest == {}
