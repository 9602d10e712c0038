"""The search benchmarks still run, and compare like with like. Nothing is timed here."""

from pathlib import Path

import numpy as np
import pytest

from objectives.goals import objectives
from optimiser.search.problem import problem_of
from optimiser.search.volume import nondominated
from optimiser.study.read import read_study
from optimiser.study.study import Study
from tests.benchmarks import bench_search, bench_sizes, ours
from tests.benchmarks.bench_candidates import near_base
from tests.benchmarks.bench_search import Score, compare, kept_front, verdicts
from tests.benchmarks.best_known import renew
from tests.benchmarks.one_run import OverTimeError, run_apart
from tests.benchmarks.peers import batch_evaluate, run_peer, scalar_evaluate
from tests.benchmarks.studies import FRONT, NAMED, replaced, study_file
from tests.benchmarks.traces import Trace


def study_of(name: str, folder: Path) -> Study:
    """One of the named studies."""
    return read_study(study_file(name, folder))


def test_the_second_study_is_the_first_with_three_more_variables(tmp_path: Path) -> None:
    front, thirteen = (study_of(name, tmp_path) for name in NAMED)
    assert len(thirteen.variables) == 13
    assert set(front.variables) < set(thirteen.variables)
    one, other = (batch_evaluate(study)(near_base(study, 1)[:0]) for study in (front, thirteen))
    assert one.violations.shape == other.violations.shape
    one, other = (problem_of(study).evaluate(problem_of(study).start[None]) for study in (front, thirteen))
    assert np.allclose(one.objectives, other.objectives, rtol=1e-12)


@pytest.mark.parametrize("name", NAMED)
def test_all_peers_measure_the_same(name: str, tmp_path: Path) -> None:
    study = study_of(name, tmp_path)
    points = near_base(study, 6)
    batch, scalar, house = (
        one(points) for one in (batch_evaluate(study), scalar_evaluate(study), problem_of(study).evaluate)
    )
    for other in (scalar, house):
        assert np.allclose(batch.objectives, other.objectives, rtol=1e-8, atol=1e-9)
        assert np.allclose(batch.violations, other.violations, rtol=1e-6, atol=1e-6)
    assert np.ptp(batch.objectives, axis=0).min() > 1e-3, "the points must differ for this to say anything"


def test_a_candidate_that_cannot_move_has_no_figures_in_any_peer(tmp_path: Path) -> None:
    study = study_of("front", tmp_path)
    far = near_base(study, 1)
    far[:, 2] = 1e-3  # the rod's arm all but gone: the loop cannot close
    for evaluate in (batch_evaluate(study), scalar_evaluate(study)):
        assert not evaluate(far).feasible[0]


@pytest.mark.parametrize("kind", ["nsga2", "nsga3", "scalar"])
def test_a_peer_hands_over_what_it_found(kind: str, tmp_path: Path) -> None:
    study = study_of("thirteen", tmp_path)
    trace = run_peer(kind, study, seed=1, seconds=0.3, start_up=lambda: 1.5)
    assert trace.evaluations >= 200
    assert trace.times == (0.3,)
    assert trace.start_up == 1.5
    assert trace.last.shape[1] == 4
    assert kind == "scalar" or nondominated(trace.last).all()


def test_the_house_hands_over_what_it_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ours, "WARM_UP", 0.01)
    trace = ours.run_ours(read_study(FRONT), seed=1, seconds=0.2, start_up=lambda: 1.0)
    assert trace.evaluations > 0
    assert trace.times == tuple(sorted(trace.times))
    assert trace.start_up >= 1.0
    assert trace.cores > 0.0
    assert len(trace.last) > 0
    assert nondominated(trace.last).all()


