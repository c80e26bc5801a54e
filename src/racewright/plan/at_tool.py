"""What whoever bends a piece asks of plan and tool: how likely it fits and what to watch, in which orders it can be
bent, and which limits of the tool it comes near."""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees

import msgspec

from racewright.fit.by_hand import largest_angle_rad
from racewright.fit.forecast import chance_words, lands_words, watch_words
from racewright.geometry.vector import even
from racewright.plan.handling import OnStick
from racewright.plan.model import MarkedBend, Plan, PlannedPiece
from racewright.sequence.machine import HandlingSettings
from racewright.sequence.state import ROUNDING_MM, Piece, Room
from racewright.sequence.words import hooks_words
from racewright.tools.benders import HOOKS, BenderProfile
from racewright.units.angle import hand_angle
from racewright.units.tape import TapeStyle, format_length

#: So little over a limit is near it: what marks and bends of a careful hand add up to (our own choice).
_NEAR_MM, _NEAR_DEG = 25.4, 2.0


class WillFit(msgspec.Struct, frozen=True, kw_only=True):
    """How likely the piece fits as it is bent: `chance` '37 %' ('' where end B goes into no fitting), what that
    `means`, where the far end `lands`, and what to `watch`, the first most."""

    chance: str
    means: str
    lands: str
    watch: tuple[str, ...]


class WayToBend(msgspec.Struct, frozen=True, kw_only=True):
    """One way to bend the piece: which marks in which order, where the hook points, the effort, and why."""

    order: str
    hooks: str
    effort: str
    reasons: tuple[str, ...]


class ToolLimit(msgspec.Struct, frozen=True, kw_only=True):
    """A limit of the tool: `what` it is of, what it `allows`, and what of the piece `comes` nearest to it, `at` which
    mark; `near`: so near that it is to be looked at, or beyond it."""

    what: str
    allows: str
    comes: str
    at: str
    near: bool


class PieceAtTool(msgspec.Struct, frozen=True, kw_only=True):
    """What is asked of a piece at the tool; `fit` None: nothing is bent, or nobody knows how. `ways`: the planned one
    first. No `limits`: no order is known, or of the tool nothing but its radius."""

    fit: WillFit | None
    ways: tuple[WayToBend, ...]
    limits: tuple[ToolLimit, ...]


def at_tool(plan: Plan, piece: PlannedPiece) -> PieceAtTool:
    """What is asked of one piece of a plan at the tool."""
    if not piece.bends:
        return PieceAtTool(fit=None, ways=(), limits=())
    return PieceAtTool(
        fit=_fit(piece, plan.tape),
        ways=_ways(piece),
        limits=tuple(_limits(piece, plan.shoe, plan.tape)) if piece.ways and not plan.shoe.radius_only else (),
    )


def _fit(piece: PlannedPiece, tape: TapeStyle) -> WillFit | None:
    told = piece.forecast
    if told is None:
        return None
    first = next((bend.number for bend in piece.bends if bend.order == 1), 1)
    lands, watch = lands_words(told, tape), watch_words(told, first)
    if not piece.end_b.fitting:
        return WillFit(chance="", means="End B goes into no fitting.", lands=lands, watch=watch)
    across, along = format_length(told.capture.across_mm, tape), format_length(told.capture.along_mm, tape)
    means = (
        f"Of a hundred pieces bent with this care, {told.chance * 100.0:.0f} go into the fitting at end B as they are: "
        f"within {across} sideways and {along} lengthwise. The others want a correction."
    )
    return WillFit(chance=chance_words(told.chance), means=means, lands=lands, watch=watch)


def _ways(piece: PlannedPiece) -> tuple[WayToBend, ...]:
    if len(piece.bends) < 2 or not piece.bends[0].on_shoe:
        return ()
    return tuple(
        WayToBend(
            order=f"marks {', then '.join(str(number) for number in way.order)}",
            hooks=hooks_words(way.hooks),
            effort=f"{way.effort:.1f} points of effort",
            reasons=way.reasons,
        )
        for way in piece.ways
    )


def _limits(piece: PlannedPiece, shoe: BenderProfile, tape: TapeStyle) -> Iterator[ToolLimit]:
    rooms = list(_rooms(piece, shoe, tape))
    hook = min(((bend, room.hook_mm) for bend, room in rooms), key=lambda found: even(found[1]))
    grip = min(((bend, room.grip_mm) for bend, room in rooms), key=lambda found: even(found[1]))
    least, hold = shoe.least_straight_mm, shoe.grip_mm

    def straight(what: str, allowed_mm: float, found: tuple[MarkedBend, float], near_mm: float) -> ToolLimit:
        bend, room_mm = found
        return ToolLimit(
            what=what,
            allows=f"{format_length(allowed_mm, tape)} or more",
            comes=format_length(room_mm, tape),
            at=bend.name,
            near=room_mm < allowed_mm + near_mm - ROUNDING_MM,
        )

    yield straight("straight for the hook, beside what is bent or the end", least, hook, _NEAR_MM)
    yield straight("straight beyond the bend, to pull on", hold, grip, _NEAR_MM)
    # shorter than a hand holds can be bent, with the care that the step tells
    yield straight("straight at the hook, to be held by hand", hold, hook, 0.0)
    # what planned bends ask does not make the shoe go further
    most = largest_angle_rad(msgspec.structs.replace(piece.piece, bends=()), shoe)
    bend = max(piece.bends, key=lambda bend: even(bend.pointer_deg))
    yield ToolLimit(
        what="largest angle to bend to",
        allows=f"{hand_angle(degrees(most))} or less",
        comes=hand_angle(bend.pointer_deg),
        at=bend.name,
        near=bend.pointer_deg > degrees(most) - _NEAR_DEG,
    )


def _rooms(piece: PlannedPiece, shoe: BenderProfile, tape: TapeStyle) -> Iterator[tuple[MarkedBend, Room]]:
    """The straight that each bend has on both sides when it is made, in the bending order."""
    stick = OnStick(shoe, piece.piece, HandlingSettings(tape=tape))
    handled, made = Piece(*stick.with_more(piece.extra_a_mm, piece.extra_b_mm)), 0
    for bend in sorted(piece.bends, key=lambda bend: bend.order):
        yield bend, handled.room(bend.number - 1, HOOKS.index(bend.hook), made)
        made |= 1 << bend.number - 1
