"""Some bends are made: new marks for the rest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import degrees, radians
from typing import Annotated, Literal, NamedTuple

import msgspec

from racewright.assembly.threads import straight_for_thread_mm
from racewright.bends.model import BentPiece
from racewright.budget import ORDER_OF_THE_REST, ORDERS_OF_THE_REST, Budget
from racewright.cautions import Work, cautions_for, in_order
from racewright.errors import Finding
from racewright.fit.by_hand import HandBend, LeftToBend, largest_angle_rad, left_to_bend
from racewright.fit.made import LEAST_MADE_RAD, EndA, MadeBend, as_made
from racewright.fit.replan import ReplanAnswer, replan
from racewright.fit.scrap import scrap_finding
from racewright.fit.words import again_words, mended_words, move_words
from racewright.marks.mark import mark_mm
from racewright.operations.bent import Bent, BentRequest, RoomLeft, bent, room_left
from racewright.operations.common import Answer, Known, Length, LengthText, Part, length_of
from racewright.operations.half_bent import made_bends, no_place
from racewright.plan.model import MarkedBend
from racewright.plan.recheck import Rechecked, against_the_run, recheck, room_words, surroundings
from racewright.records.model import MadeReading
from racewright.sequence.care import bending_care, correcting_care, cutting_care
from racewright.sequence.machine import STANCES, Stance
from racewright.sequence.words import (
    bend_name,
    line_deg,
    making_words,
    mark_names,
    mark_words,
    read_words,
    rotate_words,
)
from racewright.tools.benders import HookEnd, Reference, made_by
from racewright.units.angle import hand_angle
from racewright.units.length import parse_length
from racewright.units.said import said_in
from racewright.units.tape import TapeUnit, format_length, read_tape

NOT_INCLUDED = ("Straps are not placed again with the new marks.",)


class RemarkRequest(BentRequest, frozen=True, kw_only=True):
    """Some bends are made and not as planned: new marks for the rest. `cut_free`: the length can still be cut;
    `stock`: how long the conduit in hand is, from where end A will be ('' = the plan's cut length, or the least
    stick that the plan asks for where it cuts after bending)."""

    made: Annotated[tuple[MadeReading, ...], msgspec.Meta(min_length=1, max_length=120)]
    cut_free: bool = True
    stock: LengthText = ""


class NewMark(Part, frozen=True, kw_only=True):
    """One bend still to be made, with the plan's hook and reference mark unless another order asks for others. `mark`
    is where that mark goes now (its tape reading less the exact place is `mark_rounding_mm`), `was` where the plan had
    its own; `on_conduit` False: it falls off what there is. `order` counts all bends of the piece. `pointer_deg`
    follows the plan's own springback as far as two of its bends show it. `spin_deg` is how far it turns in the
    bender since the bend made before (positive clockwise, seen from A), `line_deg` where the line drawn at the first
    bend faces then (from up), `spin_words` how to rotate it for that, and where its ends are swapped;
    `further_deg`: the bend is made, and bent so much further (0: it is not made yet). `on_shoe` False: no shoe makes
    it, and hook and reference mark say nothing. In words: `name` ('2nd bend, mark 3', 'again, mark 3'), `placed`
    ('arrow, hook toward A'; 'bend begins'), `bend_to` ('bend to 22 1/2°, read after letting go'). `stance`, in words
    `stance_words`, is how the bender is held (null, '': not known)."""

    number: int
    name: str
    order: int
    mark: Length
    mark_rounding_mm: float
    was: Length
    on_conduit: bool
    hook: HookEnd
    reference: Reference
    on_shoe: bool
    placed: str
    angle_deg: float
    further_deg: float
    roll_deg: float
    pointer_deg: float
    pointer_basis: Literal["under load", "relaxed"]
    bend_to: str
    spin_deg: float
    spin_words: str
    line_deg: float
    stance: Stance | None
    stance_words: str


class Gap(Part, frozen=True, kw_only=True):
    """How far end B still is from its fitting: across twice and along, and how far out of line, twice."""

    across_mm: tuple[float, float]
    along_mm: float
    lean_deg: tuple[float, float]


class RemarkAnswer(Answer, frozen=True, kw_only=True):
    """`run` and `piece` name what is bent; `made` are the bends that are; `unit` is the tape's. `met`: the end meets
    its fitting within the tolerance. `marks` in the order of bending, `left_out` those at which no bend is made.
    `words` say what changes, `notes` what to do with it. Findings: what of the end is not met, what the conduit then
    hits or passes too close, what cannot be made by hand, and what stands against the run as planned. `other_order`:
    the bends left are made in another order than the plan's. `trim_a_mm`: so much more comes off at end A, and all
    counts from there (negative: so much less than planned), `turned_deg`: so much the whole piece is turned in its
    fitting at end A against what was measured (positive clockwise, seen from A). `room`: what the piece leaves, with
    the marks as the tape shows them, to each obstacle and each surface of the plan, by name."""

    run: str
    piece: str
    made: tuple[int, ...]
    unit: TapeUnit
    met: bool
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


def remark(request: RemarkRequest, known: Known) -> RemarkAnswer:
    """New marks for the bends that are not made yet, and the new cut length."""
    asked = bent(request, known)
    piece, tape = asked.piece, asked.tape
    with said_in(tape):
        have_mm = piece.least_stock_mm - piece.extra_a_mm
        if request.stock:
            have_mm = float(parse_length(request.stock, tape.unit, field="stock", allow_zero=False))
        made = made_bends(asked, request.made, have_mm if request.cut_free else piece.cut_length_mm)
        answers = replan(
            asked.arcs,
            made,
            cut_free=request.cut_free,
            stock_length_mm=have_mm,
            largest_angle_rad=largest_angle_rad(asked.arcs, asked.shoe),
            least_straight_mm=min(asked.shoe.least_straight_mm, asked.shoe.grip_mm),
            end_a=EndA(
                turns=True,
                trim=request.cut_free,
                spare_mm=piece.extra_a_mm,
            ),
            hooks=asked.hooks,
            around=surroundings(asked.plan, piece),
            tape=tape,
        )
        numbers = [item.number for item in made]
        fit_die, no_die = _with_room_for_the_die(asked, answers, numbers)
        answer, left = _best(asked, fit_die, numbers, have_mm)
        if not answer.possible:
            raise no_place(asked, request.made, made)
        out = _left_out(asked, answer, numbers)
        ends = _ends(asked, answer, have_mm)
        marks = _new_marks(asked, answer, made, left, have_mm)
        checked = recheck(asked.plan, piece, _as_marked(answer.piece, marks))
        room = room_left(asked.plan, checked)
    up, side, along, lean_up, lean_side = answer.gap
    return RemarkAnswer(
        run=asked.plan.name,
        piece=piece.label,
        made=tuple(sorted(item.number for item in made)),
        unit=tape.unit,
        met=answer.met,
        marks=marks,
        left_out=out,
        cut=length_of(answer.piece.cut_length_mm, tape),
        was_cut=length_of(piece.cut_length_mm, tape),
        gap=Gap(across_mm=(up, side), along_mm=along, lean_deg=(degrees(lean_up), degrees(lean_side))),
        trim_a_mm=answer.trim_mm,
        turned_deg=round(degrees(answer.turned_rad), 9) + 0.0,
        words=answer.words,
        notes=(*_notes(asked, answer, left, have_mm - answer.trim_mm, out, ends), *room_words(asked.plan, checked)),
        other_order=not left.as_planned,
        room=room,
        findings=(
            *_not_fit(asked, answer, left, made, no_die, have_mm),
            *_findings(asked, answer, left, checked, numbers),
        ),
        not_included=(*checked.not_checked, *NOT_INCLUDED),
        cautions=cautions_for(*in_order(_care(asked, answer, marks, ends))),
    )


def _left_out(asked: Bent, answer: ReplanAnswer, made: Sequence[int]) -> tuple[int, ...]:
    """The marks that are left and that no bend is made at: less than a hand bends."""
    bends = enumerate(answer.piece.bends, 1)
    return tuple(n for n, bend in bends if n not in made and bend.angle_rad < LEAST_MADE_RAD)


def _with_room_for_the_die(
    asked: Bent, answers: Sequence[ReplanAnswer], made: Sequence[int]
) -> tuple[list[ReplanAnswer], list[ReplanAnswer]]:
    """The ways that can be threaded at end A, and those whose made bends leave no straight there for a die once the end
    is cut back."""
    least_mm = straight_for_thread_mm(asked.piece.end_a)
    fit: list[ReplanAnswer] = []
    barred: list[ReplanAnswer] = []
    for answer in answers:
        straight = min(answer.piece.bends[number - 1].arc_start_mm for number in made)
        (barred if answer.trim_mm > 0.0 and straight < least_mm else fit).append(answer)
    return fit, barred


def _not_fit(
    asked: Bent,
    answer: ReplanAnswer,
    left: LeftToBend,
    made: Sequence[MadeBend],
    no_die: Sequence[ReplanAnswer],
    have_mm: float,
) -> tuple[Finding, ...]:
    """That the piece is scrap, where no way fits; that a better way cuts end A back too near a bend to be threaded."""
    piece, tape = asked.piece, asked.tape
    found: list[Finding] = []
    numbers = [item.number for item in made]
    orderless = any(f.rule == "bend.order" and f.where == piece.label for f in asked.plan.findings)
    if answer.hopeless or not (left.possible or orderless):
        now = as_made(asked.arcs, made)
        proved = left.proved and all(f.rule != "replan.search" for f in answer.findings)
        found.append(
            scrap_finding(piece.label, now, numbers, from_mm=-piece.extra_a_mm, to_mm=have_mm, tape=tape, proved=proved)
        )
    if no_die and no_die[0].rank < answer.rank:
        straight = min(no_die[0].piece.bends[number - 1].arc_start_mm for number in numbers)
        least_mm = straight_for_thread_mm(piece.end_a)
        found.append(
            Finding(
                rule="replan.thread",
                severity="caution",
                message=f"cut back by {format_length(no_die[0].trim_mm, tape)}, end A would have"
                f" {format_length(straight, tape)} of straight, and a die wants {format_length(least_mm, tape)} to cut"
                " its thread again: it is not cut back.",
                citation="common practice, no source",
                where=f"{piece.label}, end A",
                measured=straight,
                allowed=least_mm,
                unit="mm",
            )
        )
    return tuple(found)


def _best(
    asked: Bent, answers: Sequence[ReplanAnswer], made: Sequence[int], have_mm: float
) -> tuple[ReplanAnswer, LeftToBend]:
    """The best way to finish, and how its bends are made: the first that a hand can make; where there is none, the rest
    as planned. A bend that is bent further goes before those that are left."""
    ordered = sorted(asked.bends, key=lambda b: b.order)
    best: tuple[ReplanAnswer, LeftToBend] | None = None
    orders, cut_short = Budget(ORDERS_OF_THE_REST), False
    for answer in answers:
        if orders.spent and best is not None and (best[0].plain or not answer.plain):
            cut_short = True
            continue
        further = {item.number for item in answer.further}
        out = _left_out(asked, answer, made)
        begun = [*(number for number in made if number not in further), *out]
        again, rest = (
            [HandBend(b.number, b.hook, b.reference, b.stance) for b in ordered if b.number in numbers]
            for numbers in (further, {b.number for b in ordered} - {*made, *out})
        )
        left = left_to_bend(
            answer.piece,
            again + rest,
            begun,
            asked.shoe,
            asked.tape,
            extra_a_mm=asked.piece.extra_a_mm + answer.trim_mm,
            have_mm=have_mm - answer.trim_mm,
            budget=orders.share(most=ORDER_OF_THE_REST),
        )
        if answer.possible and left.possible:
            return answer, left
        if best is None or (answer.plain and not best[0].plain):
            best = answer, left
    assert best is not None  # there is always one way, good or not
    answer, left = best
    return answer, left._replace(proved=left.proved and not cut_short)


def _findings(
    asked: Bent, answer: ReplanAnswer, left: LeftToBend, checked: Rechecked, made: Sequence[int]
) -> tuple[Finding, ...]:
    """What is wrong with the finished piece; a rise only where nothing stands there that says so itself; and what
    stands against the run, but for what was looked at anew."""
    over = {thing.name for thing in asked.plan.obstacles}
    found = [f for f in answer.findings if f.values.get("shape") not in over]
    run = against_the_run(asked.plan, left_out=[("bend.order", asked.piece.label)])
    return (*found, *checked.findings, *([left.finding] if left.finding else ()), *_out_of_order(asked, made), *run)


def _out_of_order(asked: Bent, made: Sequence[int]) -> tuple[Finding, ...]:
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


def _new_marks(
    asked: Bent, answer: ReplanAnswer, made: Sequence[MadeBend], left: LeftToBend, have_mm: float
) -> tuple[NewMark, ...]:
    """The bends left in the order in which they are made, before them those that are bent further."""
    tape, shoe, now = asked.tape, asked.shoe, answer.piece
    slope, how = _pointer_slope(asked.bends), made_by(shoe)
    further = {number: round(degrees(by), 9) for number, by in answer.further}
    first, last = asked.bends[made[0].number - 1], asked.bends[made[-1].number - 1]
    # the line was drawn before the first bend: what that is off, it is off from the line
    off_rad = (made[0].roll_rad or 0.0) - radians(first.roll_deg)
    drawn_rad = now.bends[first.number - 1].roll_rad - off_rad
    roll, hook = now.bends[last.number - 1].roll_rad, last.hook
    line = line_deg(drawn_rad, first.stance, roll, last.stance)
    marks: list[NewMark] = []
    count, as_planned = len(made), left.as_planned and not _left_out(asked, answer, [item.number for item in made])
    again = {item.number: place for place, item in enumerate(made, 1)}
    for step in left.bends:
        bend, new = asked.bends[step.number - 1], now.bends[step.number - 1]
        count += step.number not in further
        spin = _spin_deg(roll, new.roll_rad)
        before, line = line, line_deg(drawn_rad, first.stance, new.roll_rad, step.stance or "floor")
        angle = degrees(new.angle_rad)
        at = mark_mm(new.arc_start_mm, new.arc_end_mm, step.hook, step.reference, shoe)
        pointer = bend.pointer_deg + slope * (angle - bend.angle_deg)
        order = bend.order if as_planned else again.get(step.number, count)
        by = further.get(step.number, 0.0)
        placed = mark_words(step.reference, step.hook, on_shoe=not shoe.radius_only)
        taken = (format_length(new.arc_start_mm, tape), format_length(new.arc_end_mm, tape))
        marks.append(
            NewMark(
                number=step.number,
                name=f"again, {bend.name}" if by else bend_name(order, step.number),
                order=order,
                mark=length_of(at, tape),
                mark_rounding_mm=read_tape(at, tape).off_mm,
                was=length_of(bend.mark_mm, tape),
                on_conduit=-asked.piece.extra_a_mm - answer.trim_mm <= at <= have_mm - answer.trim_mm,
                hook=step.hook,
                reference=step.reference,
                on_shoe=not shoe.radius_only,
                placed=", ".join(part for part in placed if part),
                angle_deg=round(angle, 9),
                further_deg=by,
                roll_deg=round(degrees(new.roll_rad), 9),
                pointer_deg=round(pointer, 9),
                pointer_basis=bend.pointer_basis,
                bend_to=_bend_to(by, pointer, bend.pointer_basis, angle),
                spin_deg=spin,
                spin_words=rotate_words(before, line, first=False, swap=hook != step.hook),
                line_deg=line,
                stance=step.stance,
                stance_words="" if step.stance is None else making_words(how, step.stance, *taken),
            )
        )
        roll, hook = new.roll_rad, step.hook
    return tuple(marks)


def _bend_to(further_deg: float, pointer_deg: float, basis: str, angle_deg: float) -> str:
    if further_deg > 0.0:
        return f"bend it another {hand_angle(further_deg)}; leaves {hand_angle(angle_deg)}"
    comma = "," if basis == "relaxed" else ""
    return f"bend to {hand_angle(pointer_deg)}{comma} {read_words(basis, angle_deg)}"


def _as_marked(exact: BentPiece, marks: Sequence[NewMark]) -> BentPiece:
    """The piece that the tape's marks make: each bend still to be made off by what its mark is rounded. The exact one
    where rounding would lay one bend into another: nobody bends that."""
    bends = list(exact.bends)
    for mark in marks:
        if mark.further_deg == 0.0:
            old = bends[mark.number - 1]
            bends[mark.number - 1] = msgspec.structs.replace(old, arc_start_mm=old.arc_start_mm + mark.mark_rounding_mm)
    rounded = msgspec.structs.replace(exact, bends=tuple(bends))
    return rounded if min(rounded.straights_mm()) >= 0.0 else exact


def _spin_deg(last_roll_rad: float, roll_rad: float) -> float:
    """How far the conduit is turned for a bend of this roll after one of that: the other way than the bend's plane
    lies. Above -180, up to 180 degrees."""
    spin = round((degrees(last_roll_rad - roll_rad) + 180.0) % 360.0 - 180.0, 6)
    return 180.0 if spin == -180.0 else spin + 0.0


def _pointer_slope(bends: Sequence[MarkedBend]) -> float:
    """How much the pointer moves for a degree of bend: the plan's own springback, from two of its bends."""
    ordered = sorted(bends, key=lambda b: (round(b.angle_deg, 6), b.number))
    least, most = ordered[0], ordered[-1]
    if most.angle_deg - least.angle_deg < 1.0:
        return 1.0
    return (most.pointer_deg - least.pointer_deg) / (most.angle_deg - least.angle_deg)


