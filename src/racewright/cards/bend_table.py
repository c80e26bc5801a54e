"""The table at the heart of the card: one row a bend, in bending order, with a clock face where the conduit is rolled.

Page mm, type pt.
"""

from __future__ import annotations

from math import cos, radians, sin
from typing import NamedTuple

from racewright.cards.layout import (
    LEAST_MARK_PT,
    MARK_PT,
    SMALL_PT,
    Writer,
    badge,
    cap_mm,
    line_mm,
    lines_at,
    rectangle,
)
from racewright.cards.words import bend_names, in_bending_order, pull_words, shoe_words
from racewright.drawing.metrics import MM_PER_PT, fit_size_pt, wrap
from racewright.drawing.scene import WHITE, Box, Circle, Line, Point, Polygon, Primitive, Text
from racewright.plan.model import MarkedBend, PlannedPiece
from racewright.sequence.words import REFERENCE_WORDS, ordinal
from racewright.units.angle import hand_angle
from racewright.units.tape import TapeStyle, reading

_PAD = 1.6
_BADGE = 6.4
_CLOCK = 6.6
_HEAD = 6.4
_SPIN_PT = 10.0


class _Columns(NamedTuple):
    order: float
    mark: float
    shoe: float
    hook: float
    spin: float
    pull: float
    clock: float
    check: float


def _columns(width: float, *, clock: bool) -> _Columns:
    fixed = (12.5, 41.0, 20.5, 13.5, 29.0, 24.5, 15.5) if clock else (13.0, 42.0, 22.0, 15.0, 34.0, 25.0, 0.0)
    return _Columns(*fixed, check=width - sum(fixed))


def bend_table(writer: Writer, piece: PlannedPiece, style: TapeStyle, *, clock: bool) -> None:
    """Write the table; it breaks between rows and repeats its head."""
    columns = _columns(writer.width, clock=clock)
    first = min(piece.bends, key=lambda b: b.number, default=None)
    _head(writer, columns)
    for bend in in_bending_order(piece):
        height = _row_height(bend, columns, clock=clock)
        if writer.need(height):
            _head(writer, columns)
        zero = first.roll_deg if first else 0.0
        others = [b.roll_deg - zero for b in piece.bends if b.order < bend.order]
        writer.add(*_row(bend, columns, writer.left, writer.y, height, style, zero, others, clock=clock))
        writer.y += height
        writer.add(Line(start=(writer.left, writer.y), end=(writer.right, writer.y), width_mm=0.3))
    writer.space(2.0)


def _head(writer: Writer, columns: _Columns) -> None:
    top = writer.y
    writer.add(rectangle(Box(writer.left, top, writer.right, top + _HEAD), fill=0.0, width_mm=0.0))
    names = ("order", "mark, from end A", "on shoe", "hook", "rotate", "bend to", "plane", "then check")
    x = writer.left
    base = top + (_HEAD + cap_mm(SMALL_PT)) / 2.0
    for name, width in zip(names, columns, strict=True):
        if width > 0.0:
            size = fit_size_pt(name, width - 1.4, SMALL_PT, 7.0, "bold")
            writer.add(Text(at=(x + _PAD / 2.0, base), text=name, size_pt=size, weight="bold", ink=WHITE))
        x += width
    writer.y = top + _HEAD


def _check_text(bend: MarkedBend) -> str:
    parts = (bend.stance_words, bend.look_at)
    return " ".join(f"{part[0].upper()}{part[1:].rstrip('. ')}." for part in parts if part)


def _on_mark(bend: MarkedBend) -> str:
    return REFERENCE_WORDS[bend.reference] if bend.on_shoe else shoe_words(bend)[0]


def _row_height(bend: MarkedBend, columns: _Columns, *, clock: bool) -> float:
    stacked = 2.0 * _PAD + line_mm(MARK_PT) * 0.95
    under = len(wrap(bend_names(bend), columns.mark - _PAD - _BADGE - 1.4, SMALL_PT))
    pull = len(wrap(pull_words(bend), columns.pull - _PAD, SMALL_PT))
    heights = [
        stacked + max(under, pull) * line_mm(SMALL_PT),
        3.0 * _PAD + len(wrap(bend.spin_words, columns.spin - _PAD, _SPIN_PT)) * line_mm(_SPIN_PT),
        3.6 * _PAD + len(wrap(_check_text(bend), columns.check - _PAD, SMALL_PT)) * line_mm(SMALL_PT),
        2.0 * _PAD + len(wrap(_on_mark(bend), columns.shoe - _PAD, LEAST_MARK_PT, "bold"))
        * line_mm(LEAST_MARK_PT),
    ]  # fmt: skip
    if clock:
        heights.append(2.0 * _CLOCK + 2.4)
    return max(heights)


