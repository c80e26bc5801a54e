"""Copies of runs alike that are counted no more, and count again: a piece that was bent is there, and so is its label,
whatever is said meanwhile of those that count."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import msgspec

from racewright.records.entry import NOT_BENT, Entry, Status, StatusSet
from racewright.records.ids import new_id


def left_as(entries: Iterable[Entry], copies: range) -> tuple[Entry, ...]:
    """What is kept of these copies before they are counted no more: of each that is bent, or was by what was said of it
    alone, what was said of all since, as its own. The entries stand oldest first."""
    of_all: Entry | None = None
    since: set[int] = set()  # said of these alone, after what was said of all
    own: dict[int, Status] = {}
    for entry in entries:
        if not isinstance(entry.what, StatusSet):
            continue
        if entry.copy is None:
            of_all, since = entry, set()
            continue
        since.add(entry.copy)
        own[entry.copy] = entry.what.status
    if of_all is None or not isinstance(of_all.what, StatusSet):
        return ()
    says = of_all.what.status
    other = [copy for copy in copies if copy not in since and _differ(own.get(copy, "measured"), says)]
    return tuple(msgspec.structs.replace(of_all, id=new_id(), copy=copy) for copy in other)


def _differ(had: Status, says: Status) -> bool:
    return had != says and (had not in NOT_BENT or says not in NOT_BENT)


def counted_again(entries: Sequence[Entry], copies: range) -> dict[int, tuple[Status, Entry | None]]:
    """Which of these copies, that count from now on, were there before: those of which more is kept than that they were
    to be bent. Their status, with the entry that said so (None: nobody did, and it is not bent)."""
    found: dict[int, tuple[Status, Entry | None]] = {}
    for entry in entries:
        if entry.copy is None or entry.copy not in copies:
            continue
        if not isinstance(entry.what, StatusSet):
            found.setdefault(entry.copy, ("measured", None))
        elif _is_bent(entry):
            found[entry.copy] = (entry.what.status, entry)
        elif entry.copy in found:
            found[entry.copy] = ("measured", None)
    return found


def _is_bent(entry: Entry) -> bool:
    return isinstance(entry.what, StatusSet) and entry.what.status not in NOT_BENT
