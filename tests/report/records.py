"""Invented states of a search for the tests of results folders and fronts: numbers from a seed, no search is run."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from objectives.catalogue.catalogue import figure_names
from objectives.goals import held, objective_values, objectives
from optimiser.report.results.folder import SavedFigures, open_for_search
from optimiser.search.snapshot import GrowthPoint, Snapshot
from optimiser.study.read import read_study
from optimiser.study.study import Study

ROOT = Path(__file__).parents[2]


@cache
def front_study() -> Study:
    """The shipped front study."""
    return read_study(ROOT / "configs" / "front.yaml")


def record(members: int, seed: int = 1, nulls: bool = False) -> tuple[Snapshot, SavedFigures]:
    """A state with so many members, of numbers without meaning; with `nulls`, one figure is null throughout."""
    study, rng = front_study(), np.random.default_rng(seed)
    names = figure_names(study.axle)
    low = np.array([variable.low for variable in study.variables])
    high = np.array([variable.high for variable in study.variables])
    figures = {name: rng.normal(50.0, 20.0, members) for name in names}
    figures["heave.motion_ratio"] = rng.uniform(1.09, 1.11, members)
    figures["roll.motion_ratio"] = rng.uniform(0.99, 1.01, members)
    figures["roll.crosstalk"] = rng.uniform(0.0, 1.0, members)
    figures["roll.left_right_split"] = rng.uniform(0.0, 1.5, members)
    figures["rocker.transmission_min"] = rng.uniform(55.0, 70.0, members)
    figures["heave.length_static"] = rng.uniform(380.0, 450.0, members)
    figures["roll.length_static"] = rng.uniform(350.0, 420.0, members)
    if nulls:
        figures["heave.left_right_split"] = np.full(members, np.nan)
    base = {name: float(rng.normal(50.0, 20.0)) for name in names} | {"heave.left_right_split": np.nan}
    wishes = objective_values(study.goals, figures)
    growth = tuple(GrowthPoint(1000 * k, 0.1 * k, 10 * k, min(k, members), k / 7.0, 3 * k) for k in range(1, 9))
    snapshot = Snapshot(
        ids=np.arange(3, 3 + members) if members else np.empty(0, dtype=np.int64),
        x=rng.uniform(low, high, (members, len(low))),
        objectives=wishes,
        population=rng.uniform(low, high, (20, len(low))),
        evaluations=8000,
        seconds=0.8 + 1e-17 + rng.random(),
        next_id=3 + members,
        growth=growth if members else (),
        reference=rng.random(len(objectives(study.goals))) if members else None,
        closest=None,
        closest_violation=0.0 if members else np.inf,
        margin=tuple(rng.random(len(held(study.goals))).tolist()) if members else (),
    )
    return snapshot, SavedFigures(figures, base)


def nothing_found() -> tuple[Snapshot, SavedFigures]:
    """A state without a member, and with a closest candidate that misses some goals."""
    snapshot, figures = record(0)
    closest, found = record(1, seed=5)
    missed = {name: float(column[0]) for name, column in found.members.items()} | {
        "heave.motion_ratio": 1.075,
        "roll.crosstalk": 1.25,
    }
    return replace(snapshot, closest=closest.x[0], closest_violation=1.5), replace(figures, closest=missed)


def saved(path: Path, snapshot: Snapshot, figures: SavedFigures) -> Path:
    """A results folder that holds this state."""
    with open_for_search(path, front_study(), command="rockwright search configs/front.yaml") as folder:
        folder.save(snapshot, figures)
    return path
