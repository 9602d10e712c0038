"""The log of growth as shown: which moments, which times, and a plot that says what the log says."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.report.front.growth import HEIGHT, MARK, ROWS, growth_json, growth_lines, moments, time_told
from optimiser.report.results.store import GROWTH, Store
from tests.report.fronts import FOUR, HELD, store, table


def logged(volumes: Sequence[float], members: Sequence[float] | None = None, factor: float = 2.0) -> Store:
    """A folder with a log of these hypervolumes, each at `factor` times the candidates of the one before."""
    count = len(volumes)
    evaluations = [round(1000.0 * factor**place) for place in range(count)]
    columns: Mapping[str, Sequence[float]] = {
        "evaluations": [float(one) for one in evaluations],
        "seconds": [one / 1000.0 for one in evaluations],
        "feasible": [10.0 * place for place in range(count)],
        "members": [5.0] * count if members is None else members,
        "hypervolume": volumes,
        "taken_out": [0.0] * count,
    }
    return store(table([3, 5, 8, 13], FOUR), growth=columns)


def plot(lines: Sequence[str]) -> list[str]:
    """The plot's lines, the top one first, without labels."""
    return [line.partition("|")[2] for line in lines if "|" in line]


@given(st.lists(st.integers(1, 10**9), min_size=1, max_size=300, unique=True), st.integers(2, 20))
def test_moments_rise_from_the_first_to_the_last(numbers: list[int], count: int) -> None:
    evaluations = [float(one) for one in sorted(numbers)]
    rows = moments(evaluations, count)
    assert rows == sorted(set(rows))
    assert (rows[0], rows[-1]) == (0, len(evaluations) - 1)
    assert len(rows) <= count
    assert len(evaluations) > count or rows == list(range(len(evaluations)))


def test_moments_of_a_long_log_are_equal_factors_apart() -> None:
    rows = moments([float(one) for one in range(1, 2049)], 12)
    assert rows == [2**power - 1 for power in range(12)]


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (0.0, "0.0 s"),
        (8.44, "8.4 s"),
        (59.94, "59.9 s"),
        (59.97, "1 min 00 s"),
        (60.0, "1 min 00 s"),
        (725.4, "12 min 05 s"),
        (3599.6, "1 h 00 min"),
        (12_000.0, "3 h 20 min"),
        (360_000.0, "100 h 00 min"),
    ],
)
def test_times_are_told_in_two_units(seconds: float, told: str) -> None:
    assert time_told(seconds) == told


def test_the_table_has_candidates_time_members_volume_and_share() -> None:
    lines = growth_lines(logged([2.0, 6.0, 8.0]), 80)
    assert [line.split() for line in lines if line.endswith(" %")] == [
        ["1,000", "1.0", "s", "5", "2", "25.0", "%"],
        ["2,000", "2.0", "s", "5", "6", "75.0", "%"],
        ["4,000", "4.0", "s", "5", "8", "100.0", "%"],
    ]


def test_a_long_log_is_cut_to_a_few_rows() -> None:
    lines = growth_lines(logged([float(one) for one in range(1, 200)], factor=1.05), 80)
    assert len([line for line in lines if line.endswith(" %")]) == ROWS


def test_the_plot_rises_with_the_hypervolume() -> None:
    lines = growth_lines(logged([float(one) for one in range(8)]), 80)
    columns = list(zip(*(line.ljust(80) for line in plot(lines)), strict=True))
    heights = [HEIGHT - column.index(MARK) for column in columns if MARK in column]
    assert heights == sorted(heights)
    assert set(heights) == set(range(1, HEIGHT + 1))
    assert (heights[0], heights[-1]) == (1, HEIGHT)


def test_the_plot_s_steps_stand_where_the_log_has_them() -> None:
    """Three entries at equal factors: the middle one's level begins in the middle, the last one's at the end."""
    lines = plot(growth_lines(logged([0.0, 7.0, 14.0]), 100))
    assert len(lines) == HEIGHT
    wide = max(map(len, lines))
    levels = [round(7 * 7.0 / 14.0), 7]
    middle = lines[HEIGHT - 1 - levels[0]]
    assert middle.index(MARK) == math.ceil((wide - 1) / 2)
    assert lines[0] == " " * (wide - 1) + MARK
    assert lines[-1].rstrip() == MARK * math.ceil((wide - 1) / 2)
    assert all(line.rstrip().endswith(MARK) for line in lines), "a step is drawn from bottom to top"


def test_what_was_before_the_first_member_is_not_plotted() -> None:
    lines = growth_lines(logged([0.0, 0.0, 5.0, 6.0], members=[0.0, 0.0, 3.0, 4.0]), 80)
    (axis,) = (line for line in lines if "equal factors" in line)
    assert axis.split()[0] == "4,000"
    assert [line.split()[0] for line in lines if "|" in line and not line.startswith(" ")] == ["6", "5"]


@pytest.mark.parametrize("volumes", [[3.0], [4.0, 4.0, 4.0]])
def test_a_front_that_never_changed_has_no_plot(volumes: list[float]) -> None:
    assert plot(growth_lines(logged(volumes), 80)) == []


@pytest.mark.parametrize("wide", [20, 40, 60, 79, 100, 300])
def test_no_line_of_the_plot_is_wider_than_the_screen(wide: int) -> None:
    lines = growth_lines(logged([1.5, 60.25, 120000.0, 130000.0]), wide)
    start = lines.index("hypervolume")
    assert max(len(line) for line in lines[start : lines.index("", start)]) <= min(wide, 100)
    assert len(plot(lines)) == HEIGHT


def test_what_came_late_is_told_where_the_log_reaches_back_so_far() -> None:
    assert growth_lines(logged([2.0, 6.0, 8.0]), 80)[-1] == (
        "25 % of the hypervolume came with the last 25 % of the candidates"
    )
    assert "came with" not in "\n".join(growth_lines(logged([6.0, 8.0], factor=1.1), 80))


def test_a_study_of_held_goals_alone_shows_no_volume() -> None:
    one = logged([1.0, 2.0])
    held = replace(one, manifest=replace(one.manifest, goals=HELD))
    assert "hypervolume" not in "\n".join(growth_lines(held, 80))
    assert plot(growth_lines(held, 80)) == []
    assert "hypervolume" not in json.loads(growth_json(held))["growth"]


def test_nothing_logged_is_said() -> None:
    assert growth_lines(logged([]), 80) == ["An invented axle: nothing logged yet"]


def test_the_document_is_the_whole_log() -> None:
    one = logged([float(place) for place in range(100)], factor=1.1)
    document = json.loads(growth_json(one))
    assert tuple(document["growth"]) == GROWTH
    assert document["growth"] == one.growth
