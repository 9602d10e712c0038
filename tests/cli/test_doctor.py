"""`rockwright doctor` as a user meets it: exit codes, what it tells, and that a search goes on after it."""

import json
from pathlib import Path

import pytest

from optimiser.cli.main import main
from optimiser.report.results.loading import load
from tests.report.damage import contents, twice_saved

ROOT = Path(__file__).parents[2]
FRONT = ROOT / "configs" / "front.yaml"


def test_what_a_search_has_saved_is_well(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "results"
    assert main(["search", str(FRONT), "--evaluations", "600", "--out", str(out)]) == 0
    capsys.readouterr()
    assert main(["doctor", str(out)]) == 0
    shown = capsys.readouterr().out
    assert f"{out}: all well" in shown
    assert "numbers agree" in shown
    assert main(["doctor", str(out), "--members", "1000", "--seed", "4", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["recomputed"]["ids"] == load(out).snapshot.ids.tolist()
    assert told["recomputed"]["largest"] < 1e-9


def test_damage_is_named_mended_and_searched_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = twice_saved(tmp_path / "r", 6)
    files = contents(out)
    front = out / "front-000002.csv"
    front.write_bytes(front.read_bytes()[:-1])
    assert main(["front", str(out)]) == 2
    assert f"rockwright doctor {out}" in capsys.readouterr().err
    assert main(["doctor", str(out)]) == 1
    shown = capsys.readouterr().out
    assert f"{out}: 1 damaged file\n  front-000002.csv: its checksum" in shown
    assert "the last good state: save 1" in shown
    assert "what came after it is lost: save 2" in shown
    assert f"next: rockwright doctor {out} --mend" in shown
    assert (out / "manifest.json").read_bytes() == files["manifest.json"]
    assert main(["doctor", str(out), "--mend"]) == 0
    assert "all well" in capsys.readouterr().out
    assert main(["doctor", str(out), "--mend"]) == 0
    assert capsys.readouterr().out.startswith("nothing was to be put back\n")
    evaluations = str(load(out).snapshot.evaluations + 150)
    assert main(["search", str(FRONT), "--evaluations", evaluations, "--out", str(out), "--resume"]) == 0
    assert main(["doctor", str(out)]) == 0


def test_a_folder_beyond_mending_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = twice_saved(tmp_path / "r", 6)
    for file in out.glob("front-*.csv"):
        file.write_text("")
    assert main(["doctor", str(out)]) == 1
    assert "no save of it is whole" in capsys.readouterr().out
    assert main(["doctor", str(out), "--mend"]) == 1
    assert "nothing was changed" in capsys.readouterr().err


@pytest.mark.parametrize("words", [["nowhere"], ["."], ["x", "--members", "-1"], ["x", "--seed", "one"]])
def test_what_is_no_results_folder_or_number_is_faulty_input(words: list[str], tmp_path: Path) -> None:
    assert main(["doctor", str(tmp_path / words[0]), *words[1:]]) == 2
