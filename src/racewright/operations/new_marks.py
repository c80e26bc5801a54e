"""The new marks of a half-bent piece: where each bend that is left goes on the tape, and how it is made."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import degrees, radians
from typing import Literal, NamedTuple

from msgspec.structs import replace

from racewright.bends.model import BentPiece
from racewright.fit.by_hand import LeftToBend
from racewright.fit.made import LEAST_MADE_RAD, MadeBend, Twist, twist_rad
from racewright.fit.replanned import ReplanAnswer
from racewright.fit.words import again_words
from racewright.marks.mark import all_marks_mm, mark_mm
from racewright.operations.at_bench import BendAtBench, bends_at_bench
from racewright.operations.bent import Bent
from racewright.operations.common import Length, Part, length_of
from racewright.plan.bench_checks import plane_check
from racewright.plan.model import MarkedBend, PlannedPiece
from racewright.records.entry import Anew, BendMade, Made, MarkAnew, StepMade, TwistAnew
from racewright.records.model import MadeReading
from racewright.records.own_lines import DrawnAt
from racewright.sequence.machine import Stance
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
from racewright.units.tape import format_length, read_tape


class NewMark(Part, frozen=True, kw_only=True):
    """One bend still to be made, with the plan's hook and reference mark unless another order asks for others. `mark`
    is where that mark goes now (its tape reading less the exact place is `mark_rounding_mm`), `was` where its line was
    drawn before: by the new marks that held, or else the plan's; `on_conduit` False: it falls off what there is.
    `order` counts all bends of the piece. `pointer_deg` follows the plan's own springback as far as two of its bends
    show it. `spin_deg` is how far it turns in the bender since the bend made before (positive clockwise, seen from A),
    `line_deg` where the line drawn at the first bend faces then (from up), `spin_words` how to rotate it for that, and
    where its ends are swapped; `further_deg`: the bend is made, and bent so much further (0: it is not made yet).
    `on_shoe` False: no shoe makes it, and hook and reference mark say nothing. In words: `name` ('2nd bend, mark 3',
    'again, mark 3'), `placed` ('arrow, hook toward A'; 'bend begins'), `bend_to` ('bend to 22 1/2°, read after letting
    go'). `stance`, in words `stance_words`, is how the bender is held (null, '': not known). `look_at`: what to do
    where the hook is on conduit too short to hold, and what to look at first; what a plan checks after a bend is of the
    shape that was planned."""

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
    look_at: str


class BentOn(Part, frozen=True, kw_only=True):
    """A made bend that is bent further before the rest, in the form of a planned one: `bend` is where its mark stands
    now and how it is held, its `look_at` how the shoe is set on it; of its `words` `bend_to` is how much further it is
    bent, and `read` what it has then."""

    bend: MarkedBend
    words: BendAtBench


class Opened(Part, frozen=True, kw_only=True):
    """A bend made too large that is opened before the rest is bent: by how much, and what it then has. Its tangent
    point on the side of its hook stays. In words: `to_do` ('open mark 3 by 4°'), `leaves` ('leaves 90°')."""

    number: int
    by_deg: float
    angle_deg: float
    to_do: str
    leaves: str


class AsKept(NamedTuple):
    """What new marks are kept with: see `Anew`."""

    in_hand_mm: float | None
    trim_mm: float
    cut_first: bool
    cut_look_at: str
    twisted: tuple[TwistAnew, ...]
    turned_rad: float
    off_b_mm: float
    line_b_mm: float
    end_b: str


class Drawn(NamedTuple):
    """What is drawn on the conduit. The line along it: `by` the twists that are done, each of which took along what is
    behind it; one that is ticked off more than once may be done so often or not. `unknown`: it may be twisted by others
    too. `marks_mm`: where the lines of bends may stand that new marks had drawn, as of `drawn` of their record."""

    by: tuple[StepMade, ...]
    unknown: bool
    marks_mm: DrawnAt

    @property
    def lost(self) -> bool:
        """How far the line along it is twisted is not known."""
        return self.unknown or len(set(self.by)) < len(self.by)

    def of(self, bend: MarkedBend) -> tuple[float, ...]:
        """Where the line of a bend may stand, by the marks that held last at the end."""
        return tuple(bend.mark_mm if at is None else at for at in self.marks_mm.get(bend.number, (None,)))


def left_out(answer: ReplanAnswer, made: Sequence[int]) -> tuple[int, ...]:
    """The marks that are left and that no bend is made at: less than a hand bends."""
    bends = enumerate(answer.piece.bends, 1)
    return tuple(n for n, bend in bends if n not in made and bend.angle_rad < LEAST_MADE_RAD)


def new_marks(
    asked: Bent,
    answer: ReplanAnswer,
    made: Sequence[MadeBend],
    left: LeftToBend,
    have_mm: float,
    there: Drawn,
) -> tuple[NewMark, ...]:
    """The bends left in the order in which they are made, before them those that are bent further. Where the line along
    the conduit is lost, of what is drawn `there`, it is drawn anew, with the bend made last in the bender."""
    tape, shoe, now = asked.tape, asked.shoe, answer.piece
    slope, how = _pointer_slope(asked.bends), made_by(shoe)
    further = {number: round(degrees(by), 9) for number, by in answer.again}
    first, last = asked.bends[made[0].number - 1], asked.bends[made[-1].number - 1]
    roll, hook = now.bends[last.number - 1].roll_rad, last.hook
    lost = there.lost
    drawn = _drawn_anew(roll, answer, last.number) if lost else _drawn_first(asked, answer, made[0], there.by)
    first = last if lost else first

    def drawn_rad(number: int) -> float:
        return drawn.untwisted_rad + twist_rad(drawn.twists, number)

    faces = line_deg(drawn_rad(last.number), first.stance, roll, last.stance)
    marks: list[NewMark] = []
    count, as_planned = len(made), left.as_planned and not left_out(answer, [item.number for item in made])
    again = {item.number: place for place, item in enumerate(made, 1)}
    for step in left.bends:
        bend, new = asked.bends[step.number - 1], now.bends[step.number - 1]
        count += step.number not in further
        spin = _spin_deg(roll, new.roll_rad)
        before, faces = faces, line_deg(drawn_rad(step.number), first.stance, new.roll_rad, step.stance or "floor")
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
                was=length_of(there.of(bend)[-1], tape),
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
                spin_words=_spin_words(
                    before, faces, swap=hook != step.hook, draw=last.number if lost and not marks else 0
                ),
                line_deg=faces,
                stance=step.stance,
                stance_words="" if step.stance is None else making_words(how, step.stance, *taken),
                look_at=" ".join(part for part in (step.hook_words, plane_check(spin)) if part),
            )
        )
        roll, hook = new.roll_rad, step.hook
    return tuple(marks)


def piece_anew(
    asked: Bent, answer: ReplanAnswer, made: Sequence[MadeBend], marks: Sequence[NewMark], *, as_planned: bool
) -> PlannedPiece:
    """The piece as it is bent with these marks, for the same drawing as a planned one: the bends that are made as they
    are by then, the others at their new marks, each in its order; its way is the plan's first."""
    new = {mark.number: mark for mark in marks if mark.further_deg == 0.0}
    nth = {item.number: place for place, item in enumerate(made, 1)}
    hooks = [asked.bends[made[-1].number - 1].hook, *(mark.hook for mark in marks)]
    swapped = {mark.number for mark, before in zip(marks, hooks, strict=False) if mark.hook != before}
    bends = []
    for old, arc in zip(asked.bends, answer.piece.bends, strict=True):
        bend = replace(
            old,
            order=old.order if as_planned else nth.get(old.number, 0),
            arc_start_mm=arc.arc_start_mm,
            arc_end_mm=arc.arc_end_mm,
            angle_deg=round(degrees(arc.angle_rad), 9),
            roll_deg=round(degrees(arc.roll_rad), 9),
            look_at="",
            all_marks_mm=all_marks_mm(arc.arc_start_mm, arc.arc_end_mm, asked.shoe),
        )
        mark = new.get(old.number)
        bends.append(bend if mark is None else _marked_anew(bend, mark, swap=mark.number in swapped))
    return replace(
        asked.piece,
        cut_length_mm=answer.piece.cut_length_mm,
        cut_length_tape=read_tape(answer.piece.cut_length_mm, asked.tape).text,
        bends=tuple(bends),
        forecast=None,
        ways=asked.piece.ways[:1],
        trim_marks=(),
    )


def bent_on(asked: Bent, anew: PlannedPiece, made: Sequence[MadeBend], marks: Sequence[NewMark]) -> tuple[BentOn, ...]:
    """The made bends that are bent further, in the order of `marks`; `anew` as of `piece_anew`."""
    how, out = made_by(asked.shoe), []
    hooks = [asked.bends[made[-1].number - 1].hook, *(mark.hook for mark in marks)]
    for mark, before in zip(marks, hooks, strict=False):
        if mark.further_deg == 0.0:
            continue
        bend = _marked_anew(anew.bends[mark.number - 1], mark, swap=mark.hook != before)
        if how != "heat":
            same, room = mark.hook == asked.bends[mark.number - 1].hook, mark.stance is not None
            angle = radians(mark.angle_deg)
            bend = replace(bend, look_at=again_words(mark.number, mark.hook, angle, as_before=same, room=room))
        whole = replace(anew, bends=tuple(bend if old.number == bend.number else old for old in anew.bends))
        words = bends_at_bench(whole)[mark.number - 1]
        leaves = f"leaves {hand_angle(mark.angle_deg)}"
        out.append(
            BentOn(bend=bend, words=replace(words, name=mark.name, bend_to=hand_angle(mark.further_deg), read=leaves))
        )
    return tuple(out)


class _Line(NamedTuple):
    """Where the line along the conduit lies: `untwisted_rad`, and turned by the `twists` before a bend."""

    untwisted_rad: float
    twists: tuple[Twist, ...]


def _drawn_first(asked: Bent, answer: ReplanAnswer, first: MadeBend, twisted: Sequence[StepMade]) -> _Line:
    """The line that was drawn before the first bend: what that is off, it is off from the line."""
    bend, now = asked.bends[first.number - 1], answer.piece.bends[first.number - 1]
    off_rad = (first.roll_rad or 0.0) - radians(bend.roll_deg)
    done = (Twist(step.number or 0, step.by_rad) for step in twisted)
    return _Line(now.roll_rad - off_rad - twist_rad(answer.twisted, first.number), (*done, *answer.twisted))


def _drawn_anew(roll_rad: float, answer: ReplanAnswer, last: int) -> _Line:
    """The line that is drawn with the bend made last in the bender."""
    return _Line(roll_rad - twist_rad(answer.twisted, last), tuple(answer.twisted))


def _spin_words(before_deg: float, faces_deg: float, *, swap: bool, draw: int) -> str:
    """`draw`: the bend with which the line is drawn anew first (0: it is not)."""
    words = rotate_words(before_deg, faces_deg, first=False, swap=swap)
    if not draw:
        return words
    line = f"Draw a new line along the top of the conduit with {mark_names([draw])} in the bender as when it was bent"
    return f"{line} (how far the old one is twisted is not known), then {words[0].lower()}{words[1:]}"


def _marked_anew(bend: MarkedBend, mark: NewMark, *, swap: bool) -> MarkedBend:
    return replace(
        bend,
        order=mark.order,
        hook=mark.hook,
        reference=mark.reference,
        mark_mm=mark.mark.mm,
        mark_tape=mark.mark.tape,
        mark_rounding_mm=mark.mark_rounding_mm,
        pointer_deg=mark.pointer_deg,
        spin_deg=mark.spin_deg,
        spin_words=mark.spin_words,
        line_deg=mark.line_deg,
        stance=mark.stance or "floor",
        stance_words=mark.stance_words,
        look_at=mark.look_at,
        end_for_end=swap,
    )


def _bend_to(further_deg: float, pointer_deg: float, basis: str, angle_deg: float) -> str:
    if further_deg > 0.0:
        return f"bend it another {hand_angle(further_deg)}; leaves {hand_angle(angle_deg)}"
    comma = "," if basis == "relaxed" else ""
    return f"bend to {hand_angle(pointer_deg)}{comma} {read_words(basis, angle_deg)}"


def kept_marks(
    asked: Bent, made: Sequence[MadeReading], opened: Sequence[Opened], marks: Sequence[NewMark], told: AsKept
) -> Made | None:
    """What a record says of new marks: the bends as they were measured; then what made bends get before the rest, those
    that are opened at the mark that they have; then the marks for the rest as the tape shows them. None where there are
    none, or where a bend begins so near end A that its mark is not on the conduit."""
    bends = [_as_made(asked, one) for one in made]
    if not (opened or marks) or any((one.mark_mm or 0.0) < 0.0 for one in bends):
        return None
    read = {one.number: one.mark_mm for one in bends if one.mark_mm is not None}
    anew = [
        MarkAnew(
            number=one.number,
            mark_mm=read.get(one.number, asked.bends[one.number - 1].mark_mm),
            angle_rad=radians(one.angle_deg),
            how=f"{one.to_do}, {one.leaves}",
        )
        for one in opened
    ]
    anew += [
        MarkAnew(
            number=mark.number,
            mark_mm=penciled_mm(mark),
            angle_rad=radians(mark.angle_deg),
            hook=mark.hook,
            reference=mark.reference,
            roll_rad=radians((mark.roll_deg + 180.0) % 360.0 - 180.0),
            how=_how(mark),
        )
        for mark in marks
    ]
    return Made(bends=tuple(bends), anew=Anew(marks=tuple(anew), **told._asdict()))


def readings_kept(asked: Bent, made: Iterable[MadeReading]) -> Iterator[MadeReading]:
    """Readings as a record has them when it is read again: each place by the plan's mark, to the millionth of a mm."""
    for one in made:
        place = _as_made(asked, one).mark_mm
        yield one if place is None or place < 0.0 else replace(one, start="", mark=f"{place:.6f} mm")


def _as_made(asked: Bent, one: MadeReading) -> BendMade:
    """A bend as it was measured; one of which the begin was read by the plan's mark, which that puts there."""
    place = float(parse_length(one.mark, asked.tape.unit)) if one.mark else None
    if one.start:
        place = mark_of_start_mm(asked, one)
    return BendMade(
        number=one.number,
        angle_rad=None if one.angle_deg is None else radians(one.angle_deg),
        mark_mm=place,
        roll_off_rad=None if one.roll_off_deg is None else radians(one.roll_off_deg),
    )


def mark_of_start_mm(asked: Bent, one: MadeReading, new: MarkAnew | None = None, at: str = "made") -> float:
    """Where the mark stands of a bend of which the begin was read, at this place of the request: the plan's mark, or
    the `new` one that it was made by."""
    bend = asked.bends[one.number - 1]
    start = float(parse_length(one.start, asked.tape.unit, field=f"{at}.start"))
    angle = radians(bend.angle_deg) if new is None else new.angle_rad
    arc = asked.shoe.radius_mm * (angle if one.angle_deg is None else radians(one.angle_deg))
    hook, reference = (new.hook, new.reference) if new else (None, None)
    return mark_mm(start, start + arc, hook or bend.hook, reference or bend.reference, asked.shoe)


def _how(mark: NewMark) -> str:
    """A bend in the words of its step: 'bend to 93° while bending, leaves 90°, arrow, hook toward A, rotate ...'."""
    turn = f"{mark.spin_words[0].lower()}{mark.spin_words[1:]}" if mark.spin_words else ""
    parts = (mark.bend_to.replace(";", ","), mark.placed, turn, mark.stance_words)
    return ", ".join(part for part in parts if part)


def penciled_mm(mark: NewMark) -> float:
    """Where its pencil line stands, as the tape shows it."""
    return mark.mark.mm + mark.mark_rounding_mm


def as_marked(exact: BentPiece, marks: Sequence[NewMark]) -> BentPiece:
    """The piece that the tape's marks make: each bend still to be made off by what its mark is rounded. The exact one
    where rounding would lay one bend into another: nobody bends that."""
    bends = list(exact.bends)
    for mark in marks:
        if mark.further_deg == 0.0:
            old = bends[mark.number - 1]
            bends[mark.number - 1] = replace(old, arc_start_mm=old.arc_start_mm + mark.mark_rounding_mm)
    rounded = replace(exact, bends=tuple(bends))
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
