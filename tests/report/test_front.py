"""What is shown of a front: order, knee, margins, bounds, correlation, growth, differences; the tables' text."""

import math
from dataclasses import replace
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import rankdata, spearmanr

from optimiser.report.front.closest import closest_lines
from optimiser.report.front.compare import compare_lines, differences
from optimiser.report.front.frame import Bound, NothingFoundError, UnknownMemberError, frame
from optimiser.report.front.listing import alike, crowds, late_growth, selection, shown
from optimiser.report.front.ranks import rank_correlation, ranks
from optimiser.report.front.short_names import short_figures, short_paths
from optimiser.report.front.table import front_lines
from optimiser.report.front.where import UnknownColumnError
from optimiser.report.tables.text_table import figures
from tests.report.fronts import BASE, FOUR, VARIABLES, four, store, table

few = st.lists(st.integers(-3, 3).map(float), min_size=1, max_size=40)


@given(few)
def test_ranks_share_ties_as_scipy_does(values: list[float]) -> None:
    assert ranks(values) == rankdata(values).tolist()


@given(st.lists(st.tuples(st.integers(-4, 4), st.floats(-1e6, 1e6)), min_size=3, max_size=40))
def test_rank_correlation_is_scipys(pairs: list[tuple[int, float]]) -> None:
    a, b = [float(first) for first, _ in pairs], [second for _, second in pairs]
    found = rank_correlation(a, b)
    if len(set(a)) == 1 or len(set(b)) == 1:
        assert math.isnan(found)
    else:
        assert found == pytest.approx(float(spearmanr(a, b).statistic), abs=1e-12)


def test_rank_correlation_of_too_few_is_null() -> None:
    assert math.isnan(rank_correlation([], []))
    assert math.isnan(rank_correlation([1.0], [2.0]))


def test_the_knee_has_the_smallest_largest_distance() -> None:
    front = four()
    shares = {
        3: (0.0, 1.0, 0.5),
        5: (8 / 18, 1.9 / 3.5, 1 / 6),
        8: (9 / 18, 2.0 / 3.5, 0.0),
        13: (1.0, 0.0, 1.0),
    }
    assert front.table.ids[front.knee] == min(shares, key=lambda name: max(shares[name]))


def test_a_tie_for_the_knee_goes_to_the_smaller_sum() -> None:
    rows = [
        (200.0, -100.0, 1.1, 10.0, 1.5, 0.1, 300.0, 1.0),
        (200.0, -100.0, 1.1, 10.0, 1.0, 0.1, 300.0, 1.0),
        (200.0, -100.0, 1.1, 20.0, 3.0, 0.1, 310.0, 1.0),
        (200.0, -100.0, 1.1, 0.0, 0.0, 0.1, 290.0, 1.0),
    ]
    assert frame(store(table([1, 2, 3, 4], rows))).knee == 1


def test_one_member_is_the_knee_and_the_best() -> None:
    front = frame(store(table([7], FOUR[:1])))
    assert front.knee == 0
    assert front.is_best(0, "heave.crosstalk")
    assert front.base is None
    assert shown(front, [0], 0) == [0]


def test_the_base_is_never_the_best_and_never_the_knee() -> None:
    as_good = (205.0, -110.0, 1.1, 20.0, 2.4, 0.0, 280.0, 41.0)
    front = frame(store(table([3, 5], FOUR[:2]), table([0], [as_good])))
    assert front.base == 2
    assert not any(front.is_best(2, name) for name in front.table.objectives)
    assert front.knee in (0, 1)


def test_a_base_that_is_a_member_is_listed_once() -> None:
    front = frame(store(table([0, 5], FOUR[:2]), table([0], [BASE])))
    assert front.table.ids == [0, 5]
    assert front.base == 0
    assert front.members == 2


def test_the_smallest_margin_is_compared_in_the_goals_own_scales() -> None:
    front = four()
    found = [front.margin(row) for row in range(5)]
    assert [margin and margin.figure for margin in found] == [
        "roll.crosstalk",
        "heave.motion_ratio",
        "heave.motion_ratio",
        "roll.crosstalk",
        "heave.motion_ratio",
    ]
    assert found[3] is not None
    assert found[3].left == pytest.approx(0.02)
    assert found[4] is not None
    assert found[4].left == pytest.approx(-0.01)


def test_a_null_figure_is_the_smallest_margin() -> None:
    row = (180.0, -110.0, 1.1, 20.0, 4.0, math.nan, 300.0, 40.0)
    margin = frame(store(table([1], [row]))).margin(0)
    assert margin is not None
    assert margin.figure == "roll.crosstalk"
    assert math.isnan(margin.left)


