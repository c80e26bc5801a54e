"""The user's own prices and hours. Nothing is built in. Records of the shop: one list of its own, and of each job that
has other prices a list of its own."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Literal

import msgspec

from racewright.errors import InputError, LimitError
from racewright.records.fields import Input, Name, Text
from racewright.records.ids import Id, digest
from racewright.survey.written import Written
from racewright.units.number import parts_thousands

#: Money or hours above this are a slip of the pen, and finer ones than this many places are none (our own choice).
MOST_AMOUNT = 1_000_000_000
MOST_PLACES = 12
#: Nobody works longer on one of anything, nor on 1,000 ft of it (our own choice).
MOST_HOURS = 1_000
#: In the money of no country does an hour of work cost more (our own choice).
MOST_RATE = 10_000_000
#: A list is no larger than this, so that a device can send it back changed.
MOST_BYTES = 190_000
#: The name of a currency stands on one line of the bill.
MOST_CURRENCY = 200
_AMOUNT = re.compile(r"\+?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
#: How wire is called on a bill, with its size.
_WIRE = re.compile(r"wire [0-9]")

Per = Literal["each", "ft", "m", "100 ft", "100 m", "100", "1000 ft"]


class Price(Input, frozen=True, kw_only=True):
    """The user's own figures for one item of the bill: `price` for one `per`, `labour_h` hours for one `per`."""

    item: Name
    per: Per = "each"
    price: Written | None = None
    labour_h: Written | None = None


class Prices(Input, frozen=True, kw_only=True):
    """What things cost. `labour_rate` is money for one hour."""

    currency: Text = ""
    items: tuple[Price, ...] = ()
    labour_rate: Written | None = None


class PriceList(Prices, frozen=True, kw_only=True):
    """The prices of the shop or of one job, as a record. `of`: the id of the shop, or of the job."""

    id: Id
    of: Id

    @classmethod
    def holding(cls, prices: Prices, of: Id) -> PriceList:
        """These prices as those of this shop or job, which has one list."""
        return cls(id=list_id(of), of=of, **msgspec.structs.asdict(prices))

    @property
    def prices(self) -> Prices:
        """What it says."""
        return Prices(currency=self.currency, items=self.items, labour_rate=self.labour_rate)


NO_PRICES = Prices()


def plain_name(item: str) -> str:
    """The name of an item of the bill without what does not tell two apart: spaces and letter case."""
    return " ".join(item.split()).casefold()


def by_length(item: str) -> bool:
    """Whether the bill measures what it calls so: wire, by its size ('wire 12 THHN')."""
    return bool(_WIRE.match(plain_name(item)))


def list_id(of: Id) -> Id:
    """The id of the price list of this shop or job: the same wherever it is begun."""
    return digest("prices", of)


def check_list(told: PriceList, had: PriceList | None = None) -> None:
    """Raises InputError for prices that cannot be taken, and a list under another id than its own. `had`: as it stands;
    what is as there is not checked again."""
    check_prices(told.prices, had=had.prices if had else None)
    if told.id != list_id(told.of):
        raise InputError("its id is not that of its job's or shop's prices.", field="id")


def check_prices(prices: Prices, field: str = "prices", had: Prices | None = None) -> None:
    """Raises InputError for money that cannot be read, items that are there twice or that no line can hold, LimitError
    for more than one list may hold. `had`: as they stand; what is as there is not checked again."""
    size = len(msgspec.json.encode(prices))
    if size > MOST_BYTES:
        raise LimitError(
            f"{field}: the list takes {size:,} bytes; the most is {MOST_BYTES:,}, about 2,000 items.",
            hint="leave out what is not bought",
            field=field,
            quantity="size of a price list",
            asked=size,
            limit=MOST_BYTES,
            unit="bytes",
        )
    if had is None or prices.currency != had.currency:
        _check_currency(prices.currency, field)
    seen = set()
    for i, price in enumerate(prices.items):
        if had is None or price not in had.items:
            if plain_name(price.item) in seen:
                raise InputError(
                    f"{field}.items: '{price.item}' is there twice.",
                    hint="names that differ in spaces or case alone are one item: keep one, or say its price once more",
                    field=f"{field}.items",
                )
            _check_price(price, f"{field}.items[{i}]")
        seen.add(plain_name(price.item))
    if had is None or prices.labour_rate != had.labour_rate:
        _check_rate(prices.labour_rate, field)


def _check_currency(currency: str, field: str) -> None:
    if len(currency) > MOST_CURRENCY:
        raise LimitError(
            f"{field}.currency: the currency has {len(currency):,} letters; the most is {MOST_CURRENCY}.",
            hint="write it as it stands on a bill, for example USD",
            field=f"{field}.currency",
            quantity="letters of a currency",
            asked=len(currency),
            limit=MOST_CURRENCY,
            unit="letters",
        )
    _one_line(currency, f"{field}.currency")


def _check_price(price: Price, field: str) -> None:
    _one_line(price.item, f"{field}.item")
    decimal(price.price, f"{field}.price")
    hours = decimal(price.labour_h, f"{field}.labour_h")
    if hours is not None and hours > MOST_HOURS:
        raise LimitError(
            f"{field}.labour_h: '{price.item}' would take {hours:,f} hours for {_of_one(price)}; the most is"
            f" {MOST_HOURS:,}.",
            hint="give hours, not minutes: 0.25 for a quarter of an hour",
            field=f"{field}.labour_h",
            quantity="hours",
            asked=float(hours),
            limit=MOST_HOURS,
            unit="h",
        )


def _check_rate(asked: str | float | None, field: str) -> None:
    rate = decimal(asked, f"{field}.labour_rate")
    if rate is not None and rate > MOST_RATE:
        raise LimitError(
            f"{field}.labour_rate: an hour of work would cost {rate:,f}; the most is {MOST_RATE:,}.",
            hint="give what one hour costs, for example 65.00",
            field=f"{field}.labour_rate",
            quantity="labor rate",
            asked=float(rate),
            limit=MOST_RATE,
            unit="money",
        )


def _of_one(price: Price) -> str:
    return "one" if price.per == "each" else price.per


def _one_line(text: str, field: str) -> None:
    if not text.isprintable():
        raise InputError(
            f"{field}: '{''.join(sign if sign.isprintable() else '?' for sign in text[:40])}' has a line break or"
            " another sign that cannot be printed.",
            hint="write it on one line",
            field=field,
        )


def is_amount(number: Decimal) -> bool:
    """Whether this can be a price, a rate, or hours. A number such as 1E+400000000 would be worked on for ever."""
    exponent = number.as_tuple().exponent
    return isinstance(exponent, int) and exponent >= -MOST_PLACES and 0 <= number <= MOST_AMOUNT


def decimal(value: Written | None, field: str) -> Decimal | None:
    """Money or hours, exactly as written, or None. Raises InputError for what is no number, has a
    comma that may part thousands, or is below zero."""
    if value is None:
        return None
    text = str(value).strip() if not isinstance(value, int) or abs(value) <= MOST_AMOUNT else "too much"
    if not parts_thousands(text):
        text = re.sub(r"^([0-9]*),([0-9]+)$", r"\1.\2", text)
    number = Decimal(text if len(text) <= 40 and _AMOUNT.fullmatch(text) else "NaN")
    if not is_amount(number):
        raise InputError(
            f"{field}: cannot take '{text[:40]}' as an amount: it must be a number from 0 to {MOST_AMOUNT:,}.",
            hint="write digits with a point, for example 14.20",
            field=field,
            expected="a number",
            example="14.20",
        )
    return number
