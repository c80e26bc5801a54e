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

from collections.abc import Iterator, Sequence
from math import copysign, hypot, pi, radians

import msgspec

from racewright.bends import roles
from racewright.bends.model import BentPiece
from racewright.budget import CORRECTED_LATER, NEW_MARKS, Budget
from racewright.errors import Finding
from racewright.fit.jacobian import walk
from racewright.fit.made import LEAST_MADE_RAD, Begun, EndA, MadeBend, begun
from racewright.fit.measured import INCHES, end_gap
from racewright.fit.nearest import ALLOWED, ANGLE_SCALE, LENGTH_SCALE, Free, Task, Top, solve, value_of
from racewright.fit.replanned import ReplanAnswer, in_tolerances, taken_in
from racewright.fit.room import NOTHING_AROUND, Surroundings
from racewright.fit.tweak import brings_end
from racewright.fit.words import (
    OVERLAP_MM,
    Move,
    findings_of,
    later_finding,
    mended_words,
    off_finding,
    replan_words,
    rise_finding,
)
from racewright.geometry.vector import Frame, cross, dot, even, sub
from racewright.tools.benders import HookEnd
from racewright.units.tape import TapeStyle

#: Places that are held clear of what stands around, at most: more than any piece that can still be finished has.
_MOST_CONTACTS = 6
#: A plane is turned by no more than this against the plan's: more is another shape (our own choice).
MOST_ROLL_RAD = radians(30.0)
#: A bend that changes by more than this, or that is left out, is one that a hand would rather not make so; of the
#: finished piece a correction changes no more bends than the next says (our own choice).
MOST_CHANGE_RAD = radians(10.0)
_MOST_CORRECTED = 2
#: What is held fights the end for thousandths: so much more is held, and no hand misses its straight by nothing.
_SPARE_MM = 0.1
_CUT_SHORT = Finding(
    rule="replan.search",
    severity="info",
    message="with so many bends left the new marks are the best of those tried; that none are nearer is not proved.",
    citation="geometry",
)


def replan(
    piece: BentPiece,
    made: Sequence[MadeBend],
    *,
    cut_free: bool = True,
    stock_length_mm: float | None = None,
    largest_angle_rad: float = pi / 2.0,
    least_straight_mm: float = 0.0,
    end_a: EndA | None = None,
    hooks: Sequence[HookEnd] = (),
    around: Surroundings = NOTHING_AROUND,
    open_end: bool = False,
    tape: TapeStyle = INCHES,
) -> tuple[ReplanAnswer, ...]:
    """New starts, angles and rolls for the bends not yet made: end B comes to where the plan has it, with end A in its
    fitting. The ways that differ, best first.

    `made` in the order in which it was bent. `cut_free` False: the conduit is cut already, as planned.
    `stock_length_mm` bounds a cut that is still free. `least_straight_mm`: what the bender needs between two arcs where
    one of them is still to be made. `end_a`: what end A allows (None: nothing); `hooks`: which end each bend's hook
    faces, A unless told. `around`: what the piece has to clear. `open_end`: no fitting stands at end B. `tape`: how the
    words show lengths. Raises InputError for bends that the piece does not have.
    """
    ways = begun(piece, made, end_a or EndA(), hooks)
    done = {item.number - 1 for item in made}
    target, tops = walk(piece, around.start).end, _tops(piece, around.start)
    answers: list[ReplanAnswer] = []
    budget = Budget(NEW_MARKS)

    def take(way: Begun, now: BentPiece, *, plain: bool) -> None:
        stock_mm = None if stock_length_mm is None else stock_length_mm - way.trim_mm
        walked = walk(now, around.start)
        gap = end_gap(target, walked.end)
        met = in_tolerances(gap) <= 1.0
        reached = met or taken_in(open_end=open_end).takes(gap)
        findings = tuple(findings_of(now, reached, gap, ALLOWED, largest_angle_rad, stock_mm, tape, done))
        made_so = not any(item.severity == "problem" for item in findings)
        if reached and not met:
            findings = (*findings, off_finding(gap, tape, open_end=open_end))
        budget.take(around.units(now))
        looked = around.look(now)
        offs = [(top, top.off_mm(now, walked, around.start)) for top in tops]
        top, off = max(offs, key=lambda item: even(abs(item[1])), default=(None, 0.0))
        if top is not None and abs(off) > ALLOWED.length_mm:
            findings = (*findings, rise_finding(top.bend + 1, now.bends[top.bend].shape, off, tape))
        answers.append(
            ReplanAnswer(
                piece=now,
                met=met and made_so,
                gap=gap,
                reached=reached and made_so,
                open_end=open_end,
                possible=around.possible(now),
                short_mm=looked.short_mm,
                close=looked.close,
                hit=looked.hit,
                rise_off_mm=off,
                change=hypot(_change(piece, now), *(by / ANGLE_SCALE for _, by in (*way.further, *way.twisted))),
                plain=plain,
                bold=_bold(piece, now, done),
                further=way.further,
                twisted=way.twisted,
                trim_mm=way.trim_mm,
                turned_rad=way.turned_rad,
                later=(),
                words=(*mended_words(way, tape), *replan_words(piece, now, done, tape)),
                findings=findings,
            )
        )

    for number, way in enumerate(ways):
        if number and budget.done > budget.most // 2:
            break
        stock_mm = None if stock_length_mm is None else stock_length_mm - way.trim_mm
        now = _as_planned(way.piece, target, around.start, stock_mm, cut_free=cut_free)
        if way.trim_mm and in_tolerances(end_gap(target, walk(now, around.start).end)) > 1.0:
            continue  # nothing is cut off that leaves the end off
        take(way, now, plain=True)
    mended = any(answer.good for answer in answers)
    for way in ways:
        if way.trim_mm or ((way.further or way.twisted) and mended) or budget.spent:
            continue
        limits = _Limits(piece, way.piece, done, cut_free, stock_length_mm, largest_angle_rad, least_straight_mm)
        for now in _finishes(piece, limits, tops, around, budget):
            take(way, now, plain=False)
    if not any(answer.good for answer in answers):
        limits = _Limits(piece, ways[0].piece, done, cut_free, stock_length_mm, largest_angle_rad, least_straight_mm)
        for now in _others(piece, limits, done, around, budget):
            take(ways[0], now, plain=False)
    if all(answer.bold or not answer.settled for answer in answers):
        answers = list(
            corrected_later(answers, piece, hooks=hooks, around=around, tape=tape, whole=len(done) == len(piece.bends))
        )
    if budget.spent:
        answers = [msgspec.structs.replace(answer, findings=(*answer.findings, _CUT_SHORT)) for answer in answers]
    return _best_first(answers)


