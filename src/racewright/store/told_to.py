"""What a device is told of a record that names what is withheld from it: of a job's head the sticks without what they
cost, unless it is told prices, and in the log no tool by its name. What it writes from a head without prices keeps
those that stand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import msgspec

from racewright.records.ids import Id
from racewright.records.job_head import line_of
from racewright.records.kinds import Value
from racewright.records.model import JobHead, JobRun
from racewright.store.job_rows import Rows
from racewright.store.job_sums import data_digest
from racewright.store.job_values import value_as

_Prices: TypeAlias = dict[tuple[str, int | str, str], list[str | float | None]]

#: Stands behind the digest of a version that is told without the prices of its sticks.
_NO_PRICES = ".no-prices"


def as_told(value: Value | None, kinds: Sequence[str]) -> Value | None:
    """What a device that is told these kinds may know of a value."""
    if isinstance(value, JobHead) and "prices" not in kinds:
        stock = tuple(msgspec.structs.replace(one, price=None) for one in value.stock)
        return msgspec.structs.replace(value, stock=stock)
    if isinstance(value, JobRun) and "tool" not in kinds:
        return msgspec.structs.replace(value, tool=None)
    return value


def is_whole(now: Value | None, was: Value | None, kinds: Sequence[str]) -> bool:
    """Whether such a device is told all in which two versions differ: one that is not may not write back the other."""
    if not isinstance(now, JobHead) or not isinstance(was, JobHead) or "prices" in kinds:
        return True
    return _prices(now) == _prices(was)


def told_body(kind: str, body: str | None, kinds: Sequence[str]) -> tuple[str | None, str]:
    """The body of a version as such a device is told it, and what stands for it there."""
    digest = data_digest(kind, body)
    if body is None or kind != "job" or "prices" in kinds:
        return body, digest
    data = msgspec.json.decode(body)
    priced = [line for line in data.get("stock", ()) if line.pop("price", None) is not None]
    return (msgspec.json.encode(data).decode(), f"{digest}{_NO_PRICES}") if priced else (body, digest)


def is_without_prices(digest: str) -> bool:
    """Whether this stands for a version that was told without prices."""
    return digest.endswith(_NO_PRICES)


def digest_of(told: str) -> str:
    """The digest of the version for which this stands."""
    return told.removesuffix(_NO_PRICES)


def with_prices(value: Value, base_digest: str, rows: Rows, base: tuple[Id, int]) -> Value:
    """What was written from this revision of a record, for which `base_digest` stood: of a head that was told without
    prices with those of that revision, for the sticks that name none; of sticks that it had not, with those that they
    had last (they may have been taken out and brought back)."""
    if not isinstance(value, JobHead) or not is_without_prices(base_digest):
        return value
    record, number = base
    known: _Prices = {}
    for row in rows.history(record):
        if row.number <= number and row.body is not None:
            known = _by_line(value_as(JobHead, row.body, rows.path)) | known
        if known.keys() >= {line_of(one, value) for one in value.stock}:
            break
    stock = []
    for one in value.stock:
        left = known.get(line_of(one, value), [])
        price = left.pop(0) if left else None
        stock.append(one if one.price is not None else msgspec.structs.replace(one, price=price))
    return msgspec.structs.replace(value, stock=tuple(stock))


def _by_line(head: JobHead) -> _Prices:
    """What the sticks of each line cost; of lines that are there twice each."""
    found: _Prices = {}
    for one in head.stock:
        found.setdefault(line_of(one, head), []).append(one.price)
    return found


def _prices(head: JobHead) -> _Prices:
    """The same, of those that have a price."""
    return {line: prices for line, prices in _by_line(head).items() if any(price is not None for price in prices)}
