"""Ids of what is kept: 128 bits, as 32 hex digits. A new thing gets random ones; a thing of an old file gets those of
its content, so that two copies of that file, each brought up to date for itself, call it the same."""

from __future__ import annotations

import hashlib
import secrets
from typing import Annotated

import msgspec

from racewright.field_words import ID_PATTERN

Id = Annotated[str, msgspec.Meta(pattern=ID_PATTERN)]


def new_id() -> Id:
    """An id that nothing else has."""
    return secrets.token_hex(16)


def digest(*parts: object) -> str:
    """A digest of these parts as 32 hex digits, each with its length, None unlike ''."""
    h = hashlib.sha256()
    for part in parts:
        data = b"" if part is None else str(part).encode("utf-8", "surrogatepass")
        h.update(b"-" if part is None else str(len(data)).encode())
        h.update(b":" + data)
    return h.hexdigest()[:32]
