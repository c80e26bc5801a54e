"""Whether one bend can be made with a given set of bends already made: asked often, worked out once.

The cheap questions come first: straight conduit for hook and grip, then the floor, then shoe, handle and conduit.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import msgspec

from racewright.budget import ORDER_OF_A_PIECE, Budget
from racewright.geometry.vector import even
from racewright.sequence.collide import (
    RESOLUTION_MM,
    Hit,
    grip_side_hit,
    grip_side_over_floor,
    grip_side_over_ground,
    hook_side_hit,
    hook_side_over_floor,
    hook_side_over_ground,
    least_body_gap,
    self_hit,
)
from racewright.sequence.machine import STANCES
from racewright.sequence.state import ROUNDING_MM, Blocked, LimitName, Piece, Site
from racewright.tools.benders import HOOKS


class Rules(NamedTuple):
    """What a search may do. `hooks[i]` are the hook directions (0, 1) allowed for bend i, `fixed_order` the only
    order allowed, `spare_mm` straight conduit asked for beyond the need of hook and grip, `begun` the bends that are
    made already."""

    hooks: tuple[tuple[int, ...], ...]
    fixed_order: tuple[int, ...] | None = None
    spare_mm: float = 0.0
    begun: int = 0


class Miss(msgspec.Struct, frozen=True):
    """A limit that is not held: measured against needed (mm)."""

    limit: LimitName
    measured_mm: float
    needed_mm: float

    @property
    def short_mm(self) -> float:
        """By how much it is missed."""
        return self.needed_mm - self.measured_mm


class Checks:
    """The checks of one piece, with what was found kept by (set of made bends, option). What is worked out anew is
    counted in `budget`; whoever asks looks whether it is spent."""

    def __init__(self, piece: Piece, budget: Budget | None = None) -> None:
        self.piece = piece
        self.budget = budget or Budget(ORDER_OF_A_PIECE)
        self.count = piece.count
        # what concerns one side only is kept by the made bends of that side: (bend, hook, set)
        self._hook_hits: dict[tuple[int, int, int], Hit | None] = {}
        self._grip_hits: dict[tuple[int, int, int], Hit | None] = {}
        self._self_hits: dict[tuple[int, int, int], Hit | None] = {}
        self._hook_heights: dict[tuple[int, int, int], tuple[float, float]] = {}
        self._grip_heights: dict[tuple[int, int, int], tuple[float, float]] = {}
        self._worst: dict[tuple[int, int, int], Hit | None] = {}
        # without a bender there is no stance: 'floor' stands for the bench
        stances = piece.settings.stances if piece.by_hand else STANCES[:1]
        self.stances = tuple(k for k, stance in enumerate(STANCES) if stance in stances)

    def room_miss(self, made: int, i: int, hook: int, spare_mm: float = 0.0) -> Miss | None:
        """The greater miss of hook reach and grip, or None."""
        piece = self.piece
        room = piece.room(i, hook, made)
        at_hook = Miss("hook reach", room.hook_mm, piece.hook_need_mm + spare_mm)
        at_grip = Miss("grip", room.grip_mm, piece.grip_need_mm + spare_mm)
        worst = at_hook if at_hook.short_mm >= at_grip.short_mm else at_grip
        return worst if worst.short_mm > ROUNDING_MM else None

    def collision(self, made: int, option: int) -> Miss | None:
        """The floor, shoe, handle or conduit that is hit, or None. `made` does not hold the option's bend."""
        i, hook = option >> 2, option >> 1 & 1
        give = self.piece.settings.floor_give_mm
        ground = self.ground_mm(made, option)
        if ground < -give:
            return Miss("floor", ground, -give)
        if not made:  # nothing is bent yet
            return None
        hit = self._body_hit(made, i, hook)
        return None if hit is None else Miss(hit.limit, hit.gap_mm, self.piece.settings.clearance_mm)

    def _body_hit(self, made: int, i: int, hook: int) -> Hit | None:
        at_hook, at_grip = self.piece.side_sets(i, hook, made)
        needed = self.piece.settings.clearance_mm
        for kept, look, beyond in (
            (self._hook_hits, hook_side_hit, at_hook),
            (self._grip_hits, grip_side_hit, at_grip),
            (self._self_hits, self_hit, made),
        ):
            key = (i, hook, beyond)
            if key not in kept:
                site = self.piece.site(i, hook, made)
                self.budget.take(looks(site))
                kept[key] = look(site, needed + RESOLUTION_MM, needed)
            if kept[key] is not None:
                return kept[key]
        return None

    def _worst_collision(self, made: int, option: int) -> Miss | None:
        """As `collision`, with the least gap of the whole bend instead of the first one that is too small."""
        found = self.collision(made, option)
        if found is None or found.limit == "floor":
            return found
        i, hook = option >> 2, option >> 1 & 1
        key = (i, hook, made)
        if key not in self._worst:
            site = self.piece.site(i, hook, made)
            self.budget.take(3 * looks(site))
            self._worst[key] = least_body_gap(site)
        hit = self._worst[key]
        if hit is None or hit.gap_mm >= found.measured_mm:  # the same to the resolution
            return found
        return Miss(hit.limit, hit.gap_mm, found.needed_mm)

    def ground_mm(self, made: int, option: int) -> float:
        """Least height over the floor or the ground in this stance (mm, at most 0)."""
        if not self.piece.by_hand:
            return 0.0
        i, hook, stance = option >> 2, option >> 1 & 1, option & 1
        at_hook, at_grip = self.piece.side_sets(i, hook, made)
        hook_key, grip_key = (i, hook, at_hook), (i, hook, at_grip)
        if hook_key in self._hook_heights and grip_key in self._grip_heights:
            return min(self._hook_heights[hook_key][stance], self._grip_heights[grip_key][stance])
        site = self.piece.site(i, hook, made)
        if hook_key not in self._hook_heights:
            self.budget.take(len(site.hook_parts) + len(site.grip_parts))
            self._hook_heights[hook_key] = (hook_side_over_floor(site), hook_side_over_ground(site))
        if grip_key not in self._grip_heights:
            self.budget.take(len(site.hook_parts) + 2 * len(site.grip_parts))
            self._grip_heights[grip_key] = (grip_side_over_floor(site), grip_side_over_ground(site))
        return min(self._hook_heights[hook_key][stance], self._grip_heights[grip_key][stance])

    def options(self, made: int, rules: Rules) -> list[int]:
        """The options next with room for hook and grip, above the floor; other collisions are not looked at."""
        lowest = -self.piece.settings.floor_give_mm
        return [option for option in self.with_room(made, rules) if self.ground_mm(made, option) >= lowest]

    def with_room(self, made: int, rules: Rules) -> list[int]:
        """The options next with room for hook and grip; nothing else is looked at."""
        piece = self.piece
        if rules.fixed_order is None:
            indices: Sequence[int] = range(self.count)
        else:
            indices = (rules.fixed_order[made.bit_count()],)
        at_hook = piece.hook_need_mm + rules.spare_mm - ROUNDING_MM
        at_grip = piece.grip_need_mm + rules.spare_mm - ROUNDING_MM
        out = []
        for i in indices:
            if made >> i & 1:
                continue
            a, b = piece.free_toward_a_mm(i, made), piece.free_toward_b_mm(i, made)
            for hook in rules.hooks[i]:
                if (b >= at_hook and a >= at_grip) if hook else (a >= at_hook and b >= at_grip):
                    out += [i * 4 + hook * 2 + stance for stance in self.stances]
        return out

    def nearest_miss(self, made: int, i: int, rules: Rules) -> Blocked | None:
        """Over all options of bend i the nearest miss, or None where one of them can be made."""
        best: tuple[Miss, int] | None = None
        for hook in rules.hooks[i]:
            miss = self.room_miss(made, i, hook, rules.spare_mm)
            for stance in self.stances:
                if best is not None and miss is not None and miss.short_mm >= best[0].short_mm:
                    continue  # no gap makes it nearer
                option = i * 4 + hook * 2 + stance
                hit = self._worst_collision(made, option)
                found = miss if hit is None or (miss is not None and miss.short_mm >= hit.short_mm) else hit
                if found is None:
                    return None
                if best is None or found.short_mm < best[0].short_mm:
                    best = (found, option)
        return None if best is None else self._blocked(made, *best)

    def nearest_room(self, made: int, i: int, rules: Rules) -> Blocked | None:
        """As `nearest_miss`, of hook reach and grip alone."""
        misses = [(self.room_miss(made, i, hook, rules.spare_mm), hook) for hook in rules.hooks[i]]
        found = [(miss, hook) for miss, hook in misses if miss is not None]
        if not found or len(found) < len(misses):
            return None
        miss, hook = min(found, key=lambda pair: even(pair[0].short_mm))
        return self._blocked(made, miss, i * 4 + hook * 2 + self.stances[0])

    def without_room(self, rules: Rules) -> int:
        """The set of bends of which none can be the last, by hook reach and grip alone: whatever the order, one of them
        finds the others made. 0: there is an order as far as these two go, unless only one is allowed.

        A bend that can be made last is set aside: that only adds straight to the others, so the sequence does not
        matter and what is left in the end is left in every sequence."""
        left = ((1 << self.count) - 1) & ~rules.begun
        while left:
            made = left | rules.begun
            fits = [
                i
                for i in range(self.count)
                if left >> i & 1
                and any(self.room_miss(made & ~(1 << i), i, hook, rules.spare_mm) is None for hook in rules.hooks[i])
            ]
            if not fits:
                break
            for i in fits:
                left &= ~(1 << i)
        return left

    def _blocked(self, made: int, miss: Miss, option: int) -> Blocked:
        return Blocked(
            bend_index=option >> 2,
            limit=miss.limit,
            measured_mm=miss.measured_mm,
            needed_mm=miss.needed_mm,
            hook=HOOKS[option >> 1 & 1],
            stance=STANCES[option & 1],
            made=tuple(j for j in range(self.count) if made >> j & 1),
        )


def looks(site: Site) -> int:
    """About how many parts are held against something while one bend is looked at (units of work)."""
    return 8 + 2 * (len(site.hook_parts) + len(site.grip_parts)) + len(site.hook_parts) * len(site.grip_parts) // 8
