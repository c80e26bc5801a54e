"""The entries of a run as its present plan reads them: what pins the digest that this plan had before is its own."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from racewright.plan.digest import called_now
from racewright.plan.model import Plan
from racewright.records.entry import Entry


def of_plan(entries: Iterable[Entry], plan: Plan | None) -> tuple[Entry, ...]:
    """The entries, each with the plan that it pins as that is called now; `plan`: the run's present one, if it has one.
    What is held to its digest goes through here first."""
    return tuple(entries) if plan is None else of_digests(entries, plan.digest, plan.digest_before)


def of_digests(entries: Iterable[Entry], digest: str, before: str) -> tuple[Entry, ...]:
    """The same by the plan's digest, and by the one that it had before ('': not known)."""
    return tuple(_of_digest(entry, called_now(entry.pins.marks, digest, before)) for entry in entries)


def _of_digest(entry: Entry, marks: str) -> Entry:
    return entry if entry.pins.marks == marks else replace(entry, pins=replace(entry.pins, marks=marks))
