"""Whether the bends that are left on a half-bent piece can be made by hand, in the plan's order."""

from __future__ import annotations

from math import radians

import msgspec

from racewright.bends.model import BentPiece
from racewright.errors import Finding
from racewright.sequence.checks import Checks, Rules
from racewright.sequence.machine import STANCES, HandlingSettings, Stance
from racewright.sequence.state import Piece, blocked_words
from racewright.sequence.words import mark_names
from racewright.tools.benders import BenderProfile, HookEnd
from racewright.units.tape import TapeStyle


def largest_angle_rad(planned: BentPiece) -> float:
    """A shoe goes somewhat past 90, as it must to overbend: 3 degrees are taken (common practice, no source)."""
    return max([radians(90.0), *(b.angle_rad for b in planned.bends)]) + radians(3.0)


def in_hand_mm(cut_mm: float, stock_mm: float, extra_a_mm: float, trim_after: bool) -> float:
    """How much conduit there is from end A, unless told: the cut length, or the stick that is cut after bending."""
    return max(stock_mm - extra_a_mm, cut_mm) if trim_after else cut_mm


class ByHand:
    """Whether the next bend has room for hook and grip and clears bender and floor, with what is bent by then. `now`
    is the piece as it shall be finished, `extra_a_mm` what is left on beyond its end A, `have_mm` the conduit from end
    A on."""

    def __init__(
        self, now: BentPiece, bender: BenderProfile, tape: TapeStyle, *, extra_a_mm: float, have_mm: float
    ) -> None:
        bends = [msgspec.structs.replace(b, arc_start_mm=b.arc_start_mm + extra_a_mm) for b in now.bends]
        length = extra_a_mm + max(have_mm, now.cut_length_mm)
        self.tape = tape
        self.made = 0
        self.possible = min(now.straights_mm()) >= -1e-6
        self.checks = Checks(Piece(bends, length, now.outside_diameter_mm, bender, HandlingSettings(tape=tape)))

    def next_bend(self, number: int, hook: HookEnd, stance: Stance) -> tuple[Stance | None, Finding | None]:
        """Make bend `number` (from 1) next: the stance in which it goes (the plan's `stance`, if that does), None where
        it is not known; what is in the way."""
        tried, refused = self._tried(number - 1, "AB".index(hook), stance)
        self.is_made(number)
        if not refused:
            return tried, None
        return tried, Finding(
            rule="remark.order",
            severity="problem",
            message=f"in the plan's order this cannot be made by hand: {refused}.",
            citation="geometry and the bender's own limits",
            where=mark_names([number]),
        )

    def is_made(self, number: int) -> None:
        """Bend `number` (from 1) is made."""
        self.made |= 1 << (number - 1)

    def _tried(self, index: int, hook: int, stance: Stance) -> tuple[Stance | None, str]:
        if not self.possible:
            return None, ""
        rules = Rules(tuple((hook if i == index else 0,) for i in range(self.checks.count)))
        miss = self.checks.nearest_miss(self.made, index, rules)
        if miss is not None:
            return None, blocked_words(miss, self.tape)
        stances = sorted(self.checks.stances, key=lambda k: STANCES[k] != stance)
        if self.checks.room_miss(self.made, index, hook) is None:
            for k in stances:
                if self.checks.collision(self.made, index * 4 + hook * 2 + k) is None:
                    return STANCES[k], ""
        return None, ""
