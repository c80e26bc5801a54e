"""What new marks that hold for a piece change in the steps of its plan, for the sheets of its run."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from racewright.fit.words import turn_words
from racewright.plan.model import Plan, Step
from racewright.records.anew import marked_anew
from racewright.records.entry import Entry
from racewright.records.model import JobRun
from racewright.records.naming import with_copies
from racewright.records.other_marks import bent_by_other


def with_new_marks(plan: Plan, run: JobRun, entries: Iterable[Entry]) -> Plan:
    """The run's plan; the steps in which a piece goes in say how it is turned in its fitting at end A by the new marks
    that hold for it, of runs alike with its name."""
    of = tuple(entries)
    turned = {which: turn_words(one.anew.turned_rad) for which, one in marked_anew(run, of, plan.digest).items()}
    if not any(turned.values()):
        return plan
    lost = bent_by_other(run, of, plan)
    said: dict[int, list[str]] = {}
    for (copy, piece), words in turned.items():
        name = f"{with_copies(run.key, [copy])}: " if run.alike else ""
        if (copy, piece) not in lost:
            said.setdefault(piece, []).extend(f"{name}by the new marks, {text}." for text in words)
    return replace(plan, steps=tuple(_told(step, said.get(step.piece or 0, [])) for step in plan.steps))


def _told(step: Step, words: list[str]) -> Step:
    if step.kind != "insert" or not words:
        return step
    told = " ".join(f"{text[0].upper()}{text[1:]}" for text in words)
    return replace(step, detail=f"{told} {step.detail}".rstrip())
