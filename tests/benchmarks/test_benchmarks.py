"""The benchmarks still run, and both evaluators that they compare still agree. Nothing is timed here."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Arm
from optimiser.search.plan import LARGEST
from optimiser.study.read import read_study
from optimiser.study.variables import base_point, candidates
from tests.benchmarks import bench_built, bench_start, bench_workers
from tests.benchmarks.bench_candidates import NEAR, ROOT, largest_difference, measure, measure_uprights
from tests.benchmarks.scalar_twin import front_figures, wheel_table


def test_the_candidate_benchmark_runs_and_both_agree() -> None:
    speeds = measure(seconds=0.1, sizes=(4, 8), turns=1)
    assert speeds.difference <= NEAR
    assert speeds.scalar > 0
    assert set(speeds.batch) == {4, 8}


def test_the_upright_benchmark_runs_and_both_agree() -> None:
    speeds = measure_uprights(seconds=0.1, size=4, turns=1)
    assert speeds.difference <= NEAR
    assert speeds.numpy > 0
    assert speeds.compiled > 0


def test_the_comparison_sees_a_candidate_that_differs() -> None:
    """Negative control: one table of a wheel 0.01 mm lower is enough to be seen."""
    study = read_study(ROOT / "configs" / "front.yaml")
    points = base_point(study)[None]
    assert largest_difference(study, wheel_table(study.axle, study.travel), points) <= NEAR
    lower = replace(study.axle, rod=replace(study.axle.rod, outboard=study.axle.rod.outboard - np.array([0, 0, 0.01])))
    assert largest_difference(study, wheel_table(lower, study.travel), points) > 1e-5


def test_the_scalar_script_reads_the_rocker_it_is_given() -> None:
    study = read_study(ROOT / "configs" / "front.yaml")
    axle = candidates(study, base_point(study))
    figures = front_figures(wheel_table(study.axle, study.travel), axle, study.travel)
    arms = [axle.rocker.rod, *axle.rocker.pickups.values()]
    assert figures["rocker.arm_sum"] == pytest.approx(sum(float(a.length) for a in arms if isinstance(a, Arm)))
    assert figures["heave.motion_ratio"] == pytest.approx(1.10, abs=0.01)


def test_the_benchmark_of_built_axles_runs() -> None:
    costs = bench_built.measure(turns=1, batch=16)
    assert costs.drawn > 0
    assert len(costs.built) == len(bench_built.GOALS)
    assert min(costs.built.values()) > 0


def test_the_start_benchmark_knows_a_limit_for_each_command() -> None:
    lines = bench_start.command_lines(ROOT / "results" / "any")
    assert set(lines) == set(bench_start.LIMITS)
    times = bench_start.start_times({"pass": lines["pass"]}, runs=1)
    assert times["pass"] > 0


def test_the_start_benchmark_reports_a_command_that_fails() -> None:
    lines = bench_start.command_lines(None)
    with pytest.raises(RuntimeError, match="exit code 2"):
        bench_start.start_times({"check": [*lines["check"][:-1], "no-such-file.yaml"]}, runs=1)


def test_the_model_of_workers_grows_with_what_it_is_made_of() -> None:
    """An epoch of as many islands as workers takes one island's time, and passing and merging for each of them."""
    known = bench_workers.Costs(candidate=1e-5, passing=0.01, merging=0.02, writing=0.1, reading=0.2, saving=0.5)
    assert bench_workers.epoch_time(known, 4, 4) == pytest.approx(LARGEST * 1e-5 + 4 * 0.03 + 0.5)
    assert bench_workers.epoch_time(known, 9, 4) == pytest.approx(3 * LARGEST * 1e-5 + 9 * 0.03 + 0.5)
    stored = bench_workers.STORED
    assert bench_workers.shared_time(known, 4) == pytest.approx(LARGEST * 1e-5 + 0.1 + 4 * (stored + 0.22) + 0.5)
    counts = (1, 10, 100, 1000)
    shares = [bench_workers.best_share(known, bench_workers.shared_time(known, count)) for count in counts]
    assert shares == sorted(shares, reverse=True)
    assert 0.0 < shares[-1] < shares[0] < 1.0
