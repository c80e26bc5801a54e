"""Putting the run up, as steps in words: each move of the assembly, and the straps of each piece."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from racewright.cautions import Work
from racewright.inspection.check_run import RunCheck
from racewright.plan.joints import KNOCKOUT, Assembly, Joint, Move, is_coupling
from racewright.plan.model import PieceEnd, PlannedPiece, Step
from racewright.survey.model import Survey
from racewright.units.tape import TapeStyle, format_length


def order_words(joints: Sequence[Joint], assembly: Assembly) -> str:
    """The order in which the pieces of a run go up, and the joint that is made last, in one line."""
    order = ", ".join(_shortened(assembly.order))
    last = next((j for j in joints if j.last), None)
    made = f" Made last: the {_place(last)}." if last is not None else ""
    return f"Put it up in this order: pieces {order}.{made}"


def _shortened(order: Sequence[int]) -> list[str]:
    """1, 2, 3, 4, 7 as '1 to 4', '7'."""
    out: list[str] = []
    at = 0
    while at < len(order):
        way = order[at + 1] - order[at] if at + 1 < len(order) and abs(order[at + 1] - order[at]) == 1 else 0
        end = at
        while way and end + 1 < len(order) and order[end + 1] - order[end] == way:
            end += 1
        out.append(f"{order[at]} to {order[end]}" if end > at + 1 else str(order[at]))
        at = end + 1 if end > at + 1 else at + 1
    return out


def _place(joint: Joint) -> str:
    if joint.before is None or joint.after is None:
        kind = joint.kind if is_coupling(joint) else f"{joint.kind} fitting"
        return f"{kind} at end {'A' if joint.before is None else 'B'}"
    return f"{joint.kind} between pieces {joint.before} and {joint.after}"


def install_steps(
    survey: Survey,
    pieces: Sequence[PlannedPiece],
    joints: Sequence[Joint],
    assembly: Assembly,
    checks: RunCheck | None,
) -> Iterator[Step]:
    """The steps on the wall, in the order of the assembly."""
    told = _Words(survey.tape, pieces, joints, assembly.moves)
    moves = assembly.moves
    for at, move in enumerate(moves):
        yield replace(told.step(move), care=_care(move, joints))
        if move.act != "close" and not any(m.piece == move.piece and m.act != "close" for m in moves[at + 1 :]):
            yield _strap(survey, pieces[move.piece - 1], move.piece, checks, several=len(pieces) > 1)


def _care(move: Move, joints: Sequence[Joint]) -> tuple[Work, ...]:
    """What a move asks to take care of: a run's own ends stand in enclosures, and cement is cement wherever."""
    made = [joints[number - 1] for number in move.joints]
    at_end = any(joint.before is None or joint.after is None for joint in made)
    cemented = move.act in ("cement", "close") and any(joint.how == "cemented" for joint in made)
    # an expansion fitting is cemented to one side before its piston goes in
    cemented = cemented or any(joint.how == "expands" for joint in made)
    works: tuple[tuple[Work, bool], ...] = (("cement", cemented), ("height", True), ("enclosure", at_end))
    return tuple(work for work, asked in works if asked)


