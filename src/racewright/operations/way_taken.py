"""Which of the ways to finish a half-bent piece is taken: the first that serves and that a hand can make. Where there
is none the piece is scrap, and why is said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil
from typing import NamedTuple

from racewright.assembly.threads import straight_for_thread_mm
from racewright.budget import NEW_MARKS, NEW_MARKS_LONGER, ORDER_OF_THE_REST, ORDERS_OF_THE_REST, Budget
from racewright.errors import Finding
from racewright.fit.by_hand import Again, HandBend, LeftToBend, largest_angle_rad, left_to_bend
from racewright.fit.finishing import HalfBent
from racewright.fit.made import EndA, MadeBend
from racewright.fit.replan import corrected_later, replan
from racewright.fit.replanned import ReplanAnswer
from racewright.fit.scrap import why_words
from racewright.operations.bent import Bent
from racewright.operations.new_marks import left_out
from racewright.plan.recheck import recheck, surroundings
from racewright.units.tape import format_length


class WayTaken(NamedTuple):
    """How the piece is finished and how its bends are made. `why` it is scrap ('': it is not): the way is then the best
    that was found, and `proved` False says that not all were looked at. `barred`: that a better way leaves no room for
    a die."""

    answer: ReplanAnswer
    left: LeftToBend
    why: str = ""
    proved: bool = True
    barred: tuple[Finding, ...] = ()

    @property
    def right(self) -> bool:
        """It comes right by its marks or by a correction: nothing is sprung, and nothing comes too near."""
        return not self.why and (self.answer.settled or bool(self.answer.later))

    def told(self, finding: Finding) -> WayTaken:
        """The same way, with one thing more to be told of it."""
        return self._replace(barred=(*self.barred, finding))


def way_taken(asked: Bent, answers: Sequence[ReplanAnswer], half: HalfBent, have_mm: float) -> WayTaken:
    """The way that is taken of `answers`, best first, one of which is possible. Where the plan itself has no bending
    order, none is asked of the rest: that it cannot be made by hand is then said of marks that serve."""
    numbers = [item.number for item in half.made]
    fit, barred = _with_room_for_the_die(asked, answers, numbers)
    orders, proved = Budget(ORDERS_OF_THE_REST), True
    refused: tuple[ReplanAnswer, LeftToBend] | None = None
    for answer in _serving(fit, half):
        if orders.spent and refused:
            proved = False
            break
        left = _left(asked, answer, numbers, have_mm, orders)
        if left.possible:
            return WayTaken(answer, left, barred=_no_die(asked, barred, answer, numbers))
        refused, proved = refused or (answer, left), proved and left.proved
    proved = proved and all(f.rule != "replan.search" for f in answers[0].findings)
    if refused and not asked.piece.order_known:
        return WayTaken(*refused, barred=_no_die(asked, barred, refused[0], numbers))
    if refused:
        best, left = refused
        why = f"what would fit cannot be bent by hand: {left.refused}"
    else:
        best = next(answer for answer in (*fit, *answers) if answer.possible)
        left = LeftToBend((), as_planned=True, finding=None)
        why = why_words(best, recheck(asked.plan, asked.piece, best.piece).findings, asked.tape)
    return WayTaken(best, left, why, proved, _no_die(asked, barred, best, numbers))


def least_in_hand_mm(
    asked: Bent, way: WayTaken, made: Sequence[MadeBend], too_short_mm: float, enough_mm: float
) -> float:
    """The least conduit in hand with which the bends of a way can be made, from where end A will be, between what is
    too short and what is enough: found to 1 mm, and rounded up to what the tape shows."""
    numbers = [item.number for item in made]
    low, high = max(too_short_mm, way.answer.piece.cut_length_mm + way.answer.trim_mm) - 1.0, enough_mm
    while high - low > 1.0:
        middle = 0.5 * (low + high)
        if _left(asked, way.answer, numbers, middle, Budget(ORDER_OF_THE_REST)).possible:
            high = middle
        else:
            low = middle
    step_mm = float(asked.tape.step_mm)
    return ceil(high / step_mm - 1e-9) * step_mm


def _serving(fit: Sequence[ReplanAnswer], half: HalfBent) -> Iterator[ReplanAnswer]:
    """The ways that serve by their marks; after them those that a correction of the finished piece brings right, where
    that was not looked for yet: a hand may not be able to make what needs none."""
    yield from (answer for answer in fit if answer.serves)
    if not any(answer.later for answer in fit):
        yield from (answer for answer in corrected_later(fit, half) if answer not in fit)


def _with_room_for_the_die(
    asked: Bent, answers: Sequence[ReplanAnswer], made: Sequence[int]
) -> tuple[list[ReplanAnswer], list[ReplanAnswer]]:
    """The ways that can be threaded at end A, and those whose made bends leave no straight there for a die once the end
    is cut back."""
    least_mm = straight_for_thread_mm(asked.piece.end_a)
    fit: list[ReplanAnswer] = []
    barred: list[ReplanAnswer] = []
    for answer in answers:
        (barred if answer.trim_mm > 0.0 and _straight_at_a_mm(answer, made) < least_mm else fit).append(answer)
    return fit, barred


def _straight_at_a_mm(answer: ReplanAnswer, made: Sequence[int]) -> float:
    return min(answer.piece.bends[number - 1].arc_start_mm for number in made)


def _no_die(
    asked: Bent, barred: Sequence[ReplanAnswer], taken: ReplanAnswer, made: Sequence[int]
) -> tuple[Finding, ...]:
    """That a better way than the one taken cuts end A back too near a bend to be threaded."""
    if not barred or barred[0].rank >= taken.rank:
        return ()
    piece, tape, answer = asked.piece, asked.tape, barred[0]
    straight, least_mm = _straight_at_a_mm(answer, made), straight_for_thread_mm(piece.end_a)
    found = Finding(
        rule="replan.thread",
        severity="caution",
        message=f"cut back by {format_length(answer.trim_mm, tape)}, end A would have"
        f" {format_length(straight, tape)} of straight, and a die wants {format_length(least_mm, tape)} to cut"
        " its thread again: it is not cut back.",
        citation="common practice, no source",
        where=f"{piece.label}, end A",
        measured=straight,
        allowed=least_mm,
        unit="mm",
    )
    return (found,)


def _left(asked: Bent, answer: ReplanAnswer, made: Sequence[int], have_mm: float, orders: Budget) -> LeftToBend:
    """How the bends of a way are made. A bend that is bent further goes before those that are left: it is there."""
    ordered = sorted(asked.bends, key=lambda b: b.order)
    by = {item.number: item.by_rad for item in answer.again}
    done = {*made, *left_out(answer, made)}
    bends = [HandBend(b.number, b.hook, b.reference, b.stance) for b in ordered]
    again = [Again(bend, by[bend.number]) for bend in bends if bend.number in by]
    rest = [bend for bend in bends if bend.number not in done]
    return left_to_bend(
        answer.piece,
        again,
        rest,
        sorted(done),
        asked.shoe,
        asked.tape,
        extra_a_mm=asked.piece.extra_a_mm + answer.trim_mm,
        have_mm=have_mm - answer.trim_mm,
        budget=orders.share(most=ORDER_OF_THE_REST),
    )


class More(NamedTuple):
    """A way that longer conduit allows, and how much of it that wants from where end A will be."""

    way: WayTaken
    want_mm: float


def more_conduit(asked: Bent, way: WayTaken, made: Sequence[MadeBend], have_mm: float, longer_mm: float) -> More | None:
    """The way that conduit so long allows where that in hand is what keeps the piece from coming right; None where a
    longer one does not help."""
    longer = tried(asked, made, longer_mm, cut_free=True, work=NEW_MARKS_LONGER).way
    if longer is None or longer.why or not (longer.right or way.why):
        return None
    return More(longer, least_in_hand_mm(asked, longer, made, have_mm, longer_mm))


class Tried(NamedTuple):
    """The ways to finish the piece, and the one that is taken (None: no two arcs have room)."""

    answers: tuple[ReplanAnswer, ...]
    way: WayTaken | None


def tried(asked: Bent, made: Sequence[MadeBend], have_mm: float, *, cut_free: bool, work: int = NEW_MARKS) -> Tried:
    """The ways that so much conduit allows, from where end A will be; `cut_free`: its length can still be cut."""
    piece = asked.piece
    half = HalfBent(
        asked.arcs,
        made,
        cut_free=cut_free,
        stock_length_mm=have_mm,
        largest_angle_rad=largest_angle_rad(asked.arcs, asked.shoe),
        least_straight_mm=min(asked.shoe.least_straight_mm, asked.shoe.grip_mm),
        end_a=EndA(turns=True, trim=cut_free, spare_mm=piece.extra_a_mm),
        hooks=asked.hooks,
        around=surroundings(asked.plan, piece),
        open_end=not piece.end_b.fitting,
        tape=asked.tape,
    )
    answers = replan(half, work)
    possible = any(answer.possible for answer in answers)
    return Tried(answers, way_taken(asked, answers, half, have_mm) if possible else None)
