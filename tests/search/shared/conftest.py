"""The server that the tests of shared campaigns meet at."""

from collections.abc import Iterator

import pytest

from tests.server import Server, running_server


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    """A PostgreSQL server of a module's own."""
    with running_server() as one:
        yield one
