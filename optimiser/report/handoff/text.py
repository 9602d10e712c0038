"""A hand-off document as YAML text: in its own order, numbers at full precision, lists of numbers on one line."""

from collections.abc import Mapping, Sequence

import yaml

from optimiser.study.scalars import NUMBER

WIDTH = 116
"""Columns after which a list or a text goes on in the next line."""

HEADING = (
    "# A rocker geometry with all that follows from it. `rockwright verify FILE` recomputes every number from the\n"
    "# points under `axle` and from springs, dampers and loads, where there are any; `rockwright analyse FILE` shows\n"
    "# it. Lengths in mm, angles in deg, forces in N. x forward, y left, z up, origin on the ground under the axle's\n"
    "# middle at static ride height. Only the left side is under `axle`.\n"
    "# The seals at the end name an entry that was edited by accident; they are no signature.\n"
)


def as_text(document: Mapping[str, object]) -> str:
    """The file's text. Reading it back gives the same document, number for number."""
    return HEADING + yaml.dump(
        document, Dumper=_Dumper, sort_keys=False, width=WIDTH, allow_unicode=True, default_flow_style=False
    )


class _Dumper(yaml.SafeDumper):
    """Writes plain data only, never an alias; lists in one line; texts that look like numbers in quotes."""

    def ignore_aliases(self, _data: object) -> bool:
        return True


def _list(dumper: yaml.SafeDumper, value: Sequence[object]) -> yaml.Node:
    return dumper.represent_sequence("tag:yaml.org,2002:seq", value, flow_style=True)


def _text(dumper: yaml.SafeDumper, value: str) -> yaml.Node:
    """Quoted where some reader takes the plain text for a number: `1e3` is none in YAML 1.1, and one in YAML 1.2."""
    style = '"' if NUMBER.fullmatch(value) else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", value, style=style)


_Dumper.add_representer(list, _list)
_Dumper.add_representer(str, _text)
