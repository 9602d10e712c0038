"""The manifest of a results folder: what the folder holds, from what, by what, and the checksum of every file.

It is JSON text, readable without this program. Its rename is the moment a save counts: the data files carry the
save's number in their names, and those that the manifest names are the folder's state. Its last entry is a checksum of
all that stands before it (`optimiser.report.results.seal`). The manifest of the save before is kept beside it, with its
files: where one of the present save is damaged, that one is the last good state.
"""

import json
import math
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TypeAlias, cast

from optimiser.report.results.files import DamagedResultsError, read_plain, sha256
from optimiser.report.results.seal import is_sealed, sealed

MANIFEST = "manifest.json"
PREVIOUS = "manifest-previous.json"
"""The manifest of the save before."""
STUDY = "study.yaml"
FORMAT = 2
"""The version of a results folder's layout."""
UNSEALED = 1
"""The version before, which had no checksum of the manifest itself; every other one is refused."""

DATA_NAME = re.compile(r"study\.yaml|[a-z]+-[0-9]{6,}\.csv")
"""What a file that a manifest names may be called: nothing that leads out of the folder."""

Json: TypeAlias = "bool | int | float | str | list[Json] | dict[str, Json] | None"


@dataclass(frozen=True)
class DataFile:
    """A file of the folder: its name and the SHA-256 of its bytes."""

    name: str
    sha256: str


@dataclass(frozen=True)
class VariableEntry:
    """A variable of the study: its path, its bounds and the study's own value, in the study file's units.

    `choices`: the values that it may take, where these are listed.
    """

    path: str
    low: float
    high: float
    value: float
    choices: tuple[float, ...] = ()


@dataclass(frozen=True)
class GoalEntry:
    """A goal of the study: the figure, whether it is held or an objective, what it asks, and what counts as one.

    `asks` holds the goal's own numbers or its direction (`{"aim": 1.1, "within": 0.01}`); `scale` [the figure's unit].
    """

    figure: str
    held: bool
    scale: float
    asks: Mapping[str, float | str]


@dataclass(frozen=True)
class FigureEntry:
    """How a figure is shown: its unit, and digits behind the point.

    `spread` [its unit]: its deviation from one built axle to the next, 0 where that is not known; `margin` [its unit]:
    of a clearance of two bodies, what is to be kept of it.
    """

    unit: str
    decimals: int
    spread: float = 0.0
    margin: float = 0.0


@dataclass(frozen=True)
class Manifest:
    """A results folder at one save.

    `variables`, `goals` and `figures` repeat the study's and the catalogue's, so that a front reads without them;
    `fingerprint` is the study text's SHA-256; `host`, `versions` and `command` are those of the run that saved last;
    `started` and `saved` are times in ISO 8601.
    """

    study: str
    fingerprint: str
    seed: int
    variables: tuple[VariableEntry, ...]
    goals: tuple[GoalEntry, ...]
    save: int
    files: Mapping[str, DataFile]
    """By what it holds: study, front, base, growth, closest, conflict, prices, and what only a search reads
    (`optimiser.report.results.store.CAMPAIGN`)."""
    figures: Mapping[str, FigureEntry] = field(default_factory=dict)
    versions: Mapping[str, str] = field(default_factory=dict)
    host: str = ""
    command: str = ""
    repeat: str = ""
    """What finds the same bytes again, or why nothing does."""
    started: str = ""
    saved: str = ""
    evaluations: int = 0
    seconds: float = 0.0
    next_id: int = 1
    reference: tuple[float, ...] | None = None
    closest_violation: float | None = None
    habits: tuple[float, ...] = ()
    margin: tuple[float, ...] = ()
    epochs: int = 0
    gains: tuple[float, ...] = ()
    share: tuple[int, int] = (0, 1)
    """Which of several campaigns side by side this is: its number, from 0, of so many."""
    campaign: str = ""
    """The campaign of several machines that this is a state of, by its name in their storage; empty: of none."""

    @property
    def objectives(self) -> tuple[GoalEntry, ...]:
        """The objective goals, in the study's order."""
        return tuple(goal for goal in self.goals if not goal.held)

    @property
    def is_exhausted(self) -> bool:
        """Whether every candidate was measured: variables that all take listed values allow so many and no more."""
        counts = [len(variable.choices) for variable in self.variables]
        return bool(counts) and all(counts) and self.evaluations >= math.prod(counts)

    @property
    def held(self) -> tuple[GoalEntry, ...]:
        """The held goals, in the study's order."""
        return tuple(goal for goal in self.goals if goal.held)


def fingerprint(text: str) -> str:
    """What a study is known by: the SHA-256 of its text."""
    return sha256(text.encode())


