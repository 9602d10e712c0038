"""The commands on an axle with springs, dampers and loads: checked, analysed, handed over, verified, read again."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from optimiser.cli.main import main
from optimiser.report.handoff.document import handoff_document, write_handoff
from optimiser.study.read import read_study
from tests.report.handed_over import ORIGIN

CONFIGS = Path("configs")
FRONT, REAR = CONFIGS / "front_sprung.yaml", CONFIGS / "rear_sprung.yaml"
HEAVY = ("pymoo", "moocore", "optuna", "scipy", "numba", "matplotlib", "rich")


@pytest.fixture(scope="module")
def handed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sprung front axle, handed over."""
    study = read_study(FRONT)
    path = tmp_path_factory.mktemp("sprung") / "front.yaml"
    write_handoff(handoff_document(study, study.axle, ORIGIN), path)
    return path


def test_check_tells_what_is_fitted(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(FRONT)]) == 0
    shown = capsys.readouterr().out
    lines = [" ".join(line.split()) for line in shown.split("\n")]
    assert "heave heave coil of 220 N/mm; carries the weight; free 190 mm, solid 110 mm; cannot pull" in lines
    assert "roll curve of 5 points; 700 N at 0.05 m/s, -700 N at -0.05 m/s" in lines
    assert "sprung weight on each wheel 2240 N" in lines
    assert "kerb (0.00, 0.00, 7845.00) (0.00, 0.00, 2615.00) upright" in lines
    assert "rod tube of 20 mm outer diameter and 2 mm wall, modulus 205000, yield 700 N/mm^2" in lines
    assert max(len(line) for line in shown.split("\n")) <= 100


def test_check_in_json_gives_the_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(FRONT), "--json"]) == 0
    fitted = json.loads(capsys.readouterr().out)["fittings"]
    assert fitted["springs"]["roll"] == {"kind": "opposed", "on": "roll", "rate": 90.0, "preload": 2400.0}
    assert fitted["loads"]["cases"]["brake"] == {"both": [-6000.0, 0.0, 5000.0]}


@pytest.mark.parametrize(("file", "rates"), [(FRONT, (138.9, 95.7)), (REAR, (179.2, 107.1))], ids=["front", "rear"])
def test_analyse_gives_rates_and_cases(
    file: Path, rates: tuple[float, float], capsys: pytest.CaptureFixture[str]
) -> None:
    """The front's rates and its static heave force were found by a separate calculation: 138.9, 95.7 N/mm, 4077 N."""
    assert main(["analyse", str(file), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    figures = document["figures"]
    assert (figures["axle.heave_rate"], figures["axle.roll_rate"]) == pytest.approx(rates, rel=3e-3)
    if file is FRONT:
        assert figures["heave.force_static"] == pytest.approx(4077.0, rel=2e-3)
    assert {case["status"] for case in document["cases"].values()} == {"ok"}
    assert all(goal["met"] for goal in document["goals"].values())


def test_analyse_in_tables(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", str(REAR)]) == 0
    shown = capsys.readouterr().out
    for part in ("STATIC BALANCE", "RATES THROUGH HEAVE", "SPRING FORCES THROUGH ROLL", "DAMPERS", "LOAD CASES"):
        assert part in shown
    assert max(len(line) for line in shown.split("\n")) <= 100


def test_a_handed_over_axle_keeps_its_springs(handed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    documents = []
    for file in (FRONT, handed):
        assert main(["analyse", str(file), "--json"]) == 0
        documents.append(json.loads(capsys.readouterr().out))
    study, again = documents
    assert again["figures"].keys() == study["figures"].keys()
    for name in ("axle.heave_rate", "axle.roll_rate", "rod.force_max", "rocker.pivot_force_max", "heave.solid_reserve"):
        assert again["figures"][name] == pytest.approx(study["figures"][name], rel=1e-9)
    assert main(["check", str(handed)]) == 0


def test_it_verifies_until_a_spring_is_edited(handed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", str(handed)]) == 0
    assert "all agree" in capsys.readouterr().out
    edited = tmp_path / "edited.yaml"
    edited.write_text(handed.read_text(encoding="utf-8").replace("rate: 220.0", "rate: 221.0"), encoding="utf-8")
    assert main(["verify", str(edited)]) == 1
    shown = capsys.readouterr().out
    for entry in ("springs.heave.rate", "figures.axle.heave_rate", "figures.axle.heave_rate_spring", "goals."):
        assert entry in shown


@pytest.mark.parametrize("words", [["check", str(FRONT)], ["analyse", str(FRONT)]], ids=lambda words: words[0])
def test_reading_imports_nothing_heavy(words: list[str]) -> None:
    code = (
        f"import sys\nfrom optimiser.cli.main import main\ncode = main({words!r})\n"
        f"sys.stderr.write(' '.join(name for name in {HEAVY!r} if name in sys.modules))\nsys.exit(code)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout
    assert done.stderr == ""