class _Ends(NamedTuple):
    """The ends that are still cut, and those that get a thread when they are."""

    cut: tuple[str, ...]
    threaded: tuple[str, ...]


def _ends(asked: Bent, answer: ReplanAnswer, have_mm: float) -> _Ends:
    piece, tape = asked.piece, asked.tape
    off_a = read_tape(piece.extra_a_mm + answer.trim_mm, tape).shown_mm > 0.0
    off_b = read_tape(have_mm - answer.trim_mm - answer.piece.cut_length_mm, tape).shown_mm > 0.0
    cut = [(name, end) for name, end, off in (("A", piece.end_a, off_a), ("B", piece.end_b, off_b)) if off]
    return _Ends(tuple(name for name, _ in cut), tuple(name for name, end in cut if end.thread))


def _care(asked: Bent, answer: ReplanAnswer, marks: Sequence[NewMark], ends: _Ends) -> Iterator[Work]:
    """What the bends to be made, bent further and corrected, and the ends to be cut, ask to take care of."""
    for mark in marks:
        stances = STANCES if mark.stance is None else (mark.stance,)
        yield from (correcting_care if mark.further_deg else bending_care)(asked.shoe, stances)
    if answer.later:
        yield from correcting_care(asked.shoe, asked.stances)
    if ends.cut:
        yield from cutting_care(threaded=bool(ends.threaded))


