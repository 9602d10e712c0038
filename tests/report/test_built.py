"""The axle as built in analysis, hand-off and front: what is told, carried, recomputed and passed over."""

import json
from dataclasses import replace
from functools import cache, partial

import pytest

from objectives.evaluate import evaluate
from objectives.fittings.fitted import Fittings
from objectives.goals import Limit
from objectives.tolerance.build import Build, Spread
from optimiser.report.analysis.document import to_json
from optimiser.report.analysis.record import Analysis, analyse
from optimiser.report.analysis.tables import analysis_tables
from optimiser.report.front.compare import BELOW_SPREAD, compare_lines, differences
from optimiser.report.front.frame import Frame, frame
from optimiser.report.front.twins import folded
from optimiser.report.handoff.document import handoff_document
from optimiser.report.handoff.text import as_text
from optimiser.report.handoff.verify import verify
from optimiser.report.results.build_spreads import build_spreads
from optimiser.report.tables.cells import View
from optimiser.study.read import read_text
from optimiser.study.study import Study
from tests.report.fronts import store, table
from tests.report.handed_over import ORIGIN, Node, at, edited, read_back, resealed, shipped

BUILD = Build(0.25, 0.05, 0.25, {"rocker.pickups.heave": 0.02}, Spread.ONE_SIGMA)


@cache
def study() -> Study:
    """The shipped front axle on a coarse grid, with a build and one goal on built axles, and one that some miss."""
    front = shipped("front", 6.0)
    kept = tuple(goal for goal in front.goals if goal.figure != "roll.crosstalk")
    goals = (*kept, Limit("roll.crosstalk.p99", 1.0, None), Limit("roll.crosstalk", 0.2, None))
    return replace(front, fittings=Fittings(build=BUILD), goals=goals)


@cache
def analysed() -> Analysis:
    return analyse(study())


def text(analysis: Analysis) -> str:
    return "\n".join(analysis_tables(analysis, View(width=100, every_step=False)))


def test_each_figure_asked_for_has_one_row() -> None:
    rows = {row.figure: row for row in analysed().built}
    assert list(rows) == list(dict.fromkeys(goal.figure.removesuffix(".p99") for goal in study().goals))
    row, names = rows["roll.crosstalk"], [f"roll.crosstalk.{form}" for form in ("rss", "worst", "p01", "p99")]
    found = evaluate(study().axle, study().travel, ["roll.crosstalk", *names], study().fittings).values
    told = [row.nominal, row.rss, row.worst, row.p01, row.p99]
    assert told == pytest.approx([float(value) for value in found.values()], rel=1e-9)
    assert row.met is not None
    assert 0.8 < row.met < 0.95
    assert rows["heave.progressivity"].met is None
    assert rows["heave.motion_ratio"].met == 1.0


def test_the_largest_contributors_are_named() -> None:
    row = next(row for row in analysed().built if row.figure == "roll.crosstalk")
    names = [one.name for one in row.contributors]
    assert set(names) == {"left rocker.pivot.z", "right rocker.pivot.z", "left rocker.pickups.roll_upper.z"}
    assert [abs(one.change) for one in row.contributors] == sorted(abs(one.change) for one in row.contributors)[::-1]
    upper = row.contributors[names.index("left rocker.pickups.roll_upper.z")]
    assert upper.change == pytest.approx(0.05 * upper.slope)


def test_tables_and_document_tell_of_it() -> None:
    shown, document = text(analysed()), to_json(analysed())
    assert "AS BUILT" in shown.upper()
    assert "one standard deviation, left and right on their own" in shown
    assert "left rocker.pickups.roll_upper.z" in shown
    assert max(map(len, shown.splitlines())) <= 100
    built = json.loads(json.dumps(document, allow_nan=False))["built"]
    assert built["roll.crosstalk"]["contributors"][0]["slope"] != 0.0
    assert document["figures"] == analysed().figures
    without = analyse(replace(study(), fittings=Fittings(), goals=study().goals[:1]))
    assert without.built == ()
    assert "built" not in to_json(without)
    assert "AS BUILT" not in text(without).upper()


