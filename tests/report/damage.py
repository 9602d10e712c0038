"""Results folders that hold true numbers, for tests that damage them."""

import errno
import os
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from objectives.evaluate import evaluate
from objectives.goals import objective_values
from optimiser.report.results.folder import SavedFigures, open_for_search
from optimiser.search.snapshot import Snapshot
from optimiser.study.variables import base_point, candidates
from tests.report.records import front_study, record


@cache
def true_state(members: int, seed: int = 1) -> tuple[Snapshot, SavedFigures]:
    """A state whose members are shifted a little from the study's own geometry, with the figures that they have."""
    study, (snapshot, figures) = front_study(), record(members, seed)
    base = base_point(study)
    x = base + np.random.default_rng(seed).uniform(-0.2, 0.2, (members, len(base)))
    values = {
        name: np.broadcast_to(column, members + 1)
        for name, column in evaluate(candidates(study, np.vstack([x, base])), study.travel, figures.base).values.items()
    }
    found = {name: column[:members].copy() for name, column in values.items()}
    own = {name: float(column[members]) for name, column in values.items()}
    return replace(snapshot, x=x, objectives=objective_values(study.goals, found)), SavedFigures(found, own)


def twice_saved(path: Path, members: int = 6) -> Path:
    """A folder with two saves: that of seed 1, and after it that of seed 2 with one member more."""
    with open_for_search(path, front_study()) as folder:
        folder.save(*true_state(members, 1))
        folder.save(*true_state(members + 1, 2))
    return path


def contents(path: Path) -> dict[str, bytes]:
    """Every file of a folder by its name."""
    return {entry.name: entry.read_bytes() for entry in sorted(path.iterdir()) if entry.is_file()}


def put(path: Path, files: dict[str, bytes]) -> Path:
    """A folder that holds these files and nothing else."""
    path.mkdir(exist_ok=True)
    for entry in path.iterdir():
        if entry.name not in files:
            entry.unlink()
    for name, data in files.items():
        (path / name).write_bytes(data)
    return path


def refusing(
    call: Callable[..., object], healthy: int, error: int = errno.ENOSPC, once: bool = False
) -> Callable[..., object]:
    """A system call that works so many times and then refuses, once or for good."""
    calls = 0

    def wrapped(*args: object, **kwargs: object) -> object:
        nonlocal calls
        calls += 1
        if calls == healthy + 1 or (calls > healthy and not once):
            raise OSError(error, os.strerror(error))
        return call(*args, **kwargs)

    return wrapped
