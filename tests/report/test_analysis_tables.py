"""The tables of an analysis: what they say, and that they stay inside their width."""

import re
import sys
from collections.abc import Callable
from dataclasses import replace
from io import StringIO

import numpy as np
import pytest

from geometry.travel import Travel
from optimiser.report.analysis.record import analyse
from optimiser.report.analysis.tables import analysis_tables
from optimiser.report.tables.cells import View
from optimiser.study.study import Study
from tests.axles import rear
from tests.report.renew_snapshot import SNAPSHOT, rendered
from tests.report.studies import (
    corner_study,
    crowded_study,
    front_study,
    locked_study,
    rear_study,
    study,
    swapped_study,
    uneven_study,
)

STUDIES = {
    "front": front_study,
    "rear": rear_study,
    "corner": corner_study,
    "locked": locked_study,
    "crowded": crowded_study,
    "swapped": swapped_study,
    "uneven": uneven_study,
}


def lines(asked: Study, every_step: bool = False) -> list[str]:
    """The tables of a study's axle, line by line."""
    return "\n".join(analysis_tables(analyse(asked), View(every_step))).split("\n")


def part(title: str, shown: list[str]) -> list[str]:
    """The lines from a title to the next blank one."""
    start = next(number for number, line in enumerate(shown) if line.startswith(title.upper()))
    return shown[start : shown.index("", start)]


def line(start: str, shown: list[str]) -> str:
    """The first line that starts so, blanks at its front left out."""
    return next(text.strip() for text in shown if text.strip().startswith(start))


def test_the_tables_are_those_last_looked_at() -> None:
    assert rendered() == SNAPSHOT.read_text(encoding="utf-8")


@pytest.mark.parametrize("every_step", [False, True], ids=["thinned", "every step"])
@pytest.mark.parametrize("make", STUDIES.values(), ids=STUDIES)
def test_no_line_is_wider_than_100_columns(make: Callable[[], Study], every_step: bool) -> None:
    shown = lines(make(), every_step)
    assert len(shown) > 40
    assert [text for text in shown if len(text) > 100] == []
    assert [text for text in shown if text != text.rstrip()] == []


def test_the_output_is_plain_where_there_is_no_terminal() -> None:
    assert "\x1b" not in rendered()


class _Terminal(StringIO):
    def isatty(self) -> bool:
        return True


def test_colour_only_repeats_what_the_words_say(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = rendered()
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(sys, "stdout", _Terminal())
    coloured = rendered()
    assert "\x1b[33mleaking\x1b[0m" in coloured
    assert re.sub(r"\x1b\[\d*m", "", coloured) == plain
    monkeypatch.setenv("NO_COLOR", "1")
    assert rendered() == plain


def test_who_works_when_says_working_idle_and_leaking() -> None:
    shown = part("Who works when", lines(front_study()))
    assert [word for word in line("heave -30 to 38", shown).split() if word.isalpha()] == [
        "heave",
        "to",
        "working",
        "idle",
    ]
    assert "2.17 % leaking" in line("roll -26 to 26", shown)
    assert line("one wheel -45 to 48", shown).count("working") == 2
    assert line("rack -30 to 30", shown).count("idle") == 2


def test_strokes_in_and_out_are_the_largest_and_smallest_compression() -> None:
    study = front_study()
    compression = analyse(study).sweeps["heave"].elements["heave"].compression
    row = line("heave -30 to 38", part("Who works when", lines(study)))
    assert f" {compression.max():.2f} {-compression.min():.2f} 100.00 %" in row


def test_without_a_rack_no_table_speaks_of_one() -> None:
    assert not [text for text in lines(rear_study()) if re.search(r"\brack\b", text)]


def test_heave_rows_show_the_ratio_and_its_inverse() -> None:
    row = line("0", part("Motion ratios through heave", lines(front_study()))).split()
    ratio, inverse = float(row[4]), float(row[5])
    assert ratio == pytest.approx(1.10, abs=0.005)
    assert inverse == pytest.approx(1 / ratio, abs=1e-4)


def test_an_idle_strut_has_no_inverse() -> None:
    heading = part("Motion ratios through heave", lines(front_study()))[2]
    assert heading.count("wheel/") == 1


def test_roll_rows_put_plus_and_minus_side_by_side() -> None:
    study = front_study()
    sweep = analyse(study).sweeps["roll"]
    row = line("20", part("Motion ratios through roll", lines(study))).split()
    (up,) = np.flatnonzero(sweep.travel == 20)
    (down,) = np.flatnonzero(sweep.travel == -20)
    assert [float(row[1]), float(row[2])] == [round(sweep.rocker_angle[up], 2), round(sweep.rocker_angle[down], 2)]
    ratios = sweep.elements["heave"].motion_ratio
    assert [float(row[5]), float(row[6])] == [round(ratios[up], 3), round(ratios[down], 3)]


def test_a_roll_that_one_side_lacks_shows_no_number_there() -> None:
    row = line("30", part("Motion ratios through roll", lines(locked_study()))).split()
    assert row[1] == "-"
    assert row[2] != "-"


def test_the_sign_of_roll_is_said() -> None:
    shown = part("Motion ratios through roll", lines(front_study()))
    assert "+r: left wheel up" in shown[0]
    assert "ISO 8855 lifts the left side: that is the state r < 0" in shown[-1]


def test_states_out_of_reach_are_shown_by_word_even_in_thinned_tables() -> None:
    shown = part("Motion ratios through heave", lines(locked_study()))
    assert line("-165", shown).split()[1:4] == ["-", "-", "unreachable"]
    assert line("-155", shown).split()[1:4] == ["-", "-", "unreachable"]
    assert line("-150", shown).endswith("over_centre")
    who = part("Who works when", lines(locked_study()))
    assert line("heave -165", who).endswith("unreachable")
    assert "wheel_locked" in line("rack -120", who)


def test_every_step_is_shown_on_demand() -> None:
    thinned, whole = (part("Motion ratios through heave", lines(front_study(), every)) for every in (False, True))
    assert len(whole) - len(thinned) == 35 - 13
    assert any("--all" in text for text in lines(front_study()))
    assert not any("--all" in text for text in lines(front_study(), True))


def test_margins_are_shown_by_what_is_left() -> None:
    shown = rendered().split("\n")
    margins = part("Margins", shown)
    assert margins[0] == "MARGINS  2 of 6 held goals missed"
    assert margins[3].split()[:2] == ["heave.progressivity", "9.00"]
    assert "missed by" in margins[3]
    assert "missed by" in margins[4]
    assert all(" left " in text for text in margins[5:9])


def test_a_null_figure_says_why() -> None:
    shown = lines(corner_study())
    assert "null" in line("corner.crosstalk", part("Margins", shown))
    assert "corner.crosstalk: null: not_decoupled, a corner strut serves neither heave nor roll" in shown


def test_a_file_without_goals_says_so() -> None:
    assert "MARGINS  the file holds no goal that must be met" in lines(rear_study())


def test_an_axle_that_does_not_move_has_tables_without_shares() -> None:
    still = Travel(wheel=(-1.0, 1.0), heave=(0.0, 0.0), roll=(0.0, 0.0), rack=None, step=2.0)
    shown = lines(study(rear(), still))
    assert line("heave 0 to 0", shown).split()[-2:] == ["-", "-"]


def test_an_axle_without_elements_has_tables_of_its_rocker() -> None:
    shown = lines(study(replace(rear(), elements={})))
    assert "left rocker" in part("Motion ratios through heave", shown)[1]
