"""The room of a study as `check` tells it."""

from pathlib import Path

import numpy as np
import pytest

from optimiser.study.envelope_words import portray_room
from optimiser.study.read import read_text

FRONT = (Path(__file__).parents[2] / "configs" / "front.yaml").read_text(encoding="utf-8")
ROOM = """
envelope:
  margins: {moving_to_fixed: 5, moving_to_moving: 3}
  inside: {y_min: 0, z_min: 380, z_max: 620, x: [-90, 110], y_max: 700}
  bodies: {heave: {diameter: 46}, rod: {diameter: 20}, rocker: {thickness: 16}, wheel: {diameter: 650, width: 260}}
  keep_out:
    column: {cylinder: {from: [-200, 0, 620], to: [150, 0, 560], diameter: 30}}
    bulkhead: {box: {min: [110, -400, 100], max: [140, 400, 640]}}
"""


def test_all_that_was_understood_is_said() -> None:
    room = portray_room(read_text(FRONT + ROOM, "x"))
    assert room is not None
    assert room.said == [
        "bodies: heave 46 in diameter; rod 20 in diameter; rocker 16 thick; wheel 650 in diameter, 260 wide",
        "without a body, and so not watched: roll, links",
        "keep-out column: cylinder from (-200, 0, 620) to (150, 0, 560), 30 in diameter",
        "keep-out bulkhead: box x 110 to 140, y -400 to 400, z 100 to 640",
        "every inboard point, on the left: x -90 to 110, y 0 to 700, z 380 to 620",
        "margins: 5 of what moves from what is fixed, 3 of two that move",
    ]


def test_every_pair_is_listed_with_what_it_has_to_keep_the_least_left_first() -> None:
    room = portray_room(read_text(FRONT + ROOM, "x"))
    assert room is not None
    left = [pair.at_static - pair.margin for pair in room.pairs]
    assert left == sorted(left)
    names = {pair.name: pair for pair in room.pairs}
    assert {"column_to_heave", "heave_to_rod", "rod_to_rod", "bulkhead_to_wheel"} <= set(names)
    assert {name for name, pair in names.items() if pair.margin == 5.0} == {
        f"{fixed}_to_{body}" for fixed in ("bulkhead", "column") for body in ("heave", "rocker", "rod", "wheel")
    }
    across = (350.0 * (620.0 - 547.348) - 60.0 * 244.0) / np.hypot(350.0, 60.0)  # the strut lies along y
    assert names["column_to_heave"].at_static == pytest.approx(across - 23.0 - 15.0, abs=0.01)


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("{inside: {z_min: 380}}", ["bodies: none, so nothing is watched", "z at least 380"]),
        ("{inside: {z_max: 380}}", ["z at most 380"]),
        ("{bodies: {rod: {diameter: 20}}}", ["no margins: nothing has to keep clear unless a goal asks for it"]),
    ],
)
def test_what_is_left_out_is_said_too(written: str, told: list[str]) -> None:
    room = portray_room(read_text(f"{FRONT}\nenvelope: {written}\n", "x"))
    assert room is not None
    for part in told:
        assert any(part in line for line in room.said)
    assert portray_room(read_text(FRONT, "x")) is None
