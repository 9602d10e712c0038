"""The small language of `--where`: which members of a front to show.

    condition = group { "or" group }
    group     = test { "and" test }
    test      = NAME OP NUMBER | "(" condition ")"

OP is <, <=, >, >= or =; NAME is anything but blanks, brackets and operators. A null is never equal, above or below.
Nothing is evaluated as code.
"""

import operator
import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import NoReturn, TypeAlias

from optimiser.errors import RockwrightError

OPERATORS: dict[str, Callable[[float, float], bool]] = {
    "<=": operator.le,
    ">=": operator.ge,
    "<": operator.lt,
    ">": operator.gt,
    "=": operator.eq,
}
TOKEN = re.compile(r"\s*(?:(?P<operator><=|>=|[<>=])|(?P<bracket>[()])|(?P<word>[^\s<>=()]+))")
NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
JOINTS = ("and", "or")
DEEPEST = 50
"""Brackets within brackets that a condition may have."""

Columns: TypeAlias = Mapping[str, Sequence[float]]
Rows: TypeAlias = list[bool]


class ConditionError(RockwrightError):
    """A condition that does not read; its text shows the place with a caret."""


class UnknownColumnError(RockwrightError):
    """A name that is no figure, objective or variable of the front."""


def chosen(condition: str, columns: Columns) -> Rows:
    """Which rows of the columns meet a condition.

    Raises ConditionError, with the place, where the condition does not read or names no column.
    """
    parser = _Parser(condition, columns)
    rows = parser.condition(0)
    parser.end()
    return rows


def no_column(name: str, columns: Collection[str]) -> UnknownColumnError:
    """The error for a name that is no column, with the nearest one that is."""
    from optimiser.study.faults import suggestion  # noqa: PLC0415 - only once something went wrong

    hint = suggestion(name, columns, "`rockwright front RESULTS --json` lists them")
    return UnknownColumnError(f"no figure, objective or variable {name!r}; {hint}")


@dataclass(frozen=True)
class _Token:
    kind: str
    text: str
    start: int


class _Parser:
    """Recursive descent over the tokens of one condition."""

    def __init__(self, text: str, columns: Columns) -> None:
        self._text, self._columns = text, columns
        self._tokens = _tokens(text)
        self._next = 0

    def condition(self, depth: int) -> Rows:
        rows = self._group(depth)
        while self._take("or"):
            rows = [a or b for a, b in zip(rows, self._group(depth), strict=True)]
        return rows

    def end(self) -> None:
        if self._peek().kind != "end":
            self._fail(self._peek(), "'and', 'or' or the end")

    def _group(self, depth: int) -> Rows:
        rows = self._test(depth)
        while self._take("and"):
            rows = [a and b for a, b in zip(rows, self._test(depth), strict=True)]
        return rows

    def _test(self, depth: int) -> Rows:
        token = self._peek()
        if token.text == "(":
            if depth == DEEPEST:
                self._fail(token, f"at most {DEEPEST} brackets within brackets")
            self._next += 1
            rows = self.condition(depth + 1)
            if not self._take(")"):
                self._fail(self._peek(), "')'")
            return rows
        column = self._name()
        compare, number = OPERATORS[self._operator()], self._number()
        return [compare(value, number) for value in column]

    def _name(self) -> Sequence[float]:
        token = self._expect("word", "the name of a figure, an objective or a variable")
        if token.text not in self._columns:
            raise ConditionError(f"{self._place(token)}\n{no_column(token.text, self._columns)}")
        return self._columns[token.text]

    def _operator(self) -> str:
        return self._expect("operator", "<, <=, >, >= or =").text

    def _number(self) -> float:
        token = self._expect("word", "a number")
        if not NUMBER.fullmatch(token.text):
            self._fail(token, "a number")
        return float(token.text)

    def _expect(self, kind: str, wanted: str) -> _Token:
        token = self._peek()
        if token.kind != kind or token.text in JOINTS:
            self._fail(token, wanted)
        self._next += 1
        return token

    def _take(self, text: str) -> bool:
        found = self._peek().text == text
        self._next += found
        return found

    def _peek(self) -> _Token:
        return self._tokens[self._next]

    def _fail(self, token: _Token, wanted: str) -> NoReturn:
        found = f"found {token.text!r}" if token.text else "the condition ends"
        raise ConditionError(f"{self._place(token)}\n{found} where {wanted} is expected")

    def _place(self, token: _Token) -> str:
        line = "".join(" " if letter.isspace() else letter for letter in self._text)
        return f"--where: column {token.start + 1}\n  {line}\n  {' ' * token.start}^"


def _tokens(text: str) -> list[_Token]:
    tokens = [
        _Token(_kind(match), match[0].strip(), match.end() - len(match[0].strip())) for match in TOKEN.finditer(text)
    ]
    return [*tokens, _Token("end", "", len(text.rstrip()))]


def _kind(match: re.Match[str]) -> str:
    return match.lastgroup or "word"
