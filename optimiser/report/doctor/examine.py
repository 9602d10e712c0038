"""A results folder, every file of it looked at, and members of it recomputed from their variables."""

from dataclasses import dataclass, replace
from pathlib import Path

from optimiser.errors import RockwrightError
from optimiser.report.doctor.recompute import Recomputed, recompute
from optimiser.report.doctor.saves import MISSING, STUDY_FILE, Fault, Save, fault_of, look_at
from optimiser.report.results.folder import is_of_a_save, is_ours
from optimiser.report.results.lock import LOCK
from optimiser.report.results.manifest import MANIFEST, PREVIOUS, STUDY
from optimiser.report.results.store import READ_TRIES, NoResultsError
from optimiser.study.read import read_study

MEMBERS = 20
"""How many members are recomputed."""
SEED = 0
"""What their choice follows from."""
TORN = "torn"
"""The folder inside a results folder where mending puts what it takes out."""


@dataclass(frozen=True)
class Health:
    """What there is to say of a results folder.

    `present` and `before` are its two saves, None where there is no such manifest; `study` what is wrong with the copy
    of the study; `links` the links inside the folder, of which none is followed; `unnamed` the files of a search that
    no save names; `foreign` what no search writes. `recomputed` is None where nothing could be recomputed, and
    `obstacle` says why.
    """

    folder: Path
    present: Save | None
    before: Save | None
    study: Fault | None
    links: tuple[str, ...]
    unnamed: tuple[str, ...]
    foreign: tuple[str, ...]
    recomputed: Recomputed | None = None
    obstacle: str = ""

    @property
    def saves(self) -> tuple[Save, ...]:
        """The saves that have a manifest, the newest first."""
        return tuple(save for save in (self.present, self.before) if save is not None)

    @property
    def good(self) -> Save | None:
        """The last good state: the newest save that is whole."""
        return next((save for save in self.saves if save.whole), None)

    @property
    def faults(self) -> tuple[Fault, ...]:
        """All that is wrong with files, each named once."""
        links = [Fault(name, "is a link, and a results folder holds plain files only") for name in self.links]
        missing = [] if self.present else [Fault(MANIFEST, MISSING)]
        saves = [fault for save in self.saves for fault in save.faults]
        study = [self.study] if self.study else []
        return tuple({fault.file: fault for fault in [*links, *missing, *saves, *study]}.values())

    @property
    def removable(self) -> frozenset[str]:
        """The damaged files that mending takes out: all but the copy of the study, unless that is a link."""
        kept = set() if STUDY in self.links else {STUDY}
        return frozenset({fault.file for fault in self.faults if fault.what != MISSING} - kept)

    @property
    def well(self) -> bool:
        """Whether every file is whole, and every recomputed number the one that is saved."""
        return not self.faults and self.recomputed is not None and not self.recomputed.differences


def examine(folder: Path, members: int = MEMBERS, seed: int = SEED) -> Health:
    """Look at every file of a results folder and recompute so many members of its last good state.

    A folder that a search is writing to is looked at as of one of its saves. Raises NoResultsError where the path is
    no results folder at all.
    """
    health = files_of(folder)
    for _ in range(READ_TRIES):
        seen, health = health, files_of(folder) if health.faults else health
        if health.faults == seen.faults:
            break  # else a search has saved meanwhile
    return _with_members(health, members, seed)


def files_of(folder: Path) -> Health:
    """The folder with its files alone looked at. Raises NoResultsError."""
    if not folder.is_dir():
        raise NoResultsError(f"{folder}: no such results folder; `rockwright search STUDY --out {folder}` makes one")
    entries = sorted(entry.name for entry in folder.iterdir())
    if not any(name == MANIFEST or is_of_a_save(name) for name in entries):
        raise NoResultsError(
            f"{folder} is not a results folder: it holds no {MANIFEST}; `rockwright search STUDY --out {folder}` "
            f"makes one"
        )
    present, before = look_at(folder, MANIFEST), look_at(folder, PREVIOUS)
    named = {name for save in (present, before) if save for name in save.files} | {MANIFEST, PREVIOUS, LOCK, STUDY}
    links = tuple(name for name in entries if (folder / name).is_symlink())
    return Health(
        folder=folder,
        present=present,
        before=before,
        study=_study_fault(folder, present, before),
        links=links,
        unnamed=tuple(name for name in entries if is_ours(name) and name not in {*named, *links}),
        foreign=tuple(name for name in entries if not is_ours(name) and name != TORN),
    )


def _study_fault(folder: Path, *saves: Save | None) -> Fault | None:
    """What is wrong with the copy of the study, as far as a manifest that reads tells."""
    manifests = [save.manifest for save in saves if save and save.manifest]
    return fault_of(folder, STUDY, manifests[0].files[STUDY_FILE].sha256) if manifests else None


def _with_members(health: Health, members: int, seed: int) -> Health:
    if health.good is None or health.good.store is None:
        return replace(health, obstacle="no save of it is whole")
    if health.study is not None:
        return replace(health, obstacle=f"{STUDY} is not whole")
    try:
        study = read_study(health.folder / STUDY)
        return replace(health, recomputed=recompute(health.good.store, study, members, seed))
    except (RockwrightError, ValueError, KeyError) as error:
        return replace(health, obstacle=f"what is saved does not go with this version of the program ({error})")
