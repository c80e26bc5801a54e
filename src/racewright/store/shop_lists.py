"""The prices and the people of a shop file: kept, changed, taken out; each change is the next revision."""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from racewright.errors import InputError, UnknownName
from racewright.field_words import explained
from racewright.records.differ import CALLED
from racewright.records.ids import Id
from racewright.records.person import Person, accuracy_of
from racewright.records.prices import NO_PRICES, Price, PriceList, Prices, check_prices, list_id, plain_name
from racewright.store.job_reader import Kept, Revision
from racewright.store.job_rows import Write
from racewright.store.job_store import JobStore
from racewright.store.job_values import body_of
from racewright.store.shop_back import revision_to_bring_back, write_back


def change_prices(
    store: JobStore, job: str, change: Callable[[Prices], Prices], *, own: bool | None = None, by: str = ""
) -> PriceList:
    """Change the prices that count for a job: its own where it has a list, else the shop's. `own`: its own, which begin
    as the shop's where it has none; False: the shop's. Raises InputError."""
    with store.rows.writing():
        job_id, shop = store.rows.job(job).id, store.rows.begin_shop()
        of = job_id if own or (own is None and store.price_list(job_id)) else shop.id
        stands = store.price_list(of) or (store.price_list(shop.id) if of == job_id else None)
        prices = change(stands.value.prices if stands else NO_PRICES)
        check_prices(prices)
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


#: The figures of an item that are for one `per`, as they are called.
_PER_ONE = {"price": "price", "labour_h": CALLED["labour_h"]}


def priced(prices: Prices, item: str, **figures: str | None) -> Prices:
    """These prices with what is said of an item: fields of `Price`; those that are None stay as they are.
    Raises InputError, also for a figure for one of something that would come to count for another."""
    given = {name: value for name, value in figures.items() if value is not None}
    at = next((i for i, p in enumerate(prices.items) if plain_name(p.item) == plain_name(item)), None)
    had = {} if at is None else msgspec.structs.asdict(prices.items[at])
    stays = [words for name, words in _PER_ONE.items() if had.get(name) is not None and name not in given]
    if stays and given.get("per", had["per"]) != had["per"]:
        kept = " and ".join(f"{words} {had[name]}" for name, words in _PER_ONE.items() if words in stays)
        raise InputError(
            f"'{item}' has its {kept} for {had['per']}, and would have it for {given['per']}.",
            hint=f"say the {' and the '.join(stays)} for {given['per']} too",
            field="per",
        )
    data = {"item": item, **had, **given}
    try:
        one = msgspec.convert(data, Price)
    except msgspec.ValidationError as err:
        raise explained(str(err), data, Price, see="see docs/job.md") from None
    items = (*prices.items, one) if at is None else (*prices.items[:at], one, *prices.items[at + 1 :])
    return msgspec.structs.replace(prices, items=items)


def without(prices: Prices, item: str) -> Prices:
    """These prices without that item. Raises UnknownName."""
    items = tuple(p for p in prices.items if plain_name(p.item) != plain_name(item))
    if len(items) == len(prices.items):
        known = ", ".join(p.item for p in prices.items[:12]) or "none yet"
        raise UnknownName(f"'{item}' has no price.", hint=f"items: {known}", field="item")
    return msgspec.structs.replace(prices, items=items)


def keep_person(store: JobStore, name: str, *, by: str = "", **figures: object) -> Person:
    """Keep how well a person works under this name, whatever its case; what is not given stays, of a new one as it is
    for everybody. Raises InputError."""
    with store.rows.writing():
        kept = person_called(store, name)
        told = msgspec.structs.replace(kept.value if kept else Person(name=name), **figures)
        accuracy_of(told)
        if kept is None or kept.value != told:
            said = ", ".join(f"{name.removesuffix('_deg')} {value}" for name, value in figures.items())
            _write(store, "person", told.id, body_of(told), by, f"person {told.name}: {said}")
    return told


def forget_person(store: JobStore, name: str, *, by: str = "") -> str:
    """Take a person out; the name as it was written. Raises UnknownName."""
    with store.rows.writing():
        kept = person_called(store, name)
        if kept is None:
            known = ", ".join(one.value.name for one in store.people()) or "nobody yet"
            raise UnknownName(f"nobody is called '{name}' here.", hint=f"people: {known}", field="name")
        _write(store, "person", kept.value.id, None, by, f"person {kept.value.name} removed")
    return kept.value.name


def person_called(store: JobStore, name: str) -> Kept[Person] | None:
    """The person of this name, letter case aside."""
    return next((one for one in store.people() if one.value.name.casefold() == name.strip().casefold()), None)


def _write(store: JobStore, kind: str, record: Id, body: str | None, by: str, what: str) -> None:
    standing = store.rows.standing(record)
    base = standing.number if standing else 0
    write = Write(kind, record, store.rows.numbers.after(base), base, body)
    store.rows.write_change(store.rows.begin_shop(), [write], by=by, what=what[:200])
    store.changed = True
