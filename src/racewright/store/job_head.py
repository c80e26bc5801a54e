"""What a job's head says of buying and cutting: sticks that are bought, on hand, left over; what the saw eats; what a
wire takes more than its run; items that no plan shows. All of it with the head's revisions."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import msgspec

from racewright.catalogue.raceways import raceway_by_name
from racewright.errors import UnknownName
from racewright.field_words import explained
from racewright.records.model import Item, JobHead, Stock
from racewright.records.parse import check_head, length_mm
from racewright.records.prices import plain_name
from racewright.store.job_store import JobStore

_SAME_MM = 0.01

T = TypeVar("T", Stock, Item, JobHead)


def change_head(store: JobStore, job: str, change: Callable[[JobHead], JobHead], *, what: str, by: str = "") -> JobHead:
    """Change what a job's head says, as its next revision; returns the head. Where something is only taken out, what
    stood before is not checked again, so that it can be. Raises InputError, LimitError, StaleSave."""
    kept = store.head(job)
    head, old = change(kept.value), kept.value
    less = set(head.stock) <= set(old.stock) and set(head.items) <= set(old.items)
    if not less or head != msgspec.structs.replace(old, stock=head.stock, items=head.items):
        check_head(head)
    if head != old:
        store.save(job, [], head=(head, kept.revision), by=by, what=what[:200])
    return head


def with_item(head: JobHead, item: str, count: int) -> JobHead:
    """A head with so many of an item, by `plain_name`; 0 takes it out. Raises InputError, UnknownName."""
    if count == 0:
        return without_item(head, item)
    one = _made(Item, {"item": item, "count": count})
    at = next((i for i, had in enumerate(head.items) if plain_name(had.item) == plain_name(item)), None)
    items = (*head.items, one) if at is None else (*head.items[:at], one, *head.items[at + 1 :])
    return msgspec.structs.replace(head, items=items)


def without_item(head: JobHead, item: str) -> JobHead:
    """A head without an item. Raises UnknownName where it has none."""
    left = tuple(had for had in head.items if plain_name(had.item) != plain_name(item))
    if len(left) == len(head.items):
        known = "; ".join(had.item for had in head.items[:12]) or "none yet"
        raise UnknownName(f"the job has no item '{item}' of its own.", hint=f"items: {known}", field="ITEM")
    return msgspec.structs.replace(head, items=left)


def with_wire(head: JobHead, **figures: object) -> JobHead:
    """A head with these: `wire_slack`, `wire_waste`. Raises InputError."""
    return _made(JobHead, {**msgspec.structs.asdict(head), **figures})


def with_stock(head: JobHead, raceway: str, length: str, **figures: object) -> JobHead:
    """A head with these sticks: fields of `Stock`; None stays as it is. Those of one raceway and length that are
    bought, on hand and left over are three lines; a `count` of 0 takes its line out. Raises InputError, UnknownName
    also where it has no such line."""
    given = {name: value for name, value in figures.items() if value is not None}
    one = _made(Stock, {"raceway": raceway_by_name(raceway).name, "length": length, **given})
    at = next((i for i, had in enumerate(head.stock) if _line(had, head) == _line(one, head)), None)
    if at is None and one.count == 0:
        raise _not_there(head, raceway, length)
    if at is None:
        stock = (*head.stock, one)
    else:
        one = _made(Stock, {**msgspec.structs.asdict(head.stock[at]), **given})
        stock = (*head.stock[:at], one, *head.stock[at + 1 :])
    return msgspec.structs.replace(head, stock=tuple(had for had in stock if had.count != 0))


def without_stock(head: JobHead, raceway: str, length: str) -> JobHead:
    """A head without any sticks of this raceway, be it in no catalogue, and length. Raises UnknownName where it has
    none, InputError."""
    gone = _line(_made(Stock, {"raceway": raceway, "length": length}), head)[:2]
    left = tuple(had for had in head.stock if _line(had, head)[:2] != gone)
    if len(left) == len(head.stock):
        raise _not_there(head, raceway, length)
    return msgspec.structs.replace(head, stock=left)


def _not_there(head: JobHead, raceway: str, length: str) -> UnknownName:
    known = "; ".join(f"{had.raceway}, {had.length}" for had in head.stock[:12]) or "none yet"
    return UnknownName(f"the job has no such '{raceway}' of {length}.", hint=f"stock: {known}", field="LENGTH")


def _made(kind: type[T], data: dict[str, object]) -> T:
    try:
        return msgspec.convert(data, kind)
    except msgspec.ValidationError as err:
        raise explained(str(err), data, kind, see="see docs/job.md") from None


def _line(one: Stock, head: JobHead) -> tuple[str, int, bool, bool]:
    """What tells lines apart: raceway, length (in steps that no tape shows), left over, on hand."""
    length = round(length_mm(one.length, head, "length", allow_zero=False) / _SAME_MM)
    try:
        raceway = raceway_by_name(one.raceway).name
    except UnknownName:
        raceway = one.raceway.strip()
    return raceway.casefold(), length, one.offcut, one.count is not None
