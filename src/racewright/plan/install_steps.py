"""Putting the run up, as steps in words: each move of the assembly, and the straps of each piece."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from racewright.assembly.joints import KNOCKOUT, Assembly, Joint, Move, PieceEnd, is_coupling
from racewright.cautions import Work
from racewright.inspection.check_run import RunCheck
from racewright.plan.model import PlannedPiece, Step
from racewright.plan.strap_steps import SlidBack, slid_back, strap_step
from racewright.survey.model import Survey
from racewright.units.said import said_least
from racewright.units.tape import format_length
from racewright.units.warmth import ten_degrees

#: What the setting of a piston goes by.
_WARMTH = "Measure the conduit itself: the sun makes it hotter than the air."
#: Of an expansion fitting (common practice, no source).
_BARREL = (
    "Its barrel in a strap of its own, beside those listed for the conduit: a guide, not tight, for the barrel moves"
    " with the conduit that is cemented into it (common practice, no source; its maker's own sheet goes before this)."
)


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
    if joint.run_end:
        kind = joint.kind if is_coupling(joint) else f"{joint.kind} fitting"
        return f"{kind} at end {joint.run_end}"
    return f"{joint.kind} between pieces {joint.before} and {joint.after}"


def install_steps(
    survey: Survey,
    pieces: Sequence[PlannedPiece],
    joints: Sequence[Joint],
    assembly: Assembly,
    checks: RunCheck,
) -> Iterator[Step]:
    """The steps on the wall, in the order of the assembly; none where the run cannot be put up."""
    moves = assembly.moves
    slid = {
        move.joints[0]: slid_back(move, joints, pieces, checks)
        for move in moves
        if move.act == "slide back" and joints[move.joints[0] - 1].kind == "slip coupling"
    }
    told = _Words(survey, pieces, joints, moves, slid)
    for at, move in enumerate(moves):
        yield replace(told.step(move), care=_care(move, joints), move=at + 1)
        if move.act != "close" and not any(m.piece == move.piece and m.act != "close" for m in moves[at + 1 :]):
            late = [s for one in slid.values() if one.piece == move.piece for s in one.straps_mm]
            piece, several = pieces[move.piece - 1], len(pieces) > 1
            waits = ("slip coupling", late)
            yield strap_step(survey, piece, move.piece, checks, joints, several=several, waiting=waits)


def _care(move: Move, joints: Sequence[Joint]) -> tuple[Work, ...]:
    """What a move asks to take care of: a run's own ends stand in enclosures, and cement is cement wherever."""
    made = [joints[number - 1] for number in move.joints]
    at_end = any(joint.run_end for joint in made)
    cemented = move.act in ("cement", "close") and any(joint.how == "cemented" for joint in made)
    # an expansion fitting is cemented to one side before its piston goes in
    cemented = cemented or any(joint.how == "expands" for joint in made)
    works: tuple[tuple[Work, bool], ...] = (("cement", cemented), ("height", True), ("enclosure", at_end))
    return tuple(work for work, asked in works if asked)


