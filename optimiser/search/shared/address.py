"""The address of a campaign's storage, and how it is shown: without its secrets."""

from urllib.parse import parse_qsl, unquote, urlencode, urlsplit, urlunsplit

from optimiser.errors import RockwrightError

DIALECT = "postgresql+psycopg"
"""PostgreSQL by psycopg 3, which is what an address is read as that says PostgreSQL alone."""
SHORT = ("postgresql", "postgres")
HIDDEN = "***"
"""Stands for a secret."""
SECRETS = ("password", "sslpassword")
"""What an address may carry after its question mark that nobody is to see."""


class AddressError(RockwrightError):
    """An address that leads to no storage."""


def checked(address: str) -> str:
    """An address as it is used. Raises AddressError where it is none of a PostgreSQL database."""
    scheme, separator, rest = address.partition("://")
    if not separator or scheme not in (DIALECT, *SHORT) or not _has_database(address):
        raise AddressError(
            f"--storage {without_secrets(address)}: no address of a PostgreSQL database; write such as "
            f"{DIALECT}://USER@HOST/DATABASE (the password in ~/.pgpass or PGPASSWORD)"
        )
    return f"{DIALECT}://{rest}"


def without_secrets(address: str) -> str:
    """An address with every password hidden; one that does not read at all is hidden whole."""
    try:
        parts = urlsplit(address)
        words = parse_qsl(parts.query, keep_blank_values=True)
    except ValueError:
        return HIDDEN
    user, at, host = parts.netloc.rpartition("@")
    name, colon, _ = user.partition(":")
    place = f"{name}{colon and colon + HIDDEN}{at}{host}"
    query = urlencode([(key, HIDDEN if key.lower() in SECRETS else value) for key, value in words], safe="*/")
    return urlunsplit((parts.scheme, place, parts.path, query, ""))


def secrets_of(address: str) -> tuple[str, ...]:
    """What an address hides, as it is written there and as it is meant."""
    parts = urlsplit(address)
    written = parts.netloc.rpartition("@")[0].partition(":")[2]
    worded = [value for key, value in parse_qsl(parts.query) if key.lower() in SECRETS]
    return tuple(dict.fromkeys(secret for one in (written, *worded) for secret in (one, unquote(one)) if secret))


def _has_database(address: str) -> bool:
    try:
        return urlsplit(address).path.strip("/") != ""
    except ValueError:
        return False
