"""Copies of runs alike that are counted no more, and count again: a piece that was bent is there, and so is its label,
whatever is said meanwhile of those that count."""

from __future__ import annotations

from collections.abc import Sequence

from racewright.records.entry import (
    NOT_BENT,
    Entry,
    Made,
    Status,
    StatusSet,
    by_copy,
    called_anew,
    is_work,
    said_again,
    set_by,
    sets,
    statuses_by,
)
from racewright.records.ids import new_id


def left_as(entries: Sequence[Entry], copies: range) -> tuple[Entry, ...]:
    """What is kept of these copies before they are counted no more: of each that is bent, or would be by what was said
    of it alone, how far it is, as its own. The entries stand oldest first."""
    stands = set_by(entries, copies.stop - 1)
    own = statuses_by((entry for entry in entries if entry.copy is not None), copies.stop - 1)
    return tuple(
        said_again(entry, copy, own[copy - 1])
        for copy in copies
        for status, entry in [stands[copy - 1]]
        if entry is not None and _differ(own[copy - 1], status)
    )


def _differ(had: Status, says: Status) -> bool:
    return had != says and (had not in NOT_BENT or says not in NOT_BENT)


def counted_again(entries: Sequence[Entry], copies: range) -> dict[int, tuple[Status, Entry | None]]:
    """Which of these copies, that count from now on, were there before: those of which more is kept than that they were
    to be bent. Their status, with the entry that said so (None: nobody did, and it is not bent, but planned at least
    where bends of it are made)."""
    found: dict[int, tuple[Status, Entry | None]] = {}
    for entry in entries:
        if entry.copy is None or entry.copy not in copies:
            continue
        stood = found.get(entry.copy, ("measured", None))
        if not isinstance(entry.what, StatusSet):
            begun = isinstance(entry.what, Made) and stood[1] is None
            found[entry.copy] = ("planned", None) if begun else stood
        elif sets(entry, stood[0]) and entry.what.status not in NOT_BENT:
            found[entry.copy] = (entry.what.status, entry)
        elif sets(entry, stood[0]) and entry.copy in found and (stood[1], entry.what.status) != (None, "planned"):
            found[entry.copy] = ("measured", None)
    return found


def begun_again(entries: Sequence[Entry], copy: int) -> tuple[Entry, ...]:
    """The work that is in sight of a copy which counts again, half-bent, and that all were bent meanwhile: behind the
    status that says so it is said again, as what is bent and set back is another piece."""
    work = [one for one in dict(by_copy(entries, copy))[copy] if one.copy == copy and is_work(one)]
    ids = {one.id: new_id() for one in work}
    return tuple(called_anew(one, ids) for one in work)
