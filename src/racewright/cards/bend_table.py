"""The table at the heart of the bench page: one row a bend, in bending order, with a clock face where the conduit is
rolled.

Page mm, type pt.
"""

from __future__ import annotations

from math import cos, radians, sin
from typing import NamedTuple

from racewright.cards.layout import (
    LEAST_MARK_PT,
    MARK_PT,
    Sizes,
    Writer,
    badge,
    cap_mm,
    line_mm,
    lines_at,
    rectangle,
)
from racewright.cards.words import bend_names, in_bending_order, order_words, pull_words, shoe_words
from racewright.drawing.metrics import fit_size_pt, text_width_mm, words_within, wrap
from racewright.drawing.scene import WHITE, Box, Circle, Line, Point, Polygon, Primitive, Text
from racewright.plan.model import MarkedBend, Plan, PlannedPiece
from racewright.sequence.words import REFERENCE_WORDS
from racewright.units.angle import hand_angle
from racewright.units.tape import reading

_PAD = 1.0


class _Columns(NamedTuple):
    order: float
    mark: float
    shoe: float
    pull: float
    clock: float
    words: float


class _Table(NamedTuple):
    """What every row of a table shares: the plan and the piece, its columns, its sizes, the clock's radius (0: none),
    and whether its marks are for a shoe."""

    plan: Plan
    piece: PlannedPiece
    columns: _Columns
    sizes: Sizes
    clock: float
    mark_pt: float
    on_shoe: bool

    @property
    def badge(self) -> float:
        return 0.4 * self.mark_pt


class _Words(NamedTuple):
    """When it is made; how to rotate it (bold) in lines; of what comes then as much as fits behind the last of these,
    and the lines of the rest."""

    order: str
    rotate: tuple[str, ...]
    behind: str
    then: tuple[str, ...]

    @property
    def lines(self) -> int:
        return len(self.rotate) + len(self.then)


def bend_table(writer: Writer, plan: Plan, piece: PlannedPiece, sizes: Sizes) -> None:
    """Write the table; it breaks between rows and repeats its head."""
    clock = 0.0 if plan.planar else 0.3 * sizes.body_pt + 1.7
    fixed = (11.0, 36.5, 22.5, 21.5, 2.0 * clock + 2.4 if clock else 0.0)
    columns = _Columns(*fixed, words=writer.width - sum(fixed))
    table = _Table(
        plan, piece, columns, sizes, clock, MARK_PT if sizes.body_pt > 10.0 else LEAST_MARK_PT, piece.bends[0].on_shoe
    )
    _head(writer, table)
    for bend in in_bending_order(piece):
        words = _words(order_words(piece, bend), bend, table)
        height = _row_height(bend, table, words)
        if writer.need(height):
            _head(writer, table)
        made = [b.roll_deg - bend.roll_deg + bend.faces_deg for b in piece.bends if b.order < bend.order]
        writer.add(*_row(bend, table, writer.left, writer.y, height, words))
        if clock:
            middle = (writer.left + sum(columns[:4]) + columns.clock / 2.0 - _PAD / 2.0, writer.y + height / 2.0)
            writer.add(*clock_face(middle, clock, bend.line_deg, made))
        writer.y += height
        writer.add(Line(start=(writer.left, writer.y), end=(writer.right, writer.y), width_mm=0.3))
    writer.space(2.0)


def _head(writer: Writer, table: _Table) -> None:
    top, size = writer.y, table.sizes.text_pt
    height = line_mm(size) + 1.4
    writer.add(rectangle(Box(writer.left, top, writer.right, top + height), fill=0.0, width_mm=0.0))
    at = "on shoe, hook" if table.on_shoe else "at the mark"
    names = ("order", "mark, from end A", at, "bend to", "line", "rotate, then bend and check")
    x = writer.left
    base = top + (height + cap_mm(size)) / 2.0
    for name, width in zip(names, table.columns, strict=True):
        if width > 0.0:
            fitted = fit_size_pt(name, width - 1.4, size, 6.0, "bold")
            writer.add(Text(at=(x + _PAD / 2.0, base), text=name, size_pt=fitted, weight="bold", ink=WHITE))
        x += width
    writer.y = top + height


def _words(order: str, bend: MarkedBend, table: _Table) -> _Words:
    parts = (bend.stance_words, bend.look_at)
    then = " ".join(f"{part[0].upper()}{part[1:].rstrip('. ')}." for part in parts if part).split()
    room, size = table.columns.words - _PAD, table.sizes.text_pt
    rotate = wrap(bend.spin_words.rstrip(".") + ".", room, size, "bold")
    left = room - text_width_mm(rotate[-1] + " ", size, "bold")
    count = words_within(then, left, size)
    return _Words(order, rotate, " ".join(then[:count]), wrap(" ".join(then[count:]), room, size))