@pytest.mark.parametrize(
    ("y", "expected"),
    [
        (180.0, ("low",)),
        (180.05, ("low",)),
        (180.06, ()),
        (229.94, ()),
        (229.95, ("high",)),
        (230.0, ("high",)),
        (175.0, ("low",)),
    ],
)
def test_a_bound_is_active_within_a_thousandth_of_the_range(y: float, expected: tuple[str, ...]) -> None:
    row = (y, *FOUR[2][1:])
    assert tuple(bound.end for bound in frame(store(table([1], [row]))).bounds(0)) == expected


def test_crowded_bounds_are_those_of_more_than_a_fifth() -> None:
    found = {crowd.bound: crowd.share for crowd in crowds(four())}
    assert found == {
        Bound("rocker.pivot.y", "high"): 0.5,
        Bound("rocker.pivot.y", "low"): 0.25,
        Bound("rocker.pickups.roll_lower.angle", "low"): 0.25,
    }
    five = frame(store(table([1, 2, 3, 4, 5], [*FOUR, FOUR[2]])))
    assert {crowd.bound for crowd in crowds(five)} == {Bound("rocker.pivot.y", "high")}


def test_objectives_that_are_nearly_one_are_named() -> None:
    random = Random(4)
    rows = [(200.0, -100.0, 1.1, float(k), k**1.5, 0.1, random.uniform(250, 300), 40.0) for k in range(1, 30)]
    (pair,) = alike(frame(store(table(range(1, 30), rows))))
    assert (pair.first, pair.second) == ("heave.progressivity", "heave.crosstalk")
    assert pair.correlation == pytest.approx(-1.0)
    assert alike(frame(store(table(range(1, 5), rows[:4])))) == ()


def test_of_two_objectives_alone_the_opposition_is_no_news() -> None:
    rows = [(200.0, -100.0, 1.1, float(k), k**1.5, 0.1, 250.0, 40.0) for k in range(1, 30)]
    whole = store(table(range(1, 30), rows))
    goals = tuple(goal for goal in whole.manifest.goals if goal.figure != "rocker.arm_sum")
    kept = {name: column for name, column in whole.front.objectives.items() if name != "rocker.arm_sum"}
    two = replace(whole, manifest=replace(whole.manifest, goals=goals), front=replace(whole.front, objectives=kept))
    assert alike(frame(two)) == ()


def test_late_growth_counts_the_last_quarter_of_the_evaluations() -> None:
    assert late_growth(four().store) == pytest.approx(0.25)
    empty: dict[str, list[float]] = {name: [] for name in four().store.growth}
    assert late_growth(replace(four().store, growth=empty)) is None


@pytest.mark.parametrize(
    ("sort", "ids"),
    [
        (None, [3, 5, 8, 0, 13]),
        ("heave.progressivity", [3, 5, 8, 0, 13]),
        ("rocker.arm_sum", [8, 5, 0, 3, 13]),
        ("rocker.sweep", [13, 3, 0, 8, 5]),
        ("rocker.pivot.y", [3, 8, 0, 5, 13]),
    ],
)
def test_members_are_sorted_objectives_best_first_and_nulls_last(sort: str | None, ids: list[int]) -> None:
    front = four()
    assert [front.table.ids[row] for row in selection(front, sort, None)] == ids


def test_an_unknown_name_to_sort_by_gets_the_nearest() -> None:
    with pytest.raises(UnknownColumnError, match=r"'rocker\.arm_sums'; did you mean rocker\.arm_sum\?"):
        selection(four(), "rocker.arm_sums", None)


@pytest.mark.parametrize(
    ("where", "top", "ids"),
    [
        (None, None, [3, 5, 8, 0, 13]),
        (None, 1, [3, 5, 0]),
        (None, 0, [5, 0]),
        ("heave.crosstalk < 1", None, [0, 5, 13]),
        ("heave.crosstalk < 1", 0, [0, 5]),
        ("heave.crosstalk < 3", 2, [5, 8, 0]),
    ],
)
def test_base_and_knee_are_always_listed(where: str | None, top: int | None, ids: list[int]) -> None:
    front = four()
    assert [front.table.ids[row] for row in shown(front, selection(front, None, where), top)] == ids


