"""Springs, dampers, loads and bars in a hand-off: carried, read again, verified, and an edit of them named."""

import math

import numpy as np
import pytest

from geometry.arrays import Array
from optimiser.report.handoff.second_reading.plain import UnreadableError
from optimiser.report.handoff.second_reading.recompute import recompute
from optimiser.report.handoff.text import as_text
from optimiser.report.handoff.verify import against, verify
from optimiser.study.fitting_tree import fitting_tree
from optimiser.study.read import read_text
from tests.report.fitted import sprung, sprung_handed
from tests.report.handed_over import Document, at, branch, edited, resealed, without


def test_it_carries_them_as_a_study_does() -> None:
    document = sprung_handed().document
    for section, tree in fitting_tree(sprung().fittings).items():
        assert document[section] == tree
    assert at(document, "axle", "elements", "torsion") == {"kind": "torsion_bar"}
    assert branch(document, "axle", "elements", "anti_roll", "arm")["end"] == [30.0, 145.0, 330.0]
    assert branch(document, "right_side", "elements", "anti_roll", "arm")["pivot"] == [-70.0, -145.0, 330.0]


def test_it_is_read_as_a_study_is() -> None:
    again = read_text(as_text(sprung_handed().document), "handed.yaml")
    assert fitting_tree(again.fittings) == fitting_tree(sprung().fittings)
    assert list(again.axle.elements) == list(sprung().axle.elements)


def test_all_of_it_verifies() -> None:
    handed = sprung_handed()
    found = against(handed.document, handed.recomputed)
    assert found.differences == ()
    assert found.agrees


@pytest.mark.parametrize(
    "path",
    [
        ("springs", "main", "rate"),
        ("springs", "pair", "preload"),
        ("dampers", "roll", "damping_ratio"),
        ("loads", "sprung_per_wheel"),
        ("loads", "rod_tube", "wall"),
        ("axle", "elements", "anti_roll", "arm", "end", 0),
    ],
)
def test_an_edit_is_named(path: tuple[str | int, ...]) -> None:
    handed = sprung_handed()
    document = edited(handed.document, path, lambda node: float(str(node)) * 1.25)
    named = {difference.path for difference in against(document, handed.recomputed).differences}
    assert ".".join(str(part) for part in path if isinstance(part, str)) in named


def test_a_deleted_spring_is_named() -> None:
    handed = sprung_handed()
    document = without(handed.document, ("springs", "blade"))
    named = {difference.path for difference in against(document, handed.recomputed).differences}
    assert {"springs.blade.rate", "springs.blade.on", "springs.blade.kind"} <= named


def test_a_moved_bar_twists_otherwise() -> None:
    path = ("axle", "elements", "anti_roll", "arm", "end", 0)
    document = resealed(edited(sprung_handed().document, path, lambda node: float(str(node)) + 1.0))
    named = {difference.path.partition("[")[0] for difference in verify(document, "edited").differences}
    twisted = {f"tables.{sweep}.bars.anti_roll.twist" for sweep in ("roll", "one_wheel")}
    assert twisted <= named
    assert "tables.heave.bars.anti_roll.twist" not in named


def test_a_torsion_bar_is_twisted_by_its_rocker() -> None:
    table = branch(sprung_handed().document, "tables", "heave")
    twist, angle = (
        np.array(at(table, *path), dtype=float) for path in (("bars", "torsion", "twist"), ("rocker_angle",))
    )
    np.testing.assert_allclose(np.abs(twist), np.abs(angle), rtol=0.0, atol=1e-12)
    assert twist[-1] > 0.0 > twist[0]


def test_an_anti_roll_bar_rests_in_heave() -> None:
    tables = branch(sprung_handed().document, "tables")
    assert np.max(np.abs(_twists(tables, "heave"))) < 1e-12
    roll = _twists(tables, "roll")
    assert roll[-1] > 10.0
    assert math.isclose(roll[0], -roll[-1], rel_tol=1e-9)


@pytest.mark.parametrize(
    ("path", "told"),
    [
        (("axle", "elements", "anti_roll", "pickup"), "axle.elements.anti_roll: there is no pick-up"),
        (("axle", "elements", "anti_roll", "arm", "end"), "axle.elements.anti_roll.arm.end: a point"),
    ],
)
def test_what_cannot_be_recomputed_is_told(path: tuple[str, ...], told: str) -> None:
    document = edited(sprung_handed().document, path, lambda _: "nowhere")
    with pytest.raises(UnreadableError, match=told):
        recompute(document)


def _twists(tables: Document, sweep: str) -> Array:
    return np.array(at(tables, sweep, "bars", "anti_roll", "twist"), dtype=np.float64)
