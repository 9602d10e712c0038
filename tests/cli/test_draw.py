"""`rockwright draw` as a user meets it."""

import builtins
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from optimiser.cli.main import main
from optimiser.study.read import read_study
from tests.report.records import ROOT, nothing_found, record, saved

STUDY = str(ROOT / "configs" / "front.yaml")


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A results folder with four members."""
    return saved(tmp_path_factory.mktemp("results") / "front", *record(4))


@pytest.mark.parametrize(("name", "begins"), [("a.svg", b"<?xml"), ("a.PDF", b"%PDF"), ("a.png", b"\x89PNG")])
def test_a_study_is_drawn_in_each_form(
    name: str, begins: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / name
    assert main(["draw", STUDY, "-o", str(target)]) == 0
    assert target.read_bytes().startswith(begins)
    shown = capsys.readouterr()
    assert f"{target}: 5 sheets of A3" in shown.out
    assert "qualified engineer" in shown.out
    assert shown.err == ""
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_the_drawing_names_the_study_and_its_fingerprint(tmp_path: Path) -> None:
    target = tmp_path / "a.svg"
    assert main(["draw", STUDY, "-o", str(target)]) == 0
    text, study = target.read_text(), read_study(Path(STUDY))
    assert study.name in text
    assert study.fingerprint[:32] in text
    assert study.fingerprint[32:] in text


def test_a_hand_off_is_drawn_as_a_study_is(results: Path, tmp_path: Path) -> None:
    member, target = tmp_path / "base.yaml", tmp_path / "base.svg"
    assert main(["handoff", str(results), "base", "-o", str(member)]) == 0
    assert main(["draw", str(member), "-o", str(target)]) == 0
    assert "pivot 475.00" in target.read_text()
    assert "file base.yaml" in target.read_text().lower()


def test_a_plate_and_a_front_are_drawn(results: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", STUDY, "-o", str(tmp_path / "rocker.dxf")]) == 0
    assert main(["draw", str(results), "-o", str(tmp_path / "set.svg")]) == 0
    out = capsys.readouterr().out
    assert "centres and arms, 1:1 in mm" in out
    assert "4 members by 4 objectives" in out


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("a.jpg", ".svg, .pdf, .png, .dxf are known"),
        ("a", "the file's ending says its form"),
        ("none/a.svg", "there is no folder"),
    ],
)
def test_a_file_that_cannot_be_is_refused_first(
    name: str, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["draw", STUDY, "-o", str(tmp_path / name)]) == 2
    shown = capsys.readouterr()
    assert told in shown.err
    assert shown.out == ""
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_there_is_kept_unless_forced(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "a.svg"
    target.write_text("mine")
    assert main(["draw", STUDY, "-o", str(target)]) == 2
    assert "--force" in capsys.readouterr().err
    assert target.read_text() == "mine"
    assert main(["draw", STUDY, "-o", str(target), "--force"]) == 0
    assert target.read_text().startswith("<?xml")


def test_what_is_not_there_or_holds_nothing_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", str(tmp_path / "none.yaml"), "-o", str(tmp_path / "a.svg")]) == 2
    assert "none.yaml" in capsys.readouterr().err
    empty = saved(tmp_path / "empty", *nothing_found())
    assert main(["draw", str(empty), "-o", str(tmp_path / "a.svg")]) == 1
    assert "nothing feasible found yet" in capsys.readouterr().err


def test_a_front_has_no_plate(results: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", str(results), "-o", str(tmp_path / "a.dxf")]) == 2
    assert "a front has no rocker plate" in capsys.readouterr().err


def test_without_its_library_a_plate_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    real = builtins.__import__

    def without(
        name: str,
        globals_: Mapping[str, object] | None = None,
        locals_: Mapping[str, object] | None = None,
        fromlist: Sequence[str] = (),
        level: int = 0,
    ) -> object:
        if name.startswith("ezdxf"):
            raise ImportError(name)
        return real(name, globals_, locals_, fromlist, level)

    monkeypatch.setattr(builtins, "__import__", without)
    assert main(["draw", STUDY, "-o", str(tmp_path / "rocker.dxf")]) == 2
    assert "rockwright[dxf]" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