class _Words:
    def __init__(
        self,
        survey: Survey,
        pieces: Sequence[PlannedPiece],
        joints: Sequence[Joint],
        moves: Sequence[Move],
        slid: dict[int, SlidBack],
    ) -> None:
        self.tape, self.pieces, self.joints, self.moves, self.slid = survey.tape, pieces, joints, moves, slid

    def step(self, move: Move) -> Step:
        """One move in words."""
        step = self._step(move)
        return replace(step, detail=step.detail + self._open(move))

    def _step(self, move: Move) -> Step:
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
        on = [self._coupling_on(move.piece, number) for number in move.joints]
        detail = halves + " ".join((*(words for words in on if words), self._join(move), *self._beside(move)))
        return Step(kind="insert", piece=move.piece, title=self._ends_title(move) + where, detail=detail)

    def _coupling_on(self, coming: int, number: int) -> str:
        """A coupling goes onto what stands before the next piece comes; '' where the joint is none, or is said so
        anyway."""
        joint = self.joints[number - 1]
        if not is_coupling(joint) or joint.how == "expands":
            return ""
        standing, end = (joint.before, "B") if joint.after == coming else (joint.after, "A")
        onto = "the conduit that stands there" if standing is None else f"end {end} of piece {standing}"
        if joint.how == "threads":
            return f"Turn the {joint.kind} onto {onto} first, wrench tight."
        if joint.how == "cemented":
            return f"Prime and cement the {joint.kind} onto {onto} first, to its stop."
        return f"Push the {joint.kind} onto {onto} first, to its stop, and tighten it."

    def _open(self, move: Move) -> str:
        """That an end of the piece stays open, with the move that brings it."""
        piece = self.pieces[move.piece - 1]
        ends = [letter for letter, end in (("A", piece.end_a), ("B", piece.end_b)) if not end.fitting]
        comes = next(m for m in self.moves if m.piece == move.piece and m.act != "slide back")
        if not ends or move is not comes:
            return ""
        of = f" of piece {move.piece}" if len(self.pieces) > 1 else ""
        open_ends = f"Ends {' and '.join(ends)}{of} stay" if len(ends) > 1 else f"End {ends[0]}{of} stays"
        return f" {open_ends} open: nothing is made there."

    def _hold(self, move: Move) -> str:
        if all(move.piece not in (joint.before, joint.after) for joint in self.joints):
            return "Its straps alone hold it."
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

    def _depth(self, move: Move, number: int) -> str:
        return self._length(self._end(move, number).insertion_mm)

    def _join(self, move: Move) -> str:
        """How the piece is joined by the ends that this move brings in, each as deep as its own fitting takes it. An
        end that comes back out of its hole was told when it went through."""
        through = {number for m in self.moves if m.act == "through" and m.piece == move.piece for number in m.joints}
        into = [number for number in move.joints if number not in through]
        bent = bool(self.pieces[move.piece - 1].bends)
        if move.act == "turn":
            sweeps = " Its far part sweeps a circle: keep it clear." if bent else ""
            return (
                f"Start the thread by hand and turn the piece until it is wrench tight: about"
                f" {self._depth(move, into[0])} of thread goes in. A taper thread has no stop, so check the"
                f" length.{sweeps}"
            )
        return self._cement(move, into, bent) if move.act == "cement" else self._push(move, into)

    def _cement(self, move: Move, into: Sequence[int], bent: bool) -> str:
        turn = "as much of a quarter turn as its bends allow" if bent else "a quarter turn"
        sockets = "both sockets" if len(into) > 1 else "the socket"
        how = (
            f"Fit it dry first and draw {self._lines(move, into)}. Prime and cement {self._named(move, into)} and"
            f" {sockets}, push it in to the line{'s' if len(into) > 1 else ''} with {turn}, and hold it until the"
            " cement has taken"
        )
        joint = self.joints[into[0] - 1]
        if joint.how == "expands":
            return f"{self._first_side(joint, move.piece)} {how}. {self._piston(joint)}"
        return f"{how}: it never moves again."

    def _push(self, move: Move, into: Sequence[int]) -> str:
        """Into stops, through holes, or with one push both."""
        holes = [number for number in into if self.joints[number - 1].kind == KNOCKOUT]
        stops = [number for number in into if number not in holes]
        if len(into) == 1:
            depth = self._depth(move, into[0])
            if holes:
                return (
                    f"Outer locknut on first; {depth} of thread goes through the hole, and the inner locknut and the"
                    " bushing hold it."
                )
            return (
                f"Draw {self._lines(move, into)}, line the piece up in front of it and push it straight in to its stop."
            )
        nuts = "Outer locknuts" if len(holes) > 1 else "Outer locknut"
        words = [f"{nuts} onto {self._named(move, holes)} first."] if holes else []
        words += [f"Draw {self._lines(move, stops)}."] if stops else []
        words.append("Line the piece up in front of both fittings and bring both ends in with one straight push:")
        ways = [
            f"end {self._letter(move, number)} "
            + (f"goes {self._depth(move, number)} through its hole" if number in holes else "to its stop")
            for number in into
        ]
        words.append(f"{' and '.join(ways)}." if holes else "each to its stop.")
        if len(holes) > 1:
            words.append("An inner locknut and a bushing hold each.")
        elif holes:
            words.append("The inner locknut and the bushing hold it there.")
        return " ".join(words)

    def _named(self, move: Move, into: Sequence[int]) -> str:
        letters = " and ".join(self._letter(move, number) for number in into)
        return f"ends {letters}" if len(into) > 1 else f"end {letters}"

    def _lines(self, move: Move, into: Sequence[int]) -> str:
        """The line that shows how deep each end goes in; of both, one figure where they go equally deep."""
        depths = [self._depth(move, number) for number in into]
        if len(set(depths)) == 1:
            return f"a line {depths[0]} from {self._named(move, into)}"
        a, b = (f"{d} from end {self._letter(move, number)}" for d, number in zip(depths, into, strict=True))
        return f"a line {a} and one {b}"

    def _beside(self, move: Move) -> Iterator[str]:
        if move.past_mm > 0.0:
            yield (
                f"Its other end then stands {self._length(move.past_mm)} past the end that it will face: swing it"
                " aside while this one goes in, before the straps are tight."
            )

    def _through(self, move: Move) -> str:
        stays = self._depth(move, move.joints[0])
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
        # at least as far: what the finding says of it as well
        joint, back = self.joints[move.joints[0] - 1], said_least(move.by_mm)
        name = self._end(move, move.joints[0]).fitting
        if joint.how == "expands":
            return (
                f"{self._first_side(joint, move.piece)} Its piston goes in by {back}, so that the piece has room; it"
                " comes out again last."
            )
        if not self._at_box(move.joints[0]):
            return self._slip_back(move.joints[0], back)
        if joint.how == "threads":
            depth = self._depth(move, move.joints[0])
            return (
                f"Take {name} off its box and turn it onto the conduit until it is wrench tight, about {depth} of"
                f" thread in it. The box stands {back} back until the piece is in."
            )
        if joint.kind == KNOCKOUT:
            return (
                f"Outer locknut onto the thread. Loosen the box at {name}: it must slide back {back} so that the end"
                " clears its hole."
            )
        return (
            f"Take {name} off its box, or loosen the box with it: it must slide back {back} until the piece is in its"
            " place."
        )

    def _slip_back(self, number: int, back: str) -> str:
        joint, onto = self.joints[number - 1], self.slid[number]
        words = f"All the way onto end {onto.end} of piece {onto.piece}, {back} from its place; draw that place on"
        words += " both ends." if joint.before and joint.after else " the end and on the conduit that it faces."
        if onto.straps_mm:
            at = ", ".join(self._length(s) for s in onto.straps_mm)
            words += f" No strap at {at} of that piece before it is back: the coupling lies there."
        return words

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
            return f"{_BARREL} Its piston out as far as its maker says for the day."
        least, most = self._length(piston.least_mm), self._length(piston.most_mm)
        kelvin, ten = ten_degrees(piston.day_in)
        by_mm = max(piston.per_kelvin_mm * kelvin, float(self.tape.step_mm))
        return (
            f"Its barrel toward end {piston.barrel}; its piston {self._length(piston.open_mm)} out of"
            f" its {self._length(piston.travel_mm)} of travel with the conduit at"
            f" {piston.day} ({least} to {most} will do). For each {ten} that the conduit is"
            f" warmer, {self._length(by_mm)} less; colder, as much more. {_WARMTH} It takes up"
            f" {self._length(piston.takes_mm)} over the year. {_BARREL}"
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
            return (
                f"Prime and cement both ends, slide it back to its place at once, {depth} on each, and hold it."
                f"{self._late_straps(move.joints[0])}"
            )
        if joint.how == "threads":
            return "Bring the box back to the hub, fasten the hub in it, and make the box fast."
        if joint.kind == KNOCKOUT:
            return (
                f"Bring the box back until {depth} of thread is through its hole, and make it fast: the outer locknut"
                " against the box, the inner locknut and the bushing hold the end."
            )
        return f"Bring it back over the end, {depth} deep, and tighten it.{self._late_straps(move.joints[0])}"

    def _late_straps(self, number: int) -> str:
        """The straps that waited for a slip coupling."""
        straps = self.slid[number].straps_mm if number in self.slid else ()
        at = ", ".join(self._length(s) for s in straps)
        return f" Then the strap at {at} of piece {self.slid[number].piece}." if straps else ""
