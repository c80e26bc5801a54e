"""Whether the bends that are left on a half-bent piece can be made by hand, and in which order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import pi, radians
from typing import NamedTuple

import msgspec

from racewright.bends.model import BentPiece
from racewright.budget import Budget
from racewright.errors import Finding
from racewright.fit.made import CLOSING_LIMIT_RAD
from racewright.sequence.checks import Checks, Rules
from racewright.sequence.machine import STANCES, HandlingSettings, Stance
from racewright.sequence.order import find_rest
from racewright.sequence.state import ROUNDING_MM, Piece, blocked_words
from racewright.sequence.ways import choose_reference
from racewright.sequence.words import hold_words, mark_names, short_hook_words
from racewright.tools.benders import HOOKS, BenderProfile, HookEnd, Reference
from racewright.units.tape import TapeStyle, format_length


def largest_angle_rad(planned: BentPiece, bender: BenderProfile) -> float:
    """A shoe goes somewhat past 90, as it must to overbend: 3 degrees are taken (common practice, no source). What is
    formed without a shoe has no such limit."""
    if bender.radius_only:
        return pi
    return max([radians(90.0), *(b.angle_rad for b in planned.bends)]) + radians(3.0)


class HandBend(NamedTuple):
    """One bend as it is made: its number from 1, which end the hook faces, the shoe's mark, how the bender is held
    (None: not known), and what is told where the hook is on conduit too short to hold ('' elsewhere)."""

    number: int
    hook: HookEnd
    reference: Reference
    stance: Stance | None
    hook_words: str = ""


class Again(NamedTuple):
    """A made bend that is bent further, as it was made, and by how much."""

    bend: HandBend
    by_rad: float


class LeftToBend(NamedTuple):
    """The bends that are left, in the order in which they are made. `as_planned`: it is the plan's. `finding`: what
    keeps it from being made, or why the order is another ('info'); `refused`: what keeps it, in words for a sentence.
    `proved` False: the search for one was cut short."""

    bends: tuple[HandBend, ...]
    as_planned: bool
    finding: Finding | None
    proved: bool = True
    refused: str = ""

    @property
    def possible(self) -> bool:
        """Whether a hand can make them."""
        return self.finding is None or self.finding.severity != "problem"


def left_to_bend(
    now: BentPiece,
    again: Sequence[Again],
    rest: Sequence[HandBend],
    made: Sequence[int],
    bender: BenderProfile,
    tape: TapeStyle,
    *,
    extra_a_mm: float,
    have_mm: float,
    budget: Budget,
) -> LeftToBend:
    """Whether the rest of a piece has room for hook and grip and clears bender and floor, with what is bent by then: in
    the plan's order with its hooks, else in any other. What is bent further goes before it, since it is bent already,
    as it was bent, else with the hook the other way.

    `now` is the piece as it shall be finished, `again` the made bends that are bent further and `rest` those that are
    left, as the plan makes them, `made` the numbers of all that are made or not bent at all, `extra_a_mm` what is left
    on beyond its end A, `have_mm` the conduit from end A on, `budget` what another order may be sought with.
    """
    if min(now.straights_mm()) < -1e-6 or not (again or rest):
        unlooked = (*(item.bend for item in again), *rest)
        return LeftToBend(tuple(bend._replace(stance=None) for bend in unlooked), as_planned=True, finding=None)
    bends = [msgspec.structs.replace(b, arc_start_mm=b.arc_start_mm + extra_a_mm) for b in now.bends]
    length = extra_a_mm + max(have_mm, now.cut_length_mm)
    piece = Piece(bends, length, now.outside_diameter_mm, bender, HandlingSettings(tape=tape))
    checks = Checks(piece, budget)
    begun = sum(1 << (number - 1) for number in made)
    first = _further(checks, begun, again, now, have_mm)
    if not first.possible:
        return first._replace(bends=(*first.bends, *rest))
    tried: list[HandBend] = []
    mask, refused = begun, ""
    for bend in rest:
        stance, refused = _tried(checks, mask, bend, tape)
        if refused:
            break
        tried.append(_held(piece, mask, bend._replace(stance=stance)))
        mask |= 1 << (bend.number - 1)
    else:
        return first._replace(bends=(*first.bends, *tried))
    found = find_rest(checks, begun)
    if found.options is None:
        none = "no other order works" if found.complete else "no other order was found (not proved)"
        refused = f"{refused}; {none}"
        finding = _finding("problem", f"this cannot be made by hand: {refused}.", rest[len(tried)].number)
        bends_left = (*first.bends, *tried, *rest[len(tried) :])
        return LeftToBend(bends_left, as_planned=True, finding=finding, proved=found.complete, refused=refused)
    other = tuple(_made_so(checks, begun, found.options, now, have_mm))
    finding = _finding(
        "info", f"in the plan's order it cannot be made: {refused}. The order is another.", other[0].number
    )
    return LeftToBend((*first.bends, *other), as_planned=False, finding=finding)


def _further(checks: Checks, begun: int, again: Sequence[Again], now: BentPiece, have_mm: float) -> LeftToBend:
    """The made bends that are bent further, each with all the other made ones bent. What a finished piece is closed by
    asks for no room for the shoe: such a bend has no stance where there is none."""
    out: list[HandBend] = []
    turned: Finding | None = None
    bender, tape = checks.piece.bender, checks.piece.settings.tape
    for bend, by_rad in again:
        others = begun & ~(1 << (bend.number - 1))
        stance, refused = _tried(checks, others, bend, tape)
        if refused:
            hook: HookEnd = "B" if bend.hook == "A" else "A"
            at = now.bends[bend.number - 1]
            mark = choose_reference(at, hook, bender, tape, among=now.bends, cut_length_mm=have_mm)
            other = HandBend(bend.number, hook, mark, bend.stance)
            stance, also = _tried(checks, others, other, tape)
            if not also:
                message = f"as it was bent it cannot be bent further: {refused}. Its hook faces the other end."
                bend, turned = other, turned or _finding("info", message, bend.number)
            elif by_rad > CLOSING_LIMIT_RAD:
                refused = f"{refused}; with the hook the other way, {also}"
                finding = _finding("problem", f"this cannot be bent further by hand: {refused}.", bend.number)
                left = (*out, *(item.bend for item in again[len(out) :]))
                return LeftToBend(left, as_planned=True, finding=finding, refused=refused)
        out.append(_held(checks.piece, others, bend._replace(stance=stance)))
    return LeftToBend(tuple(out), as_planned=True, finding=turned)


def _made_so(checks: Checks, mask: int, options: Sequence[int], now: BentPiece, have_mm: float) -> Iterator[HandBend]:
    """The bends in the order of these options, after those of `mask`."""
    bender, tape = checks.piece.bender, checks.piece.settings.tape
    for option in options:
        index, hook = option >> 2, HOOKS[option >> 1 & 1]
        reference = choose_reference(now.bends[index], hook, bender, tape, among=now.bends, cut_length_mm=have_mm)
        yield _held(checks.piece, mask, HandBend(index + 1, hook, reference, STANCES[option & 1]))
        mask |= 1 << index


def _held(piece: Piece, made: int, bend: HandBend) -> HandBend:
    """The bend with what is told of its hook, the bends of `made` being bent by then."""
    index, hook = bend.number - 1, HOOKS.index(bend.hook)
    room = piece.room(index, hook, made).hook_mm
    if room >= piece.grip_need_mm - ROUNDING_MM:
        return bend
    on = "end" if room >= piece.hook_side_mm(index, hook) - ROUNDING_MM else "straight"
    words = short_hook_words(on, format_length(room, piece.settings.tape), hold_words(bend.hook))
    return bend._replace(hook_words=words)


def _finding(severity: str, message: str, number: int) -> Finding:
    return Finding(
        rule="remark.order",
        severity="problem" if severity == "problem" else "info",
        message=message,
        citation="geometry and the bender's own limits",
        where=mark_names([number]),
    )


def _tried(checks: Checks, made: int, bend: HandBend, tape: TapeStyle) -> tuple[Stance | None, str]:
    """The stance in which a bend goes next (the plan's, if that does), and what is in the way."""
    index, hook = bend.number - 1, HOOKS.index(bend.hook)
    rules = Rules(tuple((hook if i == index else 0,) for i in range(checks.count)))
    miss = checks.nearest_miss(made, index, rules)
    if miss is not None:
        return None, blocked_words(miss, tape)
    stances = sorted(checks.stances, key=lambda k: STANCES[k] != bend.stance)
    for k in stances:
        if checks.collision(made, index * 4 + hook * 2 + k) is None:
            return STANCES[k], ""
    return None, ""