def _best_first(answers: Sequence[ReplanAnswer]) -> tuple[ReplanAnswer, ...]:
    return tuple(answer for _, answer in sorted(enumerate(answers), key=lambda item: (item[1].rank, item[0])))


def corrected_later(
    answers: Sequence[ReplanAnswer],
    plan: BentPiece,
    *,
    whole: bool,
    hooks: Sequence[HookEnd] = (),
    around: Surroundings = NOTHING_AROUND,
    tape: TapeStyle = INCHES,
) -> tuple[ReplanAnswer, ...]:
    """The same ways, best first, each with the correction of the finished piece that brings its end right; ways that
    change more than a hand would get one only where no other serves. `plan` is the piece as planned, `whole`: every
    bend of it is made."""
    budget = Budget(CORRECTED_LATER)
    most = len(plan.bends) if whole else _MOST_CORRECTED

    def mended(answer: ReplanAnswer, *, bold: bool) -> ReplanAnswer:
        if answer.settled or answer.later or answer.bold != bold or not (answer.near or (whole and answer.makeable)):
            return answer
        return _corrected_later(answer, brings_end(answer.piece, plan, hooks, around, budget, most), tape)

    out = [mended(answer, bold=False) for answer in answers]
    if not any(answer.serves for answer in out):
        out = [mended(answer, bold=True) for answer in out]
    return _best_first(out)


def _corrected_later(answer: ReplanAnswer, later: tuple[Move, ...], tape: TapeStyle) -> ReplanAnswer:
    """The same with the correction that mends its end: that the marks alone do not is then no problem."""
    if not later:
        return answer
    findings = [f for f in answer.findings if f.rule != "replan.end"]
    return msgspec.structs.replace(answer, later=later, findings=(*findings, later_finding(answer.gap, ALLOWED, tape)))


def _as_planned(
    base: BentPiece, target: Frame, start: Frame, stock_length_mm: float | None, *, cut_free: bool
) -> BentPiece:
    """The rest as planned, cut where the end comes nearest to its place."""
    if not cut_free:
        return base
    end = walk(base, start).end
    cut = base.cut_length_mm + dot(sub(target.origin, end.origin), end.axis)
    last = base.bends[-1].arc_end_mm if base.bends else 0.0
    cut = max(cut if stock_length_mm is None else min(cut, stock_length_mm), last)
    return msgspec.structs.replace(base, cut_length_mm=cut)


