"""A room that forbids the best geometry: the search finds the next one, and `front` names the clearance that holds it.

Two numbers of the front axle are varied and its rocker is to lie low. Above a floor that stands in the way of the best
one, the answer is known another way: all geometries of a dense lattice, and a second reading of the one found.
"""

import json
import re
from functools import cached_property
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.evaluate import evaluate
from optimiser.cli.main import main
from optimiser.report.handoff.document import Origin, handoff_document
from optimiser.report.handoff.second_reading.recompute import recompute
from optimiser.report.results.loading import Results, load
from optimiser.study.variables import candidates

FRONT = (Path(__file__).parents[2] / "configs" / "front.yaml").read_text(encoding="utf-8")
AXLE = FRONT[: FRONT.index("travel:")]
ASKED = """
travel: {wheel: [-12, 12], heave: [-12, 12], roll: [-8, 8], rack: [-4, 4], step: 4}
vary:
  rocker.pivot.y: [165, 225]
  rocker.pivot.z: [445, 510]
goals:
  heave.motion_ratio: {aim: 1.12, within: 0.01}
  rocker.top_height: minimise
"""
ROOM = """
envelope:
  margins: {moving_to_fixed: 5, moving_to_moving: 3}
  bodies: {rocker: {thickness: 16}, rod: {diameter: 20}}
  keep_out:
    floor: {box: {min: [-100, 0, 300], max: [100, 400, 400]}}
"""
PAIR = "floor_to_rocker"
LATTICE = (121, 131)
"""Half a mm by half a mm."""
GOALS = ("heave.motion_ratio", "rocker.top_height", "clearance.reserve")


class Found:
    """A search of the study with some envelope, and its results folder."""

    def __init__(self, folder: Path, envelope: str, asked: str = ASKED) -> None:
        self.out = folder / "results"
        study = folder / "study.yaml"
        study.write_text(AXLE + asked + envelope, encoding="utf-8")
        self.code = main(["search", str(study), "--evaluations", "600", "--out", str(self.out)])

    @cached_property
    def results(self) -> Results:
        return load(self.out)

    @property
    def best(self) -> tuple[Array, float]:
        """The only member's variables (V,), and how high its rocker is [mm]."""
        assert len(self.results.snapshot.ids) == 1
        return self.results.snapshot.x[0], float(self.results.figures["rocker.top_height"][0])


@pytest.fixture(scope="module")
def free(tmp_path_factory: pytest.TempPathFactory) -> Found:
    return Found(tmp_path_factory.mktemp("free"), "")


@pytest.fixture(scope="module")
def held(tmp_path_factory: pytest.TempPathFactory) -> Found:
    return Found(tmp_path_factory.mktemp("held"), ROOM)


def said(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    capsys.readouterr()
    main(list(words))
    return capsys.readouterr().out


def test_the_nominal_best_fouls_and_the_next_one_is_worse_with_nothing_of_its_clearance_left(
    free: Found, held: Found
) -> None:
    (nominal, low), (x, height) = free.best, held.best
    study = held.results.study()
    fouls = evaluate(candidates(study, nominal[None]), study.travel, GOALS, study.fittings).values
    assert fouls["clearance.reserve"] < -5.0
    assert fouls["rocker.top_height"] == pytest.approx(low)
    assert height > low + 5.0
    assert held.results.figures[f"clearance.{PAIR}"][0] == pytest.approx(5.0, abs=0.01)
    assert np.abs(x - nominal).max() > 5.0


def test_no_geometry_of_a_dense_lattice_is_better(free: Found, held: Found) -> None:
    study = held.results.study()
    sides = [np.linspace(one.low, one.high, count) for one, count in zip(study.variables, LATTICE, strict=True)]
    x = np.stack(np.meshgrid(*sides, indexing="ij"), axis=-1).reshape(-1, 2)
    found = evaluate(candidates(study, x), study.travel, GOALS, study.fittings).values
    meets = np.abs(found["heave.motion_ratio"] - 1.12) <= 0.01
    clear = meets & (found["clearance.reserve"] >= 0.0)
    lowest = [float(found["rocker.top_height"][rows].min()) for rows in (meets, clear)]
    for best, lattice in zip((free.best[1], held.best[1]), lowest, strict=True):
        assert best - 1e-3 <= lattice < best + 0.5


def test_a_second_reading_finds_the_clearance_at_its_margin(held: Found) -> None:
    study = held.results.study()
    axle = candidates(study, held.best[0])
    document = handoff_document(study, axle, Origin("x", "0", 1, "2", "2026-01-01T00:00:00Z"))
    figures = recompute(document)["figures"]
    assert isinstance(figures, dict)
    assert figures[f"clearance.{PAIR}"] == pytest.approx(5.0, abs=0.01)
    assert figures["clearance.min"] == figures[f"clearance.{PAIR}"]
    assert figures["clearance.reserve"] == pytest.approx(0.0, abs=0.01)


def test_front_names_the_clearance_that_holds_the_member(held: Found, capsys: pytest.CaptureFixture[str]) -> None:
    text = said(capsys, "front", str(held.out))
    assert f"the clearance of {PAIR} holds 100 % of the members" in text
    row = next(line for line in text.splitlines() if re.match(r"\d+ knee", line))
    assert PAIR in row
    document = json.loads(said(capsys, "front", str(held.out), "--json"))
    [member] = document["members"]
    assert [one["pair"] for one in member["held_by"]] == [PAIR]
    assert member["held_by"][0]["kept"] == 5.0
    assert member["held_by"][0]["clearance"] == member["figures"][f"clearance.{PAIR}"]
    priced = json.loads(said(capsys, "front", str(held.out), "--prices", "knee", "--json"))["prices"]
    [price] = [one for one in priced if one["what"] == "clearance.reserve"]
    assert price["pairs"] == [PAIR]
    assert price["gains"]["rocker.top_height"] > 0.5
    assert f"clearance.reserve ({PAIR})" in said(capsys, "front", str(held.out), "--prices", "knee")


def test_front_names_no_clearance_where_none_holds(free: Found, capsys: pytest.CaptureFixture[str]) -> None:
    assert "clearance" not in said(capsys, "front", str(free.out))
    document = json.loads(said(capsys, "front", str(free.out), "--json"))
    assert [member["held_by"] for member in document["members"]] == [[]]


def test_where_nothing_fits_the_nearest_bodies_are_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = Found(tmp_path, ROOM, ASKED.replace("[445, 510]", "[445, 460]"))
    assert found.code == 1
    assert f"clearance.reserve ({PAIR})" in capsys.readouterr().out
