"""An order of putting a run up as moves: what is done with each piece, one after another, and which joint is last."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from racewright.assembly.joints import KNOCKOUT, Act, Joint, Move
from racewright.assembly.order import Group, Order
from racewright.fit.way_in import TOUCH_MM

_ACT: dict[str, Act] = {"slides": "push", "threads": "turn", "cemented": "cement", "expands": "cement"}


class Ends(msgspec.Struct, frozen=True):
    """The two ends of a piece: their joints (from 0; None a free end), how far each goes in, how far the piece moves
    along the way of one end while it goes in by 1 at the other (0 square or away from it), and whether one push serves
    both."""

    joints: tuple[int | None, int | None]
    inserts_mm: tuple[float, float]
    in_line: float
    one_way: bool

    def room_mm(self, side: int, *, joined: bool) -> float:
        """How far the fitting at an end (0 A, 1 B) goes back so that the piece has room. `joined`: the other end goes
        into what stands, and this one is held back by its depth until then."""
        held_back = self.in_line * self.inserts_mm[1 - side] if joined else 0.0
        return self.inserts_mm[side] + held_back


class Moved(msgspec.Struct, frozen=True):
    """The moves, the joints (from 0) that are closed, with the one made last of all, and the pieces (from 0) that go in
    between two parts that stand."""

    moves: tuple[Move, ...]
    closed: tuple[int, ...]
    last: int | None
    trapped: tuple[int, ...]


def moves_of(order: Order, ends: Sequence[Ends], joints: Sequence[Joint], *, gap_mm: float, slip_mm: float) -> Moved:
    """The moves of an order. `gap_mm`: what a coupling leaves between the two ends in it; `slip_mm`: how far a slip
    coupling slides until it is whole on one of them."""
    return _Moves(order, ends, joints, gap_mm, slip_mm).made()


def closed_last(order: Order, ends: Sequence[Ends]) -> tuple[int, ...]:
    """The joints (from 0) that give way in an order: between two of its groups, and the ends that do."""
    bounds = [ends[g.last].joints[1] for g in order.groups if g.last < len(ends) - 1]
    given = [ends[k].joints[side] for k, side, g in ((0, 0, order.gives[0]), (-1, 1, order.gives[1])) if g]
    return tuple(j for j in (*bounds, *given) if j is not None)


def is_stuck(joints: Sequence[Joint], move: Move) -> bool:
    """Whether an expansion fitting's piston would have to go in farther than it stands out."""
    if move.act != "slide back":
        return False
    piston = joints[move.joints[0] - 1].piston
    return piston is not None and move.by_mm > piston.open_mm + TOUCH_MM


