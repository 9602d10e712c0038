"""A study changed at random is a study or a list of faults: never another exception, in-house warnings included."""

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optimiser.study.faults import FaultsError
from optimiser.study.read import read_study
from optimiser.study.study import Study

TOKEN = re.compile(rb"[A-Za-z_]+|-?[\d.]+|[^\sA-Za-z\d]")
NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
ODD = (
    b"-",
    b"1e-3",
    b"1e9",
    b"-1e300",
    b".nan",
    b"0",
    b"1:30",
    b"yes",
    b"~",
    b'"1"',
    b"9" * 40,
    b"[",
    b"}",
    b"*a",
    b"&a",
    b"",
)
SHIPPED = tuple(path.read_bytes() for path in sorted(Path("configs").glob("*.yaml")))


@st.composite
def mutated(draw: st.DrawFn) -> bytes:
    """A shipped study after one to four changes of bytes, lines, words or numbers."""
    content = draw(st.sampled_from(SHIPPED))
    for _ in range(draw(st.integers(1, 4))):
        content = draw(st.sampled_from([flip_byte, drop_line, double_line, swap_words, odd_number, other_number]))(
            content, draw(st.integers(0, 2**31)), draw(st.integers(0, 2**31))
        )
    return content


def flip_byte(content: bytes, where: int, what: int) -> bytes:
    """One byte changed for any other."""
    at = where % max(len(content), 1)
    return content[:at] + bytes([what % 256]) + content[at + 1 :]


def drop_line(content: bytes, where: int, _: int) -> bytes:
    """One line less."""
    lines = content.split(b"\n")
    del lines[where % len(lines)]
    return b"\n".join(lines)


def double_line(content: bytes, where: int, what: int) -> bytes:
    """One line a second time, somewhere."""
    lines = content.split(b"\n")
    lines.insert(what % len(lines), lines[where % len(lines)])
    return b"\n".join(lines)


def swap_words(content: bytes, where: int, what: int) -> bytes:
    """Two words, numbers or signs in each other's place."""
    spans = [match.span() for match in TOKEN.finditer(content)]
    if not spans:
        return content
    (a, b), (c, d) = sorted((spans[where % len(spans)], spans[what % len(spans)]))
    return content if (a, b) == (c, d) else content[:a] + content[c:d] + content[b:c] + content[a:b] + content[d:]


def odd_number(content: bytes, where: int, what: int) -> bytes:
    """A number replaced by something odd."""
    return _replaced(content, where, ODD[what % len(ODD)])


def other_number(content: bytes, where: int, what: int) -> bytes:
    """A number replaced by another one of an axle's size."""
    return _replaced(content, where, str((what % 16001 - 8000) / 8).encode())


def _replaced(content: bytes, where: int, new: bytes) -> bytes:
    spans = [match.span() for match in NUMBER.finditer(content)]
    if not spans:
        return content
    start, stop = spans[where % len(spans)]
    return content[:start] + new + content[stop:]


def read_or_faults(content: bytes, folder: Path) -> Study | FaultsError:
    """What reading gives; any other exception passes through."""
    file = folder / "mutated.yaml"
    file.write_bytes(content)
    try:
        return read_study(file)
    except FaultsError as error:
        return error


def is_told(result: Study | FaultsError, folder: Path) -> bool:
    """Whether faults, where there are any, name file, place and next step."""
    if isinstance(result, Study):
        return bool(result.name)
    sound = [fault.line >= 1 and fault.column >= 1 and fault.hint != "" for fault in result.faults]
    return (
        len(sound) > 0 and all(sound) and str(result).startswith(f"{folder / 'mutated.yaml'}:{result.faults[0].line}:")
    )


@given(mutated())
@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_mutated_study_is_read_or_its_faults_are_told(tmp_path: Path, content: bytes) -> None:
    assert is_told(read_or_faults(content, tmp_path), tmp_path)


@pytest.mark.long
@given(mutated())
@settings(max_examples=20_000, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_twenty_thousand_mutated_studies(tmp_path: Path, content: bytes) -> None:
    assert is_told(read_or_faults(content, tmp_path), tmp_path)
