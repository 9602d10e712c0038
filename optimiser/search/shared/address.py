"""The address of a campaign's storage, and how it is shown: without its secrets."""

import re
from urllib.parse import unquote

from optimiser.errors import RockwrightError

DIALECT = "postgresql+psycopg"
"""PostgreSQL by psycopg 3, which is what an address is read as that says PostgreSQL alone."""
SHORT = ("postgresql", "postgres")
HIDDEN = "***"
"""Stands for a secret."""
PASSWORD = re.compile(r"^((?:[^:/@]+://)?[^:/@]*:)(?!//)(.+)(?=@)", re.DOTALL)
"""What stands before a password after the user's name, and the password: all up to the last @."""
WORDED = re.compile(r"([?&](?:ssl)?password=)([^&]+)", re.IGNORECASE)
"""A password among the words after the question mark."""
PLACE = re.compile(r"(?:.*@)?[^/?@]*/[^/?]+", re.DOTALL)
"""What follows the scheme: a user, a host and a database, of which the last must be there."""


class AddressError(RockwrightError):
    """An address that leads to no storage."""


def checked(address: str) -> str:
    """An address as it is used. Raises AddressError where it is none of a PostgreSQL database."""
    scheme, separator, rest = address.partition("://")
    if not separator or scheme not in (DIALECT, *SHORT) or not PLACE.match(rest):
        raise AddressError(
            f"--storage {without_secrets(address)}: no address of a PostgreSQL database; write such as "
            f"{DIALECT}://USER@HOST/DATABASE (the password in ~/.pgpass or PGPASSWORD)"
        )
    return f"{DIALECT}://{rest}"


def without_secrets(address: str) -> str:
    """An address with every password hidden."""
    return WORDED.sub(rf"\1{HIDDEN}", PASSWORD.sub(rf"\1{HIDDEN}", address))


def secrets_of(address: str) -> tuple[str, ...]:
    """What an address hides, as it is written there and as it is meant."""
    found = [match.group(2) for pattern in (PASSWORD, WORDED) for match in pattern.finditer(address)]
    return tuple(dict.fromkeys(secret for one in found for secret in (one, unquote(one))))
