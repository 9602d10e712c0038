"""What a scalar means: numbers as an engineer writes them, and the look-alikes that are faults."""

import math
import re
from dataclasses import dataclass

from optimiser.study.nodes import Leaf, describe

NUMBER = re.compile(r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?")
WHOLE = re.compile(r"[-+]?\d+")
MOST_DIGITS = 18
"""Digits of the longest integer that is read: 64 bits hold every such integer."""

SWITCHES = frozenset({"yes", "no", "on", "off", "true", "false"})
"""Words that some YAML readers take for a truth value, in any case."""

NULLS = frozenset({"", "~", "null"})

_LOOK_ALIKES = (
    (r"[-+]?\.?(inf|infinity|nan)", "a finite number belongs here"),
    (r"[-+]?\d+(:\d+)+(\.\d*)?", "write the number itself: some YAML readers count such a text in sixties"),
    (r"[-+]?[\d_]*\d_[\d_.]*", "write the digits without underscores"),
    (r"0[xob][\da-f]+", "write the number in decimal digits"),
    (r"[-+]?\d+,\d+", "write a decimal point, not a comma"),
    (r"[-+]?[\d.]+(e[-+]?\d+)?\s*(mm|deg|°|n|%|kg|s|n/mm)", "write the number alone: its unit is fixed"),
)
"""Texts that stand for a number somewhere, and what to write instead; matched in any case."""


@dataclass(frozen=True)
class NoNumber:
    """Why a scalar is no number: what was found, and what to write instead."""

    found: str
    hint: str


def read_number(leaf: Leaf) -> float | int | NoNumber:
    """The number that a scalar writes: an int where it has neither point nor exponent.

    `1e-3`, `1E3`, `.5`, `5.` and `+1` are numbers. Quoted numbers, texts, truth values, nothing, infinities, numbers
    beyond floating point, integers over 18 digits or with leading zeros (octal to some readers) are not.
    """
    hint = _refusal(leaf)
    if hint:
        return NoNumber(describe(leaf), hint)
    return int(leaf.text) if WHOLE.fullmatch(leaf.text) else float(leaf.text)


def is_null(leaf: Leaf) -> bool:
    """Whether the scalar is YAML's nothing."""
    return not leaf.quoted and leaf.text.lower() in NULLS


def is_switch(leaf: Leaf) -> bool:
    """Whether some YAML reader takes the scalar for a truth value."""
    return not leaf.quoted and leaf.text.lower() in SWITCHES


def is_long_integer(leaf: Leaf) -> bool:
    """Whether the scalar is written as an integer of more digits than are read."""
    return not leaf.quoted and len(leaf.text) > MOST_DIGITS and _digits(leaf.text) > MOST_DIGITS


def is_numeric(leaf: Leaf) -> bool:
    """Whether the scalar is written as a number, of whatever size."""
    return not leaf.quoted and NUMBER.fullmatch(leaf.text) is not None


def _refusal(leaf: Leaf) -> str:
    """What to write instead of a scalar that is no number; empty for one that is."""
    text = leaf.text
    hint = ""
    if leaf.quoted:
        hint = "leave the quotes out" if NUMBER.fullmatch(text) else "write a number"
    elif is_null(leaf):
        hint = "write a number, or leave the key out where it may be missing"
    elif not NUMBER.fullmatch(text):
        hint = _hint(text)
    elif re.match(r"[-+]?0\d", text):
        hint = "leave the leading zeros out: some YAML readers take them for octal"
    elif is_long_integer(leaf):
        hint = f"write an integer of at most {MOST_DIGITS} digits"
    elif not math.isfinite(float(text)):
        hint = "write a finite number"
    return hint


def _hint(text: str) -> str:
    if len(text) > 100:
        return "write a number"
    hints = (hint for pattern, hint in _LOOK_ALIKES if re.fullmatch(pattern, text, re.IGNORECASE))
    return next(hints, "write a number, like 12.5 or 1e-3")


def _digits(text: str) -> int:
    """Digits of an integer; 0 for what is none."""
    return len(text.lstrip("+-")) if WHOLE.fullmatch(text) else 0