def test_any_study_file_is_measured_without_a_kept_front(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "other.yaml"
    path.write_text(replaced(FRONT.read_text("utf-8"), "step: 2", "step: 6"), "utf-8")
    assert bench_search.main(["--study", str(path), "--seconds", "1", "--seeds", "1", "--only", "nsga2,scalar"]) == 0
    shown = capsys.readouterr().out
    assert "(0 kept members" in shown
    assert "nsga2" in shown
    assert "scalar" not in shown


@pytest.mark.long
def test_the_house_and_a_peer_run_apart_and_renew_a_front(tmp_path: Path) -> None:
    bench_search.main(["--seconds", "1", "--seeds", "1", "--only", "ours,nsga2", "--keep", str(tmp_path)])
    assert renew.main(["--runs", str(tmp_path), "--out", str(tmp_path)]) == 0
    study = read_study(FRONT)
    kept = kept_front("front", study, tmp_path)
    assert len(kept) > 0
    assert renew.main(["--runs", str(tmp_path), "--out", str(tmp_path)]) == 0
    assert len(kept_front("front", study, tmp_path)) > 0


def test_a_run_that_fails_says_why(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match=r"missing\.yaml"):
        run_apart(tmp_path / "missing.yaml", "nsga2", 1, 0.1, tmp_path)


def test_a_study_without_objectives_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "held.yaml"
    path.write_text(replaced(FRONT.read_text("utf-8"), r"(?m)^  .*: m(in|ax)imise\n(  .*imise\n)+", ""), "utf-8")
    assert bench_search.main(["--study", str(path)]) == 2
    assert "no objective" in capsys.readouterr().err


@pytest.mark.parametrize("name", NAMED)
def test_the_kept_fronts_are_of_the_present_studies(name: str, tmp_path: Path) -> None:
    study = study_of(name, tmp_path)
    kept = kept_front(name, study)
    assert kept.shape[1] == len(objectives(study.goals))
    assert len(kept) > 100
    assert nondominated(kept).all()


def test_fractions_count_what_was_handed_out_in_time() -> None:
    corners = np.array([[0.0, 1.0], [1.0, 0.0]])
    late = Trace((0.5, 1.5), (corners[:1], corners), 10, 2.0, 3.0, 1.0)
    never = Trace((0.5,), (corners[:0],), 10, 2.0, 1.0, 1.0)
    score = compare(read_study(FRONT), {"ours": [late, never]}, 2.0, np.zeros((0, 2)))["ours"]
    assert score.fractions[1.0] == pytest.approx((0.11 / 0.21, 0.0))
    assert score.fractions[2.0] == pytest.approx((1.0, 0.0))
    assert score.worst(2.0) == 0.0
    assert score.median(2.0) == pytest.approx(0.5)
    assert (score.first_start, score.start) == (3.0, 1.0)


def test_targets_are_judged_by_the_worst_seed() -> None:
    def score(early: float, late: float) -> Score:
        return Score({2.0: (0.9, early), 5.0: (1.0, late), 60.0: (1.0, late)}, 1.0, 1.0, 1.0, 1.0)

    good = {"ours": score(0.8, 0.98), "nsga2": score(0.1, 0.5)}
    assert [reached for reached, _ in verdicts(good)] == [True, True]
    assert [reached for reached, _ in verdicts({**good, "ours": score(0.7, 0.96)})] == [False, False]
    assert list(verdicts({"nsga2": score(0.1, 0.2)})) == []


@pytest.mark.parametrize("count", [3, 13, 20, 40])
def test_studies_of_any_number_of_variables_can_be_read(count: int, tmp_path: Path) -> None:
    path = tmp_path / "sized.yaml"
    path.write_text(bench_sizes.variables_study(count), "utf-8")
    assert len(read_study(path).variables) == count


@pytest.mark.parametrize("count", [2, 4, 8])
def test_studies_of_any_number_of_objectives_can_be_read(count: int, tmp_path: Path) -> None:
    path = tmp_path / "sized.yaml"
    path.write_text(bench_sizes.objectives_study(count), "utf-8")
    study = read_study(path)
    assert len(objectives(study.goals)) == count
    assert len(study.goals) == 7 + count


def test_a_study_of_a_given_number_of_travel_points(tmp_path: Path) -> None:
    from geometry.travel import travel_points

    path = tmp_path / "sized.yaml"
    for count in bench_sizes.SIZES["points"]:
        path.write_text(bench_sizes.points_study(count), "utf-8")
        travel = read_study(path).travel
        assert abs(len(travel_points(travel.heave, travel.step)) - count) <= 2


def test_costs_by_size_hold_where_a_run_does_not_end(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def endless(*_: object) -> Trace:
        raise OverTimeError

    monkeypatch.setattr(bench_sizes, "run_apart", endless)
    found = bench_sizes.cost(FRONT, 10, 1.0, tmp_path)
    assert found.kernel > 0
    assert "inf" in list(bench_sizes.lines("variables", [found]))[1]


def test_time_to_most_of_a_front_is_when_it_was_first_held(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    line = np.linspace(0.0, 1.0, 200)
    front = np.stack([line, (1.0 - np.sqrt(line)) ** 2], axis=1)
    trace = Trace((0.5, 1.0, 1.5), (front[::100], front[::4], front), 10, 1.5, 0.0, 1.5)
    monkeypatch.setattr(bench_sizes, "run_apart", lambda *_: trace)
    assert bench_sizes.cost(FRONT, 10, 1.0, tmp_path).enough == 1.0
