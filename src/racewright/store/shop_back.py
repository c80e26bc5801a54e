"""A record of the whole shop, a tool, a price list, a person, as it was before: its next revision."""

from __future__ import annotations

from collections.abc import Sequence

from racewright.errors import InputError
from racewright.store.job_reader import Revision
from racewright.store.job_rows import Write
from racewright.store.job_store import JobStore
from racewright.store.job_values import body_of


def revision_to_bring_back(
    revisions: Sequence[Revision], to: int | None, *, called: str, log: str, by: str, anyone: bool
) -> Revision:
    """The revision `to` of a record whose revisions these are, newest first; None: as it was before it last changed.
    Somebody else's change is taken back only where `anyone` says so: the last, without `to` all since. `called`: it in
    words; `log`: the command that lists its revisions. Raises InputError."""
    last = revisions[0]
    wanted = [r for r in revisions if to == r.number or (to is None and r.value not in (None, last.value))]
    found = wanted[0] if wanted else None
    if found is None or found.value is None or found.value == last.value:
        what = f"is as it was at revision {to} already" if found and found.value else "was never anything else"
        what = f"has no revision {to} to bring back" if to is not None and not (found and found.value) else what
        raise InputError(f"{called} {what}.", hint=f"`{log}` lists its revisions", field="to")
    since = [r for r in revisions if r.number > found.number] if to is None else [last]
    other = next((r for r in since if r.by != by), None)
    if other is not None and not anyone:
        which = "the last change" if other is last else "what would be taken back"
        raise InputError(
            f"{which} of {called[0].lower()}{called[1:]} is not yours: by {other.by or 'somebody'}, {other.at}.",
            hint="talk to them, or give --anyone",
        )
    return found


def write_back(store: JobStore, kind: str, record: str, last: Revision, back: Revision, *, called: str, by: str) -> int:
    """What the record said at revision `back` is its next after `last`; its number. Inside `writing` only."""
    assert back.value is not None
    write = Write(kind, record, store.rows.numbers.after(last.number), last.number, body_of(back.value))
    what = f"{called} back to revision {back.number}"
    store.rows.write_change(store.rows.begin_shop(), [write], by=by, what=what[:200])
    store.changed = True
    return write.number
