"""What a device offers, read record by record: one that cannot be read is refused in words, and the rest is taken."""

from __future__ import annotations

import json
from typing import Any

import msgspec

from racewright.records.ids import Id
from racewright.store.job_protocol import Answered, Offered


class Offer(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """POST /records: records of one job, as they were written on the device."""

    job: Id
    records: tuple[Offered, ...]


class _Apart(msgspec.Struct, kw_only=True, forbid_unknown_fields=True):
    """The same, its records not looked at yet."""

    job: Id
    records: list[Any]


class _Named(msgspec.Struct, kw_only=True):
    """What an answer needs to know of a record."""

    kind: str
    id: Id


_OFFER = msgspec.json.Decoder(Offer)
_OFFERED = msgspec.json.Decoder(Offered)


def read_offer(body: bytes) -> tuple[Id, tuple[Offered | Answered, ...]]:
    """The job that it is for, and each record or why that one cannot be read, in the order of the offer. Raises
    ValidationError for what is no offer or names a record by no id, DecodeError, ValueError, RecursionError for what
    is no JSON."""
    try:
        whole = _OFFER.decode(body)
    except (msgspec.DecodeError, UnicodeError):
        # msgspec reads nothing of a text with half a character in it; this reads all but what is no JSON at all
        apart = msgspec.convert(json.loads(body.decode()), _Apart)
        return apart.job, tuple(_read(one) for one in apart.records)
    return whole.job, whole.records


def _read(record: object) -> Offered | Answered:
    named = msgspec.convert(record, _Named)
    hint = "mend it where you wrote it"
    try:
        text = json.dumps(record, ensure_ascii=False).encode()
        return _OFFERED.decode(text)
    except UnicodeError:
        message, hint = "half a character stands in it.", "write the letter itself"
    except msgspec.ValidationError as err:
        message = f"it cannot be read: {err}."
    except msgspec.DecodeError:  # Python writes Infinity and NaN, which are no JSON
        message = "it holds a number that is too large."
    kind = named.kind.encode(errors="replace").decode()
    return Answered(kind=kind, id=named.id, outcome="refused", message=message, hint=hint)
