"""Seals: a short digest of each entry of a hand-off file, so that an edited entry is named.

Recomputing shows that a figure is wrong, but not that a goal's target, a rod's free point or the study's name was
edited: nothing follows from them that could disagree. A seal shows that. It catches accident, not intent: whoever
changes an entry on purpose can change its seal as well.
"""

import hashlib
import json
from collections.abc import Mapping
from typing import TypeAlias

Tree: TypeAlias = "Mapping[str, object]"

EACH = ("axle", "springs", "dampers", "loads", "adjust", "figures", "goals", "origin", "travel")
"""Sections whose entries are sealed one by one."""
WHOLE = ("format", "name", "kind", "caution", "figure_status", "units", "eye_lengths")
"""Sections sealed as one."""
PARTS = ("tables", "adjustment", "right_side")
"""Sections whose parts are sealed as one each."""
DIGITS = 12
"""Hexadecimal digits of a seal: one chance in 10^14 that an edit keeps it."""


def seals(document: Tree) -> dict[str, str]:
    """The seal of each entry of a hand-off document, by the entry's path."""
    entries: dict[str, object] = {name: document[name] for name in WHOLE if name in document}
    for name in PARTS:
        entries |= {f"{name}.{key}": value for key, value in _branch(document.get(name)).items()}
    for name in EACH:
        entries |= _leaves(name, document[name]) if name in document else {}
    return {path: _digest(value) for path, value in sorted(entries.items())}


def _leaves(path: str, value: object) -> dict[str, object]:
    """Every number, text, truth value and list below a path."""
    if not isinstance(value, Mapping):
        return {path: value}
    found: dict[str, object] = {}
    for key, below in value.items():
        found |= _leaves(f"{path}.{key}", below)
    return found


def _branch(value: object) -> Tree:
    return value if isinstance(value, Mapping) else {}


def _digest(value: object) -> str:
    text = json.dumps(_plain(value), sort_keys=True)
    return "sha256-" + hashlib.sha256(text.encode()).hexdigest()[:DIGITS]


def _plain(value: object) -> object:
    """A value whose text does not depend on how a number was written: 3 and 3.0 are one."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, int | float):
        return repr(float(value) + 0.0)
    if isinstance(value, Mapping):
        return {str(key): _plain(below) for key, below in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return str(value)
