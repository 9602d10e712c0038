"""The one root of all exceptions that a user can mend. Light to import: the command line reads it first."""


class RockwrightError(Exception):
    """Something that the user can mend: its text names the place and the next step.

    The command line prints the text and ends with `exit_code`: 2 for faulty input; a subclass says 1 where the
    honest answer is no.
    """

    exit_code = 2


class UnreadableFileError(RockwrightError):
    """A file that is not there, is a folder, or may not be read."""
