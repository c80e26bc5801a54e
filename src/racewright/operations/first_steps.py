"""What new marks want done to a half-bent piece before its bends, each a step of its own: end A is cut, a made bend is
twisted; how to see whether it is done, and what is drawn after it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import radians
from typing import Literal

from msgspec.structs import replace

from racewright.fit.made import MadeBend, twist_rad
from racewright.fit.replanned import ReplanAnswer
from racewright.fit.seen_words import cut_seen_words, twist_seen_words
from racewright.fit.words import trim_words, twist_words
from racewright.marks.mark import mark_mm
from racewright.operations.bent import Bent
from racewright.operations.common import Part
from racewright.operations.new_marks import Drawn, NewMark
from racewright.records.bends_left import so_far, twists_read
from racewright.records.entry import MadeEntry
from racewright.sequence.words import mark_names
from racewright.tools.benders import made_by
from racewright.units.tape import read_tape


class FirstStep(Part, frozen=True, kw_only=True):
    """What is done to the piece before its bends, a step of its own: `to_do` in words ('cut 5/16" more off at end A'),
    `look_at` how to see whether it is done ('': nothing shows it); bend `number` is twisted. `done`: the record says
    so."""

    kind: Literal["cut", "twist"]
    number: int | None
    to_do: str
    look_at: str
    done: bool = False

    @property
    def name(self) -> str:
        """What is done."""
        return "the cut at end A" if self.kind == "cut" else f"the twist at {mark_names([self.number or 0])}"

    @property
    def note(self) -> str:
        """The same in sentences, with how to see whether it is done."""
        return f"{self.to_do[0].upper()}{self.to_do[1:]}. {self.look_at}".rstrip()


def first_steps(asked: Bent, answer: ReplanAnswer, made: Sequence[MadeBend]) -> Iterator[FirstStep]:
    """What is done to the piece first; `made`: the bends that are made, as they were measured."""
    if _cuts_first(asked, answer):
        cut, look = trim_words(answer.trim_mm, asked.tape), _cut_seen(asked, answer.trim_mm, made)
        yield FirstStep(kind="cut", number=None, to_do=cut, look_at=look)
    for number, by in answer.twisted:
        off_rad = _off_rad(asked, number, made) + twist_rad(answer.twisted, number) - by
        twist, look = twist_words(number, by, made_by(asked.shoe)), twist_seen_words(number, off_rad, off_rad + by)
        yield FirstStep(kind="twist", number=number, to_do=twist, look_at=look)


def _cuts_first(asked: Bent, answer: ReplanAnswer) -> bool:
    """End A is cut before anything is bent: not where the plan leaves conduit on beyond it until the end."""
    trim_mm = answer.trim_mm
    return trim_mm > 0.0 and asked.piece.extra_a_mm <= 0.0 and read_tape(trim_mm, asked.tape).shown_mm > 0.0


def _cut_seen(asked: Bent, trim_mm: float, made: Sequence[MadeBend]) -> str:
    return cut_seen_words(((one.number, _mark_mm(asked, one)) for one in made), trim_mm, asked.tape)


def _mark_mm(asked: Bent, made: MadeBend) -> float:
    bend = asked.bends[made.number - 1]
    if made.arc_start_mm is None:
        return bend.mark_mm
    angle = radians(bend.angle_deg) if made.angle_rad is None else made.angle_rad
    ends_mm = made.arc_start_mm + asked.shoe.radius_mm * angle
    return mark_mm(made.arc_start_mm, ends_mm, bend.hook, bend.reference, asked.shoe)


def _off_rad(asked: Bent, number: int, made: Sequence[MadeBend]) -> float:
    """How far the plane of a made bend is off the plan (positive clockwise, seen from A)."""
    planned = radians(asked.bends[number - 1].roll_deg)
    return next((one.roll_rad - planned for one in made if one.number == number and one.roll_rad is not None), 0.0)


def lines_before(asked: Bent, answer: ReplanAnswer, marks: Sequence[NewMark], there: Drawn) -> tuple[str, ...]:
    """What is drawn before the first of the marks, beside what is `there`: a line that may stand elsewhere is drawn."""
    if _cuts_first(asked, answer):
        return ("First draw the new lines, from end A as it is cut now: the old ones do not count.",)
    places = ((mark, at_mm) for mark in marks for at_mm in there.of(asked.bends[mark.number - 1]))
    moved = any(mark.mark.tape != read_tape(at_mm, asked.tape).text for mark, at_mm in places)
    return ("First draw the new lines: the old ones do not count.",) if moved else ()


def cut_with_lines(first: Sequence[FirstStep]) -> str:
    """The cut as marks say it that were kept before it was a step of its own: with the lines that are drawn."""
    for one in first:
        if one.kind == "cut":
            line = f"First {one.to_do}, and draw the new lines from there: the old ones do not count."
            return f"{line} {one.look_at}".rstrip()
    return ""


def as_done(first: Sequence[FirstStep], record: Sequence[MadeEntry], *, bent: bool) -> tuple[FirstStep, ...]:
    """The steps before the bends, each with whether it is done: it was ticked off, or planes read since show it; the
    cut where a bend is made by marks that count from there (`bent`)."""
    now = so_far(record)
    ticked: set[tuple[str, int | None]] = {(step.kind, step.number) for step in now.steps}
    if now.kept is not None:
        ticked |= {("twist", one) for one in twists_read(now.kept.what, now.since, {step.number for step in now.steps})}
    if bent:
        ticked.add(("cut", None))
    return tuple(replace(one, done=(one.kind, one.number) in ticked) for one in first)
