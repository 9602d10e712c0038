"""The room in a hand-off: written, verified by the second reading, and noticed where it was edited."""

from dataclasses import replace
from pathlib import Path

import pytest

from geometry.travel import Travel
from objectives.fittings.fitted import Fittings
from optimiser.report.analysis.record import analyse
from optimiser.report.analysis.tables import analysis_tables
from optimiser.report.handoff.document import Origin, handoff_document
from optimiser.report.handoff.second_reading.recompute import recompute
from optimiser.report.handoff.verify import verify
from optimiser.report.tables.cells import View
from optimiser.study.read import read_text
from optimiser.study.study import Study
from tests.axles import front
from tests.rooms import ROOM

FRONT = (Path(__file__).parents[2] / "configs" / "front.yaml").read_text(encoding="utf-8")
SHORT = Travel((-12.0, 12.0), (-8.0, 8.0), (-4.0, 4.0), (-8.0, 8.0), 4.0)
ORIGIN = Origin("x", "0", 1, "base", "2026-01-01T00:00:00Z")


def study() -> Study:
    return replace(read_text(FRONT, "x"), axle=front(), travel=SHORT, goals=(), fittings=Fittings(envelope=ROOM))


def test_a_hand_off_with_a_room_is_verified() -> None:
    document = handoff_document(study(), front(), ORIGIN)
    assert document["envelope"]
    verification = verify(document, "x")
    assert verification.differences == ()


def test_both_readings_of_a_room_agree_to_rounding() -> None:
    document = handoff_document(study(), front(), ORIGIN)
    figures, again = document["figures"], recompute(document)["figures"]
    assert isinstance(figures, dict)
    assert isinstance(again, dict)
    names = [name for name in figures if name.startswith(("clearance.", "inboard.", "envelope."))]
    assert len(names) > 90
    for name in names:
        assert figures[name] == pytest.approx(again[name], abs=1e-3 if name.startswith("clearance.") else 1e-8), name
    exact = [name for name in names if abs(float(str(figures[name])) - float(str(again[name]))) < 1e-8]
    assert len(exact) > 0.9 * len(names)


def test_a_clearance_that_was_edited_is_named() -> None:
    document = handoff_document(study(), front(), ORIGIN)
    figures = document["figures"]
    assert isinstance(figures, dict)
    edited = {**document, "figures": {**figures, "clearance.min": float(str(figures["clearance.min"])) + 1.0}}
    assert "figures.clearance.min" in {one.path for one in verify(edited, "x").differences}


def test_analyse_tells_the_nearest_pairs_and_where_they_are_nearest() -> None:
    analysis = analyse(study())
    assert [one.clearance - one.margin for one in analysis.near] == sorted(
        one.clearance - one.margin for one in analysis.near
    )
    first = analysis.near[0]
    assert first.name == "lower_front_to_steering"
    assert first.clearance == analysis.figures["clearance.lower_front_to_steering"]
    assert first.state.startswith("wheel +")
    text = "\n".join(analysis_tables(analysis, View(width=100)))
    assert "lower_front_to_steering" in text
    assert first.state in text
    assert not analyse(replace(study(), fittings=Fittings())).near
