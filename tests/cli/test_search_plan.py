"""`rockwright search --plan` as a user meets it."""

import json
from pathlib import Path

import pytest

from optimiser.cli.main import main

ROOT = Path(__file__).parents[2]
FRONT, CONFLICT = ROOT / "configs" / "front.yaml", ROOT / "configs" / "conflict.yaml"


def planned(*words: str, study: Path = FRONT) -> int:
    return main(["search", str(study), "--plan", *words])


def test_a_plan_shows_what_is_varied_asked_and_foretold_and_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert planned("--evaluations", "100000", "--out", "here") == 0
    lines = capsys.readouterr().out.splitlines()
    assert not list(tmp_path.iterdir())
    words = [line.split() for line in lines if line]
    assert ["rocker.rod.angle", "25", "85", "52", "any"] in words
    assert ["heave.progressivity", "maximise"] in words
    assert any(row[:5] == ["heave.motion_ratio", "1.09", "to", "1.11", "96.6"] for row in words)
    assert any("in all about 100,000 candidates" in line for line in lines)
    assert all(len(line) <= 100 for line in lines)


def test_the_json_is_one_document_with_every_number(capsys: pytest.CaptureFixture[str]) -> None:
    assert planned("--for", "1h", "--seed", "5", "--json", study=CONFLICT) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["seed"] == 5
    assert len(document["variables"]) == 10
    assert {goal["figure"] for goal in document["objectives"]} == {"rocker.arm_sum", "rocker.top_height"}
    spread, near = document["samples"]["spread"], document["samples"]["near"]
    assert (spread["candidates"], near["candidates"]) == (1000, 200)
    assert set(spread["missed"]) == {goal["figure"] for goal in document["constraints"]}
    assert near["missed"]["heave.progressivity"] == 200
    assert near["feasible"] == 0
    assert document["epochs"][-1]["seconds"] == 3600.0
    assert document["budget"]["evaluations"] is None
    pace = document["candidates_per_second"]
    assert 0 < pace["searched"] < pace["evaluated"]


def test_one_seed_has_the_same_samples(capsys: pytest.CaptureFixture[str]) -> None:
    def samples(seed: str) -> object:
        assert planned("--seed", seed, "--json") == 0
        return json.loads(capsys.readouterr().out)["samples"]

    assert samples("1") == samples("1") != samples("2")


def test_a_study_without_held_goals_or_objectives_is_planned_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = FRONT.read_text()
    goals, end = text.index("\ngoals:") + 1, text.index("\nsearch:") + 1
    free, bound = tmp_path / "free.yaml", tmp_path / "bound.yaml"
    free.write_text(f"{text[:goals]}goals: {{heave.progressivity: maximise}}\n{text[end:]}")
    bound.write_text(f"{text[:goals]}goals: {{roll.crosstalk: {{at_most: 1.0}}}}\n{text[end:]}")
    assert planned("--for", "10s", study=free) == 0
    assert "no held goal" in capsys.readouterr().out
    assert planned("--until-flat", "90s", study=bound) == 0
    shown = capsys.readouterr().out
    assert "no objective" in shown
    assert "flat for 1 min 30 s" in shown
    assert "in all about" not in shown


@pytest.mark.parametrize("words", [("--plan", "--resume"), ("--json",)])
def test_what_goes_with_no_plan_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    out = tmp_path / "out"
    assert main(["search", str(FRONT), "--out", str(out), *words]) == 2
    assert "--plan" in capsys.readouterr().err
    assert not out.exists()
