"""Plan -> the card on paper, for the person who holds the conduit. Page mm, type pt."""

from __future__ import annotations

from racewright.cards.bend_table import bend_table
from racewright.cards.layout import (
    BODY_PT,
    CUT_PT,
    SMALL_PT,
    TITLE_PT,
    Writer,
    cap_mm,
    find_paper,
    line_mm,
    lines_at,
    rectangle,
)
from racewright.cards.notes import write_notes
from racewright.cards.side_view import side_view, view_height
from racewright.cards.straight_view import straight_marks, straight_view
from racewright.cards.words import (
    FOOTER,
    bender_words,
    cut_words,
    digest_words,
    end_words,
    piece_words,
    stock_zero_mm,
    tape_words,
)
from racewright.drawing.metrics import fit_size_pt, text_width_mm, wrap
from racewright.drawing.scene import WHITE, Box, Scene, Text, Weight
from racewright.plan.model import Plan, PlannedPiece
from racewright.units.tape import format_length, reading

_VIEW_MOST = 118.0


def card_pages(plan: Plan, paper: str = "letter") -> Scene:
    """The card: for each piece the straight conduit with its marks, the bends in order and the finished shape,
    then steps, findings and the rule of thumb for the whole run. `paper` is 'letter' or 'a4'.

    Raises UnknownName for another paper.
    """
    title = f"{plan.name}: bending card"
    writer = Writer(find_paper(paper), title=title, footer=FOOTER, running=plan.name, stamp=digest_words(plan))
    for index, piece in enumerate(plan.pieces):
        label = piece.label if len(plan.pieces) > 1 else plan.raceway
        writer.start_page(label, running=False)
        _title_block(writer, plan, index)
        _problem_box(writer, plan)
        if piece.pencil_lines:
            _straight(writer, plan, piece)
        if piece.bends:
            writer.heading("Bend it, in this order", _table_note(plan), keep=24.0)
            bend_table(writer, piece, plan.tape, clock=not plan.planar)
        _finished(writer, plan, index)
    write_notes(writer, plan)
    return writer.scene()


def _table_note(plan: Plan) -> str:
    if plan.planar:
        return ""
    return "plane: seen from A, mark 1 points up; dotted = bends made before"


def _title_block(writer: Writer, plan: Plan, index: int) -> None:
    piece = plan.pieces[index]
    top = writer.y
    writer.add(rectangle(Box(writer.left, top, writer.right, top + 1.4), fill=0.0, width_mm=0.0))
    top += 4.4
    box_width, box_height = _cut_box(writer, piece, plan, top)
    room = writer.width - box_width - 6.0
    largest = fit_size_pt(plan.name, room, TITLE_PT, 18.0, "bold")
    size = largest
    for size in (largest, 17.0, 14.0):
        if len(wrap(plan.name, room, size, "bold")) <= 2:
            break
    lines = wrap(plan.name, room, size, "bold")
    writer.add(*lines_at(lines, writer.left, top, size, "bold"))
    y = top + len(lines) * line_mm(size) + 1.2
    end_a, end_b = end_words(piece, plan.tape)
    facts = (
        " · ".join(part for part in (piece_words(plan, index), plan.raceway) if part),
        bender_words(plan),
        f"End A {end_a}. End B {end_b}.",
    )
    for k, fact in enumerate(facts):
        weight: Weight = "bold" if k == 0 else "regular"
        wrapped = wrap(fact, room, BODY_PT, weight)
        writer.add(*lines_at(wrapped, writer.left, y, BODY_PT, weight))
        y += len(wrapped) * line_mm(BODY_PT) + 0.5
    writer.y = max(y, top + box_height) + 4.0


