"""The entries of a run as its present plan reads them: what pins the digest that this plan had before is its own, and
bends that a piece of this plan does not have are none of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Sized

from msgspec.structs import replace

from racewright.plan.digest import called_now
from racewright.plan.model import Plan
from racewright.records.bends_left import of_bends
from racewright.records.entry import Entry, Made, Noted


def of_plan(entries: Iterable[Entry], plan: Plan | None) -> tuple[Entry, ...]:
    """The entries, each with the plan that it pins as that is called now; `plan`: the run's present one, if it has one.
    What is held to its digest goes through here first."""
    return tuple(entries) if plan is None else of_digests(entries, plan.digest, plan.digest_before, plan.bends_planned)


def of_digests(entries: Iterable[Entry], digest: str, before: str, bends: Sequence[Sized]) -> tuple[Entry, ...]:
    """The same by the plan's digest, and by the one that it had before ('': not known); `bends`: those of its pieces,
    and what is said to be made of others is left out."""
    named = (_of_digest(entry, called_now(entry.pins.marks, digest, before)) for entry in entries)
    return tuple(filter(None, (_of_its_bends(entry, digest, bends) for entry in named)))


def _of_its_bends(entry: Entry, digest: str, bends: Sequence[Sized]) -> Entry | None:
    what, piece = entry.what, entry.piece or 1
    if not isinstance(what, Made) or entry.pins.marks != digest or piece > len(bends):
        return entry
    made = of_bends(what, len(bends[piece - 1]))
    if made is None:
        return replace(entry, what=Noted(note=what.note)) if what.note else None
    return entry if made is what else replace(entry, what=made)


def _of_digest(entry: Entry, marks: str) -> Entry:
    return entry if entry.pins.marks == marks else replace(entry, pins=replace(entry.pins, marks=marks))
