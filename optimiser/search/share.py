"""Shares of a search: campaigns side by side, such as the tasks of an array job, that know nothing of each other."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Share:
    """Which of several campaigns side by side this one is: `number`, from 0, of so many."""

    number: int = 0
    of: int = 1


ALONE = Share()
"""A campaign that has no others beside it."""
