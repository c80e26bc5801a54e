"""Part of the piece is bent and not as planned: new marks for the rest, so that the end still meets its fitting.

There is more than one way to finish: as planned, with what is made mended first where it can be (`fit.made`); the
nearest to the plan; the nearest that keeps each saddle's rise; and of both the nearest that keeps clear of what stands
around. Limits that are met (the least straight, the largest angle, the stock) are held, and so are the places that come
too near: one after the other, the worst first. Where none of these does, each bend is left as planned, or left out.
The best way meets the end, keeps clear, changes no more than a hand would, keeps the rise, and changes least, in this
order. A miss that a correction of the finished piece mends (`fit.tweak`, worked out), and after it one that a hand
springs into the fitting (`fit.accuracy`), go before a change that a hand would rather not make. An end that stays open
needs neither: it is off by a little, and that is told. Where nothing of all this does, the piece is scrap
(`fit.scrap`), and the best way is told to say by how much it misses.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from math import copysign, radians

import msgspec

from racewright.bends.model import BentPiece
from racewright.budget import CORRECTED_LATER, NEW_MARKS, Budget
from racewright.errors import Finding
from racewright.fit.finishing import HalfBent, corrected_so, finished
from racewright.fit.jacobian import walk
from racewright.fit.made import LEAST_MADE_RAD, Begun, begun, trimmed
from racewright.fit.measured import end_gap
from racewright.fit.nearest import ANGLE_SCALE, LENGTH_SCALE, Free, Task, solve, value_of
from racewright.fit.replanned import ReplanAnswer, in_tolerances
from racewright.fit.tweak import brings_end
from racewright.fit.words import OVERLAP_MM
from racewright.geometry.vector import dot, sub

#: Places that are held clear of what stands around, at most: more than any piece that can still be finished has.
_MOST_CONTACTS = 6
#: A plane is turned by no more than this against the plan's: more is another shape (our own choice).
MOST_ROLL_RAD = radians(30.0)
#: Of the finished piece a correction changes no more bends than this (our own choice).
_MOST_CORRECTED = 2
#: What is held fights the end for thousandths: so much more is held, and no hand misses its straight by nothing.
_SPARE_MM = 0.1
_CUT_SHORT = Finding(
    rule="replan.search",
    severity="info",
    message="with so many bends left the new marks are the best of those tried; that none are nearer is not proved.",
    citation="geometry",
)


def replan(half: HalfBent, work: int = NEW_MARKS) -> tuple[ReplanAnswer, ...]:
    """New starts, angles and rolls for the bends not yet made: end B comes to where the plan has it, with end A in its
    fitting. The ways that differ, best first. `work`: what the search may take. Raises InputError for bends that the
    piece does not have."""
    ways = begun(half.plan, half.made, half.end_a, half.hooks)
    budget = Budget(work)
    answers: list[ReplanAnswer] = []

    def take(way: Begun, found: Iterable[BentPiece], *, plain: bool = False) -> None:
        for now in found:
            budget.take(half.around.units(now))
            answers.append(finished(half, way, now, plain=plain))

    for number, way in enumerate(chain(ways, trimmed(half.plan, ways, half.made, half.end_a))):
        if number and budget.done > budget.most // 2:
            break
        budget.take(len(half.plan.bends))
        now = _as_planned(half, way)
        if way.trim_mm and in_tolerances(end_gap(half.target, walk(now, half.around.start).end)) > 1.0:
            continue  # nothing is cut off that leaves the end off
        take(way, [now], plain=True)
    mended = any(answer.good for answer in answers)
    for way in ways:
        if not (((way.further or way.twisted) and mended) or budget.spent):
            take(way, _finishes(half, _Limits(half, way.piece), budget))
    if not any(answer.good for answer in answers):
        take(ways[0], _others(half, _Limits(half, ways[0].piece), budget))
    if all(answer.bold or not answer.settled for answer in answers):
        answers = list(corrected_later(answers, half))
    if budget.spent:
        answers = [msgspec.structs.replace(answer, findings=(*answer.findings, _CUT_SHORT)) for answer in answers]
    return _best_first(answers)


def _best_first(answers: Sequence[ReplanAnswer]) -> tuple[ReplanAnswer, ...]:
    return tuple(answer for _, answer in sorted(enumerate(answers), key=lambda item: (item[1].rank, item[0])))


def corrected_later(answers: Sequence[ReplanAnswer], half: HalfBent) -> tuple[ReplanAnswer, ...]:
    """The same ways, best first, each with the correction of the finished piece that brings its end right; ways that
    change more than a hand would get one only where no other serves."""
    budget = Budget(CORRECTED_LATER)
    most = len(half.plan.bends) if half.whole else _MOST_CORRECTED

    def mended(answer: ReplanAnswer, *, bold: bool) -> ReplanAnswer:
        near = answer.near or (half.whole and answer.makeable)
        if answer.settled or answer.later or answer.bold != bold or not near:
            return answer
        return corrected_so(half, answer, brings_end(answer.piece, half.plan, half.hooks, half.around, budget, most))

    out = [mended(answer, bold=False) for answer in answers]
    if not any(answer.serves for answer in out):
        out = [mended(answer, bold=True) for answer in out]
    return _best_first(out)


def _as_planned(half: HalfBent, way: Begun) -> BentPiece:
    """The rest as planned, cut where the end comes nearest to its place."""
    base, stock_mm = way.piece, half.stock_mm(way)
    if not half.cut_free:
        return base
    end = walk(base, half.around.start).end
    cut = base.cut_length_mm + dot(sub(half.target.origin, end.origin), end.axis)
    last = base.bends[-1].arc_end_mm if base.bends else 0.0
    cut = max(cut if stock_mm is None else min(cut, stock_mm), last)
    return msgspec.structs.replace(base, cut_length_mm=cut)


class _Limits:
    """What is free on a half-bent piece, and how far."""

    def __init__(self, half: HalfBent, base: BentPiece) -> None:
        self.base, self.stock_length_mm, self.largest_angle_rad = base, half.stock_length_mm, half.largest_angle_rad
        count = len(base.bends)
        self.free: list[Free] = []
        for i in range(count):
            if i not in half.done:
                self.free.append(Free("start", i, LENGTH_SCALE))
                self.free += [Free("angle", i, ANGLE_SCALE), Free("roll", i, ANGLE_SCALE)]
        if half.cut_free:
            self.free.append(Free("cut", -1, LENGTH_SCALE))
        # between two arcs, one of them still to be made, the bender needs its straight; a plan with less keeps that
        self.straights_mm = [0.0] * (count + 1)
        for k in range(1, count):
            if not {k - 1, k} <= half.done:
                least_mm = min(half.least_straight_mm + _SPARE_MM, half.plan.straights_mm()[k])
                self.straights_mm[k] = max(0.0, least_mm)

    def hold(self, task: Task, piece: BentPiece) -> bool:
        """Hold whatever is past its limit at the limit; True where something new is held."""
        new, held = False, task.held
        for k, (straight, least) in enumerate(zip(piece.straights_mm(), self.straights_mm, strict=True)):
            if straight < least - 1e-6 and k not in task.straights:
                task.straights[k] = least
                new = True
        names = {(item.kind, item.bend) for item, _ in held}
        for item in task.free:
            value = value_of(piece, item)
            if (item.kind, item.bend) in names:
                continue
            least = min(LEAST_MADE_RAD, value_of(self.base, item)) if item.kind == "angle" else 0.0
            if item.kind == "angle" and not least <= value <= self.largest_angle_rad + 1e-9:
                held.append((item, 0.0 if value < least else self.largest_angle_rad))
                if value < least:  # where nothing is bent a plane means nothing: it stays as planned
                    plane = Free("roll", item.bend, ANGLE_SCALE)
                    held[:] = [entry for entry in held if entry[0] != plane] + [(plane, value_of(self.base, plane))]
                    names.add(("roll", item.bend))
                new = True
            if item.kind == "roll" and abs(value - value_of(self.base, item)) > MOST_ROLL_RAD + 1e-9:
                held.append(
                    (item, value_of(self.base, item) + copysign(MOST_ROLL_RAD, value - value_of(self.base, item)))
                )
                new = True
            if item.kind == "cut" and self.stock_length_mm is not None and value > self.stock_length_mm + 1e-6:
                held.append((item, self.stock_length_mm))
                new = True
        return new


def _finishes(half: HalfBent, limits: _Limits, budget: Budget) -> Iterator[BentPiece]:
    """The ways to finish: as near to the plan as may be, then with the tops at their height; where the conduit in hand
    is too short for that, both with the end where it comes to lie lengthwise. Each as it comes, and held clear of what
    it would come too near."""
    around, tops = half.around, half.tops
    all_made = all(item.kind == "cut" for item in limits.free)
    too_short = False
    for lengthwise in (True, False):
        for kept in ((),) if all_made or not tops else ((), tops):
            if budget.spent:
                return
            task = Task(
                limits.base, around.start, half.target, limits.free, {}, [], around, [], kept, lengthwise, budget
            )
            answer = _within(task, limits)
            if answer is not None:
                yield answer
            while not (all_made or budget.spent or answer is None) and len(task.contacts) < _MOST_CONTACTS:
                if not around.possible(answer):
                    break
                budget.take(around.units(answer))
                contact = around.worst_contact(answer)
                if contact is None or contact in task.contacts:
                    break
                task.contacts.append(contact)
                answer = _within(task, limits)
                if answer is not None:
                    yield answer
            too_short = too_short or any(item.kind == "cut" for item, _ in task.held)
        if all_made or not too_short:
            break


def _others(half: HalfBent, limits: _Limits, budget: Budget) -> Iterator[BentPiece]:
    """Each bend that is left as planned, or left out, and the others found anew: where limits are met one after the
    other, what is held first may keep the rest from the end."""
    piece, around = half.plan, half.around
    left = [i for i in range(len(piece.bends)) if i not in half.done]
    for i in left:
        own = [item for item in limits.free if item.bend == i and item.kind != "cut"]
        kept = [(item, value_of(piece, item)) for item in own]
        for held in (kept, [(item, 0.0 if item.kind == "angle" else value) for item, value in kept]):
            if budget.spent or len(left) < 2:
                return
            task = Task(
                limits.base, around.start, half.target, limits.free, {}, list(held), around, [], (), True, budget
            )
            found = _within(task, limits)
            if found is not None:
                yield found


def _within(task: Task, limits: _Limits) -> BentPiece | None:
    """The nearest piece with what is past its limit held there; None where the search settles on none."""
    answer = solve(task)
    for _ in range(len(task.free) + len(task.base.bends) + 1):
        spent = task.budget is not None and task.budget.spent
        if answer is None or spent or not limits.hold(task, answer):
            break
        answer = solve(task)
    return None if answer is None else _without_overlap(answer)


def _without_overlap(piece: BentPiece) -> BentPiece:
    """The same without the thousandths that a straight or an angle held at nothing is short of, where it fights the
    end."""
    at, bends = 0.0, []
    for bend in piece.bends:
        if -ANGLE_SCALE * OVERLAP_MM < bend.angle_rad < 0.0:
            bend = msgspec.structs.replace(bend, angle_rad=0.0)
        if 0.0 < at - bend.arc_start_mm < OVERLAP_MM:
            bend = msgspec.structs.replace(bend, arc_start_mm=at)
        bends.append(bend)
        at = bend.arc_end_mm
    cut = at if 0.0 < at - piece.cut_length_mm < OVERLAP_MM else piece.cut_length_mm
    return msgspec.structs.replace(piece, bends=tuple(bends), cut_length_mm=cut)
