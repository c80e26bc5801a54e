"""The prices and the people of a shop, as lines."""

from __future__ import annotations

from collections.abc import Sequence

from racewright.records.differ import CALLED
from racewright.records.model import JobHead
from racewright.records.person import Person
from racewright.records.prices import Prices
from racewright.records.set_words import counted, written


def prices_text(prices: Prices | None, whose: str) -> str:
    """A price list with whose it is; None: there is none."""
    if prices is None:
        return "No prices: nothing is built in. `racewright job prices ITEM --price 14.20` keeps one for the shop."
    money = f" {prices.currency}" if prices.currency else ""
    rows = [("item", "per", f"price{money}", CALLED["labour_h"])]
    rows += [(p.item, p.per, _said(p.price), _said(p.labour_h)) for p in prices.items]
    rate = f"an hour of labor: {prices.labour_rate}{money}" if prices.labour_rate is not None else "no labor rate"
    return "\n".join([f"Prices of {whose}; {rate}", *_table(rows)])


def stock_text(head: JobHead, job: str) -> str:
    """What a job's runs are cut from, and what the saw eats."""
    kerf, keep = (written(value, head.units) for value in (head.cutting.kerf, head.cutting.keep))
    title = f"Stock of job {job}; the saw takes {kerf}; an offcut from {keep} on is kept"
    if not head.stock:
        return f"{title}\nNo sticks: each run's survey says, or the usual ones are bought."
    rows = [("raceway", "length", "how many", "price", "note")]
    for one in head.stock:
        many = "as needed" if one.count is None else counted(one.count, one.stands)
        rows.append((one.raceway, written(one.length, head.units), many, _said(one.price), one.note))
    return "\n".join([title, *_table(rows)])


def items_text(head: JobHead, job: str) -> str:
    """What a job needs that no plan shows."""
    if not head.items:
        return f"No items of job {job} beside its runs: `racewright job items ITEM --count 3` adds one."
    rows = [("item", "how many"), *((one.item, str(one.count)) for one in head.items)]
    return "\n".join([f"Items of job {job}, beside those of its runs", *_table(rows)])


def wire_text(head: JobHead, job: str) -> str:
    """What each wire of a job takes more than its run."""
    slack = written(head.wire_slack, head.units)
    return f"Wire of job {job}: {slack} more at each end of a run; {head.wire_waste:g} % waste on all of it"


def people_text(people: Sequence[Person]) -> str:
    """How well these people work: standard deviations."""
    if not people:
        return "Nobody is in the list: `racewright job people NAME --mark 1/16 --angle 1` adds somebody."
    rows = [("name", "mark", "angle", "plane", "cut")]
    for one in people:
        mark, cut = (written(value, one.units) for value in (one.mark, one.cut))
        rows.append((one.name, mark, f"{one.angle_deg:g}\N{DEGREE SIGN}", f"{one.roll_deg:g}\N{DEGREE SIGN}", cut))
    return "\n".join([*_table(rows), "How far they are off two times in three."])


def _said(value: object) -> str:
    return "" if value is None else str(value)


def _table(rows: Sequence[tuple[str, ...]]) -> list[str]:
    wide = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, wide, strict=True)).rstrip() for row in rows]
