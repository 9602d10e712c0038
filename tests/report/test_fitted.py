"""Springs, dampers, loads and bars in a hand-off: carried, read again, verified, and an edit of them named."""

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from geometry.arrays import Array
from optimiser.report.handoff.document import handoff_document
from optimiser.report.handoff.second_reading.plain import UnreadableError
from optimiser.report.handoff.second_reading.recompute import recompute
from optimiser.report.handoff.text import as_text
from optimiser.report.handoff.verify import against, verify
from optimiser.study.fitting_tree import fitting_tree
from optimiser.study.read import read_text
from optimiser.study.study import Study
from tests.report.fitted import sprung, sprung_handed, sprung_on_a_link, sprung_rear
from tests.report.handed_over import ORIGIN, Document, at, branch, edited, read_back, resealed, without


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


def test_a_coarse_step_verifies() -> None:
    """Where a spring goes slack is then found between travel points far apart."""
    assert verify(coarse_document(with_cases=False), "coarse").differences == ()


@pytest.mark.parametrize("study", [sprung_rear, sprung_on_a_link], ids=lambda study: study.__name__)
def test_a_rod_on_links_verifies(study: Callable[[], Study]) -> None:
    document = read_back(handoff_document(study(), study().axle, ORIGIN))
    found = verify(document, "handed")
    assert found.differences == ()
    figures = branch(document, "figures")
    assert float(str(figures["rod.force_max"])) > 5000.0
    assert ("link.lower_front.bending" in figures) is (study is sprung_on_a_link)


@pytest.mark.parametrize(
    ("path", "factor", "told"),
    [
        (("springs", "main", "rate"), 1.001, "axle.heave_rate"),
        (("springs", "main", "solid_length"), 1.01, "heave.solid_reserve"),
        (("springs", "pair", "preload"), 0.5, "roll.knee_travel"),
        (("springs", "rubber", "gap"), 0.9, "axle.heave_rate_rise"),
        (("springs", "tender", "static"), 1.001, "corner.force_static"),
        (("springs", "shaft", "rate"), 1.001, "torsion.moment_max"),
        (("springs", "blade", "rate"), 1.001, "axle.roll_stiffness"),
        (("dampers", "heave", "points", 3, 1), 1.001, "heave.bump_force_slow"),
        (("loads", "sprung_per_wheel"), 1.001, "heave.force_static"),
        (("loads", "cases", "kerb", "left", 2), 1.001, "rod.force_max"),
        (("loads", "rod_tube", "wall"), 1.001, "rod.buckling_factor"),
    ],
)
def test_another_spring_or_load_has_other_figures(path: tuple[str | int, ...], factor: float, told: str) -> None:
    document = resealed(
        edited(coarse_document("cases" in path or "rod_tube" in path), path, lambda node: float(str(node)) * factor)
    )
    named = {difference.path for difference in verify(document, "edited").differences}
    assert f"figures.{told}" in named


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


def test_a_drop_link_has_its_eye_length() -> None:
    lengths = branch(sprung_handed().document, "eye_lengths", "anti_roll")
    assert lengths == {"static": 145.0, "min": 145.0, "max": 145.0}
    assert "torsion" not in branch(sprung_handed().document, "eye_lengths")


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


@cache
def coarse_document(with_cases: bool) -> Document:
    """The sprung study at a coarse step and, unless asked for, without load cases: quick to recompute."""
    study, loads = sprung(), sprung().fittings.loads
    fittings = replace(study.fittings, loads=loads if with_cases else replace(loads, cases={}))
    study = replace(study, travel=replace(study.travel, step=10.0), fittings=fittings)
    return read_back(handoff_document(study, study.axle, ORIGIN))


def _twists(tables: Document, sweep: str) -> Array:
    return np.array(at(tables, sweep, "bars", "anti_roll", "twist"), dtype=np.float64)
