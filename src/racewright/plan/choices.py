"""The offsets and saddles of a plan at the usual angles, side by side: room, degrees, handling, sensitivity to error.

Handling is the effort of the plan's own piece, from its stick and between its couplings, with the row's bends in it,
worked out as the plan's was: the planned row has the plan's figure. Sensitivity is how far the shape's far end would
scatter sideways for this person's hands, over the same stretch of run. It takes an order search a row, and is worked
out where the card is printed.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

import msgspec

from racewright.bends.model import BentPiece
from racewright.bends.shape import Shape
from racewright.budget import ORDER_OF_A_PIECE, ORDERS, PROVED_BENDS, Budget
from racewright.fit.forecast import scatter_mm
from racewright.geometry.vector import even
from racewright.plan.angles import AngleRow, AngleTable, angle_tables
from racewright.plan.handling import effort_of
from racewright.plan.model import Plan, PlannedPiece, PlannedShape
from racewright.units.angle import format_angle
from racewright.units.said import said_in
from racewright.units.tape import TapeStyle, format_length

HEADER = ("angle", "bends", "rise", "room", "shrink", "straight between", "total", "effort", "scatter", "")
_UNKNOWN = "whether it can be bent is not looked for"
#: Shapes with one table between them that its title names beside the first.
_MOST_NAMED = 3


class PrintedTable(msgspec.Struct, frozen=True, kw_only=True):
    """A table in words; the last cell of a row is free text."""

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def printed_tables(plan: Plan) -> tuple[PrintedTable, ...]:
    """The tables as the card has them, with the effort and the scatter of every row; shapes of one piece whose tables
    read alike share one, with the handling of the first of them."""
    budget = Budget(ORDERS)
    with said_in(plan.tape):
        alike: dict[tuple[object, ...], list[AngleTable]] = {}
        for table in angle_tables(plan):
            place = _place(plan, table.shape)
            rows = tuple((_cells(row, plan.tape), row.choice.reason, row.planned) for row in table.rows)
            where = place.piece.label if place else ""
            alike.setdefault((where, format_length(table.room_mm, plan.tape), rows), []).append(table)
        return tuple(
            _printed(plan, tables[0], [t.shape.label for t in tables[1:]], budget.share(len(alike) - i))
            for i, tables in enumerate(alike.values())
        )


class _Weighed(msgspec.Struct, frozen=True):
    """A row in a hand: the effort of its best order (None: none), how far its far end scatters sideways (mm), and why
    there is no order."""

    effort: float | None
    scatter_mm: float
    why: str


class _Place(msgspec.Struct, frozen=True):
    """Where a shape lies: on which piece, and its bends there (from 0)."""

    piece: PlannedPiece
    first: int
    last: int


def _place(plan: Plan, shape: PlannedShape) -> _Place | None:
    """None: a coupling cuts it in two."""
    first = shape.first
    for piece in plan.pieces:
        if first < len(piece.bends):
            last = first + shape.count - 1
            return _Place(piece, first, last) if last < len(piece.bends) else None
        first -= len(piece.bends)
    return None


def _weighed(plan: Plan, table: AngleTable, place: _Place | None, row: AngleRow, budget: Budget) -> _Weighed | None:
    """None: it cannot be made there. The planned row has the plan's own order; the others are handled as the plan's
    piece is, with all its bends, from its stick."""
    if row.made is None:
        return None
    spare = max(0.0, table.room_mm - row.made.plan_mm) / 2.0
    alone = BentPiece(
        cut_length_mm=row.made.developed_mm + 2.0 * spare,
        outside_diameter_mm=plan.pieces[0].outside_diameter_mm,
        bends=row.made.bends(spare),
    )
    scatter = scatter_mm(alone, plan.hand)
    if place is None:
        return _Weighed(None, scatter, "a coupling cuts it in two")
    piece = place.piece
    if row.planned:
        return _Weighed(piece.ways[0].effort if piece.ways else None, scatter, "" if piece.ways else "no bending order")
    bent = _with_shape(table, place, row.made, plan)
    if bent is None:
        return _Weighed(None, scatter, "longer than the stick of its piece")
    if len(bent.bends) > PROVED_BENDS:
        return _Weighed(None, scatter, _UNKNOWN)
    effort, proved = effort_of(
        plan.shoe, bent, plan.tape, cut_after=piece.trim_after, stock_mm=piece.stock_mm, budget=budget
    )
    why = "" if effort is not None else "no bending order" if proved else _UNKNOWN
    return _Weighed(effort, scatter, why)


def _with_shape(table: AngleTable, place: _Place, made: Shape, plan: Plan) -> BentPiece | None:
    """The piece with the row's bends for its own, about the same middle of the run where there is room. What it is then
    longer than its stick goes to the next piece; None where there is none, or a bend stands in the way."""
    piece = place.piece.piece
    before, own = piece.bends[: place.first], piece.bends[place.first : place.last + 1]
    after = piece.bends[place.last + 1 :]
    planned = next(row.made for row in table.rows if row.planned)
    if planned is None:
        return None
    longer = (made.developed_mm - made.plan_mm) - (planned.developed_mm - planned.plan_mm)
    low = before[-1].arc_end_mm if before else 0.0
    high = (after[0].arc_start_mm if after else piece.cut_length_mm) + longer - made.developed_mm
    start = max(low, min(high, own[0].arc_start_mm + (planned.plan_mm - made.plan_mm) / 2.0))
    bends = made.bends(start)
    turned = own[0].roll_rad - bends[0].roll_rad
    run = (
        *before,
        *(msgspec.structs.replace(b, roll_rad=b.roll_rad + turned, shape=own[0].shape) for b in bends),
        *(msgspec.structs.replace(b, arc_start_mm=b.arc_start_mm + longer) for b in after),
    )
    stick = place.piece.stock_mm or inf
    over = max(0.0, piece.cut_length_mm + longer - stick)
    if over and len(plan.pieces) == 1:
        return None
    from_a = over if place.piece is plan.pieces[-1] else 0.0  # the coupling is then at its end A
    length = min(stick, piece.cut_length_mm + longer)
    run = tuple(msgspec.structs.replace(b, arc_start_mm=b.arc_start_mm - from_a) for b in run)
    if start > high + 1e-6 or run[0].arc_start_mm < 0.0 or run[-1].arc_end_mm > length:
        return None
    return msgspec.structs.replace(piece, cut_length_mm=length, bends=run)


def _printed(plan: Plan, table: AngleTable, like_it: Sequence[str], budget: Budget) -> PrintedTable:
    place = _place(plan, table.shape)
    left = sum(row.made is not None and not row.planned for row in table.rows)
    weighed: list[_Weighed | None] = []
    for row in table.rows:
        asks = row.made is not None and not row.planned
        weighed.append(_weighed(plan, table, place, row, budget.share(left, ORDER_OF_A_PIECE) if asks else budget))
        left -= asks
    easy, calmest = _best(table, weighed)
    rows: list[tuple[str, ...]] = []
    for i, (row, found) in enumerate(zip(table.rows, weighed, strict=True)):
        if found is None:
            rows.append((format_angle(row.choice.angle_rad), str(row.bends), *("",) * 7, row.choice.reason))
            continue
        notes = ["planned"] if row.planned else []
        notes += ["least effort"] if i == easy else []
        notes += ["least sensitive to error"] if i == calmest else []
        notes += [found.why] if found.why else []
        rows.append((*_cells(row, plan.tape), *_hand_cells(found, plan.tape), ", ".join(notes)))
    return PrintedTable(title=f"Choices for {_named(table.shape.label, like_it)}", header=HEADER, rows=tuple(rows))


def _named(label: str, like_it: Sequence[str]) -> str:
    """'Saddle 1', or with those like it: 'Saddle 1 (so for Saddle 2, Saddle 3 and 4 more)'."""
    if not like_it:
        return label
    more = len(like_it) - _MOST_NAMED
    names = ", ".join(like_it[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
    return f"{label} (so for {names})"


def _best(table: AngleTable, weighed: Sequence[_Weighed | None]) -> tuple[int | None, int | None]:
    """The row of the least effort and that of the least scatter, as they are printed; of equals the planned one, else
    the first. None where it is not known of every row whether it can be bent."""
    if any(found is not None and found.why == _UNKNOWN for found in weighed):
        return None, None
    able = [(i, row.planned, w) for i, (row, w) in enumerate(zip(table.rows, weighed, strict=True)) if w and not w.why]
    easy = min(able, key=lambda each: (round(each[2].effort or 0.0, 1), not each[1], each[0]), default=(None,))[0]
    calm = min(able, key=lambda each: (even(each[2].scatter_mm), not each[1], each[0]), default=(None,))[0]
    return easy, calm


def _cells(row: AngleRow, tape: TapeStyle) -> tuple[str, ...]:
    choice = row.choice
    lengths = (row.rise_mm, choice.plan_mm or 0.0, choice.shrink_mm or 0.0, choice.straight_mm)
    return (
        format_angle(choice.angle_rad),
        str(row.bends),
        *(format_length(length, tape) for length in lengths),
        format_angle(choice.total_rad),
    )


def _hand_cells(found: _Weighed, tape: TapeStyle) -> tuple[str, str]:
    return "-" if found.effort is None else f"{found.effort:.1f}", f"± {format_length(found.scatter_mm, tape)}"
