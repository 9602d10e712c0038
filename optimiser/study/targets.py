"""The goals of a file: each a figure of its axle, and what is asked of it."""

import math
from collections.abc import Mapping

from geometry.axle import Axle
from objectives.catalogue.catalogue import FIGURES, figure_names
from objectives.goals import Band, Best, Goal, Limit, Miss
from objectives.readings import FigureStatus
from optimiser.study.faults import shown, suggestion
from optimiser.study.reading import Reading
from optimiser.study.walk import Quantity, Record, Word

WAYS = "aim + within, aim + scale, at_most, at_least, at_least + at_most, or the word minimise or maximise"
"""The ways to write a goal."""

NUMBERS = ("aim", "within", "scale", "at_most", "at_least")


def read_goals(reading: Reading, axle: Axle) -> tuple[Goal, ...]:
    """The goals of a file in its order; those with a fault are noted and left out."""
    record = reading.record("goals")
    askable = dict.fromkeys(name for name in figure_names(axle) if not _never_there(axle, *name.split(".", 1)))
    goals = []
    for figure in record.places if record else ():
        if not _known(reading, axle, figure, askable):
            continue
        goal = _goal(reading, figure)
        if goal is not None:
            goals.append(goal)
    return tuple(goals)


def _known(reading: Reading, axle: Axle, figure: str, askable: Mapping[str, None]) -> bool:
    """Whether the axle has this figure with a value; notes the fault where it has not."""
    owner, _, kind = figure.partition(".")
    if owner in reading.keys("axle.elements") and owner not in axle.elements:
        return False
    reason = _never_there(axle, owner, kind)
    if reason:
        hint = "delete the goal, or ask for another figure"
        reading.key_fault(f"goals.{figure}", f"the figure {figure}", f"a figure that this axle has: {reason}", hint)
        return False
    if figure not in askable:
        hint = suggestion(figure, askable, "`rockwright figures` lists them all")
        reading.key_fault(f"goals.{figure}", f"the unknown figure {shown(figure)}", "a figure of this axle", hint)
        return False
    return True


def _never_there(axle: Axle, owner: str, kind: str) -> str | None:
    """Why a figure of the catalogue has no value on this axle, whatever its numbers; None where it may have one."""
    figure = next((one for one in FIGURES if one.name == f"E.{kind}"), None)
    if figure is None or owner not in axle.elements:
        return None
    if figure.needs_rack and not axle.has_rack:
        return "no link moves with a rack"
    why = figure.void_for(axle, owner)
    reason = {
        FigureStatus.NOT_DECOUPLED: f"{owner} is a corner strut, which serves no mode",
        FigureStatus.ROLL_ONLY: f"{kind} is of struts that serve roll only",
    }
    return None if why is FigureStatus.OK else f"{reason.get(why, 'it is null')} (status {why.word})"


def _goal(reading: Reading, figure: str) -> Goal | None:
    """One goal; None where it has a fault, which is noted here or has been."""
    path = f"goals.{figure}"
    record = reading.record("goals")
    value = record.entries.get(figure) if record else None
    if isinstance(value, Word):
        return Best(figure, "minimise" if value.text == "minimise" else "maximise")
    if not isinstance(value, Record):
        return None
    written = tuple(key for key in NUMBERS if key in value.places)
    number = {key: one.number for key, one in value.entries.items() if isinstance(one, Quantity)}
    if set(written) not in _COMBINATIONS:
        found = " + ".join(written) or "no number"
        reading.fault(path, found, WAYS, "write the goal in one of these ways")
        return None
    if set(number) != set(written):
        return None
    if number.get("at_least", -math.inf) > number.get("at_most", math.inf):
        found = f"at_least {number['at_least']:g} above at_most {number['at_most']:g}"
        reading.fault(path, found, "at_least no higher than at_most", "swap or correct the two")
        return None
    return _held_or_missed(figure, number)


def _held_or_missed(figure: str, number: dict[str, float]) -> Goal:
    if "within" in number:
        return Band(figure, number["aim"], number["within"])
    if "scale" in number:
        return Miss(figure, number["aim"], number["scale"])
    return Limit(figure, number.get("at_most"), number.get("at_least"))


_COMBINATIONS = ({"aim", "within"}, {"aim", "scale"}, {"at_most"}, {"at_least"}, {"at_most", "at_least"})
