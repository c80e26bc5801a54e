"""What the records of a shop file say: a body for each value, and the value of each body. More kinds go in here."""

from __future__ import annotations

from pathlib import Path
from typing import Any, TypeVar

import msgspec

from racewright.errors import InputError
from racewright.field_words import explained as in_words
from racewright.records.entry import Entry
from racewright.records.model import JobHead, JobRun
from racewright.records.person import Person
from racewright.records.prices import PriceList
from racewright.records.tool import Tool
from racewright.store.job_errors import StoreTrouble

Value = JobHead | JobRun | Entry | Tool | Person | PriceList
V = TypeVar("V", JobHead, JobRun, Entry, Tool, Person, PriceList)

#: Kind -> what a record of it holds, in the order in which the records of one change are taken in.
KINDS: dict[str, type[Value]] = {
    "job": JobHead,
    "run": JobRun,
    "entry": Entry,
    "tool": Tool,
    "person": Person,
    "prices": PriceList,
}
#: What is of the whole shop; the rest is each of a job.
OF_THE_SHOP = ("tool", "person", "prices")
#: What a device is told, and may write, unless somebody says otherwise: what things cost, and how well people work,
#: stays at the desk.
TOLD = ("job", "run", "entry", "tool")
#: What runs name with a revision, and stay on as it was.
PINNED = ("tool",)
_CALLED = {kind: name for name, kind in KINDS.items()}


def kind_of(value: Value) -> str:
    """The kind of the record that holds this value."""
    return _CALLED[type(value)]


def called(value: Value) -> str:
    """A value in words, for messages."""
    match value:
        case JobRun():
            return f"run {value.key}"
        case Tool() | Person():
            return f"{kind_of(value)} {value.name}"
        case PriceList():
            return "the prices"
    return "the entry" if isinstance(value, Entry) else "the head"


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
    holds = KINDS.get(kind)
    if holds is None:
        raise StoreTrouble(
            f"{path}: holds a record of a kind that this Racewright does not know ('{kind}').",
            hint="bring Racewright up to date; the file was left untouched",
        )
    value: Value = _read(holds, body, path)
    return value
