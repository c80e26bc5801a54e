"""Some bends are made: new marks for the rest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import degrees, radians
from typing import Annotated

import msgspec
from msgspec.structs import replace

from racewright.cautions import Work, cautions_for, in_order
from racewright.errors import Finding
from racewright.fit.by_hand import LeftToBend
from racewright.fit.made import MadeBend, as_made
from racewright.fit.replanned import ReplanAnswer
from racewright.fit.scrap import scrap_finding
from racewright.fit.words import (
    further_words,
    trim_words,
    turn_words,
    twist_words,
)
from racewright.operations.as_cut import AsCut, as_cut, once_bent_words
from racewright.operations.at_bench import BendAtBench, bends_at_bench
from racewright.operations.bent import Bent, BentRequest, RoomLeft, bent, room_left
from racewright.operations.common import Answer, Known, Length, LengthText, Part, length_of
from racewright.operations.first_steps import FirstStep, as_done, cut_with_lines, first_steps, lines_before
from racewright.operations.half_bent import made_bends, no_place
from racewright.operations.kept_before import SAME_CUT_MM, SAME_PLANE_DEG, InHand, asked_for_mm, in_hand
from racewright.operations.lines_read import taken_by_line
from racewright.operations.made_before import (
    KeptAgain,
    as_read,
    as_they_are,
    check_as_kept,
    check_they_hold,
    taken_as_ticked,
    taken_by_card,
    twisted_by_now,
    with_marks,
)
from racewright.operations.new_marks import (
    AsKept,
    BentOn,
    Drawn,
    NewMark,
    Opened,
    as_marked,
    bent_on,
    kept_marks,
    left_out,
    new_marks,
    piece_anew,
    readings_kept,
)
from racewright.operations.remark_notes import (
    IN_HAND,
    Ends,
    after_bending,
    bounded_words,
    end_b_note,
    ends_cut,
    new_piece_words,
    notes_of,
    out_of_order,
    wants,
)
from racewright.operations.way_taken import More, WayTaken, more_conduit, tried
from racewright.plan.model import PlannedPiece
from racewright.plan.recheck import Rechecked, against_the_run, recheck, room_words
from racewright.records.bends_left import bends_left, line_is_lost, of_bends, so_far
from racewright.records.entry import Made, MadeEntry, TwistAnew
from racewright.records.model import MadeReading
from racewright.records.own_lines import DrawnAt, drawn
from racewright.sequence.care import bending_care, correcting_care, cutting_care
from racewright.sequence.machine import STANCES
from racewright.sequence.words import mark_names
from racewright.tools.benders import made_by
from racewright.units.angle import hand_angle
from racewright.units.length import parse_length
from racewright.units.said import said_in
from racewright.units.tape import TapeUnit

#: As much longer conduit is looked at where that in hand may be what bounds the piece (mm; own value).
_LONGER_MM = 600.0
NOT_INCLUDED = ("Straps are not placed again with the new marks.",)


class RemarkRequest(BentRequest, frozen=True, kw_only=True):
    """Some bends are made and not as planned: new marks for the rest. `cut_free`: the length can still be cut;
    `stock`: how long the conduit in hand is, from end A as it is now, or from cut line A where that is cut last ('' =
    the plan's cut length, or the least stick that the plan asks for where it cuts after bending). `record`: what is
    recorded as made of the piece by its plan, oldest first: that is made too, and what is left out of `made` is as
    recorded. Without `made` the new marks that were kept last are asked for again; they are refused where they come out
    otherwise than they were kept, and where bends were made by other marks, which they do not reckon with."""

    made: Annotated[tuple[MadeReading, ...], msgspec.Meta(max_length=120)] = ()
    record: Annotated[tuple[MadeEntry, ...], msgspec.Meta(max_length=1000)] = ()
    cut_free: bool = True
    stock: LengthText = ""


class Gap(Part, frozen=True, kw_only=True):
    """How far end B still is from its fitting: across twice and along, and how far out of line, twice."""

    across_mm: tuple[float, float]
    along_mm: float
    lean_deg: tuple[float, float]


class Twisted(Part, frozen=True, kw_only=True):
    """A made bend whose plane is off: it and all that follows is twisted by so much before the rest is bent (positive
    clockwise, seen from A)."""

    number: int
    by_deg: float


class RemarkAnswer(Answer, frozen=True, kw_only=True):
    """`run` and `piece` name what is bent; `made` are the bends that are; `unit` is the tape's. `scrap`: the piece does
    not serve, however it is finished: its finding `replan.scrap` says why and what can be saved, `notes` what to do
    instead, `gap` is the least that was found, `cut` a new piece's length, and the rest is empty. `met`: the end meets
    its fitting (or, where it stays open, comes to its place) within the tolerance; a piece that serves may be off by so
    much that it is corrected when finished, or sprung in. `opened` and `twisted` are done first, `marks` are in the
    order of bending, `left_out` those at which no bend is made. `words` say what changes, `notes` what to do with it.
    Findings: what of the end is not met, what the conduit then hits or passes too close, what cannot be made by hand,
    and what stands against the run as planned. `other_order`: the bends left are made in another order than the plan's.
    `trim_a_mm`: so much more comes off at end A, and all counts from there (negative: so much less than planned),
    `turned_deg`: so much the whole piece is turned in its fitting at end A against what was measured (positive
    clockwise, seen from A). `room`: what the piece leaves, with the marks as the tape shows them, to each obstacle and
    each surface of the plan, by name. `keep`: what is kept with the run for these marks to hold from then on (None:
    nothing is left to mark, or the mark of a made bend would stand before end A). `anew`: the piece as it is bent with
    these marks, in the form of a planned one (null: scrap), `bench` its bends in words; `bent_on` the made bends
    that are bent further before the rest: like those of `opened` each is a step of its own, and comes first. `first`:
    the steps that come before any of them; `before`: what is drawn once these are done, in words; nothing once a bend
    is made; `ends`: what is done to its ends after the last bend, `turn`: how the piece is turned when it goes in, in
    words. `done`: of the marks that were kept last and are asked for again, those that are bent, bent further or opened
    since."""

    run: str
    piece: str
    made: tuple[int, ...]
    unit: TapeUnit
    scrap: bool
    met: bool
    opened: tuple[Opened, ...]
    twisted: tuple[Twisted, ...]
    marks: tuple[NewMark, ...]
    left_out: tuple[int, ...]
    cut: Length
    was_cut: Length
    gap: Gap
    trim_a_mm: float
    turned_deg: float
    words: tuple[str, ...]
    notes: tuple[str, ...]
    other_order: bool
    room: tuple[RoomLeft, ...]
    keep: Made | None = None
    anew: PlannedPiece | None = None
    bench: tuple[BendAtBench, ...] = ()
    bent_on: tuple[BentOn, ...] = ()
    first: tuple[FirstStep, ...] = ()
    before: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()
    turn: tuple[str, ...] = ()
    done: tuple[int, ...] = ()


def remark(request: RemarkRequest, known: Known) -> RemarkAnswer:
    """New marks for the bends that are not made yet, and the new cut length; or that the piece is scrap."""
    return remarked(bent(request, known), request.made, request.stock, request.record, cut_free=request.cut_free)


def remarked(
    asked: Bent,
    written: Sequence[MadeReading],
    stock: LengthText = "",
    record: Sequence[MadeEntry] = (),
    *,
    cut_free: bool = True,
    since: bool = False,
) -> RemarkAnswer:
    """The same of a piece with its plan; fields are named as in `RemarkRequest`. `since`: not the marks that were kept,
    but those for what is made since."""
    its = ((one.id, of_bends(one.what, len(asked.bends))) for one in record)
    cut = as_cut(asked, [MadeEntry(id=of, what=what) for of, what in its if what is not None])
    kept = so_far(cut.record).kept
    if not written:
        with said_in(asked.tape):
            check_they_hold(asked, cut.record)
    if kept is None or written or stock or since:
        return _next_marks(cut, written, stock, cut_free=cut_free)
    left = bends_left((), cut.record)
    marks = () if kept.what.anew is None else kept.what.anew.marks
    answer = _as_kept_before(cut)
    line = "" if kept.what.anew is None or kept.what.anew.cut_first else cut_with_lines(answer.first)
    if line:
        twists = tuple(one for one in answer.first if one.kind != "cut")
        answer = replace(answer, first=twists, before=(line,))
    done = tuple(mark.number for mark in marks if mark.number not in left)
    first = as_done(answer.first, cut.record, bent=not set(done) <= set(answer.made))
    return _less_done(asked, answer, done, first, once_bent_words(kept, record, asked.tape))


def as_kept_before(asked: Bent, record: Sequence[MadeEntry]) -> RemarkAnswer:
    """The new marks that hold by a piece's record, worked out now. Raises MarksLost where they come out otherwise than
    they were kept."""
    return _as_kept_before(as_cut(asked, record))


def _as_kept_before(cut: AsCut) -> RemarkAnswer:
    now = so_far(cut.record).kept
    assert now is not None
    kept = now.what
    assert kept.anew is not None
    there = _drawn(kept, line_is_lost(cut.record, for_kept=True), drawn(cut.record, for_kept=True))
    asked = cut.kept(kept)
    answer = _kept_marks(asked, kept, there)
    check_as_kept(kept.anew, _again(asked, answer))
    return answer


def _less_done(
    asked: Bent, answer: RemarkAnswer, done: tuple[int, ...], first: tuple[FirstStep, ...], last: tuple[str, ...]
) -> RemarkAnswer:
    """The answer without what it says to do about made bends of which that is `done`, about the piece before them, and
    what is done of the `last` of it. It keeps nothing of a bend that is another by now."""
    over = [one for one in first if one.done]
    if not (done or over or last):
        return answer
    how = made_by(asked.shoe)
    words = {one.to_do for one in answer.opened if one.number in done} | {one.to_do for one in over}
    words |= {one.note for one in over}
    for on in answer.bent_on:
        if on.bend.number in done:
            words |= {further_words(mark_names([on.bend.number]), on.words.bend_to, how, opens=False), on.bend.look_at}
    words |= {*last, *(f"{one}, after bending" for one in last)}
    words |= {f"{one[0].upper()}{one[1:]}." for one in words}
    what = [*(one.name for one in over), *([mark_names(done)] if done else []), *last]
    notes = (f"Done already, as recorded: {'; '.join(what)}.", *(note for note in answer.notes if note not in words))
    keep = None if set(done) & set(answer.made) else answer.keep
    left = tuple(one for one in answer.words if one not in words)
    before = () if done else answer.before
    return replace(answer, first=first, before=before, done=done, notes=notes, words=left, keep=keep)


def _next_marks(cut: AsCut, written: Sequence[MadeReading], stock: LengthText, *, cut_free: bool) -> RemarkAnswer:
    """New marks for what is made by the record and as it is read now; where that is what the marks kept last were kept
    with, and the conduit alone is said to be as long as it is, for these bends once more."""
    asked, record = cut.now, cut.record
    now = so_far(record)
    held, hand, longer = None, None, list[Finding]()
    if stock:
        with said_in(asked.tape):
            hand = InHand(float(parse_length(stock, asked.tape.unit, field="stock", allow_zero=False)), told=True)
        longer += cut.longer(hand.mm)
    else:
        held = cut.in_hand or (_in_hand(cut, now.kept.what) if now.kept is not None else None)
        hand = held and held[0]
    if now.kept is not None and not (written or now.since or now.other or now.steps):
        there = _drawn(now.kept.what, line_is_lost(record, for_kept=True), drawn(record))
        answer = _worked_out(asked, as_read(now.kept.what.bends), hand, there, cut_free=cut_free)
        keep = None if answer.keep is None else replace(now.kept.what, anew=answer.keep.anew)
        return replace(answer, keep=keep, findings=(*longer, *answer.findings))
    with said_in(asked.tape):
        readings = as_they_are(asked, written, record, lambda what: _again(asked, _kept_marks(cut.kept(what), what)))
        taken = [taken_as_ticked(asked, written, record), taken_by_card(asked, written, record)]
        taken.append(taken_by_line(asked, written, record))
    there = Drawn(twisted_by_now(record, written), line_is_lost(record), drawn(record))
    answer = _worked_out(asked, readings, hand, there, cut_free=cut_free)
    keep = None if answer.keep is None else with_marks(answer.keep, record, written)
    told = (note for note in ("" if held is None else held[1], *taken) if note)
    return replace(answer, keep=keep, notes=(*told, *answer.notes), findings=(*longer, *answer.findings))


def _in_hand(cut: AsCut, kept: Made) -> tuple[InHand, str] | None:
    asked = cut.kept(kept)

    def wanted() -> float | None:
        told = (finding.allowed for finding in _kept_marks(asked, kept).findings if finding.rule == IN_HAND)
        return next(told, None)

    assert kept.anew is not None
    return in_hand(asked, kept.anew, wanted)


def _kept_marks(asked: Bent, kept: Made, there: Drawn | None = None) -> RemarkAnswer:
    """`there`: what was drawn; only the words hang on it."""
    assert kept.anew is not None
    held = kept.anew.in_hand_mm
    hand = None if held is None else InHand(held, told=not kept.anew.line_b_mm)
    return _worked_out(asked, as_read(kept.bends), hand, there or _drawn(kept, False, {}))


def _drawn(kept: Made, lost: bool, marks_mm: DrawnAt) -> Drawn:
    return Drawn(tuple(step for step in kept.steps if step.kind == "twist"), lost, marks_mm)


def _again(asked: Bent, answer: RemarkAnswer) -> KeptAgain:
    first = [twist_words(one.number, radians(one.by_deg), made_by(asked.shoe)) for one in answer.twisted]
    if abs(answer.trim_a_mm) > SAME_CUT_MM:
        first.append(trim_words(answer.trim_a_mm, asked.tape))
    turned = turn_words(radians(answer.turned_deg)) if abs(answer.turned_deg) > SAME_PLANE_DEG else []
    return KeptAgain(answer.marks, first, turned, answer.keep.anew if answer.keep else None)


def _worked_out(
    asked: Bent,
    written: Sequence[MadeReading],
    said: InHand | None,
    there: Drawn,
    *,
    cut_free: bool = True,
) -> RemarkAnswer:
    """`said`: how long the conduit in hand is, None: as planned. Worked out with
    the readings as they are kept, so that the marks come out so again; refused as they were written."""
    piece, tape = asked.piece, asked.tape
    with said_in(tape):
        hand = said or InHand(asked_for_mm(asked), told=False)
        conduit_mm = hand.mm if cut_free else piece.cut_length_mm
        made_bends(asked, written, conduit_mm)
        kept = list(readings_kept(asked, written))
        made = made_bends(asked, kept, conduit_mm)
        answers, way = tried(asked, made, hand.mm, cut_free=cut_free)
        if way is None or (way.why and not any(answer.plain and answer.possible for answer in answers)):
            raise no_place(asked, written, made)
        more: More | None = None
        if cut_free and not way.right:
            # its stick is cut after bending, and nobody said that no more than the least of it is in hand
            stick_mm = piece.stock_mm - piece.extra_a_mm - hand.cut_mm
            uncut = not hand.bounds(asked) and stick_mm > hand.mm
            more = more_conduit(asked, way, made, hand.mm, stick_mm if uncut else hand.mm + _LONGER_MM)
            if uncut and more is not None:
                way = more.way.told(wants(asked, more.want_mm, hand, planned=said is None))
                hand, more = hand._replace(mm=more.want_mm), None
        bounded = () if more is None else (bounded_words(asked, more.want_mm, told=hand.told),)
        if way.why:
            answer = _scrapped(asked, way, made, hand, bounded)
        else:
            answer = _marked(asked, way, made, hand, bounded, there)
        told = _as_kept(asked, answer, way, hand)
        told = told._replace(in_hand_mm=None if said is None else hand.mm)
        return replace(answer, keep=kept_marks(asked, kept, answer.opened, answer.marks, told))


def _as_kept(asked: Bent, said: RemarkAnswer, way: WayTaken, hand: InHand) -> AsKept:
    twists = {one.number: one for one in said.first if one.kind == "twist"}
    twisted = tuple(
        TwistAnew(number=n, by_rad=radians(one.by_deg), how=twists[n].to_do, look_at=twists[n].look_at)
        for n, one in ((one.number, one) for one in said.twisted)
    )
    cut = next((one for one in said.first if one.kind == "cut"), None)
    look = "" if cut is None else cut.look_at
    cuts_b = not way.answer.later and "B" in ends_cut(asked, way.answer, hand).cut
    off_b_mm, line_b_mm = hand.mm - said.trim_a_mm - said.cut.mm, said.cut.mm
    return AsKept(
        in_hand_mm=hand.mm,
        trim_mm=said.trim_a_mm,
        cut_first=cut is not None,
        cut_look_at=look,
        twisted=twisted,
        turned_rad=radians(said.turned_deg),
        off_b_mm=off_b_mm if cuts_b and hand.bounds(asked) else 0.0,
        line_b_mm=line_b_mm if cuts_b and not hand.bounds(asked) else 0.0,
        end_b=end_b_note(asked, way.answer, bends=bool(way.left.bends)),
    )


def _marked(
    asked: Bent,
    way: WayTaken,
    made: Sequence[MadeBend],
    hand: InHand,
    bounded: tuple[str, ...],
    there: Drawn,
) -> RemarkAnswer:
    """The answer for a piece that serves."""
    piece, tape, answer, left = asked.piece, asked.tape, way.answer, way.left
    numbers = [item.number for item in made]
    out = left_out(answer, numbers)
    ends, first = ends_cut(asked, answer, hand), tuple(first_steps(asked, answer, made))
    marks = new_marks(asked, answer, made, left, hand.mm, there)
    checked = recheck(asked.plan, piece, as_marked(answer.piece, marks))
    anew = piece_anew(asked, answer, made, marks, as_planned=left.as_planned and not out)
    return RemarkAnswer(
        run=asked.plan.name,
        piece=piece.label,
        made=tuple(sorted(numbers)),
        unit=tape.unit,
        scrap=False,
        met=answer.met,
        opened=tuple(_opened(asked, answer)),
        twisted=tuple(Twisted(number=n, by_deg=round(degrees(by), 9)) for n, by in answer.twisted),
        marks=marks,
        left_out=out,
        cut=length_of(answer.piece.cut_length_mm, tape),
        was_cut=length_of(piece.cut_length_mm, tape),
        gap=_gap(answer),
        trim_a_mm=answer.trim_mm,
        turned_deg=round(degrees(answer.turned_rad), 9) + 0.0,
        words=answer.words,
        notes=(
            *notes_of(asked, answer, left, hand, out, ends, first),
            *bounded,
            *room_words(asked.plan, checked),
        ),
        other_order=not left.as_planned,
        room=room_left(asked.plan, checked),
        anew=anew,
        bench=bends_at_bench(anew),
        bent_on=bent_on(asked, anew, made, marks),
        first=first,
        before=lines_before(asked, answer, marks, there),
        ends=after_bending(asked, answer, hand, ends),
        turn=tuple(turn_words(answer.turned_rad)),
        findings=(*way.barred, *_findings(asked, answer, left, checked, numbers)),
        not_included=(*checked.not_checked, *NOT_INCLUDED),
        cautions=cautions_for(*in_order(_care(asked, answer, marks, ends))),
    )


def _scrapped(
    asked: Bent, way: WayTaken, made: Sequence[MadeBend], hand: InHand, bounded: tuple[str, ...]
) -> RemarkAnswer:
    """The answer for a piece that does not serve: nothing of it is marked, met or drawn."""
    piece, tape = asked.piece, asked.tape
    numbers = [item.number for item in made]
    told = scrap_finding(
        piece.label,
        as_made(asked.arcs, made),
        numbers,
        way.why,
        from_mm=-piece.extra_a_mm,
        to_mm=hand.mm,
        tape=tape,
        proved=way.proved,
    )
    return RemarkAnswer(
        run=asked.plan.name,
        piece=piece.label,
        made=tuple(sorted(numbers)),
        unit=tape.unit,
        scrap=True,
        met=False,
        opened=(),
        twisted=(),
        marks=(),
        left_out=(),
        cut=length_of(piece.cut_length_mm, tape),
        was_cut=length_of(piece.cut_length_mm, tape),
        gap=_gap(way.answer),
        trim_a_mm=0.0,
        turned_deg=0.0,
        words=(),
        notes=(*bounded, new_piece_words(asked)),
        other_order=False,
        room=(),
        findings=(told, *way.barred, *out_of_order(asked, numbers), *against_the_run(asked.plan)),
        not_included=(),
        cautions=cautions_for(*cutting_care(threaded=False)),
    )


def _opened(asked: Bent, answer: ReplanAnswer) -> Iterator[Opened]:
    for number, by in answer.opened:
        to, size = degrees(answer.piece.bends[number - 1].angle_rad), hand_angle(degrees(-by))
        yield Opened(
            number=number,
            by_deg=round(degrees(-by), 9),
            angle_deg=round(to, 9),
            to_do=further_words(mark_names([number]), size, made_by(asked.shoe), opens=True),
            leaves=f"leaves {hand_angle(to)}",
        )


def _gap(answer: ReplanAnswer) -> Gap:
    up, side, along, lean_up, lean_side = answer.gap
    return Gap(across_mm=(up, side), along_mm=along, lean_deg=(degrees(lean_up), degrees(lean_side)))


def _findings(
    asked: Bent, answer: ReplanAnswer, left: LeftToBend, checked: Rechecked, made: Sequence[int]
) -> tuple[Finding, ...]:
    """What is wrong with the finished piece; a rise only where nothing stands there that says so itself; and what
    stands against the run, but for what was looked at anew."""
    over = {thing.name for thing in asked.plan.obstacles}
    found = [f for f in answer.findings if f.values.get("shape") not in over]
    run = against_the_run(asked.plan, left_out=[("bend.order", asked.piece.label)])
    return (*found, *checked.findings, *([left.finding] if left.finding else ()), *out_of_order(asked, made), *run)


def _care(asked: Bent, answer: ReplanAnswer, marks: Sequence[NewMark], ends: Ends) -> Iterator[Work]:
    """What the bends to be made, bent further and corrected, and the ends to be cut, ask to take care of."""
    for mark in marks:
        stances = STANCES if mark.stance is None else (mark.stance,)
        yield from (correcting_care if mark.further_deg else bending_care)(asked.shoe, stances)
    if answer.later or answer.opened or answer.twisted:
        yield from correcting_care(asked.shoe, asked.stances)
    if ends.cut:
        yield from cutting_care(threaded=bool(ends.threaded))
