"""Reads a study or a hand-off file: all its faults at once, or the study."""

from contextlib import suppress
from pathlib import Path

from optimiser.study.build import build_axle
from optimiser.study.carrier import check_carrier
from optimiser.study.document import compose_into, load_text, shown_path
from optimiser.study.envelope import room_goals
from optimiser.study.faults import Collector, FaultsError, TooManyFaultsError
from optimiser.study.fittings import read_fittings
from optimiser.study.joints import joint_goals, joint_notes
from optimiser.study.keys import HANDED_OVER, STUDY
from optimiser.study.listed import listed_notes
from optimiser.study.nodes import Branch, Node
from optimiser.study.reading import index
from optimiser.study.soundness import check_axle
from optimiser.study.study import DEFAULT_ISLANDS, Study
from optimiser.study.targets import read_goals
from optimiser.study.travels import build_travel, check_reach
from optimiser.study.vary import read_variables, start_notes
from optimiser.study.walk import walk

DEFAULT_SEED = 1
"""Seed of a search whose study names none."""


def read_study(path: Path) -> Study:
    """The study in a file, or the study part of a hand-off file (which varies nothing).

    Raises `FaultsError` with every fault of the file, and `UnreadableFileError` where there is no file to read.
    """
    return read_text(load_text(path), shown_path(path))


def read_text(text: str, file_name: str) -> Study:
    """The study that a file's text holds; `file_name` is for the faults alone. Raises `FaultsError`."""
    faults = Collector()
    study = None
    with suppress(TooManyFaultsError):
        study = _read(compose_into(faults, text), text, faults)
    if faults.faults or study is None:
        raise FaultsError(faults.faults, file_name, text)
    return study


def _read(root: Node, text: str, faults: Collector) -> Study | None:
    handed_over = isinstance(root, Branch) and any(entry.name == "kind" for entry in root.entries)
    reading = index(walk(HANDED_OVER if handed_over else STUDY, root, faults), faults)
    if reading.record("axle") is None:
        return None
    axle = build_axle(reading)
    notes = check_axle(reading, axle)
    travel = build_travel(reading, axle)
    if travel is not None and not _faulty_geometry(faults):
        check_reach(reading, axle, travel)
    fittings = read_fittings(reading, axle)
    if not faults.faults:
        check_carrier(reading, axle, fittings)
    axle, variables = read_variables(reading, axle, fittings.adjust)
    goals = joint_goals(room_goals(read_goals(reading, axle, fittings), fittings), fittings)
    if faults.faults or travel is None:
        return None
    seed = int(reading.number("search.seed")) if reading.has("search.seed") else DEFAULT_SEED
    islands = int(reading.number("search.islands")) if reading.has("search.islands") else DEFAULT_ISLANDS
    name = reading.text("name") or ""
    notes = (*notes, *start_notes(variables), *listed_notes(axle, fittings.adjust, variables))
    notes = (*notes, *joint_notes(axle, fittings.joints))
    return Study(name, axle, travel, variables, goals, seed, text, notes, fittings, islands)


def _faulty_geometry(faults: Collector) -> bool:
    """Whether a fault found so far lies in the axle or its travel, or leaves unsure where it lies."""
    return any(fault.path.partition(".")[0] in ("", "axle", "travel") for fault in faults.faults)
