"""Near-twins of a front: one line with a count, in any order; and the text of it."""

import math
from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pytest

from optimiser.cli.main import main
from optimiser.report.front.frame import Frame, frame
from optimiser.report.front.listing import held_between, selection, shown
from optimiser.report.front.table import front_lines
from optimiser.report.front.twins import ALIKE, LOOKED_UP_BY, NEAR, folded
from tests.report.fronts import BASE, FOUR, VARIABLES, WISHES, four, store, table
from tests.report.records import record, saved

Row = tuple[float, ...]
SPAN = VARIABLES[0].high - VARIABLES[0].low


def moved(row: Row, *, y: float = 0.0, progressivity: float = 0.0, arms: float = 0.0, ratio: float = 0.0) -> Row:
    """A member with some numbers changed: progressivity counts in units of 1, arms of 10."""
    return (row[0] + y, row[1], row[2] + ratio, row[3] + progressivity, *row[4:6], row[6] + arms, row[7])


def with_fifth(row: Row) -> Frame:
    """The four members (the fourth is the best of the crosstalk) and a fifth."""
    return frame(store(table([3, 5, 8, 13, 21], [*FOUR, row]), table([0], [BASE])))


def lines(front: Frame) -> dict[int, int]:
    """Near-twins by id."""
    return {front.table.ids[row]: like for row, like in folded(front, selection(front, None, None)).items()}


@pytest.mark.parametrize(
    ("fifth", "twin"),
    [
        (moved(FOUR[1], progressivity=-0.9 * ALIKE), True),
        (moved(FOUR[1], progressivity=-1.1 * ALIKE), False),
        (moved(FOUR[1], arms=9.0 * ALIKE), True),
        (moved(FOUR[1], arms=11.0 * ALIKE), False),
        (moved(FOUR[1], y=-0.9 * NEAR * SPAN), True),
        (moved(FOUR[1], y=-1.1 * NEAR * SPAN), False),
        (moved(FOUR[1], ratio=-0.02), True),
    ],
)
def test_a_twin_is_near_in_every_objective_and_variable_and_held_goals_tell_nothing(fifth: Row, twin: bool) -> None:
    found = lines(with_fifth(fifth))
    assert found == ({3: 0, 5: 1, 8: 0, 0: 0, 13: 0} if twin else {3: 0, 5: 0, 8: 0, 0: 0, 13: 0, 21: 0})


def test_the_knee_and_the_best_keep_lines_of_their_own() -> None:
    rows = [moved(FOUR[0], progressivity=-0.1 * k, arms=-0.5 * k) for k in range(3)]
    front = frame(store(table([1, 2, 3], rows)))
    best = {front.table.ids[front.knee], 1, 3}
    assert set(lines(front)) == best
    assert sum(lines(front).values()) == 3 - len(best)


def test_no_member_is_lost_and_lines_are_no_twins_of_each_other() -> None:
    random = Random(3)
    rows = [
        (
            random.uniform(180, 230),
            random.uniform(-135, -90),
            1.1,
            random.gauss(0, 0.4),
            random.gauss(1, 0.4),
            0.1,
            270.0,
            40.0,
        )
        for _ in range(400)
    ]
    front = frame(store(table(range(1, 401), rows)))
    order = list(range(400))
    random.shuffle(order)
    found = folded(front, order)
    assert sum(found.values()) + len(found) == 400
    assert 20 < len(found) < 380
    assert [row for row in order if row in found] == list(found)
    named = {front.knee, *(column.index(min(column)) for column in front.table.objectives.values())}
    free = [row for row in found if row not in named]
    assert not any(near(front, a, b) for k, a in enumerate(free) for b in free[:k])
    for row in set(order) - set(found):
        assert any(near(front, row, line) for line in found)


def near(front: Frame, a: int, b: int) -> bool:
    """The slow twin of the look-up."""
    objectives = (column for column in front.table.objectives.values())
    variables = zip(VARIABLES, front.table.variables.values(), strict=True)
    return all(abs(column[a] - column[b]) <= ALIKE for column in objectives) and all(
        abs(column[a] - column[b]) <= NEAR * (one.high - one.low) for one, column in variables
    )


def test_a_twin_on_either_side_of_a_cell_is_found() -> None:
    assert len(WISHES) + len(VARIABLES) > LOOKED_UP_BY
    for step in (-0.99, 0.99):
        for start in (0.0, 0.3, 0.6, 0.99):
            one = moved(FOUR[1], progressivity=-2.0 + start * ALIKE)
            rows = [*FOUR, one, moved(one, progressivity=step * ALIKE)]
            found = lines(frame(store(table([3, 5, 8, 13, 21, 34], rows))))
            assert len(found) == 5, (step, start)


def test_without_objectives_the_place_alone_tells_members_apart() -> None:
    whole = store(table([1, 2, 3], [FOUR[0], moved(FOUR[0], progressivity=9.0), FOUR[1]]))
    goals = tuple(goal for goal in whole.manifest.goals if goal.held)
    bare = replace(whole, manifest=replace(whole.manifest, goals=goals), front=replace(whole.front, objectives={}))
    assert folded(frame(bare), [0, 1, 2]) == {0: 1, 2: 0}
    assert folded(frame(bare), []) == {}


def test_a_null_figure_of_a_base_beside_is_no_trouble() -> None:
    base = (*BASE[:3], math.nan, *BASE[4:])
    front = frame(store(table([3, 5], FOUR[:2]), table([0], [base])))
    assert folded(front, [0, 1, 2]) == {0: 0, 1: 0, 2: 0}


def test_the_text_tells_the_count_and_how_to_see_each() -> None:
    front = with_fifth(moved(FOUR[1], arms=1.0))
    like = folded(front, selection(front, None, None))
    text = front_lines(front, shown(front, list(like), 2), None, 5, 110, like)
    assert any(line.startswith("5 knee (+1) ") for line in text)
    assert not any(line.startswith("21 ") for line in text)
    assert "members not shown: 2; --top 5 shows all, --sort and --where choose" in text
    assert any("--every" in line for line in text)
    without = front_lines(four(), list(range(5)), None, 4, 110, {})
    assert not any("--every" in line or "(+" in line for line in without)


def test_the_closing_line_of_a_search_counts_who_was_taken_out() -> None:
    assert held_between(four().store).endswith("2 were taken out for missing one there")
    growth: dict[str, list[float]] = {name: [] for name in four().store.growth}
    assert held_between(replace(four().store, growth=growth)).endswith("none was taken out for missing one there")


def test_every_lists_each_member_and_json_is_the_same_with_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    snapshot, figures = record(30)
    x = np.repeat(snapshot.x[:1], 30, axis=0)
    near = np.repeat(snapshot.objectives[:1], 30, axis=0) + np.linspace(0.0, 0.2, 30)[:, None] * [1.0, -1.0, 1.0, -1.0]
    folder = str(saved(tmp_path / "r", replace(snapshot, x=x, objectives=near), figures))

    def listed(*words: str) -> str:
        assert main(["front", folder, *words]) == 0
        return capsys.readouterr().out

    assert "(+" in listed()
    assert "(+" not in listed("--every")
    assert len(listed("--every", "--top", "30").splitlines()) > len(listed("--top", "30").splitlines()) + 20
    assert listed("--every", "--json") == listed("--json")
