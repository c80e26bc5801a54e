"""A half-bent piece as its ends were cut, by its record: how long its conduit is since."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from msgspec.structs import replace

from racewright.errors import Finding
from racewright.operations.bent import Bent
from racewright.operations.kept_before import InHand, asked_for_mm
from racewright.records.ends_cut import is_ends_cut, once_bent, steps_after
from racewright.records.entry import BY_PLAN, Anew, Made, MadeEntry, StepMade, for_marks
from racewright.units.tape import TapeStyle, format_length


class _Ends(NamedTuple):
    """How long the conduit is since it was cut, from end A, and by what, in words; `last`: the ends were cut so once it
    was bent (else: cut to length before); `by`: the marks that they were cut for."""

    mm: float
    words: str
    last: bool
    by: str


class AsCut(NamedTuple):
    """A piece as it is cut `now`, and as it was `when` each of its new marks were kept; `record`: what was made of it,
    as marks reckon with it. `ends`: how it is cut (None: nobody said that it is), `since`: since the last new marks."""

    now: Bent
    when: Mapping[Anew, Bent]
    record: tuple[MadeEntry, ...]
    ends: _Ends | None
    since: bool

    def kept(self, what: Made) -> Bent:
        """The piece as it was when these new marks were kept."""
        return self.now if what.anew is None else self.when.get(what.anew, self.now)

    @property
    def in_hand(self) -> tuple[InHand, str] | None:
        """How long the conduit is, where its ends were cut since the last new marks were kept, and that it is taken so,
        in words."""
        if self.ends is None or not (self.since and self.ends.last):
            return None
        length = format_length(self.ends.mm, self.now.tape)
        taken = f"The conduit in hand is taken as {length} from end A: its ends are cut, {self.ends.words}."
        return InHand(self.ends.mm, told=False), f"{taken} If it is not, say how long it is."

    def longer(self, said_mm: float) -> Iterator[Finding]:
        """A caution where it is said to be longer than it was cut to."""
        if self.ends is None or said_mm <= self.ends.mm + float(self.now.tape.step_mm):
            return
        said, length = format_length(said_mm, self.now.tape), format_length(self.ends.mm, self.now.tape)
        yield Finding(
            rule="replan.cut_shorter",
            severity="caution",
            message=f"{said} of conduit is said to be in hand, and it is recorded as cut to {length}: measure it again;"
            " if it is not cut, take back what says that it is.",
            citation="the record of the piece",
            where=self.now.piece.label,
            measured=said_mm,
            allowed=self.ends.mm,
            unit="mm",
        )


def as_cut(asked: Bent, record: Sequence[MadeEntry]) -> AsCut:
    """By all that is recorded of it, oldest first: a cut to length, the ends that are cut once it is bent, by the plan
    or by new marks, and what these cut off at end A after that."""
    anew: dict[str, Anew] = {}
    when: dict[Anew, Bent] = {}
    holds, ends, since = BY_PLAN, None, False
    for one in record:
        if one.what.anew is not None:
            when[one.what.anew] = _cut_so(asked, ends)
            anew[one.id] = one.what.anew
            holds, since = one.id, False
            continue
        for step in one.what.steps:
            by = step.by_marks or holds
            cut = _after(asked, ends, step, by, anew)
            since = since or (cut is not ends and step.kind != "cut")
            ends = cut
    made = ((one.id, for_marks(one.what)) for one in record)
    for_new = tuple(MadeEntry(id=of, what=what) for of, what in made if what is not None)
    return AsCut(_cut_so(asked, ends), when, for_new, ends, since)


def once_bent_words(kept: MadeEntry, record: Sequence[MadeEntry], tape: TapeStyle) -> tuple[str, ...]:
    """What of that which the marks kept want once the piece is bent is ticked off, in words."""
    anew = kept.what.anew
    if anew is None:
        return ()
    done = once_bent((step for one in record if one.what.anew is None for step in one.what.steps), anew, kept.id)
    return tuple(words for words, is_done in steps_after(anew, done, tape) if is_done)


def _after(asked: Bent, ends: _Ends | None, step: StepMade, by: str, anew: Mapping[str, Anew]) -> _Ends | None:
    """How it is cut after this step; `by`: the marks that it was done for."""
    if is_ends_cut(step, anew.get(by)):
        return _cut_to(asked, by, anew)
    if step.kind == "length" and ends is None:
        return _Ends(asked.piece.cut_length_mm, "", last=False, by=by)
    if step.kind == "cut" and ends is not None and ends.by != by:
        return ends._replace(mm=ends.mm - step.trim_mm)
    return ends


def _cut_to(asked: Bent, by: str, anew: Mapping[str, Anew]) -> _Ends:
    """How its ends are cut for these marks."""
    planned_mm, marks = asked.piece.cut_length_mm, anew.get(by)
    if by == BY_PLAN:
        return _Ends(planned_mm, "as planned", last=True, by=by)
    if marks is not None and marks.line_b_mm > 0.0:
        return _Ends(marks.line_b_mm, "as the new marks have it", last=True, by=by)
    if marks is not None and (marks.off_b_mm > 0.0 or marks.in_hand_mm is not None):
        had_mm = asked_for_mm(asked) if marks.in_hand_mm is None else marks.in_hand_mm
        return _Ends(had_mm - marks.trim_mm - marks.off_b_mm, "as the new marks have it", last=True, by=by)
    return _Ends(planned_mm, "how long is not recorded, it is planned so", last=True, by=by)


def _cut_so(asked: Bent, ends: _Ends | None) -> Bent:
    """The piece of conduit that is as long as that, where its ends were cut once it was bent."""
    if ends is None or not ends.last:
        return asked
    piece = replace(
        asked.piece,
        trim_after=False,
        trim_marks=(),
        least_stock_mm=ends.mm,
        stock_mm=ends.mm,
        extra_a_mm=0.0,
        extra_b_mm=0.0,
    )
    plan = replace(asked.plan, pieces=tuple(piece if one is asked.piece else one for one in asked.plan.pieces))
    return asked._replace(plan=plan, piece=piece, uncut=asked.piece)
