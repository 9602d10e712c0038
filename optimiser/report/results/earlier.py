"""Earlier designs to start a search from: the members of a results folder, or the one geometry of a file."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from geometry.arrays import Array
from optimiser.errors import RockwrightError
from optimiser.report.results.loading import load
from optimiser.study.read import read_study
from optimiser.study.study import Study


class NoDesignError(RockwrightError):
    """A results folder that holds no design yet."""


@dataclass(frozen=True)
class Earlier:
    """Designs `x` (N, W), N > 0, of a `study` of W variables, as found in `source`."""

    source: Path
    study: Study
    x: Array


def read_earlier(path: Path) -> Earlier:
    """The members of a results folder, the closest candidate where it has none; the geometry of a hand-off or a study.

    Raises NoDesignError where a folder holds neither, and what reading a folder or a file raises.
    """
    if not path.is_dir():
        study = read_study(path)
        return Earlier(path, study, np.array([[variable.value for variable in study.variables]]))
    results = load(path)
    snapshot = results.snapshot
    if len(snapshot.ids):
        return Earlier(path, results.study(), snapshot.x)
    if snapshot.closest is None:
        raise NoDesignError(f"{path} holds no design yet: search on in it with --resume, or start from another one")
    return Earlier(path, results.study(), snapshot.closest[None])