class _Moves:
    def __init__(
        self, order: Order, ends: Sequence[Ends], joints: Sequence[Joint], gap_mm: float, slip_mm: float
    ) -> None:
        self.order, self.ends, self.joints, self.gap_mm, self.slip_mm = order, ends, joints, gap_mm, slip_mm
        self.closers = closed_last(order, ends)
        self.standing: set[int] = set()
        self.moves: list[Move] = []
        self.trapped: list[int] = []

    def made(self) -> Moved:
        for group in self.order.groups:
            for k in group.order:
                self._bring(k, group)
                self.standing.add(k)
        # those beside the piece that came last close last
        near = [j for j in self.ends[self.moves[-1].piece - 1].joints if j is not None and j in self.closers]
        closed = [*(j for j in self.closers if j not in near), *near]
        for j in closed:
            piece = self._last_beside(j)
            self.moves.append(Move(piece=piece + 1, act="close", joints=(j + 1,), by_mm=self._depth(piece, j)))
        last = next((m.joints[-1] - 1 for m in reversed(self.moves) if m.joints), None)
        return Moved(tuple(self.moves), tuple(closed), last, tuple(self.trapped))

    def _bring(self, k: int, group: Group) -> None:
        """One piece: what gives way for it first, then how it comes in."""
        sides = self._made(k, group)
        for side in (0, 1):
            if side not in sides and self._stands(k, side):
                self._give_way(k, side, sides)
        holes = [s for s in sides if self._is_hole(k, s)]
        if len(sides) == 2 and not self.ends[k].one_way:
            # a straight piece: deeper through one hole, and back by as much as the other end goes in
            first = holes[-1]
            self._through(k, first)
            self._join(k, (1 - first, first), self.ends[k].inserts_mm[1 - first])
        elif sides:
            self._join(k, sides, max(self.ends[k].inserts_mm[s] for s in sides))
        else:
            self.moves.append(Move(piece=k + 1, act="place"))

    def _made(self, k: int, group: Group) -> list[int]:
        """The ends (0 A, 1 B) of the piece that are joined as it goes up."""
        out = []
        for side, beside, held in ((0, k - 1, group.held[0]), (1, k + 1, group.held[1])):
            in_group = group.first <= beside <= group.last
            if (in_group and beside in self.standing) or (not in_group and held != "free"):
                out.append(side)
        return out

    def _stands(self, k: int, side: int) -> bool:
        """Whether what the piece faces there stands already, and is closed later."""
        joint = self.ends[k].joints[side]
        if joint is None or joint not in self.closers:
            return False
        beside = k + (1 if side else -1)
        return not 0 <= beside < len(self.ends) or beside in self.standing

    def _give_way(self, k: int, side: int, made: Sequence[int]) -> None:
        joint = self.ends[k].joints[side]
        assert joint is not None
        if made:
            self.trapped.append(k)
        if self._makes_room(joint):
            by = self.ends[k].room_mm(side, joined=bool(made))
        elif self.joints[joint].kind == "slip coupling":
            by = self.slip_mm
        else:
            return
        self.moves.append(Move(piece=k + 1, act="slide back", joints=(joint + 1,), by_mm=by))

    def _makes_room(self, joint: int) -> bool:
        """Whether it goes back along the piece's way, so that the piece has room; a union and a slip coupling do
        not."""
        return self.joints[joint].how != "union" and self.joints[joint].kind != "slip coupling"

    def _through(self, k: int, side: int) -> None:
        joint = self.ends[k].joints[side]
        assert joint is not None
        self.moves.append(Move(piece=k + 1, act="through", joints=(joint + 1,), by_mm=sum(self.ends[k].inserts_mm)))

    def _join(self, k: int, sides: Sequence[int], by_mm: float) -> None:
        """The piece into its joints. Ends that one push serves are made alike: no raceway has both cement and what is
        pushed."""
        joints = [j for j in (self.ends[k].joints[s] for s in sides) if j is not None]
        self.moves.append(
            Move(
                piece=k + 1,
                act=_ACT[self.joints[joints[0]].how],
                joints=tuple(j + 1 for j in joints),
                by_mm=by_mm,
                past_mm=self._past(k, sides[0]) if len(sides) == 1 else 0.0,
            )
        )

    def _past(self, k: int, side: int) -> float:
        """How far the piece's other end stands past the end that it will face while this end is outside its fitting."""
        other = self.ends[k].joints[1 - side]
        if other is None or not self._stands(k, 1 - side) or self._makes_room(other):
            return 0.0
        # the halves of a union are on the ends: nothing is free between their faces
        free = 0.0 if self.joints[other].how == "union" else self.gap_mm
        past = self.ends[k].in_line * self.ends[k].inserts_mm[side] - free
        return past if past > TOUCH_MM else 0.0

    def _last_beside(self, joint: int) -> int:
        """The later of the pieces at a joint."""
        beside = [k for k, e in enumerate(self.ends) if joint in e.joints]
        placed = [m.piece - 1 for m in self.moves]
        return max(beside, key=lambda k: max(i for i, p in enumerate(placed) if p == k))

    def _depth(self, k: int, joint: int) -> float:
        return self.ends[k].inserts_mm[self.ends[k].joints.index(joint)]

    def _is_hole(self, k: int, side: int) -> bool:
        joint = self.ends[k].joints[side]
        return joint is not None and self.joints[joint].kind == KNOCKOUT
