"""The results folder as a search writes it: one search at a time, and every save whole or not at all.

A save writes its data files under the save's own number, then renames the manifest that names them: that rename is
the moment the save counts. The save before stays beside it, complete: damage to one of them leaves the other. Files of
earlier saves go only afterwards, and what a kill left behind goes when the next search opens the folder.
"""

import platform
import socket
import time
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from types import TracebackType

import numpy as np

from geometry.arrays import Array
from optimiser.errors import RockwrightError
from optimiser.report.results.files import (
    TEMPORARY,
    DamagedResultsError,
    linked,
    read_checked,
    sha256,
    write_durably,
)
from optimiser.report.results.loading import Results, load
from optimiser.report.results.lock import LOCK, FolderLock
from optimiser.report.results.manifest import (
    DATA_NAME,
    MANIFEST,
    PREVIOUS,
    STUDY,
    DataFile,
    Manifest,
    dump,
    fingerprint,
    previous_save,
    read_manifest,
)
from optimiser.report.results.saved import data_files, figure_entries, goal_entries, variable_entries
from optimiser.search.share import ALONE, Share
from optimiser.search.snapshot import Snapshot
from optimiser.study.study import Study

PACKAGES = ("numpy", "scipy", "numba", "pymoo", "moocore", "daqp", "rockwright")
"""Packages whose versions a manifest names, beside Python's."""


class FolderTakenError(RockwrightError):
    """A folder that a new search may not write into: it holds results, or something else."""


class OtherStudyError(RockwrightError):
    """A search resumed with another study than the folder's."""


class NotSavedError(RockwrightError):
    """A save that the system refused: the folder holds the save before."""


@dataclass(frozen=True)
class SavedFigures:
    """The figures that go with a snapshot, by name; NaN where null; all three have the same names.

    `members`: (N,) a figure, in the order of `Snapshot.ids`; `base`: the study's own geometry; `closest`: the
    candidate `Snapshot.closest`, None where there is none. `spreads`: see `optimiser.report.results.build_spreads`.
    """

    members: Mapping[str, Array]
    base: Mapping[str, float]
    closest: Mapping[str, float] | None = None
    spreads: Mapping[str, float] = field(default_factory=dict)


def open_for_search(
    path: Path, study: Study, *, resume: bool = False, command: str = "", share: Share | None = None
) -> "ResultsFolder":
    """Take a folder for a search, making it where it is missing; with `resume`, to go on from what it holds.

    `command` is the command line to be kept in the manifest. Raises FolderTakenError where the folder holds results
    and `resume` is not given, or holds anything that is no results; OtherStudyError where it holds another study's;
    FolderInUseError where another search has it; DamagedResultsError where a file of it is torn or a link.
    """
    if path.is_symlink() and not path.exists():
        raise FolderTakenError(f"{path} is a link that leads nowhere; mend it, or name a folder with --out")
    if path.exists() and not path.is_dir():
        raise FolderTakenError(f"{path} is a file; name a folder with --out")
    path.mkdir(parents=True, exist_ok=True)
    _refuse_strangers(path)
    lock = FolderLock(path)
    try:
        return ResultsFolder(path, study, lock, _before(path, study, resume, share), command, share or ALONE)
    except BaseException:
        lock.release()
        raise


