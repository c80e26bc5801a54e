"""What new marks that were kept say where the next ones are asked for: how long the conduit is, whether a bend that was
bent on is read at its new line, what of the piece they make otherwise than planned."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from math import degrees
from typing import NamedTuple

from racewright.errors import InputError
from racewright.fit.made import LEAST_MADE_RAD
from racewright.fit.words import off_b_words
from racewright.operations.bent import Bent
from racewright.operations.lines_read import stands_mm, turned_marks
from racewright.operations.new_marks import NewMark
from racewright.plan.model import MarkedBend
from racewright.records.bends_left import SoFar
from racewright.records.entry import Anew
from racewright.records.own_lines import OwnLine
from racewright.sequence.words import clock_words, mark_names
from racewright.units.angle import format_degrees
from racewright.units.tape import TapeStyle, format_length, read_tape

#: A plane is the planned one where a hand cannot tell it from that: half of the half degree that a hand comes to.
SAME_PLANE_DEG = degrees(LEAST_MADE_RAD)
#: The piece is cut at end A as planned where it differs by less (mm).
SAME_CUT_MM = 0.01


def check_since_cut(
    asked: Bent, now: SoFar, places_mm: Iterable[tuple[int, float]], lines: Mapping[int, OwnLine]
) -> None:
    """Raises InputError where a bend that was there, by its number, is read rather where its mark stood before the cut
    at end A that is ticked off than where it stands since: it would be cut once more. The new line of a bend that is
    bent on with the shoe turned is drawn since; each is read at its own line."""
    cut = next((step for step in now.steps if step.kind == "cut"), None)
    if cut is None or now.kept is None or now.other_steps:
        return
    there = {bend.number: bend for bend in now.kept.what.bends}
    turned = turned_marks(asked, now.kept.what)
    for number, at_mm in places_mm:
        if number not in there:
            continue
        was_mm = stands_mm(asked, there[number], lines.get(number))
        now_mm = was_mm - cut.trim_mm
        since_mm = [now_mm, *([turned[number].mark_mm] if number in turned else [])]
        if abs(at_mm - was_mm) < min(abs(at_mm - place) for place in since_mm):
            told = f"{mark_names([number])} at {format_length(at_mm, asked.tape)}"
            then = format_length(now_mm, asked.tape)
            raise InputError(
                f"{told}: that is where it stood before the cut at end A that is ticked off; {then} is expected.",
                hint="measure it from end A as it is now; if it is not cut, take back what says that it is"
                " (`racewright job undo RUN --done cut`, or Undo in Bend)",
                field="made",
            )


def words_otherwise(kept: Anew, now: Anew, tape: TapeStyle) -> str:
    """That marks which come out as they were kept, as they do `now`, were kept in other words; '' where they were not,
    or in none."""
    told = [
        f"{name} is kept in the words '{how}', and by its figures it is: {right}"
        for (name, how), (_, right) in zip(_in_words(kept, tape), _in_words(now, tape), strict=True)
        if how not in ("", right)
    ]
    return f"{'; '.join(told)}. Go by the figures, not by these words." if told else ""


def _in_words(anew: Anew, tape: TapeStyle) -> Iterator[tuple[str, str]]:
    yield "the cut at end A", anew.cut_look_at
    off_b = anew.off_b_mm or anew.line_b_mm
    yield "the cut at end B", off_b_words(anew.off_b_mm, anew.line_b_mm, tape) if off_b else ""
    yield "end B", anew.end_b
    for twist in anew.twisted:
        yield from ((mark_names([twist.number]), words) for words in (twist.how, twist.look_at))
    yield from ((mark_names([mark.number]), mark.how) for mark in anew.marks)


class InHand(NamedTuple):
    """How long the conduit is, from where end A will be; `told`: as somebody said; else as it was asked for. `cut_mm`:
    so much of it was cut off at end A for new marks."""

    mm: float
    told: bool
    cut_mm: float = 0.0

    def bounds(self, asked: Bent) -> bool:
        """It is no longer than that: somebody said so, or the piece was cut to length."""
        return self.told or not asked.piece.trim_after


def asked_for_mm(asked: Bent) -> float:
    """How long the conduit is that the plan asks for, from where end A will be."""
    return asked.piece.least_stock_mm - asked.piece.extra_a_mm


def in_hand(asked: Bent, anew: Anew, wanted: Callable[[], float | None]) -> tuple[InHand, str] | None:
    """How long the conduit is by the new marks that were kept, from end A as it is cut, and that it was taken so, in
    words; None: they say nothing of it, and it is as planned. `wanted`: how long these marks want it to be at least,
    where that is more than the plan does."""
    cut_mm = max(0.0, anew.trim_mm)
    shown = read_tape(cut_mm, asked.tape).shown_mm > 0.0
    if anew.in_hand_mm is None and not shown:
        return None
    told = anew.in_hand_mm is not None and not anew.line_b_mm
    least_mm = wanted() if anew.in_hand_mm is None else None
    by = "as was said with the new marks that were kept" if told else "as planned"
    by = by if least_mm is None else "as the new marks that were kept want it"
    length_mm = (anew.in_hand_mm or least_mm or asked_for_mm(asked)) - cut_mm
    less = f", less the {format_length(cut_mm, asked.tape)} that they cut off at end A" if shown else ""
    taken = f"The conduit in hand is taken as {format_length(length_mm, asked.tape)} from end A, {by}{less}."
    return InHand(length_mm, told, cut_mm), f"{taken} If it is not, say how long it is."


def otherwise_words(asked: Bent, moved: Sequence[str], marks: Mapping[int, NewMark], numbers: Sequence[int]) -> str:
    """What the marks kept make otherwise than planned. `moved`: what they do about the whole piece, in words;
    `numbers`: bends that they turn, or leave out."""
    return "; ".join((*moved, *_otherwise(asked, marks, numbers)))


def _otherwise(asked: Bent, marks: Mapping[int, NewMark], numbers: Sequence[int]) -> Iterator[str]:
    for number in numbers:
        mark, name = marks.get(number), mark_names([number])
        if mark is None:
            yield f"leave {name} out"
        elif not in_its_plane(asked, mark):
            yield plane_words(mark.roll_deg, asked.bends[number - 1])


def plane_words(roll_deg: float, bend: MarkedBend) -> str:
    """What a new mark of this roll does to the plane of a bend."""
    off = plane_off_deg(roll_deg, bend)
    return f"turn the plane of {bend.name} {format_degrees(abs(off))} {clock_words(off)}, seen from A"


def plane_off_deg(roll_deg: float, bend: MarkedBend) -> float:
    """How far the plane of this roll is off the bend's own, positive clockwise seen from A."""
    return (roll_deg - bend.roll_deg + 180.0) % 360.0 - 180.0


def in_its_plane(asked: Bent, mark: NewMark) -> bool:
    """Whether a hand cannot tell its plane from the planned one."""
    return abs(plane_off_deg(mark.roll_deg, asked.bends[mark.number - 1])) < SAME_PLANE_DEG
