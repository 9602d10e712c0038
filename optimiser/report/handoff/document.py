"""The hand-off file: one geometry, complete, as anyone can read it and verify it again."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from geometry.arrays import Array, Codes, norm
from geometry.axle import AntiRollBar, Axle
from geometry.hardpoints import place
from geometry.motion import move
from geometry.status import Status
from geometry.travel import Travel, grid_states
from objectives.catalogue.catalogue import describe
from objectives.goals import Band, Best, Goal, Limit
from optimiser.errors import RockwrightError
from optimiser.report.analysis.adjust_document import adjustment_json
from optimiser.report.analysis.record import Analysis, Sweep, analyse
from optimiser.report.analysis.verdicts import Verdict
from optimiser.report.handoff.axle_tree import Tree, axle_tree, right_side_tree
from optimiser.report.handoff.caution import CAUTION
from optimiser.report.handoff.seals import seals
from optimiser.report.handoff.text import as_text
from optimiser.report.results.files import write_durably
from optimiser.study.adjust_tree import at_points
from optimiser.study.document import MOST_BYTES
from optimiser.study.fitting_tree import fitting_tree
from optimiser.study.keys import FORMAT, HAND_OFF
from optimiser.study.study import Study


class HandOffError(RockwrightError):
    """A hand-off file that cannot be written: it is there already, or it would be too long to be read again."""


@dataclass(frozen=True)
class Origin:
    """Where a geometry comes from."""

    study: str
    """Name of the study."""
    fingerprint: str
    """SHA-256 of the study's text."""
    seed: int
    member: str
    """The member's id in its results folder, or `base`."""
    written: str
    """Time of writing, ISO 8601."""
    versions: Mapping[str, str] = field(default_factory=dict)
    """Of the program and what it computes with."""


def handoff_document(study: Study, axle: Axle, origin: Origin) -> dict[str, Tree]:
    """The content of a hand-off file for one axle (no batch axes), measured over the study's travel.

    Lengths mm, angles deg, numbers at full precision, None where a figure is null. Keys in the file's order.
    """
    analysis = analyse(replace(study, axle=axle))
    document: dict[str, Tree] = {
        "format": FORMAT,
        "kind": HAND_OFF,
        "name": study.name,
        "caution": CAUTION,
        "axle": axle_tree(axle),
        **fitting_tree(replace(study.fittings, adjust=at_points(axle, study.fittings.adjust))),
        "travel": _travel(study.travel),
        "figures": dict(analysis.figures),
        "figure_status": dict(analysis.figure_status),
        "units": {name: describe(name).unit for name in analysis.figures},
        "goals": _goals(study.goals, analysis.verdicts),
        "tables": {name: _table(sweep) for name, sweep in analysis.sweeps.items()},
        "eye_lengths": _eye_lengths(axle, analysis),
        **({"adjustment": adjustment_json(analysis.adjustment)} if analysis.adjustment else {}),
        "right_side": right_side_tree(axle),
        "origin": {
            "study": origin.study,
            "fingerprint": origin.fingerprint,
            "seed": origin.seed,
            "member": origin.member,
            "written": origin.written,
            "versions": dict(origin.versions),
        },
    }
    return document | {"seals": dict(seals(document))}


def write_handoff(document: Mapping[str, Tree], path: Path, *, force: bool = False) -> None:
    """Write a hand-off file, whole or not at all.

    Raises HandOffError where `path` exists and `force` is not given, or where the file would be too long to be read.
    """
    refuse_existing(path, force=force)
    data = as_text(document).encode()
    if len(data) > MOST_BYTES:
        raise HandOffError(
            f"{path}: would hold {len(data) // 1024} KiB, and files over {MOST_BYTES // 1024} KiB are not read again; "
            f"choose a larger `travel.step` in the study"
        )
    write_durably(path.parent, path.name, data)


def refuse_existing(path: Path, *, force: bool) -> None:
    """Raise HandOffError where `path` exists and is not to be overwritten."""
    if path.exists() and not force:
        raise HandOffError(f"{path} is there already; name another file with -o, or overwrite it with --force")


def _travel(travel: Travel) -> dict[str, Tree]:
    rack: dict[str, Tree] = {} if travel.rack is None else {"rack": list(travel.rack)}
    spans: dict[str, Tree] = {"wheel": list(travel.wheel), "heave": list(travel.heave), "roll": list(travel.roll)}
    return spans | rack | {"step": travel.step}


def _goals(goals: tuple[Goal, ...], verdicts: tuple[Verdict, ...]) -> dict[str, Tree]:
    judged = {verdict.goal.figure: verdict for verdict in verdicts}
    return {goal.figure: _goal(goal, judged.get(goal.figure)) for goal in goals}


def _goal(goal: Goal, verdict: Verdict | None) -> Tree:
    """A goal as in a study; a held one with what became of it."""
    if isinstance(goal, Best):
        return goal.direction
    if isinstance(goal, Band):
        target: dict[str, Tree] = {"aim": goal.aim, "within": goal.within}
    elif isinstance(goal, Limit):
        limits = {"at_most": goal.at_most, "at_least": goal.at_least}
        target = {key: value for key, value in limits.items() if value is not None}
    else:
        target = {"aim": goal.aim, "scale": goal.scale}
    return target if verdict is None else target | {"met": verdict.met, "left": verdict.left}


def _table(sweep: Sweep) -> dict[str, Tree]:
    return {
        "travel": _numbers(sweep.travel),
        "rocker_angle": _numbers(sweep.rocker_angle),
        "status": list(sweep.status),
        "elements": {
            name: {"length": _numbers(element.length), "motion_ratio": _numbers(element.motion_ratio)}
            for name, element in sweep.elements.items()
        },
        **({"bars": {name: {"twist": _numbers(twist)} for name, twist in sweep.twist.items()}} if sweep.twist else {}),
    }


def _eye_lengths(axle: Axle, analysis: Analysis) -> dict[str, Tree]:
    """Eye to eye at static, shortest and longest over all states but the rack's [mm].

    A rod keeps its length, and so does a bar's drop link, which stands under the bar's name.
    """
    motion, points = move(axle, grid_states(analysis.travel)), place(axle)
    lengths: dict[str, Tree] = {"rod": _rigid(points.rod_length, motion.status)}
    for name, element in axle.elements.items():
        if isinstance(element, AntiRollBar):
            lengths[name] = _rigid(norm(points.pickups[element.pickup] - element.end), motion.squeeze(name).status)
    for name in axle.struts:
        lengths[name] = {key: analysis.figures[f"{name}.length_{key}"] for key in ("static", "min", "max")}
    return lengths


def _rigid(length: Array, status: Codes) -> Tree:
    """A length that does not change, told as long as every state is there."""
    static = float(length)
    kept = static if bool(np.all(status == Status.OK)) else None
    return {"static": static, "min": kept, "max": kept}


def _numbers(values: Array) -> list[Tree]:
    return [value + 0.0 if np.isfinite(value) else None for value in values.tolist()]
