"""What is ticked off of a piece once it is bent: its ends are cut, it is put in; as the plan has it, or new marks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from racewright.fit.words import off_b_words, turn_words
from racewright.records.entry import Anew, Entry, Made, MadeEntry, StepMade
from racewright.records.ids import Id
from racewright.records.steps import StepName
from racewright.units.tape import TapeStyle


def is_ends_cut(step: StepMade, anew: Anew | None) -> bool:
    """Whether the ends are cut by that step; `anew`: the new marks that it was done for (None: the plan's). What these
    cut off at end B is cut before it is reamed, where the plan has no step for it."""
    return step.kind == "trim" or (step.kind == "ream" and anew is not None and anew.off_b_mm > 0.0)


#: The steps by which ends are cut for new marks: each with the entry that kept these, and what they are.
EndsCut = Mapping[tuple[Id, StepName], Anew]


def ends_cut(entries: Iterable[Entry]) -> EndsCut:
    """Where new marks cut end B, which of the steps that these entries tick off that is: the cut after bending, else
    the ream."""
    of = [(one.id, one.what) for one in entries if isinstance(one.what, Made)]
    anew = {key: what.anew for key, what in of if what.anew is not None and (what.anew.off_b_mm or what.anew.line_b_mm)}
    found: dict[Id, StepName] = {}
    for step in (step for _, what in of for step in what.steps):
        if step.by_marks in anew and is_ends_cut(step, anew[step.by_marks]) and found.get(step.by_marks) != "trim":
            found[step.by_marks] = step.kind
    return {(by, kind): anew[by] for by, kind in found.items()}


def are_cut(made: Iterable[MadeEntry]) -> bool:
    """Whether the ends of a piece are cut by what is recorded of it."""
    of = tuple(made)
    anew = {one.id: one.what.anew for one in of}
    return any(is_ends_cut(step, anew.get(step.by_marks)) for one in of for step in one.what.steps)


class OnceBent(NamedTuple):
    """What is done of that which new marks want once the piece is bent: end B is cut, the piece is turned in its
    fitting at end A, and what they say of an end B that does not come to its place."""

    cut: bool = False
    turned: bool = False
    end_b: bool = False


def once_bent(steps: Iterable[StepMade], anew: Anew, kept: Id, *, is_in: bool = False) -> OnceBent:
    """By the steps that are ticked off; `kept`: the entry that kept the marks, `is_in`: the run is in place. The piece
    is turned as its first end goes in; end B is in its place where it is strapped, or goes in after."""
    of = [step for step in steps if step.by_marks == kept]
    return OnceBent(
        cut=is_in or any(is_ends_cut(step, anew) for step in of),
        turned=is_in or any(step.kind == "insert" for step in of),
        end_b=is_in or any(step.kind == "strap" or (step.kind == "insert" and step.number != 1) for step in of),
    )


def steps_after(anew: Anew, done: OnceBent, style: TapeStyle) -> Iterator[tuple[str, bool]]:
    """What new marks want once the piece is bent, in words, each with whether it is done: 'cut 1/2" off at end B'."""
    if anew.off_b_mm or anew.line_b_mm:
        yield off_b_words(anew.off_b_mm, anew.line_b_mm, style), done.cut
    yield from ((words, done.turned) for words in turn_words(anew.turned_rad))
    if anew.end_b:
        yield f"{anew.end_b[0].lower()}{anew.end_b[1:].rstrip('.')}", done.end_b