@pytest.mark.parametrize(("name", "row"), [("3", 0), ("13", 3), ("0", 4), ("base", 4), ("knee", 1)])
def test_members_are_found_by_id_and_by_name(name: str, row: int) -> None:
    assert four().row(name) == row


@pytest.mark.parametrize("name", ["4", "-1", "03", "", "best", "9" * 5000])
def test_an_unknown_member_is_refused(name: str) -> None:
    with pytest.raises(UnknownMemberError, match="results/invented: no member"):
        four().row(name)


def test_an_empty_front_is_an_honest_no() -> None:
    with pytest.raises(NothingFoundError, match="4,000 candidates") as caught:
        frame(store(table([], []), table([0], [BASE])))
    assert caught.value.exit_code == 1
    assert "\n" not in str(caught.value)


FRONT_TEXT = """\
An invented axle: 4 members from 4,000 candidates
hypervolume 8; 25 % of it came in the last 25 % of the search
50 % of the members sit on the high bound of rocker.pivot.y
25 % of the members sit on the low bound of rocker.pivot.y
25 % of the members sit on the low bound of rocker.pickups.roll_lower.angle

       heave  heave  rocker   heave   roll  smallest
        prog  xtalk    arms   ratio  xtalk  margin, in          active
id         %      %      mm   mm/mm      %  its own unit        bounds
------ ------ ------ ------- ------- ------ ------------------- ----------------------------------
3      20.00* 4.000   300.0  1.1000  0.500  0.500 roll xtalk    pivot.y low
5 knee 12.00  2.400   280.0  1.1030  0.200  0.0070 heave ratio  pivot.y high, roll_lower.angle low
8      11.00  2.500   270.0* 1.0910  0.400  0.0010 heave ratio
0 base  9.00  2.000   282.0  1.1200! 1.500! -0.0100 heave ratio

members not shown: 1; --top 4 shows all, --sort and --where choose
* best of the front   ! misses a held goal   base: the study's own geometry
knee: the member whose worst objective is least far from its best, as a share of its range
"""


def test_the_tables_text_at_a_hundred_columns() -> None:
    front = four()
    rows = selection(front, None, None)
    text = front_lines(front, shown(front, rows, 3), None, 4, 100)
    assert "\n".join(text) == FRONT_TEXT.rstrip("\n")


@pytest.mark.parametrize("wide", [80, 100, 140])
@pytest.mark.parametrize("sort", [None, "rocker.sweep", "rocker.pivot.y"])
def test_no_line_of_a_table_is_wider_than_the_screen(wide: int, sort: str | None) -> None:
    front = four()
    for line in front_lines(front, list(range(5)), sort, 4, wide)[6:]:
        assert len(line) <= wide


def test_a_narrow_screen_names_what_it_leaves_out_and_what_it_abbreviates() -> None:
    front = frame(store(table([1, 2], [FOUR[0], (205.0, -90.0, *FOUR[0][2:])])))
    text = "\n".join(front_lines(front, [1], None, 2, 66))
    assert "no room for roll.crosstalk" in text
    assert "r_l.ang high" in text
    assert "r_l.ang = rocker.pickups.roll_lower.angle" in text


COMPARE_TEXT = """\
what differs                            8         3   change         better by the goals
-------------------------------  --------  --------  -------  -----  -------------------
rocker.pivot.y                    205.000   180.000  -25.000
rocker.pickups.roll_lower.angle  -111.000  -110.000   +1.000
heave.motion_ratio                 1.0910    1.1000  +0.0090  mm/mm  both hold
heave.progressivity                 11.00     20.00    +9.00  %      3
heave.crosstalk                     2.500     4.000   +1.500  %      8
roll.crosstalk                      0.400     0.500   +0.100  %      both hold
rocker.arm_sum                      270.0     300.0    +30.0  mm     8
rocker.sweep                        43.00     40.00    -3.00  deg
"""


def test_differences_are_those_that_show() -> None:
    front = four()
    found = {entry.name: entry.better for entry in differences(front, front.row("base"), front.row("5"))}
    assert found == {
        "rocker.pivot.y": "",
        "rocker.pickups.roll_lower.angle": "",
        "heave.motion_ratio": "b",
        "heave.progressivity": "b",
        "heave.crosstalk": "a",
        "roll.crosstalk": "b",
        "rocker.arm_sum": "b",
        "rocker.sweep": "",
    }


def test_a_difference_below_the_shown_digits_is_none() -> None:
    near = (FOUR[0][0] + 1e-5, *FOUR[0][1:])
    front = frame(store(table([1, 2], [FOUR[0], near])))
    assert differences(front, 0, 1) == ()
    assert compare_lines(front, 0, 1) == ["1 knee and 2 do not differ in any figure or variable as it is shown"]


