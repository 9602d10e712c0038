"""The language of `--where`: what it means against a plain reading, and where it says a condition fails."""

import math
import operator
from collections.abc import Callable
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.report.front.where import DEEPEST, ConditionError, UnknownColumnError, chosen, no_column

COLUMNS = {
    "heave.crosstalk": [0.5, 1.5, 2.5, 3.5],
    "rocker.pivot.y": [200.0, 210.0, 205.0, 200.0],
    "rocker.sweep": [-1e-3, 40.0, math.nan, 42.0],
}
ROWS = 4


@dataclass(frozen=True)
class Condition:
    """A condition's text, and what it means for a row."""

    text: str
    holds: Callable[[int], bool]


SIGNS: dict[str, Callable[[float, float], bool]] = {
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
    "=": operator.eq,
}
blanks = st.sampled_from(["", " ", "  ", "\t"])


@st.composite
def comparisons(draw: st.DrawFn) -> Condition:
    name, sign = draw(st.sampled_from(sorted(COLUMNS))), draw(st.sampled_from(sorted(SIGNS)))
    value = draw(st.sampled_from([0.5, 200.0, 205.0, 2.5, -1e-3, 40.0, 1e3]))
    number = draw(st.sampled_from([repr(value), f"{value:e}", f"{value:+}"]))
    text = f"{name}{draw(blanks)}{sign}{draw(blanks)}{number}"
    return Condition(text, lambda row: SIGNS[sign](COLUMNS[name][row], value))


@st.composite
def joined(draw: st.DrawFn, inner: st.SearchStrategy[Condition]) -> Condition:
    """Bracketed parts joined by one word, so that the plain reading needs no precedence."""
    parts, word = draw(st.lists(inner, min_size=1, max_size=3)), draw(st.sampled_from(["and", "or"]))
    gather = all if word == "and" else any
    text = f"{draw(blanks)} {word} ".join(f"({draw(blanks)}{part.text}{draw(blanks)})" for part in parts)
    return Condition(text, lambda row: gather(part.holds(row) for part in parts))


conditions = st.recursive(comparisons(), joined, max_leaves=12)


@given(conditions)
def test_a_condition_means_what_a_plain_reading_says(condition: Condition) -> None:
    assert chosen(condition.text, COLUMNS) == [condition.holds(row) for row in range(ROWS)]


@given(comparisons(), comparisons(), comparisons())
def test_and_binds_closer_than_or(a: Condition, b: Condition, c: Condition) -> None:
    expected = [a.holds(row) or (b.holds(row) and c.holds(row)) for row in range(ROWS)]
    assert chosen(f"{a.text} or {b.text} and {c.text}", COLUMNS) == expected
    assert chosen(f"{b.text} and {c.text} or {a.text}", COLUMNS) == expected


@given(st.text(alphabet="()<>=andor .0123456789exyz_\n'\"[]", max_size=60))
def test_any_text_is_a_condition_or_a_fault_with_its_place(text: str) -> None:
    try:
        assert len(chosen(text, COLUMNS)) == ROWS
        return
    except ConditionError as caught:
        fault = caught
    first, line, caret, *_ = str(fault).splitlines()
    column = int(first.removeprefix("--where: column "))
    assert caret.index("^") == column + 1
    assert len(line) <= len(text) + 2
    assert fault.exit_code == 2


@pytest.mark.parametrize(
    ("text", "column", "said"),
    [
        ("", 1, "the condition ends where the name of a figure"),
        ("heave.crosstalk", 16, "ends where <, <=, >, >= or = is expected"),
        ("heave.crosstalk <", 18, "ends where a number"),
        ("heave.crosstalk < 3 and", 24, "ends where the name of a figure"),
        ("heave.crosstalk < 3 or or", 24, "found 'or'"),
        ("(heave.crosstalk < 3", 21, "ends where ')'"),
        ("heave.crosstalk < 3)", 20, "found ')' where 'and', 'or' or the end"),
        ("heave.crosstalk < 3 heave.crosstalk", 21, "found 'heave.crosstalk' where 'and', 'or' or the end"),
        ("heave.crosstalk < three", 19, "found 'three' where a number"),
        ("heave.crosstalk < nan", 19, "found 'nan' where a number"),
        ("heave.crosstalk < 1_0", 19, "found '1_0' where a number"),
        ("heave.crosstalk == 3", 18, "found '=' where a number"),
        ("3 < heave.crosstalk", 1, "no figure, objective or variable '3'"),
        ("heave.crosstlak < 3", 1, "did you mean heave.crosstalk?"),
        ("rocker.sweep < 3 and heave.crosstlak < 3", 22, "did you mean heave.crosstalk?"),
        ("__import__('os').system('x') = 1", 1, "no figure, objective or variable '__import__'"),
        ("rocker.sweep(1) = 1", 13, "found '(' where <, <=, >, >= or ="),
        ("(" * (DEEPEST + 1) + "rocker.sweep < 1" + ")" * (DEEPEST + 1), DEEPEST + 1, "brackets within brackets"),
    ],
)
def test_a_fault_names_its_place(text: str, column: int, said: str) -> None:
    with pytest.raises(ConditionError) as caught:
        chosen(text, COLUMNS)
    first, _, caret, told = str(caught.value).splitlines()
    assert first == f"--where: column {column}"
    assert caret == " " * (column + 1) + "^"
    assert said in told


def test_brackets_to_the_allowed_depth_are_read() -> None:
    text = "(" * DEEPEST + "rocker.sweep > 41" + ")" * DEEPEST
    assert chosen(text, COLUMNS) == [False, False, False, True]


def test_a_null_meets_no_comparison() -> None:
    for sign in SIGNS:
        assert not chosen(f"rocker.sweep {sign} 40", COLUMNS)[2]


def test_a_name_that_is_near_nothing_says_where_names_are_listed() -> None:
    error = no_column("qqqqqqqq", COLUMNS)
    assert isinstance(error, UnknownColumnError)
    assert "front RESULTS --json" in str(error)
