"""What the records of a shop file say: a body for each value, and the value of each body."""

from __future__ import annotations

from pathlib import Path
from typing import Any, TypeVar

import msgspec

from racewright.errors import InputError
from racewright.field_words import explained as in_words
from racewright.records.kinds import KINDS, Value, called
from racewright.store.job_errors import StoreTrouble

V = TypeVar("V", bound=Value)


def body_of(value: Value) -> str:
    """What is kept for a value: its inputs as compact JSON. Raises InputError for what would not come back."""
    what = called(value)
    try:
        body = msgspec.json.encode(value)
        back = msgspec.json.decode(body, type=type(value))
    except msgspec.ValidationError as err:
        told = in_words(str(err), msgspec.to_builtins(value), type(value), see="see docs/job.md")
        told.message = f"{what}: cannot be kept: {told.message}"
        raise told from None
    except (msgspec.MsgspecError, UnicodeError) as err:
        raise InputError(f"{what}: cannot be kept: {err}.", hint="see docs/job.md", field=what) from None
    if back != value:
        raise InputError(f"{what}: holds something that cannot be kept as it is.", hint="see docs/job.md")
    return body.decode()


def value_as(kind: type[V], body: str, path: Path) -> V:
    """The value of a body. Raises StoreTrouble where this Racewright cannot read it."""
    value: V = _read(kind, body, path)
    return value


def _read(kind: type[msgspec.Struct], body: str, path: Path) -> Any:
    try:
        return msgspec.json.decode(body, type=kind)
    except msgspec.DecodeError as err:
        raise StoreTrouble(
            f"{path}: a record cannot be read by this Racewright: {err}.",
            hint="bring Racewright up to date; the file was left untouched",
        ) from None


def value_of(kind: str, body: str | None, path: Path) -> Value | None:
    """The value that a revision of this kind holds; None: removed. Raises StoreTrouble where this Racewright cannot
    read it."""
    if body is None:
        return None
    known = KINDS.get(kind)
    if known is None:
        raise StoreTrouble(
            f"{path}: holds a record of a kind that this Racewright does not know ('{kind}').",
            hint="bring Racewright up to date; the file was left untouched",
        )
    value: Value = _read(known.holds, body, path)
    return value
