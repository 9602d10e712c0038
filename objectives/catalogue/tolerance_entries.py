"""Figures of the built axle: of any figure F, how far the errors of its build carry it."""

from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum

from objectives.catalogue.figure import OWN, Figure
from objectives.catalogue.needs import build

STACKS = "sum of abs(S t) and root of the sum of (S t)^2: usual tolerance stacks, common practice, no source"


class Form(StrEnum):
    """What is asked of a figure of the built axle: the last word of its name, as in `roll.crosstalk.p99`."""

    SENSITIVITY = "sensitivity"
    RSS = "rss"
    WORST = "worst"
    P99 = "p99"
    P01 = "p01"


def split_form(name: str) -> tuple[str, Form] | None:
    """The figure and the form in the name of a figure of the built axle; None for any other name."""
    base, _, word = name.rpartition(".")
    is_form = word in list(Form) and "." in base and base.rpartition(".")[2] not in list(Form)
    return (base, Form(word)) if is_form else None


def derived(figure: Figure, form: Form) -> Figure:
    """The entry of a form of `figure`. Its `measure` is that of the figure itself."""
    definition, source = _DEFINITIONS[form]
    return replace(
        figure,
        name=f"{figure.name}.{form}",
        unit=f"{figure.unit}/mm" if form is Form.SENSITIVITY else figure.unit,
        decimals=figure.decimals + 1 if form is Form.SENSITIVITY else figure.decimals,
        definition=f"{definition} F is {figure.name}.",
        source=source,
        fitted=lambda fittings, subject: figure.fitted(fittings, subject) and build(fittings, subject),
        form=form.value,
    )


_DEFINITIONS: Mapping[Form, tuple[str, str]] = {
    Form.SENSITIVITY: ("Largest abs(dF/de) over the errors e of the build.", OWN),
    Form.RSS: (
        "Root of the sum of (dF/de t)^2 over the errors e of the build, each with its tolerance t; where F is the"
        " largest of many numbers, by how far the largest of number + rss lies beyond F.",
        STACKS,
    ),
    Form.WORST: (
        "Sum of abs(dF/de) t over the errors e of the build, each at its tolerance t; where F is the largest of many"
        " numbers, by how far the largest of number + sum lies beyond F.",
        STACKS,
    ),
    Form.P99: (
        "What 99 of 100 built axles do not exceed. The numbers that F is made of are linear in the errors of the build,"
        " normal with the build's spread, each side's its own; the same 1024 axles for every candidate.",
        OWN,
    ),
    Form.P01: (
        "What 99 of 100 built axles do not fall short of; else as p99.",
        OWN,
    ),
}
