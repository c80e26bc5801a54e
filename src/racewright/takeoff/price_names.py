"""Prices that count for nothing on a bill: for another measure than its lines have; or nothing there is called so, as
kept for another job, or by a slip in the name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from racewright.errors import Finding
from racewright.records.prices import Price, plain_name
from racewright.takeoff.bill_model import Bill, is_by_length, names_of

#: So alike two names must be, of 1, that one may be meant by the other (our own choice).
_NEAR = 0.6
#: So many names are offered.
_OFFERED = 3
_LENGTHS = "for ft, 100 ft, 1000 ft, m or 100 m"


def prices_of_nothing(items: Iterable[str], bill: Bill, asked: str = "") -> Iterator[Finding]:
    """A note for each of these items of a price list that no line of the bill is called, where a line without a price
    has nearly its name; for the one that is `asked` about also where none has. A bill without lines tells nothing."""
    from difflib import get_close_matches

    called = {name for line in bill.lines for name in names_of(line.item)}
    by_name = {plain_name(item): item for item in (asked, *items)}
    for name, item in by_name.items() if called else ():
        this = name == plain_name(asked)
        if name in called or not name:
            continue
        lines = {plain_name(line): line for line in ([one.item for one in bill.lines] if this else bill.unpriced)}
        near = [lines[one] for one in get_close_matches(name, lines, _OFFERED, _NEAR)]
        if near or this:
            yield Finding(
                rule="job.price_name",
                severity="caution" if near else "info",
                message=f"{item}: nothing in this job's bill is called so, and its price counts for nothing here."
                + (f" The nearest: {'; '.join(near)}." if near else " `racewright job bill` has the names."),
                where=item,
            )


def prices_of_another_measure(prices: Iterable[Price], bill: Bill) -> Iterator[Finding]:
    """A caution for each of these prices by length that lines of the bill that are counted would have, and the other
    way round. Conduit is bought by count and by length."""
    by_name = {plain_name(price.item): price for price in prices}
    lost: dict[str, list[str]] = {}
    serves: set[str] = set()
    for line in bill.lines:
        price = next((by_name[name] for name in names_of(line.item) if name in by_name), None)
        if price is None:
            continue
        if line.group == "conduit" or is_by_length(price.per) != (line.unit == "each"):
            serves.add(price.item)
        else:
            lost.setdefault(price.item, []).append(line.item)
    for item, lines in lost.items():
        per = by_name[plain_name(item)].per
        so, works = ("counted", "each, or for 100") if is_by_length(per) else ("measured", _LENGTHS)
        works = "Call one of the two otherwise: others have this price" if item in serves else f"Price it {works}"
        yield Finding(
            rule="job.price_measure",
            severity="caution",
            message=f"{'; '.join(lines[:_OFFERED])}{f' and {len(lines) - _OFFERED} more' if lines[_OFFERED:] else ''}:"
            f" {so} on this job's bill, and the price of '{item}' is {per if per == 'each' else f'for {per}'}, so it"
            f" counts for nothing there. {works}.",
            where=item,
        )
