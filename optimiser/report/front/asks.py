"""What a goal asks, in words."""

from collections.abc import Mapping


def asked(asks: Mapping[str, float | str]) -> str:
    """`1.1 +- 0.01`, `at least 380, at most 450`."""
    if "aim" in asks:
        return f"{asks['aim']:g} +- {asks['within']:g}"
    return ", ".join(f"{key.replace('_', ' ')} {value:g}" for key, value in asks.items())
