"""How a piece goes through the bender: the order search's answer in the form that the marks need."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

import msgspec

from racewright.bends.model import Bend, BentPiece
from racewright.budget import CAN_BE_BENT, ORDER_OF_A_PIECE, Budget
from racewright.errors import Finding
from racewright.plan.model import WayView
from racewright.sequence.machine import HandlingSettings, Stance, wrapped
from racewright.sequence.order import can_be_bent, find_order, least_effort
from racewright.sequence.state import HandlingStep, OrderAnswer, Piece, Way
from racewright.sequence.ways import choose_reference, held_words
from racewright.sequence.words import hold_words, short_hook_words
from racewright.tools.benders import BenderProfile, HookEnd, Reference
from racewright.units.tape import TapeStyle, format_length

#: How much longer than the cut length a stick is tried when a piece is cut after bending (mm); found to 1 mm.
MOST_EXTRA_MM = 1500.0
#: What is left on beyond end B of a bent piece that is cut after bending, where the stick has it: a shorter ring is
#: hard to saw off square, and bends that came out take up no more (common practice, no source).
TRIM_MM = 25.4

#: The rules of a run that cannot be bent: a piece without an order, or no stick that is long enough: for the run,
#: whose pieces have no order either, or for a piece that is cut after bending.
STUCK = ("bend.order", "run.sticks")


class HandledBend(msgspec.Struct, frozen=True, kw_only=True):
    """One bend as it is made: material index from 0, order from 1; `hook_words`: what is told where the hook is
    on conduit too short to hold, '' elsewhere."""

    index: int
    order: int
    hook: HookEnd
    reference: Reference
    stance: Stance
    spin_rad: float
    end_for_end: bool = False
    hook_words: str = ""


class Handled(msgspec.Struct, frozen=True, kw_only=True):
    """The way to make a piece; whether it is cut after bending, and the straight to leave on beyond each end for that;
    findings."""

    steps: tuple[HandledBend, ...]
    ways: tuple[WayView, ...] = ()
    proved: bool = True
    cut_after: bool = False
    extra_a_mm: float = 0.0
    extra_b_mm: float = 0.0
    findings: tuple[Finding, ...] = ()


class Budgets(msgspec.Struct, frozen=True):
    """What the searches of one piece, or of all, may take: for orders, and for how much longer a stick would have to
    be."""

    order: Budget
    longer: Budget


def handle_piece(
    bender: BenderProfile,
    piece: BentPiece,
    tape: TapeStyle,
    *,
    cut_after: bool,
    stock_mm: float = 0.0,
    label: str = "piece 1",
    other_ways: int = 2,
    budgets: Budgets | None = None,
) -> Handled:
    """Order, hook, reference, stance and spin for a piece; where no order exists, the plain one and what binds.

    With `cut_after` the piece is bent from a longer stick: what the saw wants where `stock_mm`, the stick's length (0:
    not known), has it, and the least extra straight that allows an order.
    """
    budgets = budgets or Budgets(Budget(ORDER_OF_A_PIECE), Budget(CAN_BE_BENT))
    stick = OnStick(bender, piece, HandlingSettings(tape=tape, other_ways=other_ways, stick_mm=stock_mm or inf))
    trim = _trim_mm(piece, stock_mm)
    left_on = trim if cut_after else 0.0
    answer = find_order(*stick.with_more(0.0, left_on), budget=budgets.order.share(2))
    if answer.ways:
        return _found(answer, stick, 0.0, left_on, label, cut_after=cut_after)
    extra = _least_extra(stick, trim, budgets.longer) if cut_after else None
    if extra is not None:
        again = find_order(*stick.with_more(*extra), budget=budgets.order)
        if again.ways:
            return _found(again, stick, *extra, label, cut_after=True)
    return Handled(
        steps=_plain(bender, piece, tape),
        proved=answer.proved,
        cut_after=cut_after,
        extra_b_mm=left_on,
        findings=(_impossible(answer, label),),
    )


def effort_of(
    bender: BenderProfile, piece: BentPiece, tape: TapeStyle, *, cut_after: bool, stock_mm: float, budget: Budget
) -> tuple[float | None, bool]:
    """The effort of the order that `handle_piece` finds (points; None: none), and whether that is proved."""
    stick = OnStick(bender, piece, HandlingSettings(tape=tape))
    trim = _trim_mm(piece, stock_mm)
    effort, proved = least_effort(*stick.with_more(0.0, trim if cut_after else 0.0), budget=budget.share(2))
    extra = _least_extra(stick, trim, budget) if effort is None and cut_after else None
    if extra is not None:
        effort, _ = least_effort(*stick.with_more(*extra), budget=budget)
    return effort, proved


def cannot_be_bent(finding: Finding) -> bool:
    """Whether it says that a piece, or the run, cannot be bent as planned."""
    return finding.rule in STUCK and finding.severity == "problem"


def not_looked_for(bender: BenderProfile, piece: BentPiece, tape: TapeStyle, *, cut_after: bool) -> Handled:
    """The plain order for a piece that no stick is long enough for: there is no use in looking for a better one."""
    return Handled(steps=_plain(bender, piece, tape), proved=False, cut_after=cut_after)


class OnStick(msgspec.Struct, frozen=True):
    """A piece that is bent from a stick at least as long as it, as the searches take it."""

    bender: BenderProfile
    piece: BentPiece
    settings: HandlingSettings

    def with_more(
        self, extra_a: float, extra_b: float
    ) -> tuple[tuple[Bend, ...], float, float, BenderProfile, HandlingSettings]:
        """With so much more straight beyond its ends (mm)."""
        piece = self.piece
        length, bends = piece.cut_length_mm + extra_a + extra_b, _moved(piece.bends, extra_a)
        return bends, length, piece.outside_diameter_mm, self.bender, self.settings


def _moved(bends: Sequence[Bend], by_mm: float) -> tuple[Bend, ...]:
    if by_mm == 0.0:
        return tuple(bends)
    return tuple(msgspec.structs.replace(b, arc_start_mm=b.arc_start_mm + by_mm) for b in bends)


def _trim_mm(piece: BentPiece, stock_mm: float) -> float:
    """What is left on beyond end B to be cut off: no more than the stick has."""
    return max(0.0, min(TRIM_MM, (stock_mm or piece.cut_length_mm + TRIM_MM) - piece.cut_length_mm))


def _least_extra(stick: OnStick, trim_mm: float, budget: Budget) -> tuple[float, float] | None:
    """The least straight beyond end B, else end A, else both, that allows an order, rounded up to 1 mm; beyond end B it
    counts on top of what is cut off there anyway."""

    def possible(extra_a: float, extra_b: float) -> bool | None:
        return can_be_bent(*stick.with_more(extra_a, extra_b), budget=budget.share(2))

    for a, b in ((0.0, 1.0), (1.0, 0.0), (1.0, 1.0)):
        if not possible(a * MOST_EXTRA_MM, trim_mm + b * MOST_EXTRA_MM):
            continue
        low, high = 0, int(MOST_EXTRA_MM)
        while high - low > 1:
            middle = (low + high) // 2
            if possible(a * middle, trim_mm + b * middle):
                high = middle
            else:
                low = middle
        return a * high, trim_mm + b * high
    return None


def _found(
    answer: OrderAnswer, stick: OnStick, extra_a: float, extra_b: float, label: str, *, cut_after: bool
) -> Handled:
    best, laid = answer.ways[0], Piece(*stick.with_more(extra_a, extra_b))
    views = tuple(
        WayView(order=tuple(i + 1 for i in way.order), hooks=way.hooks, effort=way.cost, reasons=way.reasons)
        for way in answer.ways
    )
    return Handled(
        steps=tuple(
            HandledBend(
                index=step.bend_index,
                order=number,
                hook=step.hook,
                reference=step.reference,
                stance=step.stance,
                spin_rad=step.spin_rad,
                end_for_end=step.swap_ends,
                hook_words=_hook_words(step, best, laid),
            )
            for number, step in enumerate(best.steps, start=1)
        ),
        ways=views,
        proved=answer.proved,
        cut_after=cut_after,
        extra_a_mm=extra_a,
        extra_b_mm=extra_b,
        findings=() if answer.proved else (_not_proved(label),),
    )


def _hook_words(step: HandlingStep, way: Way, laid: Piece) -> str:
    """All that may be done where it is the only bend; of several each says how to hold, and the ways tell the rest."""
    if not step.hook_is_short:
        return ""
    does = held_words(laid, way, step) if len(way.steps) == 1 else hold_words(step.hook)
    return short_hook_words(step.hook_on, format_length(step.hook_room_mm, laid.settings.tape), does)


def _not_proved(label: str) -> Finding:
    return Finding(
        rule="bend.order",
        severity="info",
        message=f"{label}: its bending order is the best of those tried; that none takes less effort is not proved.",
        citation="common practice, no source",
        where=label,
    )


def _impossible(answer: OrderAnswer, label: str) -> Finding:
    """That there is no order, and what binds; what would work, `plan/advice.py` finds and tells."""
    sure = "no bending order works (proved)" if answer.proved else "no bending order was found (not proved)"
    first = answer.impossible[0] if answer.impossible else None
    words = "; ".join(b.words for b in answer.impossible[:2])
    return Finding(
        rule="bend.order",
        severity="problem",
        message=f"{label}: {sure}. What binds: {words or 'nothing nameable'}.",
        citation="common practice, no source",
        where=label,
        measured=first.measured_mm if first else None,
        allowed=first.needed_mm if first else None,
        unit="mm",
        values={"marks": " ".join(str(b.bend_index + 1) for b in answer.impossible[:2])},
    )


def _plain(bender: BenderProfile, piece: BentPiece, tape: TapeStyle) -> tuple[HandledBend, ...]:
    """Along the conduit from A, hook toward A: what a person would try first; used where no order works."""
    out = []
    last = 0.0
    for number, bend in enumerate(piece.bends, start=1):
        reference = choose_reference(bend, "A", bender, tape, among=piece.bends, cut_length_mm=piece.cut_length_mm)
        spin = 0.0 if number == 1 else wrapped(last - bend.roll_rad)
        out.append(
            HandledBend(index=number - 1, order=number, hook="A", reference=reference, stance="floor", spin_rad=spin)
        )
        last = bend.roll_rad
    return tuple(out)
