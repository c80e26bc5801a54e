"""What stands under the name that a change of a job's settings is about, in words: before it, and with it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from racewright.records.job_head import item_of, sticks_of
from racewright.records.job_settings import SetCutting, SetItem, SetMoney, SetPerson, SetPrice, SetStock, SetWire
from racewright.records.model import JobHead, Stands
from racewright.records.person import Person
from racewright.records.prices import Prices, plain_name


def in_words(change: object, head: JobHead, prices: Prices, people: Sequence[Person]) -> str:
    """'12 x 4 in square box'; '' where nothing of the name stands, and for what only takes out. Raises InputError,
    UnknownName."""
    money = f" {prices.currency}".rstrip()
    if isinstance(change, SetItem):
        item = item_of(head, change.item)
        return "" if item is None else f"{item.count} x {item.item}"
    if isinstance(change, SetStock):
        one = sticks_of(head, change.raceway, change.length, change.stands)
        if one is None:
            return ""
        many = one.stands if one.count is None else counted(one.count, one.stands)
        price = f"{one.price}{money} each" if one.price is not None else ""
        return _listed(f"{one.raceway}, {written(one.length, head.units)}: {many}", price, one.note)
    if isinstance(change, SetPrice):
        priced = next((one for one in prices.items if plain_name(one.item) == plain_name(change.item)), None)
        if priced is None:
            return ""
        per = "each" if priced.per == "each" else f"per {priced.per}"
        figures = (f"{priced.price}{money} {per}", f"{priced.labour_h} h {per}")
        said = (priced.price, priced.labour_h)
        return (
            f"{priced.item}: {_listed(*(words for words, one in zip(figures, said, strict=True) if one is not None))}"
        )
    if isinstance(change, SetPerson):
        name = change.name.strip().casefold()
        return next((_person(one) for one in people if one.name.casefold() == name), "")
    return _of_all(change, head, prices)


def _of_all(change: object, head: JobHead, prices: Prices) -> str:
    """What there is one of."""
    if isinstance(change, SetWire):
        slack = written(head.wire_slack, head.units)
        return f"{slack} more at each end of a run; {head.wire_waste:g} % waste on all wire"
    if isinstance(change, SetCutting):
        kerf, keep = (written(value, head.units) for value in (head.cutting.kerf, head.cutting.keep))
        return f"the saw takes {kerf}; an offcut from {keep} on is kept"
    if isinstance(change, SetMoney):
        rate = prices.labour_rate
        money = f" {prices.currency}".rstrip()
        hour = "no labor rate" if rate is None else f"an hour of labor: {rate}{money}"
        return _listed(prices.currency, hour)
    return ""


def counted(count: int, stands: Stands) -> str:
    """'4 on hand', '1 offcut'."""
    return f"{count} {stands.removesuffix('s') if count == 1 else stands}"


def _person(one: Person) -> str:
    mark, cut = (written(value, one.units) for value in (one.mark, one.cut))
    return f"{one.name}: mark {mark}, angle {one.angle_deg:g}°, plane {one.roll_deg:g}°, cut {cut}"


def _listed(*words: str) -> str:
    return ", ".join(word for word in words if word)


def written(value: Any, units: str) -> str:
    """A length as it was written, with the unit that it is in where it names none."""
    text = str(value)
    return text if text.rstrip('"').endswith(("in", "mm", "ft", "m", "cm")) or text.endswith('"') else f"{text} {units}"