def dump(manifest: Manifest) -> bytes:
    """The manifest as JSON text."""
    return sealed(json.dumps({"format": FORMAT, **asdict(manifest)}, indent=1, allow_nan=False).encode())


def read_manifest(folder: Path, name: str = MANIFEST) -> Manifest:
    """The manifest of a folder, or the one before with `PREVIOUS`.

    Raises FileNotFoundError where there is none, DamagedResultsError where it does not read.
    """
    data = read_plain(folder / name)
    try:
        return _parse(cast(Json, json.loads(data)), is_sealed(data))
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise DamagedResultsError(
            folder / name, f"not the manifest of a results folder of format {FORMAT} ({error})"
        ) from error


def previous_save(folder: Path) -> Manifest | None:
    """The manifest of the save before; None where none is kept, or none that reads."""
    try:
        return read_manifest(folder, PREVIOUS)
    except (FileNotFoundError, DamagedResultsError):
        return None


def _parse(record: Json, whole: bool) -> Manifest:
    fields = _table(record)
    version = fields.pop("format")
    if version not in (FORMAT, UNSEALED):
        raise ValueError("its format is another one")
    if not whole and version != UNSEALED:
        raise ValueError("it was changed or torn: its checksum is not its own")
    return Manifest(
        study=_text(fields["study"]),
        fingerprint=_text(fields["fingerprint"]),
        seed=_whole(fields["seed"]),
        variables=tuple(_variable(_table(entry)) for entry in _list(fields["variables"])),
        goals=tuple(_goal(_table(entry)) for entry in _list(fields["goals"])),
        save=_whole(fields["save"]),
        files={kind: _file(_table(entry)) for kind, entry in _table(fields["files"]).items()},
        figures={name: _figure(_table(entry)) for name, entry in _table(fields["figures"]).items()},
        versions={name: _text(version) for name, version in _table(fields["versions"]).items()},
        host=_text(fields["host"]),
        command=_text(fields["command"]),
        repeat=_text(fields.get("repeat", "")),
        started=_text(fields["started"]),
        saved=_text(fields["saved"]),
        evaluations=_whole(fields["evaluations"]),
        seconds=_number(fields["seconds"]),
        next_id=_whole(fields["next_id"]),
        reference=_reference(fields["reference"]),
        closest_violation=None if fields["closest_violation"] is None else _number(fields["closest_violation"]),
        habits=tuple(_number(one) for one in _list(fields["habits"])),
        margin=tuple(_number(one) for one in _list(fields["margin"])),
        epochs=_whole(fields.get("epochs", 0)),
        gains=tuple(_number(one) for one in _list(fields.get("gains", []))),
        share=_share(fields.get("share", [0, 1])),
        campaign=_text(fields.get("campaign", "")),
    )


def _share(value: Json) -> tuple[int, int]:
    number, of = (_whole(one) for one in _list(value))
    if not number < of:
        raise ValueError(f"share {number} of {of}")
    return number, of


def _variable(entry: dict[str, Json]) -> VariableEntry:
    low, high, value = (_number(entry[key]) for key in ("low", "high", "value"))
    choices = tuple(_number(one) for one in _list(entry.get("choices", [])))
    return VariableEntry(_text(entry["path"]), low, high, value, choices)


def _goal(entry: dict[str, Json]) -> GoalEntry:
    asks = {key: value if isinstance(value, str) else _number(value) for key, value in _table(entry["asks"]).items()}
    return GoalEntry(_text(entry["figure"]), entry["held"] is True, _number(entry["scale"]), asks)


def _figure(entry: dict[str, Json]) -> FigureEntry:
    decimals = _whole(entry["decimals"])
    if not 0 <= decimals <= 15:
        raise ValueError(f"{decimals} digits behind the point")
    spread, margin = (_number(entry.get(key, 0.0)) for key in ("spread", "margin"))
    return FigureEntry(_text(entry["unit"]), decimals, spread, margin)


def _file(entry: dict[str, Json]) -> DataFile:
    name = _text(entry["name"])
    if not DATA_NAME.fullmatch(name):
        raise ValueError(f"{name!r} is no name of a data file")
    return DataFile(name, _text(entry["sha256"]))


def _reference(value: Json) -> tuple[float, ...] | None:
    return None if value is None else tuple(_number(entry) for entry in _list(value))


def _number(value: Json) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(f"{value!r} is no number")
    return float(value)


def _whole(value: Json) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError(f"{value!r} is no whole number")
    return value


def _text(value: Json) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is no text")
    return value


def _list(value: Json) -> list[Json]:
    if not isinstance(value, list):
        raise TypeError(f"{value!r} is no list")
    return value


def _table(value: Json) -> dict[str, Json]:
    if not isinstance(value, dict):
        raise TypeError(f"{value!r} is no table")
    return value
