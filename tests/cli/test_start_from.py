"""`rockwright search --start-from` as a user meets it: what is taken over, what is told, and that nothing is lost."""

import os
import subprocess
import sys
import time
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import numpy as np
import pytest

from optimiser.cli.main import main
from optimiser.report.results.folder import open_for_search
from optimiser.report.results.loading import load
from optimiser.report.results.store import NoResultsError
from optimiser.study.read import read_study

ROOT = Path(__file__).parents[2]
FRONT, CONFLICT = ROOT / "configs" / "front.yaml", ROOT / "configs" / "conflict.yaml"
PATIENCE = 120.0
"""How long a test waits for a process at most [s]."""
LONG = "20000"
"""Evaluations that reach beyond the opening of small islands."""
RUN = "from optimiser.cli.main import run; run()"
SMALL = "import optimiser.search.plan as p; p.OPENING, p.SMALLEST, p.TOO_FEW = 12_000, 1_000, 500; " + RUN
"""The same with small islands."""
DYING = "import os, optimiser.search.explore as e; e.explored = lambda *_: os._exit(9); " + RUN
"""The same with a search that dies as it begins."""


def searched(out: Path, *words: str, study: Path = FRONT) -> int:
    return main(["search", str(study), "--out", str(out), "--workers", "1", *words])


def started(out: Path, *words: str, code: str = RUN) -> subprocess.Popen[bytes]:
    """A search in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-c", code, "search", str(FRONT), "--out", str(out), *words],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


@cache
def earlier() -> Path:
    """A results folder with a first front of the shipped axle."""
    out = Path(mkdtemp()) / "earlier"
    assert searched(out, "--evaluations", "6000", "--seed", "8") == 0
    return out


def front_file(out: Path) -> bytes:
    return (out / load(out).manifest.files["front"].name).read_bytes()


def changed(path: Path, *changes: tuple[str, str]) -> Path:
    text = FRONT.read_text()
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path.write_text(text)
    return path


def test_members_are_measured_first_and_none_is_lost(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = load(earlier()).snapshot
    assert searched(tmp_path, "--evaluations", "600", "--start-from", str(earlier())) == 0
    told = capsys.readouterr().err
    assert f"every goal is held by {len(before.ids)} of {len(before.ids)} designs" in told
    assert "missed" not in told
    after = load(tmp_path).snapshot
    assert np.isin(before.x.round(9), after.x.round(9)).all()
    assert "--start-from" in load(tmp_path).manifest.command


def test_a_hand_off_s_geometry_is_a_member(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    snapshot = load(earlier()).snapshot
    member = int(snapshot.ids[-1])
    file = tmp_path / "axle.yaml"
    assert main(["handoff", str(earlier()), str(member), "-o", str(file)]) == 0
    assert searched(tmp_path / "out", "--evaluations", "300", "--start-from", str(file)) == 0
    assert "starting from 1 of 1 design of" in capsys.readouterr().err
    after = load(tmp_path / "out").snapshot
    assert np.abs(after.x - snapshot.x[-1]).max(axis=1).min() < 1e-9


def test_what_no_longer_fits_a_changed_study_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    study = changed(
        tmp_path / "study.yaml",
        ("rocker.pivot.z: [445, 510]", "rocker.pivot.x: [5, 15]"),
        ("rocker.rod.length: [55, 90]", "rocker.rod.length: [75.9, 76.1]"),
        ("rocker.transmission_min: {at_least: 55}", "rocker.transmission_min: {at_least: 89}"),
    )
    assert searched(tmp_path / "out", "--evaluations", "700", "--start-from", str(earlier()), study=study) == 1
    told = capsys.readouterr().err
    count = len(load(earlier()).snapshot.ids)
    assert "as in this study: rocker.pivot.z\n" in told
    assert "moved into this study's bounds: rocker.rod.length (" in told
    assert "every goal is held by 0 of" in told
    assert f"rocker.transmission_min ({count})" in told.replace(f"({count - 1})", f"({count})")


def test_where_there_is_no_member_the_closest_is_started_from(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert searched(tmp_path / "none", "--evaluations", "300", study=CONFLICT) == 1
    assert searched(tmp_path / "out", "--evaluations", "300", "--start-from", str(tmp_path / "none")) == 0
    assert "starting from 1 of 1 design of" in capsys.readouterr().err


def test_a_search_that_goes_on_leaves_it_aside_and_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--evaluations", "600", "--start-from")
    assert searched(tmp_path, *words, str(earlier())) == 0
    before = front_file(tmp_path)
    capsys.readouterr()
    assert searched(tmp_path, *words, "no-longer-there", "--resume") == 0
    assert "left aside" in capsys.readouterr().err
    assert front_file(tmp_path) == before


def test_a_folder_that_was_only_opened_begins_with_the_designs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with open_for_search(tmp_path / "opened", read_study(FRONT)):
        pass
    for name in ("opened", "fresh"):
        assert searched(tmp_path / name, "--evaluations", "600", "--start-from", str(earlier()), "--resume") == 0
    assert "left aside" not in capsys.readouterr().err
    assert front_file(tmp_path / "opened") == front_file(tmp_path / "fresh")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--start-from", "nowhere"), "nowhere"),
        (("--start-from", str(FRONT), "--storage", "postgresql+psycopg://me@here/there"), "merge"),
    ],
)
def test_what_cannot_be_started_from_is_refused_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    assert searched(tmp_path / "out", "--evaluations", "100", *words) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_search_killed_as_it_begins_has_its_designs_already(tmp_path: Path) -> None:
    dying = started(tmp_path / "a", "--evaluations", "600", "--start-from", str(earlier()), code=DYING)
    assert dying.wait(PATIENCE) == 9
    assert load(tmp_path / "a").snapshot.evaluations == 0
    assert searched(tmp_path / "a", "--evaluations", "600", "--resume") == 0
    assert searched(tmp_path / "b", "--evaluations", "600", "--start-from", str(earlier())) == 0
    assert front_file(tmp_path / "a") == front_file(tmp_path / "b")


@pytest.mark.long
def test_one_start_and_seed_give_the_same_bytes_with_two_workers_and_after_a_kill(tmp_path: Path) -> None:
    """All in processes of their own: linear algebra in the tests' process may take several threads, and other bits."""
    words = ("--evaluations", LONG, "--start-from", str(earlier()))
    for name, workers in (("one", "1"), ("killed", "2")):
        search = started(tmp_path / name, *words, "--workers", workers, code=SMALL)
        end = time.monotonic() + PATIENCE
        while name == "killed" and not evaluations(tmp_path / name) and time.monotonic() < end:
            time.sleep(0.02)
        if name == "killed":
            search.kill()
        assert search.wait(PATIENCE) == (0 if name == "one" else -9)
    assert 0 < evaluations(tmp_path / "killed") < int(LONG)
    again = started(tmp_path / "killed", *words, "--workers", "2", "--resume", code=SMALL)
    assert again.wait(PATIENCE) == 0
    assert front_file(tmp_path / "one") == front_file(tmp_path / "killed")


def evaluations(out: Path) -> int:
    """How far a running search has saved."""
    try:
        return load(out).snapshot.evaluations
    except NoResultsError:
        return 0
