"""One save of a results folder, every file of it looked at: what is whole, and what is wrong with the rest."""

from dataclasses import dataclass
from pathlib import Path

from optimiser.report.results.files import DamagedResultsError, read_checked
from optimiser.report.results.manifest import Manifest, read_manifest
from optimiser.report.results.store import Store, read_save

STUDY_FILE = "study"
"""What the manifest calls the copy of the study, which all saves share."""

MISSING = "missing"
"""What is wrong with a file that is not there."""


@dataclass(frozen=True)
class Fault:
    """A file of a results folder and what is wrong with it."""

    file: str
    what: str


@dataclass(frozen=True)
class Save:
    """One save as it is on the disk: `name` is its manifest's file; `store` its contents, None where they do not read.

    `faults`: what is wrong with its manifest, its data files, or how they go together; the copy of the study, which
    all saves share, is not among them. `files`: the names of its data files, none where the manifest does not read.
    """

    name: str
    manifest: Manifest | None
    files: tuple[str, ...]
    faults: tuple[Fault, ...]
    store: Store | None

    @property
    def whole(self) -> bool:
        """Whether a search can go on from it."""
        return not self.faults


def look_at(folder: Path, name: str) -> Save | None:
    """The save whose manifest is the file `name` of a folder; None where there is no such file."""
    try:
        manifest = read_manifest(folder, name)
    except FileNotFoundError:
        return None
    except (DamagedResultsError, OSError) as error:
        return Save(name, None, (), (Fault(name, told(error)),), None)
    entries = {kind: file for kind, file in manifest.files.items() if kind != STUDY_FILE}
    files = tuple(file.name for file in entries.values())
    found = [fault_of(folder, file.name, file.sha256) for file in entries.values()]
    faults = tuple(fault for fault in found if fault is not None)
    if faults:
        return Save(name, manifest, files, faults, None)
    try:
        return Save(name, manifest, files, (), read_save(folder, manifest, population=True))
    except (DamagedResultsError, OSError) as error:
        return Save(name, manifest, files, (Fault(name, told(error)),), None)


def fault_of(folder: Path, name: str, checksum: str) -> Fault | None:
    """What is wrong with one file; None: nothing."""
    try:
        read_checked(folder, name, checksum)
    except (DamagedResultsError, OSError) as error:
        return Fault(name, told(error))
    return None


def told(error: DamagedResultsError | OSError) -> str:
    """What an error says of a file, without its path and the next step."""
    if isinstance(error, FileNotFoundError):
        return MISSING
    if isinstance(error, OSError):
        return f"cannot be read: {error.strerror or error}"
    return error.what
