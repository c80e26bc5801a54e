"""What new marks that hold for a piece change in the steps of its plan, for the sheets of its run."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from racewright.fit.words import turn_words
from racewright.plan.model import Plan, PlannedPiece, Step
from racewright.records.anew import marked_anew
from racewright.records.entry import Entry
from racewright.records.model import JobRun
from racewright.records.naming import with_copies
from racewright.records.other_marks import bent_by_other


def with_new_marks(plan: Plan, run: JobRun, entries: Iterable[Entry]) -> Plan:
    """The run's plan; the step in which a piece goes in, and what is said of its end A, tell how it is turned in its
    fitting there by the new marks that hold for it, of runs alike with its name."""
    of = tuple(entries)
    turned = {which: turn_words(one.anew.turned_rad) for which, one in marked_anew(run, of, plan.digest).items()}
    if not any(turned.values()):
        return plan
    lost = bent_by_other(run, of, plan)
    said: dict[int, list[str]] = {}
    for (copy, piece), words in turned.items():
        name = f"{with_copies(run.key, [copy])}: " if run.alike else ""
        if words and (copy, piece) not in lost:
            said.setdefault(piece, []).extend(f"{name}by the new marks, {text}" for text in words)
    pieces = tuple(_end_told(piece, said.get(number, [])) for number, piece in enumerate(plan.pieces, 1))
    return replace(plan, steps=tuple(_steps_told(plan.steps, said)), pieces=pieces)


def _steps_told(steps: Iterable[Step], said: dict[int, list[str]]) -> Iterator[Step]:
    left = dict(said)
    for step in steps:
        words = left.pop(step.piece or 0, []) if step.kind == "insert" else []
        told = " ".join(f"{text[0].upper()}{text[1:]}." for text in words)
        yield replace(step, detail=f"{told} {step.detail}".rstrip()) if told else step


def _end_told(piece: PlannedPiece, words: list[str]) -> PlannedPiece:
    return replace(piece, end_a=replace(piece.end_a, told="; ".join(words))) if words else piece
