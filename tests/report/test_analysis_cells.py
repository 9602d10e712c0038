"""Numbers as cells, which rows are shown, and how blocks share the width."""

import numpy as np
import pytest

from geometry.travel import travel_points
from objectives.readings import FigureStatus
from optimiser.report.analysis.margin_tables import REASONS
from optimiser.report.tables.blocks import NAME, Block, Column, prose, short, tables
from optimiser.report.tables.cells import MOST_ROWS, inverse, number, place, thinned


@pytest.mark.parametrize(
    ("value", "decimals", "signed", "text"),
    [
        (1.23456, 2, False, "1.23"),
        (1.23456, 2, True, "+1.23"),
        (-1.23456, 2, False, "-1.23"),
        (-1e-9, 3, False, "0.000"),
        (1e-9, 3, True, "0.000"),
        (-1e-9, 3, True, "0.000"),
        (None, 1, False, "-"),
        (float("nan"), 1, False, "-"),
        (float("-inf"), 1, False, "-"),
    ],
)
def test_numbers(value: float | None, decimals: int, signed: bool, text: str) -> None:
    assert number(value, decimals, signed=signed) == text


def test_an_inverse_is_shown_where_the_element_moves() -> None:
    assert inverse(-0.5, 2) == "-2.00"
    assert inverse(0.01, 2) == "-"
    assert inverse(float("nan"), 2) == "-"


def test_travel_points_have_no_needless_zeros() -> None:
    assert [place(point, signed=True) for point in (-45.5, 0.0, 2.0)] == ["-45.5", "0", "+2"]


def test_thinned_rows_keep_the_ends_and_static() -> None:
    points = np.array([-31.0, *np.arange(-30.0, 39.0, 2.0), 39.0])
    rows = thinned(points, ["ok"] * len(points), 2.0, every_step=False)
    assert len(rows) <= MOST_ROWS
    assert {-31.0, 0.0, 39.0} <= set(points[rows])
    assert np.unique(np.diff(points[rows][1:-1])).tolist() == [8.0]


@pytest.mark.parametrize("step", [0.01, 0.3, 1.0, 1.7, 2.0, 5.0, 40.0, 200.0])
def test_thinned_rows_are_as_many_as_fit(step: float) -> None:
    """The slow twin: the smallest k of all that leaves no more than the most rows."""
    points = travel_points((-31.0, 38.5), step)
    rows = thinned(points, ["ok"] * len(points), step, every_step=False)
    multiples = np.round(points / step).astype(int)
    on_step = np.isclose(points, multiples * step, atol=1e-9)
    ends = {0, len(points) - 1}
    for k in range(1, 1000):
        expected = ends | {row for row in range(len(points)) if on_step[row] and multiples[row] % k == 0}
        if len(expected) <= MOST_ROWS:
            break
    assert rows == sorted(expected)


def test_a_range_without_travel_has_one_row() -> None:
    assert thinned(np.zeros(1), ["ok"], 2.0, every_step=False) == [0]


def test_thinned_rows_show_where_trouble_begins_and_ends() -> None:
    points = np.arange(-100.0, 101.0, 1.0)
    states = ["a" if 33 < point < 38 else "b" if 38 <= point < 43 else "ok" for point in points]
    shown = set(points[thinned(points, states, 1.0, every_step=False)])
    assert {33.0, 34.0, 37.0, 38.0, 42.0, 43.0} <= shown


def test_every_step_thins_nothing() -> None:
    points = np.arange(-100.0, 101.0, 1.0)
    assert thinned(points, ["ok"] * 201, 1.0, every_step=True) == list(range(201))


def block(title: str, width: int) -> Block:
    """A block of one column of two rows."""
    return Block(title, [Column("head", ["x" * width, "y"])])


def test_blocks_share_a_table_while_they_fit() -> None:
    fits = list(tables(block("key", 10), [block("one", 20), block("two", 20)], width=56))
    assert fits[0].split() == ["key", "one", "two"]
    assert "" not in fits
    assert len(fits[2]) == 56


def test_blocks_that_do_not_fit_start_a_table_with_the_key_again() -> None:
    lines = list(tables(block("key", 10), [block("one", 20), block("two", 20)], width=55))
    assert lines.count("") == 1
    assert [text.split() for text in lines if "key" in text] == [["key", "one"], ["key", "two"]]


def test_a_short_block_leaves_its_last_rows_blank() -> None:
    lines = list(tables(Block("", [Column("a", ["1", "2"])]), [Block("", [Column("b", ["3"])])]))
    assert [text.split() for text in lines] == [["a", "b"], ["-", "-"], ["1", "3"], ["2"]]


def test_headings_stand_at_the_bottom_of_their_room() -> None:
    lines = list(tables(Block("", [Column("top\n[mm]", ["1"]), Column("low", ["2"])]), []))
    assert [text.split() for text in lines[:2]] == [["top"], ["[mm]", "low"]]


def test_a_long_name_keeps_its_beginning_and_its_end() -> None:
    name = "a" * 50 + ".motion_ratio"
    assert len(short(name)) == NAME
    assert short(name).startswith("aaaa")
    assert short(name).endswith(".motion_ratio")
    assert short("heave") == "heave"


def test_prose_is_wrapped_with_its_indent() -> None:
    lines = prose("word " * 40, 30, "- ", "  ")
    assert all(len(text) <= 30 for text in lines)
    assert lines[0].startswith("- word")
    assert all(text.startswith("  word") for text in lines[1:])


def test_every_word_of_a_figure_is_explained() -> None:
    assert set(REASONS) == {status.word for status in FigureStatus} - {"ok"}
