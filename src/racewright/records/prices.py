"""The user's own prices and labour: nothing is built in. Money and hours are exact decimals, rounded once a line."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Literal

import msgspec

from racewright.errors import InputError

Per = Literal["each", "100", "ft", "100 ft", "1000 ft", "m", "100 m"]
_COUNTS: dict[str, int] = {"each": 1, "100": 100}
_LENGTHS_MM: dict[str, Fraction] = {
    "ft": Fraction(3048, 10),
    "100 ft": Fraction(30480),
    "1000 ft": Fraction(304800),
    "m": Fraction(1000),
    "100 m": Fraction(100_000),
}


#: Money or hours above this are a slip of the pen, and finer ones than this many places are none (our own choice).
MOST_AMOUNT = 1_000_000_000
MOST_PLACES = 12


def is_amount(number: Decimal) -> bool:
    """Whether this can be a price, a rate, or hours. A number such as 1E+400000000 would be worked on for ever."""
    exponent = number.as_tuple().exponent
    return isinstance(exponent, int) and exponent >= -MOST_PLACES and 0 <= number <= MOST_AMOUNT


class PriceEntry(msgspec.Struct, frozen=True, kw_only=True):
    """`price` and `labour_h` hours for one `per` of an item. Either may be None: not known."""

    item: str
    per: Per = "each"
    price: Decimal | None = None
    labour_h: Decimal | None = None


class PriceBook:
    """Finds an item's entry: by its whole name, else by the name before its last comma ('EMT 1/2, 10 ft' is
    found under 'EMT 1/2'), whatever the case."""

    def __init__(
        self, entries: Sequence[PriceEntry] = (), *, currency: str = "", labour_rate: Decimal | None = None
    ) -> None:
        self.currency = currency
        self.labour_rate = labour_rate
        self._entries: dict[str, PriceEntry] = {}
        for entry in entries:
            _check(entry)
            name = _plain(entry.item)
            if name in self._entries:
                raise InputError(
                    f"'{entry.item}' has two prices.", hint="keep one of the two", field="prices", expected=entry.item
                )
            self._entries[name] = entry
        if labour_rate is not None and not is_amount(labour_rate):
            raise InputError(
                f"the labour rate is {labour_rate}.", hint=f"from 0 to {MOST_AMOUNT:,}", field="labour_rate"
            )

    def find(self, item: str) -> PriceEntry | None:
        """The entry, or None where the user gave none."""
        name = item
        while name:
            entry = self._entries.get(_plain(name))
            if entry is not None:
                return entry
            name = name.rpartition(", ")[0]
        return None


def units_of_count(entry: PriceEntry, count: int) -> Fraction:
    """How many `per` a count is. Raises InputError where the item is priced by length."""
    if entry.per not in _COUNTS:
        raise InputError(
            f"'{entry.item}' is counted, and its price is per {entry.per}.",
            hint="price it each, or for 100",
            field="prices",
        )
    return Fraction(count, _COUNTS[entry.per])


def units_of_length(entry: PriceEntry, length_mm: Fraction) -> Fraction:
    """How many `per` a length is. Raises InputError where the item is priced by count."""
    if entry.per not in _LENGTHS_MM:
        raise InputError(
            f"'{entry.item}' is measured, and its price is for {entry.per}.",
            hint="price it per ft, 100 ft, 1000 ft, m or 100 m",
            field="prices",
        )
    return length_mm / _LENGTHS_MM[entry.per]


def is_by_length(entry: PriceEntry) -> bool:
    """Whether the price is for a length."""
    return entry.per in _LENGTHS_MM


def to_hundredths(amount: Fraction) -> int:
    """Hundredths (cents, hundredths of an hour), halves up."""
    return int((amount * 200 + 1) // 2)


def from_hundredths(hundredths: int) -> Decimal:
    """12345 -> Decimal('123.45')."""
    return Decimal(hundredths).scaleb(-2)


def share(hundredths: int, weights: Sequence[Fraction]) -> list[int]:
    """Deal an amount by weight so that the parts add up to it again: whole parts first, then one each to the
    largest remainders, the earlier first. All to the first where every weight is zero."""
    total = sum(weights, Fraction(0))
    if not weights:
        return []
    if total <= 0:
        return [hundredths] + [0] * (len(weights) - 1)
    exact = [hundredths * w / total for w in weights]
    parts = [int(x) for x in exact]
    order = sorted(range(len(weights)), key=lambda i: (parts[i] - exact[i], i))
    for i in order[: hundredths - sum(parts)]:
        parts[i] += 1
    return parts


def _check(entry: PriceEntry) -> None:
    if not entry.item.strip():
        raise InputError("a price names no item.", hint="name it as the bill does", field="prices")
    if entry.per not in _COUNTS and entry.per not in _LENGTHS_MM:
        raise InputError(
            f"'{entry.item}' is priced per '{entry.per}'.",
            hint=f"one of: {', '.join([*_COUNTS, *_LENGTHS_MM])}",
            field="prices",
        )
    for value in (entry.price, entry.labour_h):
        if value is not None and not is_amount(value):
            raise InputError(
                f"'{entry.item}' has an amount of {value}.", hint=f"from 0 to {MOST_AMOUNT:,}", field="prices"
            )


def _plain(item: str) -> str:
    return " ".join(item.split()).casefold()
