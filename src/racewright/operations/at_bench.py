"""A plan's pieces and bends as a screen shows them: what to cut, to draw and to bend, in the words of the card."""

from __future__ import annotations

from racewright.cards.words import bend_names, cut_of, pull_words, stock_zero_mm, tape_words
from racewright.operations.common import Length, Part, length_of
from racewright.plan.model import MarkedBend, PencilLine, Plan, PlannedPiece
from racewright.sequence.words import bend_name, mark_words
from racewright.units.angle import hand_angle


class LineAtBench(Part, frozen=True, kw_only=True):
    """A line to draw on the straight conduit: what stands in its badge (a mark's number, a cut end's letter), the tape
    reading from end A (from cut line A where end A is cut later), and what it is for: 'arrow', 'bend begins', 'cut
    line'. `hook` is where the hook points there: 'hook toward A', '' without a shoe."""

    name: str
    at: Length
    is_cut: bool
    what: str
    hook: str


class BendAtBench(Part, frozen=True, kw_only=True):
    """A bend in words. `name`: '1st bend, mark 9', or 'mark 9' where no bending order is known; `part`: 'kick 1',
    'suction pipe, saddle center'; `placed`: 'arrow on mark 9', 'bend ends at mark 9'; `hook`: 'hook toward A', ''
    without a shoe; `bend_to`: what the pointer must show, `read`: when it is read; `leaves`: the angle that is left."""

    name: str
    part: str
    placed: str
    hook: str
    bend_to: str
    read: str
    leaves: str


class PieceAtBench(Part, frozen=True, kw_only=True):
    """A piece in words. `take`: 'CUT', 'TAKE' (a whole stick), 'STOCK, at least' (it is cut after bending), with the
    `length` that goes with it and `more` about it. `stop`, `stop_why`: where it is not to be cut or bent as it is, what
    is not to be done and why ('' twice: go on). `tape_from`: where the tape is hooked; end A lies `zero_mm` from the
    end of the conduit taken. `lines` in the order from end A, `bends` as the plan has them, `straps` from end A."""

    take: str
    length: Length
    more: str
    stop: str
    stop_why: str
    tape_from: str
    zero_mm: float
    lines: tuple[LineAtBench, ...]
    bends: tuple[BendAtBench, ...]
    straps: tuple[Length, ...]


def pieces_at_bench(plan: Plan) -> tuple[PieceAtBench, ...]:
    """Every piece of a plan, in its order."""
    return tuple(_piece(plan, number, piece) for number, piece in enumerate(plan.pieces, start=1))


def _piece(plan: Plan, number: int, piece: PlannedPiece) -> PieceAtBench:
    take, _, more = cut_of(piece, plan)
    stop, why = _stop(plan, number)
    return PieceAtBench(
        take=take,
        length=length_of(piece.least_stock_mm if piece.trim_after else piece.cut_length_mm, plan.tape),
        more=more,
        stop=stop,
        stop_why=why,
        tape_from=tape_words(piece, plan.tape) if piece.pencil_lines else "",
        zero_mm=stock_zero_mm(piece),
        lines=tuple(_line(plan, piece, line) for line in piece.pencil_lines),
        bends=bends_at_bench(piece),
        straps=tuple(
            length_of(at, plan.tape) for at in piece.on_it_mm(plan.checks.straps_mm if plan.checks is not None else ())
        ),
    )


def bends_at_bench(piece: PlannedPiece) -> tuple[BendAtBench, ...]:
    """Every bend of a piece, in the order from end A."""
    return tuple(_bend(piece, bend) for bend in piece.bends)


def _stop(plan: Plan, number: int) -> tuple[str, str]:
    """What stands in the place of the piece's steps where it cannot be made."""
    step = next((step for step in plan.steps if step.kind == "stop" and step.piece == number), None)
    return ("", "") if step is None else (step.title, step.detail)


def _line(plan: Plan, piece: PlannedPiece, line: PencilLine) -> LineAtBench:
    bend = next((bend for bend in piece.bends if not line.is_cut and str(bend.number) == line.name), None)
    what, hook = ("cut line", "") if bend is None else mark_words(bend.reference, bend.hook, on_shoe=bend.on_shoe)
    return LineAtBench(
        name=line.name,
        at=Length(mm=line.at_mm, tape=line.tape),
        is_cut=line.is_cut,
        what=what,
        hook=hook,
    )


def _bend(piece: PlannedPiece, bend: MarkedBend) -> BendAtBench:
    what, hook = mark_words(bend.reference, bend.hook, on_shoe=bend.on_shoe)
    return BendAtBench(
        name=bend_name(bend.order, bend.number) if piece.order_known else bend.name,
        part=bend_names(bend, piece),
        placed=f"{what} {'on' if bend.on_shoe else 'at'} {bend.name}",
        hook=hook,
        bend_to=hand_angle(bend.pointer_deg),
        read=pull_words(bend),
        leaves=hand_angle(bend.angle_deg),
    )
