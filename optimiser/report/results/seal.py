"""A checksum as the last entry of a JSON text, over every byte before it: no changed digit goes unseen."""

from optimiser.report.results.files import sha256

ENTRY = b',\n "sha256": "'
"""What stands between the text that counts and its checksum."""
END = b"\n}"
"""How the text of an object ends that has an entry a line."""


def sealed(text: bytes) -> bytes:
    """The JSON text of an object, an entry a line, with its checksum as one entry more."""
    body = text.removesuffix(END)
    return body + _seal(body)


def is_sealed(data: bytes) -> bool:
    """Whether a text ends with its own checksum, to the last byte."""
    body = data.rpartition(ENTRY)[0]
    return bool(body) and data == body + _seal(body)


def _seal(body: bytes) -> bytes:
    return ENTRY + sha256(body).encode() + b'"' + END + b"\n"
