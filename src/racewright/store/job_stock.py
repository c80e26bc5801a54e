"""What a job's runs are cut from: sticks that are bought, on hand, left over; what the saw eats. All of it is in the
job's head, with its revisions."""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from racewright.catalogue.raceways import raceway_by_name
from racewright.errors import UnknownName
from racewright.field_words import explained
from racewright.records.model import JobHead, Stock
from racewright.records.parse import check_head, length_mm
from racewright.store.job_store import JobStore

_SAME_MM = 0.01


def change_stock(
    store: JobStore, job: str, change: Callable[[JobHead], JobHead], *, what: str, by: str = ""
) -> JobHead:
    """Change what a job is cut from, as its head's next revision; returns the head. What stood before is not checked
    again, so that it can be taken out. Raises InputError, LimitError, StaleSave."""
    kept = store.head(job)
    head = change(kept.value)
    if not set(head.stock) < set(kept.value.stock) or head.cutting != kept.value.cutting:
        check_head(head)
    if head != kept.value:
        store.save(job, [], head=(head, kept.revision), by=by, what=f"stock: {what}"[:200])
    return head


def with_stock(head: JobHead, raceway: str, length: str, **figures: object) -> JobHead:
    """A head with these sticks: fields of `Stock`; None stays as it is. Those of one raceway and length that are
    bought, on hand and left over are three lines; a `count` of 0 takes its line out. Raises InputError, UnknownName."""
    given = {name: value for name, value in figures.items() if value is not None}
    one = _stock({"raceway": raceway_by_name(raceway).name, "length": length, **given})
    at = next((i for i, had in enumerate(head.stock) if _line(had, head) == _line(one, head)), None)
    if at is None:
        stock = (*head.stock, one)
    else:
        one = _stock({**msgspec.structs.asdict(head.stock[at]), **given})
        stock = (*head.stock[:at], one, *head.stock[at + 1 :])
    return msgspec.structs.replace(head, stock=tuple(had for had in stock if had.count != 0))


def without_stock(head: JobHead, raceway: str, length: str) -> JobHead:
    """A head without any sticks of this raceway, be it in no catalogue, and length. Raises UnknownName where it has
    none, InputError."""
    gone = _line(_stock({"raceway": raceway, "length": length}), head)[:2]
    left = tuple(had for had in head.stock if _line(had, head)[:2] != gone)
    if len(left) == len(head.stock):
        known = "; ".join(f"{had.raceway}, {had.length}" for had in head.stock[:12]) or "none yet"
        raise UnknownName(f"the job has no '{raceway}' of {length}.", hint=f"stock: {known}", field="LENGTH")
    return msgspec.structs.replace(head, stock=left)


def _stock(data: dict[str, object]) -> Stock:
    try:
        return msgspec.convert(data, Stock)
    except msgspec.ValidationError as err:
        raise explained(str(err), data, Stock, see="see docs/job.md") from None


def _line(one: Stock, head: JobHead) -> tuple[str, int, bool, bool]:
    """What tells lines apart: raceway, length (in steps that no tape shows), left over, on hand."""
    length = round(length_mm(one.length, head, "length", allow_zero=False) / _SAME_MM)
    try:
        raceway = raceway_by_name(one.raceway).name
    except UnknownName:
        raceway = one.raceway.strip()
    return raceway.casefold(), length, one.offcut, one.count is not None