def _bold(plan: BentPiece, now: BentPiece, done: set[int]) -> bool:
    """Whether a bend that is left changes by more than a hand would, or goes to nothing."""
    for i, (old, new) in enumerate(zip(plan.bends, now.bends, strict=True)):
        if i in done:
            continue
        changed = max(abs(new.angle_rad - old.angle_rad), abs(new.roll_rad - old.roll_rad))
        if changed > MOST_CHANGE_RAD or new.angle_rad < LEAST_MADE_RAD <= old.angle_rad:
            return True
    return False


class _Limits:
    """What is free on a half-bent piece, and how far."""

    def __init__(
        self,
        plan: BentPiece,
        base: BentPiece,
        done: set[int],
        cut_free: bool,
        stock_length_mm: float | None,
        largest_angle_rad: float,
        least_straight_mm: float,
    ) -> None:
        self.base, self.stock_length_mm, self.largest_angle_rad = base, stock_length_mm, largest_angle_rad
        count = len(base.bends)
        self.free: list[Free] = []
        for i in range(count):
            if i not in done:
                self.free.append(Free("start", i, LENGTH_SCALE))
                self.free += [Free("angle", i, ANGLE_SCALE), Free("roll", i, ANGLE_SCALE)]
        if cut_free:
            self.free.append(Free("cut", -1, LENGTH_SCALE))
        # between two arcs, one of them still to be made, the bender needs its straight; a plan with less keeps that
        self.straights_mm = [0.0] * (count + 1)
        for k in range(1, count):
            if not {k - 1, k} <= done:
                self.straights_mm[k] = max(0.0, min(least_straight_mm + _SPARE_MM, plan.straights_mm()[k]))

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


def _finishes(
    piece: BentPiece, limits: _Limits, tops: Sequence[Top], around: Surroundings, budget: Budget
) -> Iterator[BentPiece]:
    """The ways to finish: as near to the plan as may be, then with the tops at their height; where the conduit in hand
    is too short for that, both with the end where it comes to lie lengthwise. Each as it comes, and held clear of what
    it would come too near."""
    target = walk(piece, around.start).end
    all_made = all(item.kind == "cut" for item in limits.free)
    too_short = False
    for lengthwise in (True, False):
        for kept in ((),) if all_made or not tops else ((), tops):
            if budget.spent:
                return
            task = Task(limits.base, around.start, target, limits.free, {}, [], around, [], kept, lengthwise, budget)
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


def _others(
    piece: BentPiece, limits: _Limits, done: set[int], around: Surroundings, budget: Budget
) -> Iterator[BentPiece]:
    """Each bend that is left as planned, or left out, and the others found anew: where limits are met one after the
    other, what is held first may keep the rest from the end."""
    target = walk(piece, around.start).end
    left = [i for i in range(len(piece.bends)) if i not in done]
    for i in left:
        own = [item for item in limits.free if item.bend == i and item.kind != "cut"]
        kept = [(item, value_of(piece, item)) for item in own]
        for held in (kept, [(item, 0.0 if item.kind == "angle" else value) for item, value in kept]):
            if budget.spent or len(left) < 2:
                return
            task = Task(limits.base, around.start, target, limits.free, {}, list(held), around, [], (), True, budget)
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


def _tops(piece: BentPiece, start: Frame) -> tuple[Top, ...]:
    """The tops of the piece's saddles: the middle of three bends, both ends of the flat of four."""
    walked = walk(piece, start)
    out = []
    flat = [i for i, bend in enumerate(piece.bends) if bend.role == roles.SADDLE_FOUR]
    for i, bend in enumerate(piece.bends):
        placed = walked.bends[i]
        if bend.role == roles.SADDLE_CENTER:
            shares: tuple[float, ...] = (0.5,)
        elif bend.role == roles.SADDLE_FOUR:
            among = [k for k in flat if piece.bends[k].shape == bend.shape]
            shares = {1: (1.0,), 2: (0.0,)}.get(among.index(i), ()) if len(among) == 4 else ()
        else:
            continue
        for share in shares:
            here = placed.start.bent(bend.radius_mm, share * bend.angle_rad, bend.roll_rad)
            # away from the arc's middle, square to the axis: the way that the top rises
            out.append(Top(i, share, here.origin, cross(here.axis, placed.pivot)))
    return tuple(out)


def _change(plan: BentPiece, now: BentPiece) -> float:
    """How far the piece is from the plan, each part in its own scale."""
    parts = [(now.cut_length_mm - plan.cut_length_mm) / LENGTH_SCALE]
    for old, new in zip(plan.bends, now.bends, strict=True):
        parts.append((new.arc_start_mm - old.arc_start_mm) / LENGTH_SCALE)
        parts += [(new.angle_rad - old.angle_rad) / ANGLE_SCALE, (new.roll_rad - old.roll_rad) / ANGLE_SCALE]
    return hypot(*parts)