def _row(
    bend: MarkedBend,
    columns: _Columns,
    left: float,
    top: float,
    height: float,
    style: TapeStyle,
    zero_deg: float,
    others: list[float],
    *,
    clock: bool,
) -> list[Primitive]:
    x = [left + sum(columns[:k]) + _PAD / 2.0 for k in range(8)]
    inner = top + _PAD
    base = inner + cap_mm(MARK_PT) + 0.6
    items: list[Primitive] = [Text(at=(x[0], base), text=ordinal(bend.order), size_pt=LEAST_MARK_PT, weight="bold")]
    items += badge(str(bend.number), (x[1] + _BADGE / 2.0, base - cap_mm(MARK_PT) / 2.0), _BADGE)
    text = reading(bend.mark_tape, style.unit)
    room = columns.mark - _PAD - _BADGE - 1.4
    size = fit_size_pt(text, room, MARK_PT, 10.0, "bold")
    items.append(Text(at=(x[1] + _BADGE + 1.4, base), text=text, size_pt=size, weight="bold"))
    under = base + 1.4
    items += lines_at(wrap(bend_names(bend), room, SMALL_PT), x[1] + _BADGE + 1.4, under, SMALL_PT)
    shoe = wrap(_on_mark(bend), columns.shoe - _PAD, LEAST_MARK_PT, "bold")
    items += lines_at(shoe, x[2], _top_of(base, LEAST_MARK_PT), LEAST_MARK_PT, "bold")
    items.append(Text(at=(x[3], base), text=shoe_words(bend)[1], size_pt=LEAST_MARK_PT, weight="bold"))
    items += lines_at(wrap(bend.spin_words, columns.spin - _PAD, _SPIN_PT), x[4], _top_of(base, _SPIN_PT), _SPIN_PT)
    pointer = hand_angle(bend.pointer_deg)
    big = fit_size_pt(pointer, columns.pull - _PAD, MARK_PT, 10.0, "bold")
    items.append(Text(at=(x[5], base), text=pointer, size_pt=big, weight="bold"))
    items += lines_at(wrap(pull_words(bend), columns.pull - _PAD, SMALL_PT), x[5], under, SMALL_PT)
    if clock:
        centre = (x[6] - _PAD / 2.0 + columns.clock / 2.0, top + height / 2.0)
        items += clock_face(centre, _CLOCK, bend.roll_deg - zero_deg, others)
    items += lines_at(wrap(_check_text(bend), columns.check - _PAD, SMALL_PT), x[7], _top_of(base, SMALL_PT), SMALL_PT)
    return items


def _top_of(base: float, size_pt: float) -> float:
    """Where a block of lines must start for its first line to stand on this baseline."""
    return base - 0.78 * size_pt * MM_PER_PT


def clock_face(centre: Point, radius: float, roll_deg: float, made_deg: list[float]) -> list[Primitive]:
    """The conduit seen from end A: the wedge is the way this bend turns, thin strokes the bends made before it."""

    def rim(angle_deg: float, out: float) -> Point:
        a = radians(angle_deg)
        return (centre[0] + sin(a) * out, centre[1] - cos(a) * out)

    items: list[Primitive] = [Circle(centre=centre, radius_mm=radius, width_mm=0.25)]
    for hour in range(12):
        angle = 30.0 * hour
        depth = 1.3 if hour % 3 == 0 else 0.7
        items.append(Line(start=rim(angle, radius - depth), end=rim(angle, radius), width_mm=0.25))
    for angle in made_deg:
        items.append(Line(start=rim(angle, 1.6), end=rim(angle, radius - 1.8), width_mm=0.25, dash=(0.7, 0.6)))
    tip, root = rim(roll_deg, radius - 0.5), rim(roll_deg, radius - 3.2)
    a = radians(roll_deg)
    side = (cos(a) * 1.5, sin(a) * 1.5)
    items.append(Line(start=centre, end=root, width_mm=0.9))
    items.append(Polygon(points=(tip, (root[0] + side[0], root[1] + side[1]), (root[0] - side[0], root[1] - side[1]))))
    items.append(Circle(centre=centre, radius_mm=1.5, fill=WHITE, width_mm=0.5))
    return items