def test_a_difference_below_the_shown_digits_is_none_across_a_rounding_step() -> None:
    a, b = (199.0, -101.0, 1.10004, *FOUR[0][3:]), (199.0, -101.0, 1.10006, *FOUR[0][3:])
    assert [f"{value:.4f}" for value in (a[2], b[2])] == ["1.1000", "1.1001"]
    assert differences(frame(store(table([1, 2], [a, b]))), 0, 1) == ()


def test_a_difference_to_null_is_one() -> None:
    null = (*FOUR[0][:2], math.nan, *FOUR[0][3:])
    front = frame(store(table([1, 2, 3], [FOUR[0], null, null])))
    assert [entry.name for entry in differences(front, 0, 1)] == ["heave.motion_ratio"]
    assert differences(front, 1, 2) == ()


def test_one_member_is_not_many() -> None:
    lines = front_lines(frame(store(table([1], [FOUR[0]]))), [0], None, 1, 100)
    assert lines[0].startswith("An invented axle: 1 member from ")
    assert lines[1] == "hypervolume 8; 25 % of it came in the last 25 % of the search"


@pytest.mark.parametrize(
    ("before", "told"), [(0.0, "100 %"), (7.2, "10 %"), (7.208, "9.9 %"), (7.99, "0.1 %"), (8.0, "0.0 %")]
)
def test_growth_is_told_in_plain_numbers(before: float, told: str) -> None:
    held = store(table([1], [FOUR[0]]))
    growth = {**held.growth, "evaluations": [3000.0, 4000.0], "hypervolume": [before, 8.0]}
    lines = front_lines(frame(replace(held, growth=growth)), [0], None, 1, 100)
    assert lines[1] == f"hypervolume 8; {told} of it came in the last 25 % of the search"


def test_the_comparisons_text() -> None:
    front = four()
    assert "\n".join(compare_lines(front, front.row("8"), front.row("3"))) == COMPARE_TEXT.rstrip("\n")


CLOSEST_TEXT = """\
The candidate nearest to feasible misses 2 of 2 held goals:

held goal           asked        reached  missed by
------------------  -----------  -------  ---------  -----
heave.motion_ratio  1.1 +- 0.01  1.07500    0.01500  mm/mm
roll.crosstalk      at most 1     1.2500     0.2500  %

variable                            there      base  bounds
-------------------------------  --------  --------  -----------
rocker.pivot.y                    199.000   205.000  180 to 230
rocker.pickups.roll_lower.angle  -101.000  -110.000  -135 to -90
"""


def test_the_closest_candidates_text() -> None:
    closest = table([-1], [(199.0, -101.0, 1.0750, 9.0, 2.0, 1.25, 282.0, 41.0)])
    lines = closest_lines(store(table([], []), table([0], [BASE]), closest))
    assert "\n".join(lines) == CLOSEST_TEXT.rstrip("\n")


def test_without_a_closest_candidate_nothing_is_said() -> None:
    assert closest_lines(store(table([], []))) == []


@pytest.mark.parametrize(
    ("value", "decimals", "signed", "text"),
    [
        (1.23456, 2, False, "1.23"),
        (-0.001, 2, False, "0.00"),
        (-0.001, 2, True, "0.00"),
        (0.5, 1, True, "+0.5"),
        (math.nan, 3, False, "-"),
        (None, 3, True, "-"),
    ],
)
def test_numbers_as_cells(value: float | None, decimals: int, signed: bool, text: str) -> None:
    assert figures(value, decimals, signed) == text


def test_short_figures_never_read_alike() -> None:
    names = ["heave.length_min", "heave.length_max", "heaveheave.x", "heaveheart.x"]
    assert short_figures(names) == [("heave", "lmin"), ("heave", "lmax"), ("heaveheave", "x"), ("heaveheart", "x")]


def test_short_paths_stay_apart() -> None:
    paths = [variable.path for variable in VARIABLES]
    assert short_paths(paths, 20) == ["pivot.y", "roll_lower.angle"]
    assert short_paths(paths, 10) == ["pivot.y", "r_l.ang"]
    assert short_paths(["a.roll_left.angle", "a.rear_left.angle"], 5) == ["roll_left.angle", "rear_left.angle"]
    assert short_paths(["a.b.c", "d.b.c"], 50) == ["a.b.c", "d.b.c"]
