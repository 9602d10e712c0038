"""Durations as a user types them: `30s`, `10m`, `1h30m`, or plain seconds."""

import argparse
import re

UNITS = {"h": 3600.0, "m": 60.0, "s": 1.0}
"""Seconds of each unit."""
LONGEST = 366 * 24 * 3600.0
"""No search is asked to run longer than this [s]."""

_FORM = re.compile(r"(?:(?P<h>\d+(?:\.\d+)?)h)?(?:(?P<m>\d+(?:\.\d+)?)m)?(?:(?P<s>\d+(?:\.\d+)?)s?)?", re.ASCII)


def duration(text: str) -> float:
    """Seconds of a duration, above 0 and at most a year. Raises ArgumentTypeError, as argparse asks for it."""
    found = _FORM.fullmatch(text.strip().lower())
    parts = {unit: amount for unit, amount in found.groupdict().items() if amount} if found else {}
    seconds = sum(UNITS[unit] * float(amount) for unit, amount in parts.items())
    if not 0.0 < seconds <= LONGEST:
        raise argparse.ArgumentTypeError(f"{text!r} is no duration; write such as 30s, 10m, 1h30m, or seconds")
    return seconds
