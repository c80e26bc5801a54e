"""A half-bent piece with all that is asked of it, and how a way to finish it comes out."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from math import hypot, pi, radians

import msgspec

from racewright.bends import roles
from racewright.bends.model import BentPiece
from racewright.fit.correction import corrected
from racewright.fit.jacobian import walk
from racewright.fit.made import LEAST_MADE_RAD, OPENING_LIMIT_RAD, ROLL_LIMIT_RAD, Begun, EndA, Further, MadeBend, Twist
from racewright.fit.measured import INCHES, end_gap
from racewright.fit.nearest import ALLOWED, ANGLE_SCALE, LENGTH_SCALE, Top
from racewright.fit.replanned import ReplanAnswer, in_tolerances, taken_in
from racewright.fit.room import NOTHING_AROUND, Surroundings
from racewright.fit.words import Move, findings_of, later_finding, mended_words, off_finding, replan_words, rise_finding
from racewright.geometry.vector import Frame, cross, even
from racewright.tools.benders import HookEnd
from racewright.units.tape import TapeStyle

#: A bend that changes by more than this, or that is left out, is one that a hand would rather not make so
#: (our own choice).
MOST_CHANGE_RAD = radians(10.0)


class HalfBent(msgspec.Struct, frozen=True, dict=True):
    """A piece as planned, and the bends of it that are `made`, in the order in which they were bent.

    `cut_free` False: the conduit is cut already, as planned. `stock_length_mm` bounds a cut that is still free.
    `least_straight_mm`: what the bender needs between two arcs where one of them is still to be made. `end_a`: what end
    A allows; `hooks`: which end each bend's hook faces, A unless told. `around`: what the piece has to clear.
    `open_end`: no fitting stands at end B. `tape`: how the words show lengths."""

    plan: BentPiece
    made: Sequence[MadeBend]
    cut_free: bool = True
    stock_length_mm: float | None = None
    largest_angle_rad: float = pi / 2.0
    least_straight_mm: float = 0.0
    end_a: EndA = EndA()
    hooks: Sequence[HookEnd] = ()
    around: Surroundings = NOTHING_AROUND
    open_end: bool = False
    tape: TapeStyle = INCHES

    @cached_property
    def done(self) -> frozenset[int]:
        """The bends that are made, counted from 0."""
        return frozenset(item.number - 1 for item in self.made)

    @property
    def whole(self) -> bool:
        """Every bend is made."""
        return len(self.done) == len(self.plan.bends)

    @cached_property
    def target(self) -> Frame:
        """Where the plan has end B."""
        return walk(self.plan, self.around.start).end

    @cached_property
    def tops(self) -> tuple[Top, ...]:
        """The tops of the plan's saddles."""
        return _tops(self.plan, self.around.start)

    def stock_mm(self, way: Begun) -> float | None:
        """What bounds the cut of a way, once its end A is trimmed."""
        return None if self.stock_length_mm is None else self.stock_length_mm - way.trim_mm


def finished(half: HalfBent, way: Begun, now: BentPiece, *, plain: bool) -> ReplanAnswer:
    """How the piece `now`, to which a way is finished, comes out. `plain`: the rest is bent as planned."""
    walked = walk(now, half.around.start)
    gap = end_gap(half.target, walked.end)
    met = in_tolerances(gap) <= 1.0
    reached = met or taken_in(open_end=half.open_end).takes(gap)
    largest_rad, tape = half.largest_angle_rad, half.tape
    findings = findings_of(now, reached, gap, ALLOWED, largest_rad, half.stock_mm(way), tape, half.done)
    made_so = not any(item.severity == "problem" for item in findings)
    if reached and not met:
        findings.append(off_finding(gap, tape, open_end=half.open_end))
    offs = [(top, top.off_mm(now, walked, half.around.start)) for top in half.tops]
    top, off = max(offs, key=lambda item: even(abs(item[1])), default=(None, 0.0))
    if top is not None and abs(off) > ALLOWED.length_mm:
        findings.append(rise_finding(top.bend + 1, now.bends[top.bend].shape, off, tape))
    looked = half.around.look(now)
    return ReplanAnswer(
        piece=now,
        met=met and made_so,
        gap=gap,
        reached=reached and made_so,
        open_end=half.open_end,
        possible=half.around.possible(now),
        short_mm=looked.short_mm,
        close=looked.close,
        hit=looked.hit,
        rise_off_mm=off,
        change=hypot(_change(half.plan, now), *(by / ANGLE_SCALE for _, by in (*way.further, *way.twisted))),
        plain=plain,
        bold=_bold(half, now),
        further=way.further,
        twisted=way.twisted,
        trim_mm=way.trim_mm,
        turned_rad=way.turned_rad,
        later=(),
        words=(*mended_words(way, tape), *replan_words(half.plan, now, half.done, tape)),
        findings=tuple(findings),
    )


def corrected_so(half: HalfBent, answer: ReplanAnswer, later: tuple[Move, ...]) -> ReplanAnswer:
    """The same with the correction that mends its end: that the marks alone do not is then no problem. What is mended
    anyway before the rest is bent gets its part of the correction with that: nothing is bent or twisted twice."""
    at_once = tuple(move for move in later if _goes_with(half, answer, move))
    if at_once:
        by = {(move.number, move.kind): move.by_rad for move in at_once}
        way = Begun(
            corrected(answer.piece, at_once, half.hooks),
            tuple(Further(n, so_far + by.get((n, "angle"), 0.0)) for n, so_far in answer.further),
            answer.trim_mm,
            answer.turned_rad + by.get((1, "spin"), 0.0),
            tuple(Twist(n, so_far + by.get((n, "roll"), 0.0)) for n, so_far in answer.twisted),
        )
        mended = finished(half, way, way.piece, plain=answer.plain)
        rest = tuple(move for move in later if move not in at_once)
        if rest or mended.settled:
            answer, later = mended, rest
    if not later:
        return answer
    findings = [f for f in answer.findings if f.rule != "replan.end"]
    told = later_finding(answer.gap, ALLOWED, half.tape)
    return msgspec.structs.replace(answer, later=later, findings=(*findings, told))


def _goes_with(half: HalfBent, answer: ReplanAnswer, move: Move) -> bool:
    """Whether a correction is more, or less, of what is done anyway about a made bend. A twist and a turn of the whole
    piece only where no bend is left that they would carry along."""
    if move.kind == "spin":
        return half.whole and answer.turned_rad != 0.0
    if move.kind == "roll" and not half.done.issuperset(range(move.number - 1, len(half.plan.bends))):
        return False
    done = dict(answer.further if move.kind == "angle" else answer.twisted)
    if move.number not in done:
        return False
    by = done[move.number] + move.by_rad
    least, most = (-OPENING_LIMIT_RAD, pi) if move.kind == "angle" else (-ROLL_LIMIT_RAD, ROLL_LIMIT_RAD)
    return abs(by) >= LEAST_MADE_RAD and least <= by <= most


def _bold(half: HalfBent, now: BentPiece) -> bool:
    """Whether a bend that is left changes by more than a hand would, or goes to nothing."""
    for i, (old, new) in enumerate(zip(half.plan.bends, now.bends, strict=True)):
        if i in half.done:
            continue
        changed = max(abs(new.angle_rad - old.angle_rad), abs(new.roll_rad - old.roll_rad))
        if changed > MOST_CHANGE_RAD or new.angle_rad < LEAST_MADE_RAD <= old.angle_rad:
            return True
    return False


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
