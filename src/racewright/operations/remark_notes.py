"""What is done beside bending by new marks, in words: what is mended first, corrected later, cut and threaded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from racewright.cards.words import cut_of
from racewright.errors import Finding
from racewright.fit.by_hand import LeftToBend
from racewright.fit.made import LEAST_MADE_RAD
from racewright.fit.measured import gap_words
from racewright.fit.replanned import ReplanAnswer
from racewright.fit.words import again_words, mended_words, move_words, off_a_words, off_b_words
from racewright.operations.bent import Bent
from racewright.operations.first_steps import FirstStep
from racewright.operations.kept_before import InHand
from racewright.sequence.words import mark_names
from racewright.tools.benders import made_by
from racewright.units.tape import format_length, read_tape

#: The rule of the caution that the marks want more conduit in hand than was asked for.
IN_HAND = "replan.in_hand"


class Ends(NamedTuple):
    """The ends that are still cut, and those that get a thread when they are."""

    cut: tuple[str, ...]
    threaded: tuple[str, ...]


def ends_cut(asked: Bent, answer: ReplanAnswer, hand: InHand) -> Ends:
    """Those of a piece of so much conduit in hand."""
    piece, tape = asked.piece, asked.tape
    off_a = read_tape(piece.extra_a_mm + answer.trim_mm, tape).shown_mm > 0.0
    off_b = read_tape(hand.mm - answer.trim_mm - answer.piece.cut_length_mm, tape).shown_mm > 0.0
    off_b = off_b or not hand.bounds(asked)
    cut = [(name, end) for name, end, off in (("A", piece.end_a, off_a), ("B", piece.end_b, off_b)) if off]
    return Ends(tuple(name for name, _ in cut), tuple(name for name, end in cut if end.thread))


def _first(
    asked: Bent, answer: ReplanAnswer, left: LeftToBend, out: Sequence[int], first: Sequence[FirstStep]
) -> Iterator[str]:
    """What to do about the bends that are made, and which of the others are not."""
    how, notes = made_by(asked.shoe), {one.to_do: one.note for one in first}
    for words in mended_words(answer, asked.tape, how=how):
        yield notes.get(words, f"{words[0].upper()}{words[1:]}.")
    if how != "heat":
        again = {item.number: answer.piece.bends[item.number - 1].angle_rad for item in answer.again}
        for step in left.bends:
            if step.number in again:
                same = step.hook == asked.bends[step.number - 1].hook
                room = step.stance is not None
                yield again_words(step.number, step.hook, again[step.number], as_before=same, room=room)
    if out:
        yield f"Leave {mark_names(out)} out: no bend is made there."


def end_b_note(asked: Bent, answer: ReplanAnswer, *, bends: bool) -> str:
    """What is done about an end that is off; '' for nothing. `bends`: some are left."""
    if answer.later and max(abs(move.by_rad) for move in answer.later) < LEAST_MADE_RAD:
        return "The end is off by less than a hand bends: spring it into its fitting."
    if answer.later:
        words = " and ".join(move_words(answer.piece, move, made_by(asked.shoe)) for move in answer.later)
        if not bends:
            return f"Correct it so: {words}. Then measure it again."
        return f"Measure it when it is finished; made with these marks it is then corrected so: {words}."
    if answer.met:
        return ""
    off = gap_words(answer.gap, asked.tape)
    if answer.open_end:
        return f"End B stays open and comes out {off}: look whether that does there."
    return f"End B comes out {off}: spring it into its fitting when it is joined, and strap it when it is in."


def notes_of(
    asked: Bent,
    answer: ReplanAnswer,
    left: LeftToBend,
    hand: InHand,
    out: Sequence[int],
    ends: Ends,
    first: Sequence[FirstStep],
) -> tuple[str, ...]:
    """What to do with the marks; `out`: those at which no bend is made; `first`: what is done before the bends."""
    piece, tape = asked.piece, asked.tape
    notes = [*_first(asked, answer, left, out, first)]
    if answer.plain and left.possible and len(left.bends) > len(answer.again):
        notes.append("The rest is bent as planned.")
    if answer.met:
        there = "comes to its place" if answer.open_end else "meets its fitting"
        notes.append(f"Worked out with these marks, the far end {there}; measure it when it is bent.")
    if end_b := end_b_note(asked, answer, bends=bool(left.bends)):
        notes.append(end_b)
    if not answer.later and "B" in ends.cut:
        words = _off_b(asked, answer, hand)
        notes.append(f"{words[0].upper()}{words[1:]}, after bending.")
    if "A" in ends.cut and piece.extra_a_mm > 0.0:
        beyond = format_length(piece.extra_a_mm + answer.trim_mm, tape)
        notes.append(f"Marks count from where end A will be; {beyond} is left on beyond it until it is cut.")
    if ends.threaded:
        both = len(ends.threaded) > 1
        notes.append(
            "Thread ends A and B once they are cut." if both else f"Thread end {ends.threaded[0]} once it is cut."
        )
    notes.append("Marks count from end A along the straight conduit; where it is bent, along its middle line.")
    return tuple(notes)


def _off_b(asked: Bent, answer: ReplanAnswer, hand: InHand) -> str:
    cut_mm = answer.piece.cut_length_mm
    off_mm = hand.mm - answer.trim_mm - cut_mm if hand.bounds(asked) else 0.0
    return off_b_words(off_mm, cut_mm, asked.tape)


def after_bending(asked: Bent, answer: ReplanAnswer, hand: InHand, ends: Ends) -> tuple[str, ...]:
    """What is done to the ends once all is bent, in words, and threaded where the plan has no step for it then; that
    nothing is, or not before it is corrected, where the plan cuts there."""
    piece, cut_after = asked.piece, asked.planned.trim_after
    if answer.later and piece.trim_after:
        return ("measure and correct it before it is cut",)
    if answer.later:
        return ("cut nothing off",) if cut_after else ()
    words = []
    if "A" in ends.cut and piece.extra_a_mm > 0.0:
        words.append(off_a_words(piece.extra_a_mm + answer.trim_mm, asked.tape))
    if "B" in ends.cut:
        words.append(_off_b(asked, answer, hand))
    if cut_after:
        return tuple(words) or ("cut nothing off",)
    return (*words, *(f"thread end {end}" for end in ends.threaded))


def bounded_words(asked: Bent, want_mm: float, *, told: bool) -> str:
    """That a longer conduit would do, and how long. `told`: how long the one in hand is was said."""
    want, a = format_length(want_mm, asked.tape), _from_a(asked)
    more_words = "" if told else " If it has that, say so."
    return f"The conduit in hand bounds it: with {want} from {a} it comes right.{more_words}"


def _from_a(asked: Bent) -> str:
    """From where on the conduit in hand counts."""
    return "cut line A" if asked.piece.extra_a_mm > 0.0 else "end A as it is now"


def wants(asked: Bent, want_mm: float, hand: InHand, *, planned: bool) -> Finding:
    """That the way needs more conduit than there is at least: as the plan asks for, or as kept marks left it."""
    tape = asked.tape
    there = f"the plan asks for {format_length(hand.mm, tape)}"
    if not planned:
        there = f"it is taken as {format_length(hand.mm, tape)}"
    return Finding(
        rule=IN_HAND,
        severity="caution",
        message=f"these marks want at least {format_length(want_mm, tape)} of conduit from {_from_a(asked)}, and"
        f" {there}: measure what is in hand. If it is shorter, say how long it is.",
        citation="the bender's own limits",
        where=asked.piece.label,
        measured=hand.mm,
        allowed=want_mm,
        unit="mm",
    )


def new_piece_words(asked: Bent) -> str:
    """What is taken for a new piece in the place of a scrapped one."""
    take, length, more = cut_of(asked.planned, asked.plan)
    if not asked.planned.order_known:
        return f"A new piece: {length}, {more}."
    what = {"CUT": f"cut {length}", "TAKE": f"take {length}, {more}"}.get(
        take, f"take a stick of at least {length}, {more}"
    )
    return f"Make a new piece as planned: {what}."


def out_of_order(asked: Bent, made: Sequence[int]) -> tuple[Finding, ...]:
    """Bends that the plan makes before one that is made, and that are not said to be."""
    last = max((asked.bends[number - 1] for number in made), key=lambda b: b.order)
    missing = [b.number for b in asked.bends if b.order < last.order and b.number not in made]
    if not missing:
        return ()
    names, one = mark_names(missing), len(missing) == 1
    message = (
        f"{mark_names([last.number])} is bent, and {names}, which the plan bends before it, "
        f"{'is' if one else 'are'} taken as not bent: if {'it is' if one else 'they are'}, say so."
    )
    return (Finding(rule="remark.made", severity="caution", message=message, citation="the plan's order", where=names),)
