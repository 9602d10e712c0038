"""How exactly an axle is built, read from a file: what is told, what is refused, and written out again."""

import pytest

from objectives.goals import Limit
from objectives.tolerance.build import Build, Spread
from optimiser.study.read import read_text
from optimiser.study.tolerances import build_in_words, build_tree
from tests.study.conftest import Changed, Expect

SECTION = "build: {pivots: 0.5, pickups: 0.1, rod_length: 0.25, spread: 2_sigma}\n"
GOAL = "  roll.crosstalk.p99: {at_most: 1.0}\n"


def with_build(sound: str, section: str, goal: str = "") -> str:
    return sound.replace("goals:\n", f"{section}goals:\n{goal}")


def test_it_is_read(sound: str) -> None:
    study = read_text(with_build(sound, SECTION, GOAL), "study.yaml")
    assert study.fittings.build == Build(0.5, 0.1, 0.25, {}, Spread.TWO_SIGMA)
    assert study.goals[0] == Limit("roll.crosstalk.p99", 1.0, None)
    assert read_text(sound, "study.yaml").fittings.build is None


def test_a_point_has_a_tolerance_of_its_own(sound: str) -> None:
    section = "build:\n  points: {rocker.pickups.heave: 0.05, links.upper_front.inboard: 0.5}\n  spread: limits\n"
    build = read_text(with_build(sound, section), "study.yaml").fittings.build
    points = {"rocker.pickups.heave": 0.05, "links.upper_front.inboard": 0.5}
    assert build == Build(points=points, spread=Spread.LIMITS)


def test_it_is_written_as_it_is_read(sound: str) -> None:
    section = "build: {pivots: 0.5, pickups: 0.1, points: {rocker.rod: 0.02}, spread: 3_sigma}\n"
    build = read_text(with_build(sound, section), "study.yaml").fittings.build
    written = build_tree(build)
    assert written == {
        "pivots": 0.5,
        "pickups": 0.1,
        "rod_length": 0.0,
        "points": {"rocker.rod": 0.02},
        "spread": "3_sigma",
    }
    again = read_text(with_build(sound, f"build: {written}\n".replace("'", "")), "study.yaml")
    assert again.fittings.build == build
    assert build_tree(None) == {}


def test_it_is_told_in_words(sound: str) -> None:
    section = "build: {pickups: 0.1, rod_length: 0.2, points: {rocker.rod: 0.2}, spread: 3_sigma}\n"
    lines = build_in_words(read_text(with_build(sound, section), "study.yaml"))
    assert len(lines) == 3
    assert "+- 0.2 mm on rocker.rod, rod length" in lines
    assert "rocker.pickups.heave" in lines[1 - lines.index("+- 0.2 mm on rocker.rod, rod length")]
    assert "three standard deviations" in lines[2]
    assert build_in_words(read_text(sound, "study.yaml")) == []


CASES = [
    ("build: {pivots: 0.5, spread: ^^2_sigmas}\n", "build.spread", ("1_sigma or 2_sigma", "did you mean 2_sigma?")),
    ("^^build: {pivots: 0.5}\n", "build.spread", ("no key spread",)),
    ("build: {pivots: ^^-0.5, spread: limits}\n", "build.pivots", ("-0.5",)),
    ("build: {^^pivot: 0.5, pickups: 0.1, spread: limits}\n", "build.pivot", ("did you mean pivots?",)),
    ("^^build: {pivots: 0, spread: limits}\n", "build", ("without any tolerance above 0", "at least one tolerance")),
    (
        "build: {points: {^^rocker.pickup.heave: 0.1}, pivots: 0.1, spread: limits}\n",
        "build.points.rocker.pickup.heave",
        ("unknown point", "did you mean rocker.pickups.heave?"),
    ),
]


@pytest.mark.parametrize(("section", "path", "words"), CASES)
def test_a_faulty_section_is_told(
    sound: str, expect_fault: Expect, section: str, path: str, words: tuple[str, ...]
) -> None:
    expect_fault(with_build(sound, section.replace("^^", "")), section, path, words)


GOALS = [
    ("  ^^roll.crosstalk.p95: minimise\n", "roll.crosstalk.p95", ("did you mean roll.crosstalk.p99?",)),
    ("  ^^roll.crostalk.p99: minimise\n", "roll.crostalk.p99", ("did you mean roll.crosstalk.p99?",)),
    ("  ^^roll.crosstalk.p99.rss: minimise\n", "roll.crosstalk.p99.rss", ("unknown figure",)),
]


@pytest.mark.parametrize(("goal", "figure", "words"), GOALS)
def test_a_figure_that_is_not_there_is_told(
    sound: str, expect_fault: Expect, goal: str, figure: str, words: tuple[str, ...]
) -> None:
    expect_fault(with_build(sound, SECTION, goal.replace("^^", "")), goal, f"goals.{figure}", words)


def test_a_figure_as_built_needs_a_build(changed: Changed, expect_fault: Expect) -> None:
    text = changed({"goals:\n": f"goals:\n{GOAL}"})
    expect_fault(text, "  ^^roll.crosstalk.p99: {", "goals.roll.crosstalk.p99", ("no build says", "nothing_fitted"))


def test_a_faulty_build_does_not_make_its_goals_faulty(sound: str, expect_fault: Expect) -> None:
    section = "build: {pivots: ^^-1, spread: limits}\n"
    expect_fault(with_build(sound, section.replace("^^", ""), GOAL), section, "build.pivots", ("-1",))