def _under_mark(bend: MarkedBend, table: _Table) -> tuple[str, ...]:
    return wrap(bend_names(bend, table.piece), table.columns.mark - _PAD, table.sizes.text_pt)


def _under_pull(bend: MarkedBend, table: _Table) -> tuple[str, ...]:
    if bend.pointer_basis == "relaxed":  # said once, in the heading
        return ()
    return wrap(pull_words(bend), table.columns.pull - _PAD, table.sizes.text_pt)


def _row_height(bend: MarkedBend, table: _Table, words: _Words) -> float:
    line = line_mm(table.sizes.text_pt)
    under = max(1, len(_under_mark(bend, table)), len(_under_pull(bend, table)))
    big = cap_mm(table.mark_pt) + 1.7
    return max(big + under * line, words.lines * line, 2.0 * table.clock) + _PAD


def _row(
    bend: MarkedBend,
    table: _Table,
    left: float,
    top: float,
    height: float,
    words: _Words,
) -> list[Primitive]:
    columns, small, large = table.columns, table.sizes.text_pt, table.mark_pt
    x = [left + sum(columns[:k]) + _PAD / 2.0 for k in range(6)]
    base = top + 0.5 * _PAD + cap_mm(large) + 0.6
    under = base + 1.1
    fitted = fit_size_pt(words.order, columns.order - 1.5 * _PAD, 12.0, 8.0, "bold")
    items: list[Primitive] = [Text(at=(x[0], base), text=words.order, size_pt=fitted, weight="bold")]
    items += badge(str(bend.number), (x[1] + table.badge / 2.0, base - cap_mm(large) / 2.0), table.badge)
    text = reading(bend.mark_tape, table.plan.tape.unit)
    size = fit_size_pt(text, columns.mark - _PAD - table.badge - 1.4, large, 10.0, "bold")
    items.append(Text(at=(x[1] + table.badge + 1.4, base), text=text, size_pt=size, weight="bold"))
    items += lines_at(_under_mark(bend, table), x[1], under, small)
    shoe, hook = shoe_words(bend)
    if bend.on_shoe:
        shoe = REFERENCE_WORDS[bend.reference]
    fitted = fit_size_pt(shoe, columns.shoe - _PAD, 12.0, 8.0, "bold")
    items.append(Text(at=(x[2], base), text=shoe, size_pt=fitted, weight="bold"))
    if hook:
        items += lines_at((f"hook {hook}",), x[2], under, small + 0.5, "bold")
    pointer = hand_angle(bend.pointer_deg)
    big = fit_size_pt(pointer, columns.pull - _PAD, large, 10.0, "bold")
    items.append(Text(at=(x[3], base), text=pointer, size_pt=big, weight="bold"))
    items += lines_at(_under_pull(bend, table), x[3], under, small)
    step, y = line_mm(small), top + min(0.5 * _PAD + 0.4, (height - words.lines * line_mm(small)) / 2.0)
    items += lines_at(words.rotate, x[5], y, small, "bold")
    if words.behind:
        behind = x[5] + text_width_mm(words.rotate[-1] + " ", small, "bold")
        items += lines_at((words.behind,), behind, y + (len(words.rotate) - 1) * step, small)
    items += lines_at(words.then, x[5], y + len(words.rotate) * step, small)
    return items


def clock_face(centre: Point, radius: float, line_deg: float, made_deg: list[float]) -> list[Primitive]:
    """The conduit in the room, seen from end A: the wedge is its line, thin strokes the insides of the bends made."""

    def rim(angle_deg: float, out: float) -> Point:
        a = radians(angle_deg)
        return (centre[0] + sin(a) * out, centre[1] - cos(a) * out)

    items: list[Primitive] = [Circle(centre=centre, radius_mm=radius, width_mm=0.25)]
    for hour in range(12):
        angle = 30.0 * hour
        depth = 1.3 if hour % 3 == 0 else 0.7
        items.append(Line(start=rim(angle, radius - depth), end=rim(angle, radius), width_mm=0.25))
    for angle in made_deg:
        items.append(
            Line(start=rim(angle, 0.25 * radius), end=rim(angle, 0.75 * radius), width_mm=0.25, dash=(0.7, 0.6))
        )
    tip, root = rim(line_deg, radius - 0.5), rim(line_deg, 0.55 * radius)
    a = radians(line_deg)
    side = (cos(a) * 1.5, sin(a) * 1.5)
    items.append(Line(start=centre, end=root, width_mm=0.9))
    items.append(Polygon(points=(tip, (root[0] + side[0], root[1] + side[1]), (root[0] - side[0], root[1] - side[1]))))
    items.append(Circle(centre=centre, radius_mm=0.22 * radius, fill=WHITE, width_mm=0.5))
    return items
