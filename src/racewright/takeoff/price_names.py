"""Prices that nothing on a bill is called: kept for another job, or a slip in the name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from racewright.errors import Finding
from racewright.records.prices import plain_name
from racewright.takeoff.bill_model import Bill, names_of

#: So alike two names must be, of 1, that one may be meant by the other (our own choice).
_NEAR = 0.6
#: So many names are offered.
_OFFERED = 3


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
