"""Results folders laid out otherwise than a search makes them: refused, or written inside only."""

import os
import shutil
import stat
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path

import pytest

from optimiser.cli.main import main
from tests.report.damage import twice_saved
from tests.report.rights import plain_rights

ROOT = Path(__file__).parents[2]
FRONT = ROOT / "configs" / "front.yaml"


@dataclass(frozen=True)
class Layout:
    """`make` lays it out from a folder `r` of results beside the folder `outside`, and names what is searched into.

    `told` stands in the refusal; empty: the search goes on. `rights`: those of files hold for root too.
    """

    make: Callable[[Path], Path]
    told: str = ""
    rights: bool = False


def link(name: str) -> Callable[[Path], Path]:
    """A file of the folder is a link to one outside."""

    def make(here: Path) -> Path:
        (here / "r" / name).unlink(missing_ok=True)
        (here / "r" / name).symlink_to(here / "outside" / "precious")
        return here / "r"

    return make


def hard_link(name: str) -> Callable[[Path], Path]:
    """A file of the folder is one outside by another name."""

    def make(here: Path) -> Path:
        (here / "r" / name).unlink(missing_ok=True)
        os.link(here / "outside" / "precious", here / "r" / name)
        return here / "r"

    return make


def pipe(name: str) -> Callable[[Path], Path]:
    def make(here: Path) -> Path:
        (here / "r" / name).unlink()
        os.mkfifo(here / "r" / name)
        return here / "r"

    return make


def folder(name: str) -> Callable[[Path], Path]:
    def make(here: Path) -> Path:
        (here / "r" / name).unlink()
        (here / "r" / name).mkdir()
        return here / "r"

    return make


def read_only(here: Path) -> Path:
    (here / "r").chmod(0o555)
    return here / "r"


def read_only_and_empty(here: Path) -> Path:
    (here / "empty").mkdir(mode=0o555)
    return here / "empty"


def under_a_read_only_one(here: Path) -> Path:
    (here / "closed").mkdir(mode=0o555)
    return here / "closed" / "r"


def read_only_files(here: Path) -> Path:
    for file in (here / "r").iterdir():
        if file.name != "lock":
            file.chmod(0o444)
    return here / "r"


def a_link_to_the_folder(here: Path) -> Path:
    (here / "link").symlink_to(here / "r")
    return here / "link"


def a_link_to_a_file(here: Path) -> Path:
    (here / "link").symlink_to(here / "outside" / "precious")
    return here / "link"


def a_link_to_nothing(here: Path) -> Path:
    (here / "link").symlink_to(here / "outside" / "nothing")
    return here / "link"


def a_link_to_itself(here: Path) -> Path:
    (here / "link").symlink_to(here / "link")
    return here / "link"


def a_linked_folder_inside(here: Path) -> Path:
    (here / "r" / "notes").symlink_to(here / "outside")
    return here / "r"


LAYOUTS = {
    "read-only": Layout(read_only, "manifest.json: Permission denied", rights=True),
    "read-only and empty": Layout(read_only_and_empty, "empty/lock: Permission denied", rights=True),
    "below a read-only one": Layout(under_a_read_only_one, "closed/r: Permission denied", rights=True),
    "read-only files": Layout(read_only_files, rights=True),
    "a link": Layout(a_link_to_the_folder),
    "a link to a file": Layout(a_link_to_a_file, "link is a file"),
    "a link to nothing": Layout(a_link_to_nothing, "a link that leads nowhere"),
    "a link to itself": Layout(a_link_to_itself, "a link that leads nowhere"),
    "a linked folder inside": Layout(a_linked_folder_inside, "notes: is a link"),
    "the manifest a link": Layout(link("manifest.json"), "manifest.json: is a link"),
    "the manifest before a link": Layout(link("manifest-previous.json"), "manifest-previous.json: is a link"),
    "the study a link": Layout(link("study.yaml"), "study.yaml: is a link"),
    "a data file a link": Layout(link("front-000002.csv"), "front-000002.csv: is a link"),
    "a file to come a link": Layout(link("front-000003.csv"), "front-000003.csv: is a link"),
    "a file in the writing a link": Layout(link("front-000003.csv.tmp"), "front-000003.csv.tmp: is a link"),
    "the lock a link": Layout(link("lock"), "lock: is a link"),
    "the lock known elsewhere": Layout(hard_link("lock"), "lock: is a link"),
    "the study known elsewhere": Layout(hard_link("study.yaml")),
    "a file to come known elsewhere": Layout(hard_link("front-000003.csv")),
    "a file in the writing known elsewhere": Layout(hard_link("manifest.json.tmp")),
    "the manifest a pipe": Layout(pipe("manifest.json"), "manifest.json: no plain file"),
    "a data file a pipe": Layout(pipe("front-000002.csv"), "front-000002.csv: no plain file"),
    "the manifest a folder": Layout(folder("manifest.json"), "manifest.json: no plain file"),
    "the lock a folder": Layout(folder("lock"), "lock: Is a directory"),
}


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A results folder."""
    return twice_saved(tmp_path_factory.mktemp("results") / "r", 3)


def seen(path: Path) -> dict[str, tuple[int, bytes]]:
    """What a folder holds, with its times, links not followed."""
    return {
        entry.name: (entry.lstat().st_mtime_ns, entry.read_bytes() if stat.S_ISREG(entry.lstat().st_mode) else b"")
        for entry in path.iterdir()
    }


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS)
def test_a_search_is_refused_or_writes_inside_only(
    tmp_path: Path, results: Path, layout: Layout, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(results, tmp_path / "r")
    (tmp_path / "outside").mkdir()
    (tmp_path / "outside" / "precious").write_text("precious")
    out = layout.make(tmp_path)
    outside, inside = seen(tmp_path / "outside"), seen(tmp_path / "r")
    with plain_rights() if layout.rights else nullcontext():
        code = main(["search", str(FRONT), "--evaluations", "8100", "--out", str(out), "--resume"])
    err = capsys.readouterr().err
    assert seen(tmp_path / "outside") == outside
    if layout.told:
        assert code == 2, err
        assert layout.told in err
        assert "Traceback" not in err
        assert "defect" not in err
        changed = {name for name, there in seen(tmp_path / "r").items() if there != inside.get(name)}
        assert changed <= {"lock"}
        assert set(seen(tmp_path / "r")) == set(inside)
    else:
        assert code == 0, err
        assert main(["front", str(out), "--top", "1"]) == 0
        assert seen(tmp_path / "r") != inside


def test_a_read_only_folder_is_read_and_examined(tmp_path: Path, results: Path) -> None:
    shutil.copytree(results, tmp_path / "r")
    path = read_only(tmp_path)
    inside = seen(path)
    with plain_rights():
        assert main(["front", str(path)]) == 0
        assert main(["doctor", str(path)]) == 0
    assert seen(path) == inside


def test_a_damaged_read_only_folder_is_examined_and_its_mending_refused(
    tmp_path: Path, results: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(results, tmp_path / "r")
    (tmp_path / "r" / "front-000002.csv").write_text("torn")
    path = read_only(tmp_path)
    inside = seen(path)
    with plain_rights():
        assert main(["doctor", str(path)]) == 1
        assert main(["doctor", str(path), "--mend"]) == 2
    assert "torn: Permission denied" in capsys.readouterr().err
    assert {name: there for name, there in seen(path).items() if there != inside[name]}.keys() <= {"lock"}
