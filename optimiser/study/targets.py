"""The goals of a file: each a figure of its axle, and what is asked of it."""

import math

from geometry.axle import Axle, CornerStrut, CrossStrut, Mode
from objectives.catalogue import figure_names
from objectives.goals import Band, Best, Goal, Limit, Miss
from optimiser.study.faults import shown, suggestion
from optimiser.study.reading import Reading
from optimiser.study.walk import Quantity, Record, Word

WAYS = "aim + within, aim + scale, at_most, at_least, at_least + at_most, or the word minimise or maximise"
"""The ways to write a goal."""

MODE_FIGURES = frozenset({"crosstalk", "coupling", "ratio_drift", "left_right_split"})
"""Figures of elements that compare the mode an element serves with the other one."""

ROLL_FIGURES = frozenset({"left_right_split"})
"""Figures of elements that serve roll."""

STEER_FIGURES = frozenset({"steer_even", "steer_odd"})
"""Figures of elements over the rack's travel."""

NUMBERS = ("aim", "within", "scale", "at_most", "at_least")


def read_goals(reading: Reading, axle: Axle) -> tuple[Goal, ...]:
    """The goals of a file in its order; those with a fault are noted and left out."""
    record = reading.record("goals")
    known = figure_names(axle)
    goals = []
    for figure in record.places if record else ():
        if not _known(reading, axle, figure, known):
            continue
        goal = _goal(reading, figure)
        if goal is not None:
            goals.append(goal)
    return tuple(goals)


def _known(reading: Reading, axle: Axle, figure: str, known: tuple[str, ...]) -> bool:
    """Whether the axle has this figure with a value; notes the fault where it has not."""
    owner, _, kind = figure.partition(".")
    if owner in reading.keys("axle.elements") and owner not in axle.elements:
        return False
    reason = _never_there(axle, owner, kind)
    if reason:
        hint = "delete the goal, or ask for another figure"
        reading.fault(f"goals.{figure}", f"the figure {figure}", f"a figure that this axle has: {reason}", hint)
        return False
    if figure not in known:
        hint = suggestion(figure, known, "`rockwright figures` lists them all")
        reading.fault(f"goals.{figure}", f"the unknown figure {shown(figure)}", "a figure of this axle", hint)
        return False
    return True


def _never_there(axle: Axle, owner: str, kind: str) -> str | None:
    """Why a figure of the catalogue has no value on this axle, whatever its numbers; None where it may have one."""
    element = axle.elements.get(owner)
    if isinstance(element, CornerStrut) and kind in MODE_FIGURES:
        return f"{owner} is a corner strut, which serves no mode (status not_decoupled)"
    if isinstance(element, CrossStrut) and element.serves is not Mode.ROLL and kind in ROLL_FIGURES:
        return f"{owner} serves {element.serves}, and {kind} is of roll struts only (status roll_only)"
    if element is not None and kind in STEER_FIGURES and not axle.has_rack:
        return "no link moves with a rack"
    return None


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
