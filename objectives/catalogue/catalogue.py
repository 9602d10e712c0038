"""The catalogue of figures: every measured figure once, with its unit, definition and source.

It feeds the goals of a study, the faults for unknown names, table headings and the `figures` command.
"""

from collections.abc import Iterable, Mapping
from difflib import get_close_matches

from geometry.axle import Axle
from objectives.catalogue.axle_entries import AXLE_FIGURES
from objectives.catalogue.bar_entries import BAR_FIGURES
from objectives.catalogue.damper_entries import DAMPER_FIGURES
from objectives.catalogue.envelope_entries import ENVELOPE_FIGURES
from objectives.catalogue.figure import ELEMENT, JOINT, LINK, PAIR, Figure
from objectives.catalogue.joint_entries import JOINT_FIGURES
from objectives.catalogue.load_entries import LOAD_FIGURES
from objectives.catalogue.rate_entries import RATE_FIGURES
from objectives.catalogue.spring_entries import SPRING_FIGURES
from objectives.catalogue.strut_entries import STRUT_FIGURES
from objectives.catalogue.tolerance_entries import Form, derived, split_form
from objectives.catalogue.wheel_entries import WHEEL_FIGURES
from objectives.envelope.room import pair_names
from objectives.fittings.fitted import NOTHING_FITTED, Fittings


class UnknownFigureError(Exception):
    """A name that no figure has; `suggestion` is the nearest one that a figure has, or None."""

    def __init__(self, name: str, suggestion: str | None) -> None:
        nearest = f"; the nearest name is {suggestion}" if suggestion else ""
        super().__init__(f"there is no figure {name}{nearest}")
        self.name, self.suggestion = name, suggestion


FIGURES: tuple[Figure, ...] = (
    *STRUT_FIGURES,
    *BAR_FIGURES,
    *SPRING_FIGURES,
    *DAMPER_FIGURES,
    *WHEEL_FIGURES,
    *AXLE_FIGURES,
    *RATE_FIGURES,
    *LOAD_FIGURES,
    *ENVELOPE_FIGURES,
    *JOINT_FIGURES,
)
BY_NAME: Mapping[str, Figure] = {figure.name: figure for figure in FIGURES}
AXLE_PARTS = frozenset(figure.name.split(".")[0] for figure in FIGURES if not figure.of_element) | {"link"}
"""First words of figures that belong to no element (`rocker`, `rod`, `axle`, `wheel`, ...): none may be called so."""


def figure_names(axle: Axle, fittings: Fittings = NOTHING_FITTED) -> tuple[str, ...]:
    """Every figure that an axle has, in the catalogue's order: of elements, of the axle, of links, of joints."""
    has = [figure for figure in FIGURES if axle.has_rack or not figure.needs_rack]
    of_elements = [
        f"{element}.{figure.word}"
        for element in axle.elements
        for figure in has
        if figure.of_element and figure.is_of(axle, element, fittings)
    ]
    of_axle = [f for f in has if not (f.of_element or f.of_link or f.of_pair or f.of_joint)]
    alone = [figure.name for figure in of_axle if figure.fitted(fittings, "")]
    of_links = [
        f"link.{link}.{figure.word}" for link in axle.links for figure in has if figure.is_of_link(axle, link, fittings)
    ]
    of_pairs = [f"clearance.{pair}" for pair in (pair_names(axle, fittings.envelope) if fittings.envelope else ())]
    of_joints = [
        f"joint.{joint}.{figure.word}"
        for joint in fittings.joints
        for figure in has
        if figure.of_joint and figure.fitted(fittings, joint)
    ]
    return (*of_elements, *alone, *of_links, *of_pairs, *of_joints)


def asked_names(axle: Axle, fittings: Fittings, asked: Iterable[str]) -> tuple[str, ...]:
    """Every figure that an axle has, then the figures of the built axle among those `asked` for."""
    return (*figure_names(axle, fittings), *dict.fromkeys(name for name in asked if split_form(name)))


def describe(name: str) -> Figure:
    """The catalogue's entry for a figure's name (`heave.motion_ratio`) or pattern (`E.motion_ratio`), or that of a
    figure of the built axle (`heave.motion_ratio.p99`).

    Raises UnknownFigureError for a name that no entry fits.
    """
    built = split_form(name)
    if built is not None:
        return derived(_base(*built), built[1])
    if name in BY_NAME:
        return BY_NAME[name]
    subject, _, word = name.rpartition(".")
    if subject == "clearance":
        return BY_NAME[PAIR]
    if subject.startswith("link.") and LINK + word in BY_NAME:
        return BY_NAME[LINK + word]
    if subject.startswith("joint.") and JOINT + word in BY_NAME:
        return BY_NAME[JOINT + word]
    if subject and subject not in AXLE_PARTS and ELEMENT + word in BY_NAME:
        return BY_NAME[ELEMENT + word]
    raise UnknownFigureError(name, next(iter(get_close_matches(name, _known(subject), 1)), None))


def _known(subject: str) -> list[str]:
    """Names that may be meant where `subject` stands before the last word."""
    head = subject if subject and subject not in AXLE_PARTS else "E"
    known = [f"{head}.{figure.word}" if figure.of_element else figure.name for figure in FIGURES]
    whole = "." in subject and _is_figure(subject)
    return [f"{subject}.{form}" for form in Form] if whole else known


def _is_figure(name: str) -> bool:
    try:
        return bool(describe(name))
    except UnknownFigureError:
        return False


def _base(base: str, form: Form) -> Figure:
    """The entry of the figure that a figure of the built axle is of."""
    try:
        return describe(base)
    except UnknownFigureError as error:
        name, nearest = f"{base}.{form}", error.suggestion and f"{error.suggestion}.{form}"
        raise UnknownFigureError(name, nearest) from error
