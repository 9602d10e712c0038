"""The refinement's benchmark still runs; nothing is timed here."""

import pytest

from tests.benchmarks.bench_refinement import ROOT, main, speeds
from tests.smooth import welded_beam


def test_the_benchmark_counts_what_was_spent_and_met() -> None:
    first, second = speeds(welded_beam(), starts=5)
    assert first.met == second.met == 1.0
    assert second.evaluations > second.steps > 1.0
    assert second.time > 0.0


def test_the_benchmark_prints_a_table_of_every_problem(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(ROOT / "configs" / "front.yaml"), "--starts", "2"]) == 0
    printed = capsys.readouterr().out.splitlines()
    assert len(printed) == 1 + 2 * 7
    assert printed[-2].split()[:2] == ["front", "reach"]
