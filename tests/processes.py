"""Processes of this machine, for the tests that kill some of them."""

import os
from collections.abc import Iterator


def children_of(parent: int) -> Iterator[int]:
    """The process numbers of a process's children."""
    for entry in os.listdir("/proc"):
        if entry.isdigit():
            try:
                with open(f"/proc/{entry}/stat") as stream:
                    if int(stream.read().rpartition(")")[2].split()[1]) == parent:
                        yield int(entry)
            except OSError:
                continue
