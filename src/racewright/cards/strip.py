"""The mark strip at true scale: lay it along the conduit or wrap it round, and carry the marks over.

The strip is cut into lengths that fit the page, several below each other; each begins where the one before ended, with
a joining mark numbered on both. Page mm; `s` mm along the conduit from end A.
"""

from __future__ import annotations

from math import ceil

from racewright.cards.bench_head import problem_box
from racewright.cards.layout import BENCH_SIZES, BODY_PT, LEAST_MARK_PT, Writer, badge, cap_mm, find_paper, rectangle
from racewright.cards.straight_view import StraightMark, draw_label, label_height, label_width, spread, straight_marks
from racewright.cards.words import FOOTER, bender_name, digest_words
from racewright.drawing.metrics import text_width_mm
from racewright.drawing.scene import Box, Line, Polyline, Primitive, Scene, Text
from racewright.plan.model import Plan, PlannedPiece
from racewright.records.anew import NEW_MARKS
from racewright.records.other_marks import OTHER_MARKS
from racewright.units.tape import TapeStyle

_OVERLAP_MM = 8.0
_BAND_MM = 11.0
_LABEL_MM = 15.0
# 4 in and 100 mm: what to hold a tape against before trusting the print.
CHECK_BARS_MM = {"in": 101.6, "mm": 100.0}


def strip_pages(plan: Plan, paper: str = "letter") -> Scene:
    """The strip of every piece at 1:1, with a bar to check the printer. Raises UnknownName for another paper."""
    writer = Writer(
        find_paper(paper), title=f"{plan.name}: mark strip", footer=FOOTER, running=plan.name, stamp=digest_words(plan)
    )
    for piece in plan.pieces:
        writer.start_page(f"mark strip, {piece.label}" if len(plan.pieces) > 1 else "mark strip", running=True)
        problem_box(
            writer, [finding for finding in plan.findings if finding.rule in (OTHER_MARKS, NEW_MARKS)], BENCH_SIZES[0]
        )
        _instructions(writer, plan)
        _check_bar(writer, plan.tape)
        _piece(writer, piece, plan.tape)
    return writer.scene()


def _instructions(writer: Writer, plan: Plan) -> None:
    writer.heading('Print at 100 %: turn off "fit to page"', keep=0.0)
    for text in (
        "1. Hold a tape to the bar below. If it is not true, do not use the strip.",
        "2. Cut out the lengths and tape each to the next: lay joint over joint, number on number.",
        "3. Lay the strip's end A on end A of the conduit (on the cut line where it is cut later), pull it straight, "
        "carry every mark over, all around.",
        f"4. Check the first and the last mark with a tape. {bender_name(plan)}.",
    ):
        writer.body(text)
    writer.space(3.0)


def _check_bar(writer: Writer, style: TapeStyle) -> None:
    length = CHECK_BARS_MM[style.unit]
    text = "4 in" if style.unit == "in" else "100 mm"
    x, y = writer.left, writer.y + 3.0
    items: list[Primitive] = [Line(start=(x, y), end=(x + length, y), width_mm=0.5)]
    parts = 4 if style.unit == "in" else 10
    for k in range(parts + 1):
        at = x + length * k / parts
        deep = 3.0 if k in (0, parts) else 1.6
        shift = 0.15 if k == 0 else (-0.15 if k == parts else 0.0)
        items.append(Line(start=(at + shift, y - deep), end=(at + shift, y + deep), width_mm=0.3))
    note = f"must measure {text} exactly"
    items.append(Text(at=(x + length + 5.0, y + cap_mm(BODY_PT) / 2.0), text=note, size_pt=BODY_PT, weight="bold"))
    writer.add(*items)
    writer.y = y + 8.0


def _piece(writer: Writer, piece: PlannedPiece, style: TapeStyle) -> None:
    span = writer.width - 2.0 * _OVERLAP_MM
    marks = straight_marks(piece, style)
    count = max(1, ceil(piece.cut_length_mm / span - 1e-9))
    for number in range(count):
        start, end = (piece.cut_length_mm * k / count for k in (number, number + 1))
        here = [m for m in marks if min(count - 1, int(m.at_mm / piece.cut_length_mm * count)) == number]
        writer.need((_LABEL_MM if here else 2.0) + _BAND_MM + 8.0)
        _segment(writer, piece, here, start, end, number, style)


def _segment(
    writer: Writer,
    piece: PlannedPiece,
    marks: list[StraightMark],
    start: float,
    end: float,
    number: int,
    style: TapeStyle,
) -> None:
    left = writer.left + _OVERLAP_MM
    top = writer.y + (_LABEL_MM if marks else 2.0)
    first, last = start <= 0.0, end >= piece.cut_length_mm - 1e-6
    from_x = left if first else left - _OVERLAP_MM
    to_x = left + (end - start) + (0.0 if last else _OVERLAP_MM)
    items: list[Primitive] = [rectangle(Box(from_x, top, to_x, top + _BAND_MM), width_mm=0.3)]
    items += _ticks(start, end, left, top, style)
    items += _joint(left, top, number, first=first, letter="A")
    items += _joint(left + end - start, top, number + 1, first=last, letter="B")
    xs = [left + mark.at_mm - start for mark in marks]
    centres = spread(xs, [label_width(mark, LEAST_MARK_PT) for mark in marks], writer.left, writer.right, 3.0)
    for mark, x, centre in zip(marks, xs, centres, strict=True):
        items += draw_label(mark, centre, writer.y, LEAST_MARK_PT)
        low = writer.y + label_height(LEAST_MARK_PT)
        items.append(Polyline(points=((centre, low), (x, top - 1.0), (x, top)), width_mm=0.3))
        items.append(Line(start=(x, top), end=(x, top + _BAND_MM), width_mm=0.5))
    writer.add(*items)
    writer.y = top + _BAND_MM + 6.0


def _ticks(start: float, end: float, left: float, top: float, style: TapeStyle) -> list[Primitive]:
    """Inches and quarters, or centimetres and 5 mm, counted from end A, along the band's lower edge."""
    step, whole = (25.4 / 4.0, 4) if style.unit == "in" else (5.0, 2)
    items: list[Primitive] = []
    edge = top + _BAND_MM
    k = int(start / step - 1e-9) + 1
    while k * step < end - 1e-9:
        x = left + k * step - start
        items.append(Line(start=(x, edge), end=(x, edge - (3.0 if k % whole == 0 else 1.5)), width_mm=0.2))
        if k % whole == 0:
            text = str(k // whole) if style.unit == "in" else str(k // whole * 10)
            if style.unit == "in" or (k // whole) % 2 == 0:
                half = text_width_mm(text, 8.0) / 2.0 + 6.2
                if x - half > left and x + half < left + end - start:
                    items.append(Text(at=(x, edge - 4.0), text=text, size_pt=8.0, anchor="middle"))
        k += 1
    return items


def _joint(x: float, top: float, number: int, *, first: bool, letter: str) -> list[Primitive]:
    """An end of the conduit, or a joining line with the joint's number."""
    if first:
        inside = 3.6 if letter == "A" else -3.6
        return [
            Line(start=(x, top), end=(x, top + _BAND_MM), width_mm=0.8),
            *badge(letter, (x + inside, top + 3.4), 5.0, square=True),
        ]
    return [
        Line(start=(x, top), end=(x, top + _BAND_MM), width_mm=0.3, dash=(1.2, 0.8)),
        *badge(str(number), (x, top + 3.4), 5.0),
    ]