class _Words:
    def __init__(
        self, tape: TapeStyle, pieces: Sequence[PlannedPiece], joints: Sequence[Joint], moves: Sequence[Move]
    ) -> None:
        self.tape, self.pieces, self.joints, self.moves = tape, pieces, joints, moves

    def step(self, move: Move) -> Step:
        """One move in words."""
        several = len(self.pieces) > 1
        where = f" ({self.pieces[move.piece - 1].label})" if several else ""
        halves = self._halves(move)
        if move.act == "place":
            return Step(
                kind="insert", piece=move.piece, title=f"Hold it in place{where}", detail=halves + self._hold(move)
            )
        if move.act == "slide back":
            return Step(kind="loosen", piece=move.piece, title=self._back_title(move) + where, detail=self._back(move))
        if move.act == "through":
            return Step(
                kind="insert", piece=move.piece, title=self._ends_title(move) + where, detail=self._through(move)
            )
        if move.act == "close":
            return Step(kind="insert", piece=move.piece, title=self._close_title(move), detail=self._close(move))
        detail = halves + " ".join((*(self._join(move, i) for i in move.joints[:1]), *self._beside(move)))
        return Step(kind="insert", piece=move.piece, title=self._ends_title(move) + where, detail=detail)

    def _hold(self, move: Move) -> str:
        if any(m.act != "close" and m.piece != move.piece and self._meet(m, move.piece) for m in self.moves):
            return "Nothing is joined yet: it stands first, and what comes next goes onto it."
        return "Nothing is joined yet: what it faces is closed last."

    def _meet(self, move: Move, piece: int) -> bool:
        return any(piece in (self.joints[j - 1].before, self.joints[j - 1].after) for j in move.joints)

    def _halves(self, move: Move) -> str:
        """The halves of unions, which are turned on while the piece is still in the hand."""
        ends = [
            "B" if joint.before == move.piece else "A"
            for joint in self.joints
            if joint.how == "union" and move.piece in (joint.before, joint.after)
        ]
        onto = f"ends {' and '.join(ends)}" if len(ends) > 1 else f"end {''.join(ends)}"
        return f"While it is in the hand, turn a half of a union onto {onto}. " if ends else ""

    def _length(self, value_mm: float) -> str:
        return format_length(value_mm, self.tape)

    def _letter(self, move: Move, number: int) -> str:
        return "B" if self.joints[number - 1].before == move.piece else "A"

    def _end(self, move: Move, number: int) -> PieceEnd:
        piece = self.pieces[move.piece - 1]
        return piece.end_b if self._letter(move, number) == "B" else piece.end_a

    def _ends_title(self, move: Move) -> str:
        into = "through" if move.act == "through" else "into"
        parts = [f"End {self._letter(move, i)} {into} {self._end(move, i).fitting}" for i in move.joints]
        return " and ".join((parts[0], *(p[0].lower() + p[1:] for p in parts[1:])))

    def _join(self, move: Move, number: int) -> str:
        joint, depth = self.joints[number - 1], self._length(move.by_mm)
        ends = " and ".join(self._letter(move, i) for i in move.joints)
        both = f"ends {ends}" if len(ends) > 1 else f"end {ends}"
        if move.act == "turn":
            bent = " Its far part sweeps a circle: keep it clear." if self.pieces[move.piece - 1].bends else ""
            return (
                f"Start the thread by hand and turn the piece until it is wrench tight: about {depth} of thread goes"
                f" in. A taper thread has no stop, so check the length.{bent}"
            )
        if move.act == "cement":
            turn = (
                "as much of a quarter turn as its bends allow"
                if self.pieces[move.piece - 1].bends
                else "a quarter turn"
            )
            how = (
                f"Fit it dry first and draw a line {depth} from {both}. Prime and cement {both} and the socket, push"
                f" it in to the line with {turn}, and hold it until the cement has taken"
            )
            if joint.how == "expands":
                return f"{self._first_side(joint, move.piece)} {how}. {self._piston(joint)}"
            return f"{how}: it never moves again."
        if joint.kind == KNOCKOUT:
            return (
                f"Outer locknut on first; {depth} of thread goes through the hole, and the inner locknut and the"
                f" bushing hold it."
            )
        return f"Draw a line {depth} from {both}, line the piece up in front of it and push it straight in to its stop."

    def _beside(self, move: Move) -> Iterator[str]:
        if move.past_mm > 0.0:
            yield (
                f"Its other end then stands {self._length(move.past_mm)} past the end that it will face: swing it"
                " aside while this one goes in, before the straps are tight."
            )

    def _through(self, move: Move) -> str:
        stays = self._length(self._end(move, move.joints[0]).insertion_mm)
        return (
            f"Outer locknut on the thread first. Put the end {self._length(move.by_mm)} through the hole, farther than"
            f" it stays, so that the other end clears its fitting. It comes back to {stays} as that one goes in, and"
            " the inner locknut and the bushing hold it."
        )

    def _back_title(self, move: Move) -> str:
        number = move.joints[0]
        if self._at_box(number):
            return f"The fitting at end {self._letter(move, number)} goes back first"
        joint = self.joints[number - 1]
        return f"Push the {joint.kind} in first" if joint.how == "expands" else f"Slide the {joint.kind} back first"

    def _back(self, move: Move) -> str:
        joint, back = self.joints[move.joints[0] - 1], self._length(move.by_mm)
        if joint.how == "expands":
            return (
                f"{self._first_side(joint, move.piece)} Its piston goes in by {back}, so that the piece has room; it"
                " comes out again last."
            )
        if not self._at_box(move.joints[0]):
            return f"All the way onto one of the two pieces, {back} from its place; draw that place on both."
        name = self._end(move, move.joints[0]).fitting
        if joint.how == "threads":
            return (
                f"Take {name} off its box and turn it onto the conduit; box and fitting come to the piece, {back} back."
            )
        if joint.kind == KNOCKOUT:
            return f"Loosen the box at {name}: it must slide back {back} so that the end clears its hole."
        return (
            f"Take {name} off its box, or loosen the box with it: it must slide back {back} until the other end is in."
        )

    def _first_side(self, joint: Joint, coming: int) -> str:
        """An expansion fitting goes onto the piece that stands, before the other one comes."""
        standing, end = (joint.before, "B") if joint.after == coming else (joint.after, "A")
        if standing is None:
            return "Prime and cement the fitting onto what stands there."
        depth = self.pieces[standing - 1].end_b if end == "B" else self.pieces[standing - 1].end_a
        return (
            f"Prime and cement the fitting onto end {end} of piece {standing}, {self._length(depth.insertion_mm)} deep."
        )

    def _piston(self, joint: Joint) -> str:
        """How an expansion fitting is set and held."""
        piston = joint.piston
        if piston is None:
            return "Leave its piston out as far as its maker says for the day."
        least, most = self._length(piston.least_mm), self._length(piston.most_mm)
        return (
            f"Its barrel toward end {piston.barrel}, strapped fast; its piston {self._length(piston.open_mm)} out of"
            f" its {self._length(piston.travel_mm)} of travel ({least} to {most} will do). The straps on the piston's"
            " side only guide: the conduit slides in them."
        )

    def _at_box(self, number: int) -> bool:
        return not is_coupling(self.joints[number - 1])

    def _close_title(self, move: Move) -> str:
        joint = self.joints[move.joints[0] - 1]
        return f"{'Last' if joint.last else 'Then'}: the {_place(joint)}"

    def _close(self, move: Move) -> str:
        joint, depth = self.joints[move.joints[0] - 1], self._length(move.by_mm)
        at_end = self._at_box(move.joints[0])
        if joint.how == "union":
            return "Bring the faces of its two halves together and tighten the nut."
        if joint.how == "expands":
            return f"Prime and cement the end into it, {depth} deep. {self._piston(joint)}"
        if joint.how == "cemented" and at_end:
            return (
                f"Prime and cement, bring it over the end until {depth} is in, and hold it; then fasten it to its box."
            )
        if joint.how == "cemented":
            return f"Prime and cement both ends, slide it back to its place at once, {depth} on each, and hold it."
        if joint.how == "threads" or joint.kind == KNOCKOUT:
            return f"Bring the box back until {depth} of thread is in, and make it fast."
        return f"Bring it back over the end, {depth} deep, and tighten it."


def _strap(survey: Survey, piece: PlannedPiece, number: int, checks: RunCheck | None, *, several: bool) -> Step:
    where = f" ({piece.label})" if several else ""
    places = strap_places_mm(piece, checks)
    if not places:
        return Step(
            kind="strap",
            piece=number,
            care=("height",),
            title=f"Level it{where}",
            detail="Level or plumb. No strap stands on this piece" + (": those beside it hold it." if several else "."),
        )
    at = ", ".join(format_length(s, survey.tape) for s in places)
    return Step(
        kind="strap",
        piece=number,
        care=("height", "drill"),
        title=f"Level and strap it{where}",
        detail=f"Level or plumb; {survey.strap or 'straps'} at {at} along the conduit from end A.",
    )


def strap_places_mm(piece: PlannedPiece, checks: RunCheck | None) -> tuple[float, ...]:
    """Where straps stand on a piece, from its end A."""
    return () if checks is None or checks.supports is None else piece.on_it_mm(checks.supports.stations_mm)
