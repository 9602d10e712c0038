"""`rockwright merge`: what it says and writes, and that the other commands take its folder."""

import json
from pathlib import Path

import pytest

from optimiser.cli.main import main
from optimiser.report.results.store import read_store
from tests.report.records import ROOT, record, saved


@pytest.fixture
def two(tmp_path: Path) -> list[str]:
    return [str(saved(tmp_path / f"seed-{seed}", *record(30, seed=seed))) for seed in (1, 2)]


def test_the_new_folder_is_told_and_read(two: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = str(tmp_path / "both")
    assert main(["merge", *two, "-o", out]) == 0
    said, err = capsys.readouterr()
    store = read_store(Path(out))
    assert err == ""
    assert f"{out}: {len(store.front.ids)} members from 16,000 candidates" in said
    assert f"next: rockwright front {out}" in said
    assert store.manifest.command == f"rockwright merge {' '.join(two)} -o {out}"


def test_its_ids_are_those_that_front_shows(two: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["front", *two, "--json"]) == 0
    shown = json.loads(capsys.readouterr().out)
    main(["merge", *two, "-o", str(tmp_path / "both")])
    capsys.readouterr()
    assert main(["front", str(tmp_path / "both"), "--json"]) == 0
    merged = json.loads(capsys.readouterr().out)
    assert {one["id"]: one["variables"] for one in merged["members"]} == {
        one["id"]: one["variables"] for one in shown["members"]
    }
    assert merged["hypervolume"] == shown["hypervolume"]


def test_a_member_of_it_is_handed_over(two: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["merge", *two, "-o", str(tmp_path / "both")])
    file = tmp_path / "axle.yaml"
    assert main(["handoff", str(tmp_path / "both"), "base", "-o", str(file)]) == 0
    assert main(["verify", str(file)]) == 0


def test_a_search_goes_on_from_it_with_its_seed(
    two: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "both"
    main(["merge", *two, "-o", str(out)])
    before = read_store(out)
    words = ["--out", str(out), "--evaluations", "16500", "--resume"]
    assert main(["search", str(ROOT / "configs" / "front.yaml"), *words]) == 0
    after = read_store(out)
    assert after.manifest.evaluations >= 16_500
    assert after.manifest.seed == before.manifest.seed
    assert after.manifest.reference == before.manifest.reference
    assert after.growth["evaluations"][0] == 16_000.0


def test_faults_end_with_2_and_write_nothing(
    two: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = str(tmp_path / "both")
    for words, said in (
        ([two[0], "-o", out], "needs two results folders or more"),
        ([two[0], two[0], "-o", out], "are the same folder"),
        ([*two, str(tmp_path / "missing"), "-o", out], "no such results folder"),
        ([*two, "-o", two[0]], "is there already and not empty"),
        (two, "required: -o"),
    ):
        assert main(["merge", *words]) == 2
        assert said in capsys.readouterr().err
    assert not Path(out).exists()
