"""A disk that is full in truth: whatever its size, the last save is readable, and the next one finds room again."""

from pathlib import Path

import pytest

from optimiser.report.doctor.examine import files_of
from optimiser.report.results.folder import NotSavedError, open_for_search
from optimiser.report.results.loading import load
from tests.report.damage import true_state
from tests.report.records import front_study
from tests.report.rights import mount, small_disk

MEMBERS = 8
SIZES = range(4, 200, 12)
"""Sizes of the disk [kB]."""
PLENTY = 4096
"""A size that holds anything here [kB]."""


def fill(path: Path) -> tuple[int, str]:
    """Open a folder and save twice: the last save that was told as done, -1: not even the opening, and the refusal."""
    done = -1
    try:
        with open_for_search(path, front_study()) as folder:
            for done in (0, 1):
                folder.save(*true_state(MEMBERS, done + 1))
        return 2, ""
    except (NotSavedError, OSError) as refusal:
        return done, str(refusal)


def test_a_full_disk_leaves_the_last_save(tmp_path: Path) -> None:
    stages = set()
    for kilobytes in SIZES:
        with small_disk(tmp_path / "disk", kilobytes) as disk:
            path = disk / "r"
            done, told = fill(path)
            stages.add(done)
            assert (told == "") == (done == 2)
            assert not told or ("No space left on device" in told and f"{path}/" in told)
            if done > 0:
                assert load(path).snapshot.x.tobytes() == true_state(MEMBERS, done)[0].x.tobytes()
            assert not mount("-o", f"remount,size={PLENTY}k", str(disk))
            with open_for_search(path, front_study(), resume=True) as folder:
                assert (0 if folder.before is None else folder.before.manifest.save) == max(done, 0)
                folder.save(*true_state(MEMBERS, 5))
            assert load(path).snapshot.x.tobytes() == true_state(MEMBERS, 5)[0].x.tobytes()
            assert not files_of(path).faults
    assert stages == {-1, 0, 1, 2}, "a disk that is full before, in and after the first save"


def test_a_disk_that_may_only_be_read_is_read_and_told(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk", PLENTY) as disk:
        path = disk / "r"
        assert fill(path) == (2, "")
        assert not mount("-o", "remount,ro", str(disk))
        with pytest.raises(OSError, match=rf"Read-only file system: '{path}/lock'"):
            open_for_search(path, front_study(), resume=True)
        assert load(path).manifest.save == 2
        assert not files_of(path).faults
