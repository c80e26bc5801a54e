"""Answers as HTTP responses."""

from __future__ import annotations

from typing import Any

import msgspec
from starlette.responses import Response

from racewright.operations.common import Kind, Refused, Trouble


def as_json(value: Any, status: int = 200) -> Response:
    """A value as JSON, never stored on the way."""
    return Response(
        msgspec.json.encode(value),
        status_code=status,
        media_type="application/json",
        headers={"cache-control": "no-store"},
    )


def refused(status: int, message: str, hint: str = "", *, kind: Kind = "input", field: str = "") -> Response:
    """A refusal with this status."""
    return as_json(Refused(error=Trouble(kind=kind, message=message, hint=hint, field=field)), status)