def _first(asked: Bent, answer: ReplanAnswer, left: LeftToBend, out: Sequence[int]) -> Iterator[str]:
    """What to do about the bends that are made, and which of the others are not."""
    how = made_by(asked.shoe)
    for words in mended_words(answer, asked.tape, how=how):
        yield f"{words[0].upper()}{words[1:]}."
    if how != "heat":
        again = {item.number: answer.piece.bends[item.number - 1].angle_rad for item in answer.further}
        for step in left.bends:
            if step.number in again:
                same = step.hook == asked.bends[step.number - 1].hook
                yield again_words(step.number, step.hook, again[step.number], as_before=same)
    if out:
        yield f"Leave {mark_names(out)} out: no bend is made there."


def _notes(
    asked: Bent, answer: ReplanAnswer, left: LeftToBend, have_mm: float, out: Sequence[int], ends: _Ends
) -> tuple[str, ...]:
    piece, tape = asked.piece, asked.tape
    notes = [*_first(asked, answer, left, out)]
    cut_mm = answer.piece.cut_length_mm
    can = answer.possible and left.possible
    if answer.plain and can and not answer.hopeless and len(left.bends) > len(answer.further):
        notes.append("The rest is bent as planned.")
    if answer.met:
        notes.append("Worked out with these marks, the far end meets its fitting; measure it when it is bent.")
    if any(f.rule == "replan.end" for f in answer.findings):
        if abs(cut_mm - have_mm) < 0.1:
            notes.append("The conduit in hand bounds it; if it is longer, say how long it is.")
        if answer.later:
            words = " and ".join(move_words(answer.piece, move, made_by(asked.shoe)) for move in answer.later)
            notes.append(f"Measure it when it is finished; made with these marks it is then corrected so: {words}.")
        elif can and not answer.hopeless:
            so = "Measure it when it is finished" if answer.plain else "Or finish it as planned, measure it"
            notes.append(f"{so}, and see whether it can be corrected.")
    elif "B" in ends.cut:
        notes.append(f"Cut {format_length(have_mm - cut_mm, tape)} off at end B, after bending.")
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
