"""Sensitivities and stacks of struts' figures by the second reading: against the house's own, and in a hand-off."""

from collections.abc import Mapping
from dataclasses import replace
from functools import partial

import pytest

from geometry.axle import Axle, CornerStrut
from objectives.evaluate import evaluate
from objectives.fittings.fitted import Fittings
from objectives.goals import Goal, Limit
from objectives.tolerance.build import Build, Spread
from optimiser.report.handoff.document import handoff_document
from optimiser.report.handoff.second_reading.built import FORMS, built_figures
from optimiser.report.handoff.second_reading.built_struts import NUMBERS
from optimiser.report.handoff.verify import verify
from optimiser.study.study import Study
from tests.axles import front_corner
from tests.report.handed_over import ORIGIN, Node, at, edited, read_back, resealed, shipped

BUILD = Build(0.25, 0.05, 0.25, {"rocker.pickups.heave": 0.02, "rod.outboard": 0.1}, Spread.ONE_SIGMA)
COARSE = 10.0
"""Step of travel [mm]."""
ALIKE = ("length_max", "compression_stroke", "extension_stroke", "ratio_drift", "steer_odd", "progressivity_droop")
"""Figures that are read as others are, which are enough of a test."""


def study(build: Build, axle: Axle | None = None, goals: tuple[Goal, ...] = ()) -> Study:
    """The shipped front axle on a coarse grid, built so."""
    front = shipped("front", COARSE)
    return replace(front, axle=axle or front.axle, goals=goals, fittings=Fittings(build=build))


def both(asked: Study, *bases: str) -> tuple[Mapping[str, float], Mapping[str, float]]:
    """The three forms of each figure, by the second reading and by the house's own code."""
    names = [f"{base}.{form}" for base in bases for form in FORMS]
    found = evaluate(asked.axle, asked.travel, names, asked.fittings).values
    second = built_figures(handoff_document(asked, asked.axle, ORIGIN), names)
    assert list(second) == names
    return second, {name: float(found[name]) for name in names}


@pytest.mark.parametrize("strut", ["heave", "roll"])
def test_both_readings_of_stacks_agree(strut: str) -> None:
    nothing = {"heave": ("left_right_split",), "roll": ()}[strut]
    second, own = both(study(BUILD), *(f"{strut}.{word}" for word in NUMBERS if word not in (*ALIKE, *nothing)))
    for name, value in own.items():
        assert value > 0.0, name
        assert second[name] == pytest.approx(value, rel=1e-6, abs=1e-9), name


def test_links_that_are_off_are_read_too() -> None:
    links = Build(points={"links.upper_front.inboard": 0.2, "links.steering.outboard": 0.1})
    second, own = both(study(links), "heave.motion_ratio", "roll.crosstalk")
    for name, value in own.items():
        assert value > 0.0, name
        assert second[name] == pytest.approx(value, rel=1e-6, abs=1e-9), name


def test_a_corner_strut_knows_its_own_side_and_its_chassis_end() -> None:
    axle = front_corner()
    name = next(name for name, one in axle.struts.items() if isinstance(one, CornerStrut))
    for build in (BUILD, Build(points={f"elements.{name}.chassis": 0.5})):
        kept = replace(build, points={path: size for path, size in build.points.items() if "heave" not in path})
        second, own = both(study(kept, axle), f"{name}.motion_ratio", f"{name}.length_static")
        for figure, value in own.items():
            assert value > 0.0, figure
            assert second[figure] == pytest.approx(value, rel=1e-6, abs=1e-9), figure


def test_what_is_no_stack_of_a_strut_is_left_to_the_house_s_own_code() -> None:
    document = handoff_document(study(BUILD), study(BUILD).axle, ORIGIN)
    assert built_figures(document, ["roll.crosstalk.p99", "rocker.top_height.rss", "heave.tilt_max.worst"]) == {}


def test_a_stack_in_a_hand_off_is_judged_by_the_second_reading(monkeypatch: pytest.MonkeyPatch) -> None:
    name = "roll.crosstalk.worst"
    asked = study(BUILD, goals=(Limit(name, at_most=1.0),))
    document = read_back(handoff_document(asked, asked.axle, ORIGIN))
    assert verify(document, "handed").differences == ()
    value = at(document, "figures", name)
    assert isinstance(value, float)
    forged = resealed(edited(document, ("figures", name), partial(_instead, value * (1.0 + 1e-5))))
    assert [one.path for one in verify(forged, "forged").differences] == [f"figures.{name}"]
    monkeypatch.setattr("optimiser.report.handoff.as_built._measured", lambda *_: ({name: 0.0}, {name: "ok"}))
    assert verify(document, "handed").differences == ()


def _instead(value: Node, _was: Node) -> Node:
    return value
