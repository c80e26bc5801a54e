"""Shop files before version 7, whose jobs held prices and people in their heads: these become records of the shop, and
every revision of a head is without them.

No history is lost: each list of prices that a job ever had is a revision of its own list, in the order in which they
came, and a person's figures likewise, whichever job said them; those of refused saves are kept as refused. The ids are
made from the jobs' and from names, so that two copies of one file, each brought up to date for itself, agree."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from racewright.records.before import HeadOfThree
from racewright.records.ids import Id
from racewright.records.person import Person
from racewright.records.prices import NO_PRICES, PriceList, list_id
from racewright.store.carried import as_text, read, shop_of, sum_up, write_of_shop

#: The bodies of each record's revisions, by its kind and id.
Lists = dict[tuple[str, Id], list[str]]


def carry(db: sqlite3.Connection, path: Path) -> None:
    """Bring what the file holds from version 6 to 7. Raises StoreTrouble where this Racewright cannot read it."""
    lists: Lists = {}
    asked = (
        "SELECT r.id, j.record, r.body FROM revision r JOIN job j ON j.id = r.job"
        " WHERE r.kind = 'job' AND r.body IS NOT NULL ORDER BY r.id"
    )
    new = []
    for number, job, body in db.execute(asked).fetchall():
        head = read(body, HeadOfThree, path)
        held = _held(head, job)
        none = ("prices", list_id(job))
        if head.prices == NO_PRICES and none in lists:  # they were taken out
            held.append((none, as_text(PriceList.holding(NO_PRICES, job))))
        for record, says in held:
            had = lists.setdefault(record, [])
            if not had or had[-1] != says:
                had.append(says)
        if _holds(head):
            new.append((as_text(head.now()), number))
    db.executemany("UPDATE revision SET body = ? WHERE id = ?", new)
    refused = _refused(db, path, lists)
    if not new and not refused:
        return
    if refused:
        shop = shop_of(db)[0]
        db.executemany(
            "INSERT INTO refused (job, kind, record, base, found, at, by, body, digest, checksum)"
            " VALUES (?, ?, ?, 0, ?, ?, ?, ?, '', '')",
            [(shop, kind, record, len(lists.get((kind, record), ())), *said) for (kind, record), said in refused],
        )
    sum_up(db)
    if lists:
        several = [
            read(told[-1], Person, path).name for (kind, _), told in lists.items() if kind == "person" and told[1:]
        ]
        what = "prices and people that the jobs held"
        if several:
            what += f"; jobs said several figures of {', '.join(several)}, of which the last count"
        write_of_shop(db, [(*record, told) for record, told in lists.items()], what[:200])


def _holds(head: HeadOfThree) -> bool:
    return bool(head.people) or head.prices != NO_PRICES


def _held(head: HeadOfThree, job: Id) -> list[tuple[tuple[str, Id], str]]:
    """What the head of this job holds, as bodies of records."""
    held = [] if head.prices == NO_PRICES else [PriceList.holding(head.prices, job)]
    people = [person.now(head.units) for person in head.people]
    return [(("prices", one.id), as_text(one)) for one in held] + [(("person", one.id), as_text(one)) for one in people]


def _refused(db: sqlite3.Connection, path: Path, lists: Lists) -> list[tuple[tuple[str, Id], tuple[str, str, str]]]:
    """What heads of refused saves held and no head that was saved: when, by whom, and the body. They are without it
    then."""
    found: dict[tuple[tuple[str, Id], str], tuple[str, str, str]] = {}
    asked = (
        "SELECT r.id, j.record, r.at, r.by, r.body FROM refused r JOIN job j ON j.id = r.job"
        " WHERE r.kind = 'job' AND r.body IS NOT NULL ORDER BY r.id"
    )
    for number, job, at, by, body in db.execute(asked).fetchall():
        head = read(body, HeadOfThree, path)
        if _holds(head):
            db.execute("UPDATE refused SET body = ? WHERE id = ?", (as_text(head.now()), number))
            for record, says in _held(head, job):
                if says not in lists.get(record, ()):
                    found.setdefault((record, says), (at, by, says))
    return [(record, said) for (record, _), said in found.items()]
