"""A damaged results folder put back to its last good state. Nothing is thrown away: see `TORN`."""

import os
from collections.abc import Iterable
from pathlib import Path

from optimiser.errors import RockwrightError
from optimiser.report.doctor.examine import TORN, Health, files_of
from optimiser.report.results.files import linked, read_plain, sync_folder, write_durably
from optimiser.report.results.lock import LOCK, FolderLock
from optimiser.report.results.manifest import MANIFEST, PREVIOUS


class BeyondMendingError(RockwrightError):
    """A results folder of which no save is whole."""

    exit_code = 1


def mend(folder: Path) -> tuple[str, ...]:
    """Put a results folder back to its last good state; what was done, a sentence each, none where nothing was to do.

    What is damaged or newer than that state is moved into the folder `TORN` inside it, under its own name; the copy of
    the study stays where it is unless it is a link, since a search that is resumed writes it again.
    Raises NoResultsError where it is no results folder, FolderInUseError where a search has it, BeyondMendingError
    where no save of it is whole, and OSError where the system refuses: a second call then goes on.
    """
    files_of(folder)
    if (folder / LOCK).is_symlink():
        raise linked(folder / LOCK)
    lock = FolderLock(folder)
    try:
        return _mended(files_of(folder))
    finally:
        lock.release()


def _mended(health: Health) -> tuple[str, ...]:
    good, folder = health.good, health.folder
    if good is None:
        raise BeyondMendingError(
            f"{folder}: no save of it is whole, and nothing was changed; bring it back from a copy, or search anew "
            f"into another folder with --out"
        )
    given_up = {name for save in health.saves if not save.whole for name in (save.name, *save.files)}
    bad = given_up | health.removable
    if bad:
        bad |= set(health.unnamed)  # may be a save's whose manifest is lost
    taken = _set_aside(folder, sorted(bad - {*good.files, good.name}))
    done = [f"moved into {folder / TORN}: {', '.join(taken)}"] if taken else []
    if good.name == PREVIOUS:
        write_durably(folder, MANIFEST, read_plain(folder / PREVIOUS))
        done.append(f"{MANIFEST} is that of the save before")
    return tuple(done)


def _set_aside(folder: Path, names: Iterable[str]) -> list[str]:
    """Move files of a folder into its folder `TORN`; those that there are."""
    there = [name for name in names if os.path.lexists(folder / name)]
    if there:
        aside = folder / TORN
        if aside.is_symlink():
            raise linked(aside)
        aside.mkdir(exist_ok=True)
        for name in there:
            os.replace(folder / name, aside / name)
        sync_folder(aside)
        sync_folder(folder)
    return there
