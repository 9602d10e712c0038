"""A state of an axle in words."""

from collections.abc import Mapping

UNSEEN = 0.05
"""A travel below this is not told [mm]."""


def state_words(travel: Mapping[str, float]) -> str:
    """`heave +12.0, roll -4.0` of what moves, by its travel [mm]; `static` where nothing does."""
    told = [f"{name} {value:+.1f}" for name, value in travel.items() if abs(value) > UNSEEN]
    return ", ".join(told) or "static"
