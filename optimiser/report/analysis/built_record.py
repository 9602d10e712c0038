"""What the errors of its build do to the figures that an axle's goals ask for."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from objectives.catalogue.catalogue import describe
from objectives.catalogue.tolerance_entries import Form, split_form
from objectives.goals import Goal, held, left
from objectives.survey import Survey
from objectives.tolerance.build import Build, stated
from objectives.tolerance.linear import Linear, linearise
from objectives.tolerance.toleranced import form_of, governing, sampled

TOLD = 3
"""Contributors that are named."""


@dataclass(frozen=True)
class Contributor:
    """One error of the build: its name, what the figure changes by [unit/mm], and at its tolerance [unit]."""

    name: str
    slope: float
    change: float


@dataclass(frozen=True)
class BuiltRow:
    """One figure that a goal asks for, of the axle as drawn and as built; None where it is null."""

    figure: str
    unit: str
    nominal: float | None
    rss: float | None
    worst: float | None
    p01: float | None
    p99: float | None
    met: float | None
    """Share of built axles that hold the figure's held goals; None where it has none."""
    contributors: tuple[Contributor, ...]
    """The largest first."""


def built_rows(surveyed: Survey, goals: Sequence[Goal]) -> tuple[BuiltRow, ...]:
    """A row for each figure that a goal asks for, itself or a form of it; none where nothing is said of a build.

    Surveyed is one axle, without batch axes.
    """
    build = surveyed.fittings.build
    if build is None:
        return ()
    bases = dict.fromkeys(_base(goal.figure) for goal in goals)
    return tuple(_row(linearise(surveyed, name, build), name, build, goals) for name in bases)


def _base(figure: str) -> str:
    built = split_form(figure)
    return built[0] if built else figure


def _row(linear: Linear, name: str, build: Build, goals: Sequence[Goal]) -> BuiltRow:
    forms = {form: _number(float(form_of(form, linear, build))) for form in Form}
    return BuiltRow(
        figure=name,
        unit=describe(name).unit,
        nominal=_number(float(linear.reading.value)),
        rss=forms[Form.RSS],
        worst=forms[Form.WORST],
        p01=forms[Form.P01],
        p99=forms[Form.P99],
        met=_met(linear, name, build, goals),
        contributors=_contributors(linear),
    )


def _met(linear: Linear, name: str, build: Build, goals: Sequence[Goal]) -> float | None:
    asked = [goal for goal in held(goals) if goal.figure in (name, f"{name}.{Form.P99}", f"{name}.{Form.P01}")]
    values = sampled(linear, build)
    if not asked or not np.isfinite(values).all():
        return None
    return float(np.mean(np.all([left(goal, values) >= 0.0 for goal in asked], axis=0)))


def _contributors(linear: Linear) -> tuple[Contributor, ...]:
    slopes = governing(linear)
    changes = slopes * stated(linear.errors)
    order = np.argsort(-np.abs(np.nan_to_num(changes)), kind="stable")[:TOLD]
    return tuple(
        Contributor(linear.errors[place].name, float(slopes[place]), float(changes[place]))
        for place in order
        if changes[place] and np.isfinite(changes[place])
    )


def _number(value: float) -> float | None:
    return value if np.isfinite(value) else None
