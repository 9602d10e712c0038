"""`rockwright front --csv` and `--markdown`: what a spreadsheet and a report get is what the document says."""

import csv
import json
import math
from io import StringIO
from pathlib import Path
from typing import cast

import pytest

from optimiser.cli.main import main
from tests.report.records import nothing_found, record, saved

Entry = dict[str, float | None]


@pytest.fixture
def results(tmp_path: Path) -> str:
    return str(saved(tmp_path / "r", *record(40, nulls=True)))


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(["front", *words]) == 0
    return capsys.readouterr().out


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(text)))


def lines_of(text: str) -> list[list[str]]:
    """The cells of a Markdown table, the rule below its headings too."""
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines()]


def test_a_spreadsheet_has_every_number_to_the_bit(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    rows = {row["id"]: row for row in rows_of(printed(capsys, results, "--csv"))}
    document = json.loads(printed(capsys, results, "--json"))
    assert len(rows) == 41
    for member in [*document["members"], document["base"]]:
        row = rows[str(member["id"])]
        told = {heading.partition(" [")[0]: cell for heading, cell in row.items()}
        expected = cast(Entry, member["figures"] | member["variables"])
        assert {name: float(told[name]) if told[name] else None for name in expected} == expected
        assert len(told) == len(expected) + 2
    assert None in document["members"][0]["figures"].values()


def test_a_spreadsheet_begins_with_what_is_traded(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    headings = printed(capsys, results, "--csv").splitlines()[0].split(",")
    assert headings[:4] == ["id", "known_as", "heave.progressivity [%]", "heave.crosstalk [%]"]
    assert headings[-1] == "rocker.pickups.roll_lower.angle"
    assert len(set(headings)) == len(headings)


def test_base_and_knee_are_named(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    knee = json.loads(printed(capsys, results, "--json"))["knee"]
    known = {row["known_as"]: row["id"] for row in rows_of(printed(capsys, results, "--csv"))}
    assert known["base"] == "0"
    assert known["knee"] == str(knee)
    assert len(known) == 3


def test_rows_are_chosen_and_sorted_as_in_the_table(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = (results, "--csv", "--where", "roll.crosstalk < 0.5", "--sort", "rocker.arm_sum", "--top", "5")
    rows = [row for row in rows_of(printed(capsys, *words)) if not row["known_as"]]
    sums = [float(row["rocker.arm_sum [mm]"]) for row in rows]
    assert 4 <= len(rows) <= 5
    assert sums == sorted(sums)
    assert all(float(row["roll.crosstalk [%]"]) < 0.5 for row in rows)


def test_of_several_folders_each_row_says_which(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folders = [str(saved(tmp_path / f"{seed}", *record(20, seed=seed))) for seed in (1, 2)]
    rows = rows_of(printed(capsys, *folders, "--csv"))
    assert {row["from"] for row in rows if row["known_as"] != "base"} == {"1", "2"}
    head, _, *lines = lines_of(printed(capsys, *folders, "--markdown"))
    assert {line[head.index("from")] for line in lines} <= {"1", "2", ""}


def test_a_report_has_a_table_of_what_is_asked(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    head, rule, *lines = lines_of(printed(capsys, results, "--markdown", "--top", "40", "--every"))
    assert head[:3] == ["id", "heave.progressivity [%]", "heave.crosstalk [%]"]
    assert set(rule) == {":---", "---:"}
    assert {len(line) for line in lines} == {len(head)}
    crosstalk = {line[0].split()[0]: line[2] for line in lines}
    document = json.loads(printed(capsys, results, "--json"))
    values = {str(one["id"]): one["figures"]["heave.crosstalk"] for one in document["members"]}
    least = min(values, key=lambda name: values[name])
    assert [name for name, cell in crosstalk.items() if "**" in cell] == [least]
    assert all(math.isclose(float(crosstalk[name].strip("*")), values[name], abs_tol=6e-4) for name in values)


def test_a_report_shows_as_many_as_the_table(results: str, capsys: pytest.CaptureFixture[str]) -> None:
    lines = lines_of(printed(capsys, results, "--markdown"))[2:]
    assert 25 <= len(lines) <= 27


@pytest.mark.parametrize("other", [["--compare", "base", "knee"], ["--prices", "knee"], ["--growth"]])
@pytest.mark.parametrize("form", ["--csv", "--markdown"])
def test_what_is_no_list_is_refused(
    form: str, other: list[str], results: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["front", results, form, *other]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "write the list of members: leave out --compare" in err


def test_with_nothing_found_no_table_is_begun(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = str(saved(tmp_path / "none", *nothing_found()))
    assert main(["front", folder, "--csv"]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "nothing feasible" in err