def test_a_goal_on_built_axles_is_judged() -> None:
    (verdict,) = (one for one in analysed().verdicts if one.goal.figure == "roll.crosstalk.p99")
    assert verdict.met
    assert verdict.value == pytest.approx(analysed().figures["roll.crosstalk.p99"])


def test_a_hand_off_carries_and_verifies_it() -> None:
    document = read_back(handoff_document(study(), study().axle, ORIGIN))
    assert read_text(as_text(document), "handed").fittings.build == BUILD
    assert at(document, "units", "roll.crosstalk.p99") == "%"
    assert verify(document, "handed").differences == ()
    forgeries: list[tuple[tuple[str | int, ...], Node]] = [
        (("build", "pickups"), 0.06),
        (("figures", "roll.crosstalk.p99"), 0.3),
        (("goals", "roll.crosstalk.p99", "met"), False),
    ]
    for path, value in forgeries:
        forged = resealed(edited(document, path, partial(_instead, value)))
        assert any("roll.crosstalk.p99" in one.path for one in verify(forged, "forged").differences), path


def _instead(value: Node, _was: Node) -> Node:
    return value


def test_spreads_are_the_deviations_of_what_goals_ask_for() -> None:
    spreads = build_spreads(study())
    assert set(spreads) == {goal.figure.removesuffix(".p99") for goal in study().goals}
    ratio = evaluate(study().axle, study().travel, ["heave.motion_ratio.rss"], study().fittings)
    assert spreads["heave.motion_ratio"] == pytest.approx(float(ratio.values["heave.motion_ratio.rss"]), rel=1e-6)
    assert build_spreads(replace(study(), fittings=Fittings())) == {}


ALIKE = [
    (180.0, -110.0, 1.1000, 20.0, 4.0, 0.50, 300.0, 40.0),
    (181.0, -110.5, 1.1000, 19.5, 4.1, 0.50, 301.0, 40.0),
    (229.0, -130.0, 1.1000, 10.0, 1.0, 0.50, 250.0, 40.0),
    (228.0, -130.5, 1.1000, 10.5, 1.1, 0.50, 251.0, 40.0),
]
"""Two pairs of neighbours: in each, objectives that differ by twice what is no difference in a goal's scale."""


def front_with(spreads: dict[str, float]) -> Frame:
    """The four, shown with figures that differ so much from one built axle to the next."""
    plain = store(table([1, 2, 3, 4], ALIKE))
    shown = {name: replace(entry, spread=spreads.get(name, 0.0)) for name, entry in plain.manifest.figures.items()}
    return frame(replace(plain, manifest=replace(plain.manifest, figures=shown)))


def test_what_is_less_than_the_spread_is_no_difference_of_two_members() -> None:
    plain, spread = front_with({}), front_with({"heave.progressivity": 0.6, "heave.crosstalk": 0.05})
    names = {entry.name for entry in differences(plain, 0, 1)}
    assert {"heave.progressivity", "heave.crosstalk", "rocker.arm_sum"} <= names
    told = {entry.name for entry in differences(spread, 0, 1)}
    assert names - told == {"heave.progressivity"}
    assert compare_lines(spread, 0, 1)[-1] == BELOW_SPREAD
    assert BELOW_SPREAD not in compare_lines(plain, 0, 1)


def test_members_within_the_spread_are_one_choice() -> None:
    rows = range(4)
    assert len(folded(front_with({}), rows)) == 4
    small = {"heave.progressivity": 0.4}
    assert len(folded(front_with(small), rows)) == 4
    lines = folded(front_with({"heave.progressivity": 0.6}), rows)
    assert sum(lines.values()) + len(lines) == 4
    assert len(lines) < 4
