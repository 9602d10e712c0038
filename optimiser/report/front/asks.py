"""What a goal asks, in words."""

from collections.abc import Mapping


def asked(asks: Mapping[str, float | str]) -> str:
    """`1.1 +- 0.01`, `at least 380, at most 450`."""
    if "aim" in asks:
        return f"{asks['aim']:g} +- {asks['within']:g}"
    return ", ".join(f"{key.replace('_', ' ')} {value:g}" for key, value in asks.items())


def room(asks: Mapping[str, float | str]) -> str:
    """Where the figure may lie, in short: `1.09 to 1.11`, `380 to 450`, `at least 55`."""
    if "aim" in asks:
        aim, within = float(asks["aim"]), float(asks["within"])
        return f"{aim - within:.10g} to {aim + within:.10g}"
    if "at_most" in asks and "at_least" in asks:
        return f"{asks['at_least']:g} to {asks['at_most']:g}"
    return asked(asks)
