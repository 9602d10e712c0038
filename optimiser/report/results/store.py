"""A results folder read back as plain columns, each file against its checksum. Nothing in a folder is ever run."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from optimiser.errors import RockwrightError
from optimiser.report.front.columns import Columns, decode, kind
from optimiser.report.results.files import DamagedResultsError, read_checked
from optimiser.report.results.manifest import MANIFEST, PREVIOUS, GoalEntry, Manifest, read_manifest

READ_TRIES = 20
"""How often a reader starts again because a running search put a newer save in place meanwhile."""

GROWTH = ("evaluations", "seconds", "feasible", "members", "hypervolume", "taken_out")
"""The columns of the log of growth."""
ISLANDS, BEGINNING, FINDS, POPULATION = "islands", "start", "finds", "population"
CAMPAIGN = (ISLANDS, BEGINNING, FINDS, POPULATION)
"""What the files hold that only a search reads: see `optimiser.report.results.epochs`."""
PRICES = ("low", "high")
"""The columns of what bounds cost."""


class NoResultsError(RockwrightError):
    """A path that is no results folder."""


@dataclass(frozen=True)
class Table:
    """Candidates as columns by name: variables, objectives (minimised, dimensionless), figures (NaN where null).

    `left`: what is left of each held goal, in its figure's unit; negative where it is missed, NaN where null.
    """

    ids: list[int]
    variables: Columns
    objectives: Columns
    figures: Columns
    left: Columns


@dataclass(frozen=True)
class Store:
    """A results folder at its last save.

    `front` holds the members; `base` one row, the study's own geometry; `closest` one row, the candidate nearest to
    feasible where nothing is; `population` what evolution goes on from; `growth` the columns `GROWTH`. `conflict`
    says why nothing is feasible and `prices` what bounds cost (columns `low` and `high`, a row a variable): see
    `optimiser.report.results.conclusions`; both empty where that is not known.
    """

    folder: Path
    manifest: Manifest
    front: Table
    base: Table | None
    closest: Table | None
    population: Columns
    growth: Columns
    conflict: Columns = field(default_factory=dict)
    prices: Columns = field(default_factory=dict)
    campaign: Mapping[str, Columns] = field(default_factory=dict)
    """The tables that only a search reads, by what they hold."""


def read_store(path: Path, population: bool = False) -> Store:
    """Read a results folder; one that a search is writing to is read as of its last save.

    What only a search reads, the population too, is read only if asked for.
    Raises NoResultsError where there is none, DamagedResultsError, naming the file, where one is missing or changed.
    """
    if not path.is_dir():
        raise NoResultsError(f"{path}: no such results folder; `rockwright search STUDY --out {path}` makes one")
    manifest = _manifest(path)
    for _ in range(READ_TRIES):
        try:
            return read_save(path, manifest, population)
        except FileNotFoundError as error:
            seen, manifest = manifest, _manifest(path)
            if manifest.save == seen.save:
                raise DamagedResultsError(Path(error.filename), "missing") from error
    raise DamagedResultsError(path, "changes faster than it can be read", "try again")


def read_save(folder: Path, manifest: Manifest, population: bool = False) -> Store:
    """The save that a manifest of the folder names.

    Raises FileNotFoundError where a file of it is missing, DamagedResultsError, naming the file, where one is changed.
    """
    unread = {"study"} if population else {"study", *CAMPAIGN}
    tables = {kind: _columns(folder, manifest, kind) for kind in manifest.files if kind not in unread}
    try:
        return _assembled(folder, manifest, tables)
    except (ValueError, KeyError) as error:
        raise DamagedResultsError(folder / MANIFEST, f"names files that do not go together ({error})") from error


def _manifest(path: Path) -> Manifest:
    try:
        return read_manifest(path)
    except FileNotFoundError as error:
        if (path / PREVIOUS).exists():
            raise DamagedResultsError(path / MANIFEST, "missing") from error
        raise NoResultsError(
            f"{path} is not a results folder: it holds no {MANIFEST}; `rockwright search STUDY --out {path}` makes one"
        ) from error


def _columns(folder: Path, manifest: Manifest, name: str) -> Columns:
    file = manifest.files[name]
    data = read_checked(folder, file.name, file.sha256)
    try:
        return decode(data)
    except ValueError as error:
        raise DamagedResultsError(folder / file.name, f"no table of numbers ({error})") from error


def _assembled(folder: Path, manifest: Manifest, tables: Mapping[str, Columns]) -> Store:
    paths = [variable.path for variable in manifest.variables]
    found = {name: _table(tables[name], manifest, paths) for name in ("front", "base", "closest") if name in tables}
    prices = _picked(tables["prices"], PRICES) if "prices" in tables else {}
    if any(len(column) != len(paths) for column in prices.values()):
        raise ValueError("the prices are not those of the variables")
    return Store(
        folder=folder,
        manifest=manifest,
        front=found.get("front") or _empty(manifest, paths),
        base=found.get("base"),
        closest=found.get("closest"),
        population=_picked(kind(tables["population"], "variable"), paths) if "population" in tables else _none(paths),
        growth=_picked(tables["growth"], GROWTH) if "growth" in tables else _none(GROWTH),
        conflict=tables.get("conflict", {}),
        prices=prices,
        campaign={name: tables[name] for name in CAMPAIGN if name in tables},
    )


def _table(columns: Columns, manifest: Manifest, paths: list[str]) -> Table:
    return Table(
        ids=[int(value) for value in columns["id"]],
        variables=_picked(kind(columns, "variable"), paths),
        objectives=_picked(kind(columns, "objective"), _names(manifest.objectives)),
        figures=_picked(kind(columns, "figure"), manifest.figures),
        left=_picked(kind(columns, "left"), _names(manifest.held)),
    )


def _empty(manifest: Manifest, paths: list[str]) -> Table:
    objectives, held = _none(_names(manifest.objectives)), _none(_names(manifest.held))
    return Table([], _none(paths), objectives, _none(manifest.figures), held)


def _names(goals: tuple[GoalEntry, ...]) -> list[str]:
    return [goal.figure for goal in goals]


def _picked(columns: Columns, names: list[str] | tuple[str, ...] | Mapping[str, object]) -> Columns:
    return {name: columns[name] for name in names}


def _none(names: list[str] | tuple[str, ...] | Mapping[str, object]) -> Columns:
    return {name: [] for name in names}