def _cut_box(writer: Writer, piece: PlannedPiece, plan: Plan, top: float) -> tuple[float, float]:
    """The black box with the length to cut, top right: its width and height."""
    if piece.trim_after:
        head, text = "STOCK, at least", format_length(piece.least_stock_mm, plan.tape)
        below = f"finished {reading(piece.cut_length_tape, plan.tape.unit)}, {cut_words(piece)}"
    else:
        head, text, below = "CUT", reading(piece.cut_length_tape, plan.tape.unit), ""
    size = fit_size_pt(text, 66.0, CUT_PT, 18.0, "bold")
    small = wrap(below, 58.0, SMALL_PT)
    width = max(text_width_mm(text, size, "bold"), text_width_mm(head, SMALL_PT, "bold"), 34.0, 58.0 if small else 0.0)
    width += 8.0
    height = 4.0 + cap_mm(SMALL_PT) + 3.0 + cap_mm(size) + 4.2 + len(small) * line_mm(SMALL_PT)
    left = writer.right - width
    writer.add(rectangle(Box(left, top, writer.right, top + height), fill=0.0, width_mm=0.0))
    base = top + 4.0 + cap_mm(SMALL_PT)
    writer.add(Text(at=(left + 4.0, base), text=head, size_pt=SMALL_PT, weight="bold", ink=WHITE))
    base += 3.0 + cap_mm(size)
    writer.add(Text(at=(left + 4.0, base), text=text, size_pt=size, weight="bold", ink=WHITE))
    writer.add(*lines_at(small, left + 4.0, base + 2.0, SMALL_PT, ink=WHITE))
    return width, height


def _problem_box(writer: Writer, plan: Plan) -> None:
    problems = [finding.message for finding in plan.findings if finding.severity == "problem"]
    if not problems:
        return
    shown = problems[:3] + ([f"and {len(problems) - 3} more, see below"] if len(problems) > 3 else [])
    rows = [wrap(text, writer.width - 36.0, BODY_PT) for text in shown]
    count = sum(len(lines) for lines in rows)
    height = count * line_mm(BODY_PT) + 4.0
    writer.need(height)
    top = writer.y
    writer.add(rectangle(Box(writer.left + 0.5, top, writer.right - 0.5, top + height), width_mm=1.0))
    word = "PROBLEM" if len(problems) == 1 else "PROBLEMS"
    writer.add(*lines_at((word,), writer.left + 3.0, top + 2.0, BODY_PT, "bold"))
    writer.add(*lines_at([line for lines in rows for line in lines], writer.left + 32.0, top + 2.0, BODY_PT))
    writer.y = top + height + 4.0


def _straight(writer: Writer, plan: Plan, piece: PlannedPiece) -> None:
    zero = stock_zero_mm(piece)
    marks = straight_marks(piece, plan.tape, zero)
    step = 25.4 if plan.tape.unit == "in" else 10.0
    length = max(piece.least_stock_mm, piece.cut_length_mm)
    _, height = straight_view(marks, length, writer.left, 0.0, writer.width, tape_step_mm=step)
    writer.heading("Mark it", f"{tape_words(piece, plan.tape)}; arrowheads show where the hook faces", keep=height)
    items, _ = straight_view(marks, length, writer.left, writer.y, writer.width, tape_step_mm=step, zero_mm=zero)
    writer.add(*items)
    writer.y += height + 4.5


def _finished(writer: Writer, plan: Plan, index: int) -> None:
    least, wanted = view_height(plan, index, writer.width, _VIEW_MOST)
    writer.need(least + 15.0)
    height = min(writer.room - 15.0, wanted)
    writer.heading("The finished piece", keep=0.0)
    area = Box(writer.left, writer.y, writer.right, writer.y + height)
    view = side_view(plan, index, area)
    writer.add(rectangle(area, width_mm=0.25))
    writer.add(*view.items)
    writer.y = area.bottom + 1.0
    writer.body(view.caption, size_pt=SMALL_PT)
    for text in view.left_over:
        writer.body(f"Not on the drawing: {text}.", size_pt=SMALL_PT)
    writer.space(3.0)