class ResultsFolder:
    """A results folder held for a search; a context manager that lets go of it at the end."""

    def __init__(
        self,
        folder: Path,
        study: Study,
        lock: FolderLock,
        before: Results | None,
        command: str,
        share: Share = ALONE,
    ) -> None:
        self._folder, self._study, self._lock = folder, study, lock
        self.share = Share(*before.manifest.share) if before else share
        """Which of several campaigns side by side the folder is of."""
        self.before = before
        """What the folder held when it was opened; None: nothing."""
        self.campaign = ""
        """The campaign of several machines that what is saved is a state of; empty: of none."""
        self._command, self.versions = command, _versions()
        self._manifest, self._previous = before.manifest if before else self._first(), previous_save(folder)
        self._number = self._manifest.save
        self._sweep()
        self._bring_study()
        write_durably(folder, MANIFEST, dump(self._manifest))  # what cannot be written to is told before any work

    def __enter__(self) -> "ResultsFolder":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._lock.release()

    def save(self, snapshot: Snapshot, figures: SavedFigures, more: Mapping[str, bytes] | None = None) -> None:
        """Put a state of the search into the folder, on the disk when this returns.

        `more`: further data files by what they hold.
        Raises NotSavedError where the system refuses; the folder then holds the save before, or this one whole, and
        a later call may succeed.
        """
        try:
            self._save(snapshot, figures, more)
        except OSError as error:
            raise NotSavedError(_refused(self._folder, self._manifest, error)) from error

    def _save(self, snapshot: Snapshot, figures: SavedFigures, more: Mapping[str, bytes] | None) -> None:
        self._number += 1
        contents = data_files(self._study, snapshot, figures.members, figures.base, figures.closest)
        files = {kind: self._put(kind, data) for kind, data in (contents | dict(more or {})).items()}
        manifest = replace(
            self._manifest,
            save=self._number,
            files={"study": self._manifest.files["study"], **files},
            versions=self.versions,
            host=socket.gethostname(),
            command=self._command,
            repeat=self._repeat(snapshot.evaluations),
            figures=figure_entries(self._study, figures.base, figures.spreads),
            saved=_now(),
            evaluations=snapshot.evaluations,
            seconds=snapshot.seconds,
            next_id=snapshot.next_id,
            reference=None if snapshot.reference is None else tuple(snapshot.reference.tolist()),
            closest_violation=snapshot.closest_violation if np.isfinite(snapshot.closest_violation) else None,
            habits=snapshot.habits,
            margin=snapshot.margin,
            epochs=snapshot.epochs,
            share=(self.share.number, self.share.of),
            campaign=self.campaign,
            gains=snapshot.gains,
        )
        write_durably(self._folder, PREVIOUS, dump(self._manifest))
        write_durably(self._folder, MANIFEST, dump(manifest))
        self._manifest, self._previous = manifest, self._manifest
        self._sweep()

    def _repeat(self, evaluations: int) -> str:
        """What finds the same again: a run that evaluations ended; one that time or a hand ended has another length."""
        again = f"--seed {self._study.seed} --evaluations {evaluations}"
        if f"--evaluations {evaluations}" in self._command:
            return f"the same bytes with {again}, on this machine with these versions, by any number of workers"
        return "how far a run of so much time comes depends on the machine and its load: no two are alike"

    def _first(self) -> Manifest:
        given = fingerprint(self._study.text)
        return Manifest(
            study=self._study.name,
            fingerprint=given,
            seed=self._study.seed,
            variables=variable_entries(self._study),
            goals=goal_entries(self._study),
            save=0,
            files={"study": DataFile(STUDY, given)},
            versions=self.versions,
            host=socket.gethostname(),
            command=self._command,
            started=_now(),
        )

    def _bring_study(self) -> None:
        """Write the copy of the study, unless it is there, whole."""
        with suppress(FileNotFoundError, DamagedResultsError):
            read_checked(self._folder, STUDY, self._manifest.fingerprint)
            return
        write_durably(self._folder, STUDY, self._study.text.encode())

    def _put(self, kind: str, data: bytes) -> DataFile:
        """Write a data file: one of this save's own, even where the last save's is the same."""
        name = f"{kind}-{self._number:06d}.csv"
        write_durably(self._folder, name, data)
        return DataFile(name, sha256(data))

    def _sweep(self) -> None:
        """Remove files of other saves and unfinished ones; one that resists stays for the next sweep."""
        saves = [self._manifest, *([] if self._previous is None else [self._previous])]
        kept = {MANIFEST, PREVIOUS, LOCK} | {file.name for save in saves for file in save.files.values()}
        for entry in self._folder.iterdir():
            if entry.name not in kept and is_ours(entry.name):
                with suppress(OSError):
                    entry.unlink()


def _refuse_strangers(path: Path) -> None:
    """Refuse links inside the folder, and a folder without results that holds anything else."""
    entries = sorted(path.iterdir())
    links = [entry for entry in entries if entry.is_symlink()]
    if links:
        raise linked(links[0])
    foreign = [entry.name for entry in entries if not is_ours(entry.name)]
    if foreign and not (path / MANIFEST).exists():
        raise FolderTakenError(
            f"{path} holds other files ({foreign[0]}) and no results; name a new or an empty folder with --out"
        )


def _before(path: Path, study: Study, resume: bool, share: Share | None) -> Results | None:
    """What the folder holds, if this search may go on from it."""
    try:
        manifest = read_manifest(path)
    except FileNotFoundError as error:
        lost = [entry.name for entry in sorted(path.iterdir()) if is_of_a_save(entry.name)]
        if not lost:
            return None
        raise DamagedResultsError(path / MANIFEST, f"missing beside {lost[0]}") from error
    if not resume:
        raise FolderTakenError(
            f"{path} holds the results of {manifest.study!r}; go on from them with --resume, or name another folder "
            f"with --out"
        )
    given = fingerprint(study.text)
    if manifest.fingerprint != given:
        raise OtherStudyError(
            f"{path} holds the results of {manifest.study!r} (study {manifest.fingerprint[:12]}), not those of the "
            f"study given, {study.name!r} ({given[:12]}); resume with {path / STUDY}, or search into another folder "
            f"with --out"
        )
    number, of = manifest.share
    if share not in (None, Share(number, of)):
        raise OtherStudyError(
            f"{path} holds share {number + 1}/{of} of a search; resume without --islands, or search into another "
            f"folder with --out"
        )
    return load(path)


def _refused(folder: Path, manifest: Manifest, error: OSError) -> str:
    """What is told of a save that failed."""
    kept = (
        f"the save before ({manifest.evaluations} candidates)" if manifest.files.keys() > {"study"} else "no save yet"
    )
    return (
        f"{error.filename or folder}: {error.strerror or error}; not saved, {folder} holds {kept}: see to the path, "
        f"its rights and the room on the disk, then go on with --resume"
    )


def _versions() -> dict[str, str]:
    """The versions of what is at work."""
    versions = {"python": platform.python_version()}
    for name in PACKAGES:
        with suppress(PackageNotFoundError):  # a package that is run from its sources alone has no version
            versions[name] = version(name)
    return versions


def is_ours(name: str) -> bool:
    """Whether a search writes files of this name."""
    plain = name.removesuffix(TEMPORARY)
    return plain in (MANIFEST, PREVIOUS, LOCK) or DATA_NAME.fullmatch(plain) is not None


def is_of_a_save(name: str) -> bool:
    """Whether a file of this name is there only after a save has begun."""
    return name == PREVIOUS or (name != STUDY and DATA_NAME.fullmatch(name) is not None)


def _now() -> str:
    return time.strftime("%Y-%m-%dT%H:%M:%S%z")
