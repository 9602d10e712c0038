"""The goals of a file: each a figure of its axle, and what is asked of it."""

import math
from collections.abc import Mapping

from geometry.axle import Axle
from objectives.catalogue.catalogue import UnknownFigureError, describe, figure_names
from objectives.catalogue.figure import Figure
from objectives.catalogue.tolerance_entries import Form, split_form
from objectives.fittings.fitted import Fittings
from objectives.goals import Band, Best, Goal, Limit, Miss
from objectives.readings import FigureStatus
from optimiser.study.build_keys import BUILDS
from optimiser.study.envelope_keys import ENVELOPES
from optimiser.study.faults import shown, suggestion
from optimiser.study.fitting_keys import FITTINGS
from optimiser.study.joint_keys import JOINTS
from optimiser.study.reading import Reading
from optimiser.study.walk import Quantity, Record, Word

WAYS = "aim + within, aim + scale, at_most, at_least, at_least + at_most, or the word minimise or maximise"
"""The ways to write a goal."""

NUMBERS = ("aim", "within", "scale", "at_most", "at_least")


def read_goals(reading: Reading, axle: Axle, fittings: Fittings) -> tuple[Goal, ...]:
    """The goals of a file in its order; those with a fault are noted and left out."""
    record = reading.record("goals")
    askable = dict.fromkeys(name for name in figure_names(axle, fittings) if not _never_there(axle, fittings, name))
    if fittings.build is not None:
        askable |= dict.fromkeys(f"{name}.{form}" for name in askable for form in Form)
    goals = []
    for figure in record.places if record else ():
        if not _known(reading, axle, fittings, figure, askable):
            continue
        goal = _goal(reading, figure)
        if goal is not None:
            goals.append(goal)
    return tuple(goals)


def _known(reading: Reading, axle: Axle, fittings: Fittings, figure: str, askable: Mapping[str, None]) -> bool:
    """Whether the axle has this figure with a value; notes the fault where it has not."""
    owner = figure.partition(".")[0]
    if owner in reading.keys("axle.elements") and owner not in axle.elements:
        return False
    reason = _never_there(axle, fittings, figure)
    if reason and FigureStatus.NOTHING_FITTED.word in reason and _unsure_what_is_fitted(reading):
        return False
    if reason:
        hint = "delete the goal, or ask for another figure"
        reading.key_fault(f"goals.{figure}", f"the figure {figure}", f"a figure that this axle has: {reason}", hint)
        return False
    if figure not in askable:
        alike = [name for name in askable if name.count(".") == figure.count(".")]
        hint = suggestion(figure, alike or askable, "`rockwright figures` lists them all")
        reading.key_fault(f"goals.{figure}", f"the unknown figure {shown(figure)}", "a figure of this axle", hint)
        return False
    return True


def _unsure_what_is_fitted(reading: Reading) -> bool:
    """Whether a fault found so far lies in springs, dampers or loads, so that one of them may be missing for it."""
    sections = (*FITTINGS, *BUILDS, *ENVELOPES, *JOINTS)
    return any(fault.path.partition(".")[0] in sections for fault in reading.faults.faults)


def _never_there(axle: Axle, fittings: Fittings, name: str) -> str | None:
    """Why a figure of the catalogue has no value on this axle, whatever its numbers; None where it may have one."""
    try:
        figure = describe(name)
    except UnknownFigureError:
        return None
    subject = figure.subject_of(name) or ""
    if (figure.of_element and subject not in axle.elements) or (figure.of_link and subject not in axle.links):
        return None
    if figure.needs_rack and not axle.has_rack:
        return "no link moves with a rack"
    if figure.of_carrier and axle.rod.carried_by != (subject,):
        return f"{subject} does not carry the rod alone, so nothing bends it"
    why = _void(figure, axle, fittings, subject)
    reason = {
        FigureStatus.NOT_DECOUPLED: f"{subject} is a corner strut, which serves no mode",
        FigureStatus.ROLL_ONLY: f"{figure.word} is of struts that serve roll only",
        FigureStatus.OF_STRUTS: f"{subject} is a bar, and {figure.word} is of struts",
        FigureStatus.OF_BARS: f"{subject} is a strut, and {figure.word} is of bars",
        FigureStatus.NOTHING_FITTED: _not_there(name, fittings),
    }
    return None if why is FigureStatus.OK else f"{reason.get(why, 'it is null')} (status {why.word})"


def _not_there(name: str, fittings: Fittings) -> str:
    """What is not said of the axle, so that it has not a figure."""
    if split_form(name) and fittings.build is None:
        return "no build says how exactly it is built"
    if name.partition(".")[0] in ("clearance", "envelope", "inboard"):
        return "no envelope says what room it has, with the bodies, margins or bounds that it tells of"
    if name.startswith("joint."):
        return "joints says nothing of this joint, or states no limit of it"
    return "no spring, damper or load that it tells of is there"


def _void(figure: Figure, axle: Axle, fittings: Fittings, subject: str) -> FigureStatus:
    if figure.of_element:
        return figure.void_for(axle, subject, fittings)
    return FigureStatus.OK if figure.fitted(fittings, subject) else FigureStatus.NOTHING_FITTED


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
