"""The yardstick of fronts: closed forms, invariances, and files that never get worse."""

from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from tests.benchmarks.best_known.renew import renewed
from tests.benchmarks.traces import Found, Trace, fronts_at, load, marks_within
from tests.benchmarks.yardstick import (
    LOSS,
    OtherStudyError,
    Yardstick,
    read_best,
    write_best,
    yardstick_of,
)

CORNERS = np.array([[0.0, 1.0], [1.0, 0.0]])


def sphere(count: int, seed: int = 3) -> Array:
    """Points of a front of three objectives: an eighth of the unit sphere seen from the far corner."""
    points = np.abs(np.random.default_rng(seed).standard_normal((count, 3)))
    return np.asarray(1.0 - points / np.linalg.norm(points, axis=1, keepdims=True))


def test_hypervolume_of_two_corners_in_closed_form() -> None:
    """Two strips of 1.1 x 0.1 that share a square of 0.1 x 0.1."""
    assert Yardstick(CORNERS).volume(CORNERS) == pytest.approx(2 * 1.1 * 0.1 - 0.01)


def test_fractions_of_none_one_and_all_of_a_front() -> None:
    yardstick = Yardstick(CORNERS)
    assert yardstick.fractions([CORNERS[:0], CORNERS[:1], CORNERS]) == pytest.approx([0.0, 0.11 / 0.21, 1.0])


def test_fractions_know_no_units() -> None:
    front, part = sphere(300), sphere(40, seed=4)
    scale, shift = np.array([1.0, 1e3, 1e-3]), np.array([0.0, -5e4, 7.0])
    plain = yardstick_of([front, part]).fractions([part])
    assert yardstick_of([front * scale + shift, part * scale + shift]).fractions([part * scale + shift]) == (
        pytest.approx(plain)
    )


def test_the_best_known_front_is_what_nothing_dominates() -> None:
    together = yardstick_of([CORNERS, CORNERS + 0.1, np.array([[0.4, 0.4]])])
    assert sorted(map(tuple, together.best)) == [(0.0, 1.0), (0.4, 0.4), (1.0, 0.0)]


def test_nothing_found_is_said() -> None:
    with pytest.raises(ValueError, match="no run found anything feasible"):
        yardstick_of([CORNERS[:0]])


def test_thinning_keeps_enough_and_every_best() -> None:
    yardstick = Yardstick(sphere(1500))
    thinned = yardstick.thinned()
    assert len(thinned) < len(yardstick.best)
    assert yardstick.volume(thinned) >= (1.0 - LOSS) * yardstick.volume(yardstick.best)
    assert np.array_equal(thinned.min(axis=0), yardstick.ideal)
    least = (1.0 - LOSS / 10) * yardstick.volume(yardstick.best)
    assert yardstick.volume(yardstick.thinned(least)) >= least > yardstick.volume(thinned)


def test_renewal_never_gets_worse() -> None:
    """Renewed again and again by poorer fronts, what is kept loses nothing more."""
    yardstick, kept = renewed(np.zeros((0, 3)), [sphere(1500)])
    first = yardstick.volume(kept)
    for seed in range(5, 8):
        _, kept = renewed(kept, [sphere(200, seed) + 0.01])
        assert yardstick.volume(kept) >= first - 1e-12


def test_a_kept_front_reads_back_and_only_for_its_own_study(tmp_path: Path) -> None:
    path, yardstick = tmp_path / "front.csv", Yardstick(sphere(50))
    names = ("a.x", "b.y", "c.z")
    assert len(read_best(path, names, "abc")) == 0
    write_best(path, yardstick, yardstick.best, names, "abc")
    back = read_best(path, names, "abc")
    assert np.allclose(np.sort(back, axis=0), np.sort(yardstick.best, axis=0), rtol=1e-8)
    with pytest.raises(OtherStudyError, match="another version of the study"):
        read_best(path, names, "abd")
    with pytest.raises(OtherStudyError):
        read_best(path, ("a.x", "c.z", "b.y"), "abc")


def test_a_trace_gives_the_last_front_before_a_moment_and_reads_back(tmp_path: Path) -> None:
    trace = Trace((0.5, 1.5), (CORNERS[:1], CORNERS), 300, 1.5, 0.7, 1.2)
    assert [len(trace.at(mark)) for mark in (0.4, 0.5, 1.0, 1.5, 9.0)] == [0, 1, 1, 2, 2]
    trace.save(tmp_path / "trace.npz")
    back = load(tmp_path / "trace.npz")
    assert (back.times, back.evaluations, back.start_up, back.speed, back.cpu) == (trace.times, 300, 0.7, 200.0, 1.2)
    assert all(np.array_equal(one, other) for one, other in zip(back.fronts, trace.fronts, strict=True))


def test_everything_a_peer_met_counts_from_its_own_moment() -> None:
    found = [Found(0.4, CORNERS[:1]), Found(1.2, CORNERS[1:]), Found(1.8, np.array([[-1.0, -1.0]]))]
    early, middle, late = fronts_at(found, (1.0, 1.5, 2.0), 2)
    assert (len(early), len(middle)) == (1, 2)
    assert late.tolist() == [[-1.0, -1.0]]


def test_moments_of_comparison_end_with_the_run() -> None:
    assert marks_within(60.0) == (1.0, 2.0, 5.0, 10.0, 30.0, 60.0)
    assert marks_within(3.0) == (1.0, 2.0, 3.0)
    assert marks_within(0.5) == (0.5,)
