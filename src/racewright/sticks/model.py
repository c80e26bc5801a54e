"""What binds the split of a run into pieces, what a split is, and the cheap verdict by straight lengths."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import msgspec

from racewright.bends.model import Bend
from racewright.errors import InputError

TEN_FEET_MM = 3048.0
SAME_MM = 1e-6
#: A coupling stands at least a hand's width of straight from a bend where it can, so that it can be held and turned,
#: and no piece is cut shorter than this where it need not be (our own values, common practice, no source).
HAND_MM = 100.0
SHORT_MM = 300.0
#: A stick that is longer than a piece by less than this is that piece (mm).
WHOLE_MM = 0.5


class Ease(msgspec.Struct, frozen=True):
    """What a piece asks of the bender's hands: bends that are hard to hold, and ends swapped."""

    hard_bends: int = 0
    turns: int = 0


# A piece's bends (stations from its own first end) and its cut length -> its ease, or None where it cannot be
# bent. It may only get better as the straight at either end grows, and may only change at distances from an arc
# of the piece that are hook need, grip, easy grip or listed in `StickRules.changes_mm`.
Verdict = Callable[[tuple[Bend, ...], float], Ease | None]
# The same piece -> whether a caller's own, fuller test can bend it. It is asked of few pieces and may be slow.
Bendable = Callable[[tuple[Bend, ...], float], bool]


class Weights(msgspec.Struct, frozen=True, kw_only=True):
    """What each thing costs, in minutes of work (common practice, no source): a coupling, a stick opened, a
    meter of waste, a bend that is hard to hold, ends swapped. A coupling too near a bend and a short piece cost
    so much that they only stand where there is need."""

    coupling: float = 4.0
    stick: float = 2.0
    waste_per_m: float = 2.0
    hard_bend: float = 3.0
    turn: float = 1.0
    near_bend: float = 60.0
    short_piece: float = 60.0


class Required(NamedTuple):
    """A joint that stands whatever the split is: its middle along the run, and what it leaves between the two
    ends in it."""

    at_mm: float
    gap_mm: float


class StickRules(msgspec.Struct, frozen=True, kw_only=True):
    """What binds the split. `hook_need_mm`: straight that the bender needs on the hook side of an arc (arrow lead
    and hook reach); `grip_mm` on the other side. `stock_mm` the lengths that are sold, `offcuts_mm` those on hand,
    each once. `coupling_mm` is a coupling's length, `coupling_spare_mm` what it needs free beside it,
    `coupling_gap_mm` what its stop leaves between the two ends, `kerf_mm` what a cut eats. `least_piece_mm` is the
    shortest distance between couplings, `short_piece_mm` the shortest cut length without need, `hand_mm` what is wanted
    between a coupling and a bend. `required`: joints that stand anyway, in order. Hand figures are common practice, no
    source."""

    hook_need_mm: float = 42.0
    grip_mm: float = 203.2
    stock_mm: tuple[float, ...] = (TEN_FEET_MM,)
    offcuts_mm: tuple[float, ...] = ()
    coupling_mm: float = 50.8
    coupling_spare_mm: float = 6.35
    coupling_gap_mm: float = 0.0
    kerf_mm: float = 1.6
    least_piece_mm: float = 152.4
    short_piece_mm: float = SHORT_MM
    hand_mm: float = HAND_MM
    easy_grip_mm: float = 304.8
    changes_mm: tuple[float, ...] = ()
    required: tuple[Required, ...] = ()
    weights: Weights = Weights()

    @property
    def short_spans_mm(self) -> tuple[float, float]:
        """From a coupling's middle to what is beside it, where the piece between is the shortest without need: to the
        run's end or a required joint's face, and to another coupling's middle."""
        return self.short_piece_mm + 0.5 * self.coupling_gap_mm, self.short_piece_mm + self.coupling_gap_mm

    @property
    def room_mm(self) -> float:
        """From a coupling's middle to the nearest arc, at least."""
        return 0.5 * self.coupling_mm + self.coupling_spare_mm

    @property
    def wanted_room_mm(self) -> float:
        """From a coupling's middle to the nearest arc, where there is a choice."""
        return max(self.room_mm, 0.5 * self.coupling_mm + self.hand_mm)

    def check(self) -> None:
        """Raises InputError where there is nothing to cut from, or a coupling longer than the least piece."""
        if not self.stock_mm and not self.offcuts_mm:
            raise InputError("there is nothing to cut from.", hint="give a stock length", field="stock_mm")
        if not self.least_piece_mm > max(self.coupling_mm, self.coupling_gap_mm):
            raise InputError(
                f"the least piece ({self.least_piece_mm} mm) must be longer than a coupling.",
                hint="6 in is usual",
                field="least_piece_mm",
            )


class RunPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of the run. `start_mm`, `end_mm`: its cut ends along the run. `bends` in its own stations, with
    rolls counted from its first bend, which is `roll_rad` in the run. `stock_mm` is the stick it comes from,
    `offcut` which of the offcuts on hand (from 1; 0: a new stick), `waste_mm` what it has more than the piece,
    `left_mm` what of that remains after the saw cut."""

    start_mm: float
    end_mm: float
    cut_length_mm: float
    bends: tuple[Bend, ...]
    roll_rad: float
    stock_mm: float
    offcut: int
    waste_mm: float
    left_mm: float
    hard_bends: int
    turns: int


class Split(msgspec.Struct, frozen=True, kw_only=True):
    """The cheapest split. `joints_mm`: the middles of couplings and required joints along the run. `proved`: least cost
    over all places; not so where the search was cut short, or had to go round pieces that a caller's own test refused.
    `places` and `looked_at`: how many places and pieces the search weighed."""

    pieces: tuple[RunPiece, ...]
    joints_mm: tuple[float, ...]
    cost: float
    sticks: int
    waste_mm: float
    proved: bool
    places: int
    looked_at: int


def straight_ease(rules: StickRules) -> Verdict:
    """The cheap verdict by straight lengths alone: is there an order in which every bend finds hook reach on one
    side and a grip on the other, both on conduit not yet bent? Exact for that question, with the fewest turns end
    for end: taken backwards, a bend that can be made last can always be set aside, since that only adds straight."""

    easy = max(rules.easy_grip_mm, rules.grip_mm)

    def verdict(bends: tuple[Bend, ...], length_mm: float) -> Ease | None:
        if not bends:
            return Ease()
        piece = _Straights(bends, length_mm)
        turns = piece.fewest_turns(rules.hook_need_mm, rules.grip_mm)
        return None if turns is None else Ease(piece.hard(rules.hook_need_mm, easy), turns)

    return verdict


class _Straights:
    """Where the arcs of a piece begin and end. A bend that has its room is set aside: that adds straight to the two
    beside it and to no other."""

    def __init__(self, bends: Sequence[Bend], length_mm: float) -> None:
        self.starts = [bend.arc_start_mm + SAME_MM for bend in bends]
        self.ends = [bend.arc_end_mm - SAME_MM for bend in bends]
        self.length = length_mm

    def _room(self, made: Sequence[int], k: int) -> tuple[float, float]:
        """The straight toward A and toward B of the k-th of the made bends."""
        i = made[k]
        before = self.ends[made[k - 1]] + SAME_MM if k else 0.0
        after = self.starts[made[k + 1]] - SAME_MM if k + 1 < len(made) else self.length
        return self.starts[i] - before, after - self.ends[i]

    def hard(self, hook: float, grip: float) -> int:
        """How many bends cannot be set aside by this grip, the hook either way."""
        made, k = list(range(len(self.starts))), 0
        while k < len(made):
            left, right = self._room(made, k)
            if (left >= hook and right >= grip) or (left >= grip and right >= hook):
                made.pop(k)
                k = max(0, k - 1)
            else:
                k += 1
        return len(made)

    def fewest_turns(self, hook: float, grip: float) -> int | None:
        """Alternate: set aside all that one hook direction allows, then the other; the better of both starts. None
        where a bend is left."""
        best: int | None = None
        for first in (0, 1):
            made = list(range(len(self.starts)))
            way, turns, idle = first, 0, 0
            while made and idle < 2:
                before, k = len(made), 0
                a, b = (grip, hook) if way else (hook, grip)
                while k < len(made):
                    left, right = self._room(made, k)
                    if left >= a and right >= b:
                        made.pop(k)
                        k = max(0, k - 1)
                    else:
                        k += 1
                idle = idle + 1 if len(made) == before else 0
                if made:
                    way, turns = 1 - way, turns + 1
            if not made and (best is None or turns < best):
                best = turns
        return best
