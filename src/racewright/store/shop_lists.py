"""The prices and the people of a shop file: kept, changed, taken out; each change is the next revision."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce

import msgspec

from racewright.errors import InputError, UnknownName
from racewright.records.differ import CALLED
from racewright.records.ids import Id
from racewright.records.job_settings import PersonChange, PriceChange, people_with, prices_with
from racewright.records.person import Person
from racewright.records.prices import NO_PRICES, PriceList, Prices, list_id
from racewright.store.job_reader import Revision
from racewright.store.job_rows import Write
from racewright.store.job_store import JobStore
from racewright.store.job_values import body_of
from racewright.store.shop_back import revision_to_bring_back, write_back


def change_prices(
    store: JobStore, job: str, changes: Sequence[PriceChange], *, own: bool | None = None, by: str = ""
) -> PriceList:
    """Change the prices that count for a job: its own where it has a list, else the shop's. `own`: its own, which begin
    as the shop's where it has none; False: the shop's. Raises InputError."""
    with store.rows.writing():
        job_id, shop = store.rows.job(job).id, store.rows.begin_shop()
        of = job_id if own or (own is None and store.price_list(job_id)) else shop.id
        stands = store.price_list(of) or (store.price_list(shop.id) if of == job_id else None)
        prices = reduce(prices_with, changes, stands.value.prices if stands else NO_PRICES)
        told = PriceList.holding(prices, of)
        if stands is None or stands.value != told:
            whose = f"job {job}" if of == job_id else "the shop"
            had = stands.value.prices if stands else NO_PRICES
            _write(store, "prices", told.id, body_of(told), by, f"prices of {whose}{_changed(had, prices)}")
    return told


def drop_own_prices(store: JobStore, job: str, *, by: str = "") -> None:
    """A job goes by the shop's prices again. Raises InputError where it has none of its own."""
    with store.rows.writing():
        kept = store.price_list(store.rows.job(job).id)
        if kept is None:
            raise InputError(f"job '{job}' has no prices of its own.", hint="it goes by the shop's", field="job")
        _write(store, "prices", kept.value.id, None, by, f"prices of job {job} taken out")


def prices_history(store: JobStore, job: str, own: bool | None) -> tuple[str, Id, tuple[Revision, ...]]:
    """Whose a price list is, its id and its revisions, newest first: the job's `own`, the shop's (False), or (None)
    the one that counts for the job; the job's also while its being taken out is the last change of both. Raises
    InputError where there never was one."""
    with store.rows.reading():
        job_id, shop = store.rows.job(job).id, store.rows.shop_id() or ""
        if own is None and store.price_list(job_id):
            own = True
        lists = [(f"job {job}", list_id(job_id))] if own is not False else []
        lists += [("the shop", list_id(shop))] if not own else []
        found = [(whose, one, store.history(one)) for whose, one in lists]
    there = [one for one in found if one[2]]
    if not there:
        raise InputError(f"{lists[0][0]} never had prices of its own.", hint="racewright job prices ITEM --price 14.20")
    return max(there, key=lambda one: one[2][0].change)


def person_history(store: JobStore, name: str) -> tuple[str, Id, tuple[Revision, ...]]:
    """What a person is called, their record and its revisions, newest first; one who stands goes before one who was
    taken out. Raises UnknownName."""
    with store.rows.reading():
        shop = store.rows.shop()
        rows = store.rows.all_standing(shop, "person") if shop else ()
        found = [(row.body is not None, row.record, store.history(row.record)) for row in rows]
    for _, record, revisions in sorted(found, key=lambda one: (not one[0], -one[2][0].change)):
        called = next((r.value.name for r in revisions if isinstance(r.value, Person)), "")
        if called.casefold() == name.strip().casefold():
            return called, record, revisions
    raise UnknownName(f"nobody was ever called '{name}' here.", hint="racewright job people", field="name")


def prices_back(
    store: JobStore, job: str, own: bool | None, to: int | None, *, by: str, anyone: bool = False
) -> tuple[str, int, int]:
    """A price list as it was at revision `to` (None: before it last changed) is its next revision. Whose it is, the
    number of that, and the one that was brought back. Raises InputError."""
    with store.rows.writing():
        whose, record, revisions = prices_history(store, job, own)
        log, called = "racewright job prices --log", f"prices of {whose}"
        back = revision_to_bring_back(revisions, to, called=f"The list of {called}", log=log, by=by, anyone=anyone)
        return whose, write_back(store, "prices", record, revisions[0], back, called=called, by=by), back.number


def person_back(store: JobStore, name: str, to: int | None, *, by: str, anyone: bool = False) -> tuple[str, int, int]:
    """How well a person works as it was at a revision; as `prices_back`. Raises UnknownName, InputError."""
    with store.rows.writing():
        called, record, revisions = person_history(store, name)
        log = "racewright job people NAME --log"
        back = revision_to_bring_back(revisions, to, called=f"The person {called}", log=log, by=by, anyone=anyone)
        return (
            called,
            write_back(store, "person", record, revisions[0], back, called=f"person {called}", by=by),
            back.number,
        )


def _changed(had: Prices, now: Prices) -> str:
    """': EMT 1/2, 10 ft; labor rate', what differs between two lists; '' for nothing."""
    before, after = ({p.item: p for p in one.items} for one in (had, now))
    items = [item for item in (*after, *(i for i in before if i not in after)) if before.get(item) != after.get(item)]
    whole = [
        words
        for words, a, b in (
            (CALLED["labour_rate"], had.labour_rate, now.labour_rate),
            ("currency", had.currency, now.currency),
        )
        if a != b
    ]
    return f": {'; '.join([*items, *whole])}" if items or whole else ""


def change_people(store: JobStore, change: PersonChange, *, by: str = "") -> tuple[Person, ...]:
    """One person of the shop changed, added or taken out. Raises InputError, UnknownName."""
    with store.rows.writing():
        had = tuple(kept.value for kept in store.people())
        people = people_with(had, change)
        for one in people:
            if one not in had:
                figures = {name: value for name, value in msgspec.structs.asdict(change).items() if value is not None}
                said = ", ".join(f"{f.removesuffix('_deg')} {value}" for f, value in figures.items() if f != "name")
                _write(store, "person", one.id, body_of(one), by, f"person {one.name}: {said}")
        for one in had:
            if all(one.id != left.id for left in people):
                _write(store, "person", one.id, None, by, f"person {one.name} removed")
    return people


def _write(store: JobStore, kind: str, record: Id, body: str | None, by: str, what: str) -> None:
    standing = store.rows.standing(record)
    base = standing.number if standing else 0
    write = Write(kind, record, store.rows.numbers.after(base), base, body)
    store.rows.write_change(store.rows.begin_shop(), [write], by=by, what=what[:200])
    store.changed = True
