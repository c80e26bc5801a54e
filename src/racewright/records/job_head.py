"""What a job's head says of buying and cutting: sticks that are bought, on hand, offcuts; what the saw eats; what a
wire takes more than its run; items that no plan shows."""

from __future__ import annotations

from typing import TypeVar

import msgspec

from racewright.catalogue.raceways import raceway_by_name
from racewright.errors import InputError, RacewrightError, UnknownName
from racewright.field_words import explained
from racewright.records.model import Item, JobHead, Stands, Stock
from racewright.records.parse import length_mm
from racewright.records.prices import plain_name

_SAME_MM = 0.01
_NO_TEXT = {"price": None, "note": ""}

T = TypeVar("T", bound=msgspec.Struct)


def with_item(head: JobHead, item: str, count: int) -> JobHead:
    """A head with so many of an item, by `plain_name`; 0 takes it out. Raises InputError, UnknownName."""
    if count == 0:
        return without_item(head, item)
    one = made(Item, {"item": item, "count": count})
    at = next((i for i, had in enumerate(head.items) if plain_name(had.item) == plain_name(item)), None)
    items = (*head.items, one) if at is None else (*head.items[:at], one, *head.items[at + 1 :])
    return msgspec.structs.replace(head, items=items)


def without_item(head: JobHead, item: str) -> JobHead:
    """A head without an item. Raises UnknownName where it has none."""
    left = tuple(had for had in head.items if plain_name(had.item) != plain_name(item))
    if len(left) == len(head.items):
        known = "; ".join(had.item for had in head.items[:12]) or "none yet"
        raise UnknownName(f"the job has no item '{item}' of its own.", hint=f"items: {known}", field="item")
    return msgspec.structs.replace(head, items=left)


def with_wire(head: JobHead, **figures: object) -> JobHead:
    """A head with these: `wire_slack`, `wire_waste`. Raises InputError."""
    return made(JobHead, {**msgspec.structs.asdict(head), **figures})


def with_stock(
    head: JobHead, raceway: str, length: str, stands: Stands = "as needed", count: int | None = None, **figures: str
) -> JobHead:
    """A head with these sticks; `figures`: `price` and `note`, '' for none; what is not given stays as it is. Those of
    one raceway and length that are bought, on hand and offcuts are three lines; a `count` of 0 takes its line out.
    Raises InputError, UnknownName also where it has no such line."""
    name = raceway_by_name(raceway).name
    at = _place(head, name, length, stands)
    if count is None and at is not None:
        count = head.stock[at].count
    if (count is None) != (stands == "as needed"):
        what = "how many is missing" if count is None else "sticks that are bought as needed are not counted"
        raise InputError(
            f"{name}, {length}: {what}.", hint="say how many are on hand, or how many offcuts; 0: none", field="count"
        )
    there: dict[str, object] = {"raceway": name, "length": length, "count": count, "offcut": stands == "offcuts"}
    if at is None and count == 0:
        raise _not_there(head, raceway, length)
    told = {**there, **(msgspec.structs.asdict(head.stock[at]) if at is not None else {}), "count": count}
    one = made(Stock, {**told, **{field: text or _NO_TEXT[field] for field, text in figures.items()}})
    stock = (*head.stock, one) if at is None else (*head.stock[:at], one, *head.stock[at + 1 :])
    return msgspec.structs.replace(head, stock=tuple(had for had in stock if had.count != 0))


def sticks_of(head: JobHead, raceway: str, length: str, stands: Stands) -> Stock | None:
    """The line of these sticks, None where there is none. Raises InputError, UnknownName."""
    at = _place(head, raceway_by_name(raceway).name, length, stands)
    return None if at is None else head.stock[at]


def item_of(head: JobHead, item: str) -> Item | None:
    """What a head says of an item, by `plain_name`."""
    return next((had for had in head.items if plain_name(had.item) == plain_name(item)), None)


def without_stock(head: JobHead, raceway: str, length: str, stands: Stands | None = None) -> JobHead:
    """A head without any sticks of this raceway, be it in no catalogue, and length, be it none, or without those that
    stand so. Raises UnknownName where it has none, InputError."""
    gone = line_of(made(Stock, {"raceway": raceway, "length": length}), head)[:2]
    left = tuple(had for had in head.stock if line_of(had, head)[:2] != gone or stands not in (None, had.stands))
    if len(left) == len(head.stock):
        length_mm(length, head, "length", allow_zero=False)
        raise _not_there(head, raceway, length)
    return msgspec.structs.replace(head, stock=left)


def _not_there(head: JobHead, raceway: str, length: str) -> UnknownName:
    known = "; ".join(f"{had.raceway}, {had.length}" for had in head.stock[:12]) or "none yet"
    return UnknownName(f"the job has no such '{raceway}' of {length}.", hint=f"stock: {known}", field="length")


def made(kind: type[T], data: dict[str, object]) -> T:
    """A record of this form. Raises InputError with the field."""
    try:
        return msgspec.convert(data, kind)
    except msgspec.ValidationError as err:
        raise explained(str(err), data, kind, see="see docs/job.md") from None


def _place(head: JobHead, raceway: str, length: str, stands: Stands) -> int | None:
    length_mm(length, head, "length", allow_zero=False)
    like = {"raceway": raceway, "length": length, "offcut": stands == "offcuts"}
    line = line_of(made(Stock, like | ({} if stands == "as needed" else {"count": 1})), head)
    return next((i for i, had in enumerate(head.stock) if line_of(had, head) == line), None)


def line_of(one: Stock, head: JobHead) -> tuple[str, int | str, Stands]:
    """What tells lines apart: raceway, length (in steps that no tape shows; one that is none as it is written), and how
    they stand."""
    length: int | str
    try:
        length = round(length_mm(one.length, head, "length", allow_zero=False) / _SAME_MM)
    except RacewrightError:
        length = str(one.length)
    try:
        raceway = raceway_by_name(one.raceway).name
    except UnknownName:
        raceway = one.raceway.strip()
    return raceway.casefold(), length, one.stands
