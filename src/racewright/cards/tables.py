"""A table of words that breaks between rows and repeats its head. Page mm, type pt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from racewright.cards.layout import SMALL_PT, Writer, cap_mm, line_mm, lines_at, rectangle
from racewright.drawing.metrics import fit_size_pt, wrap
from racewright.drawing.scene import WHITE, Anchor, Box, Line, Primitive, Text, Weight

_PAD = 1.2
_HEAD_MM = 6.2
_MOST_LINES = 12


class Column(NamedTuple):
    """`share` of the width (shares are added up); `number`: set to the right."""

    head: str
    share: float
    number: bool = False
    weight: Weight = "regular"


class Row(NamedTuple):
    """The cells' words. `bold`: a row that sums up. `tick`: draw an empty box in these columns instead of words."""

    cells: tuple[str, ...]
    bold: bool = False
    least_mm: float = 0.0
    ticks: tuple[int, ...] = ()


OnCell = Callable[[int, int, Box], None]


def write_table(
    writer: Writer,
    columns: Sequence[Column],
    rows: Sequence[Row],
    *,
    size_pt: float = SMALL_PT,
    ruled: bool = False,
    on_cell: OnCell | None = None,
) -> None:
    """Write the rows under each other. `ruled`: lines between columns too, for writing by hand.

    `on_cell(row, column, box)` is told where each cell came to stand, on the writer's present page.
    """
    widths = _widths(writer, columns)
    edges = [writer.left + sum(widths[:k]) for k in range(len(widths) + 1)]
    writer.need(begin_mm(writer, columns, rows, size_pt=size_pt))
    _head(writer, columns, edges)
    for index, row in enumerate(rows):
        weight, cells, height = _laid_out(columns, row, widths, size_pt)
        if writer.need(height):
            _head(writer, columns, edges)
        top = writer.y
        for k, lines in enumerate(cells):
            writer.add(*_cell(lines, edges[k], edges[k + 1], top, size_pt, weight[k], number=columns[k].number))
            if k in row.ticks:
                writer.add(_tick(edges[k], edges[k + 1], top, height))
            if on_cell is not None:
                on_cell(index, k, Box(edges[k], top, edges[k + 1], top + height))
        writer.y = top + height
        writer.add(Line(start=(writer.left, writer.y), end=(writer.right, writer.y), width_mm=0.2))
        if ruled:
            writer.add(*(Line(start=(x, top), end=(x, writer.y), width_mm=0.2) for x in edges[1:-1]))
    writer.space(3.0)


def begin_mm(writer: Writer, columns: Sequence[Column], rows: Sequence[Row], *, size_pt: float = SMALL_PT) -> float:
    """How much room a table needs to begin: its head, and its first row whole."""
    first = _laid_out(columns, rows[0], _widths(writer, columns), size_pt)[2] if rows else line_mm(size_pt)
    return _HEAD_MM + max(first, 2.0 * line_mm(size_pt))


def _widths(writer: Writer, columns: Sequence[Column]) -> list[float]:
    total = sum(column.share for column in columns)
    return [column.share / total * writer.width for column in columns]


def _laid_out(
    columns: Sequence[Column], row: Row, widths: Sequence[float], size_pt: float
) -> tuple[list[Weight], list[tuple[str, ...]], float]:
    """A row's weights, the lines of its cells, and its height."""
    weight: list[Weight] = ["bold" if row.bold else column.weight for column in columns]
    cells = [_cell_lines(cell, widths[k] - 2.0 * _PAD, size_pt, weight[k]) for k, cell in enumerate(row.cells)]
    return weight, cells, max(row.least_mm, max(len(lines) for lines in cells) * line_mm(size_pt) + 1.4)


def _head(writer: Writer, columns: Sequence[Column], edges: Sequence[float]) -> None:
    top = writer.y
    writer.add(rectangle(Box(writer.left, top, writer.right, top + _HEAD_MM), fill=0.0, width_mm=0.0))
    base = top + (_HEAD_MM + cap_mm(SMALL_PT)) / 2.0
    for k, column in enumerate(columns):
        room = edges[k + 1] - edges[k] - 2.0 * _PAD
        size = fit_size_pt(column.head, room, SMALL_PT, 6.0, "bold")
        x, anchor = _anchored(edges[k], edges[k + 1], number=column.number)
        writer.add(Text(at=(x, base), text=column.head, size_pt=size, weight="bold", anchor=anchor, ink=WHITE))
    writer.y = top + _HEAD_MM + 0.4


def _anchored(left: float, right: float, *, number: bool) -> tuple[float, Anchor]:
    return (right - _PAD, "end") if number else (left + _PAD, "start")


def _cell_lines(text: str, width: float, size_pt: float, weight: Weight) -> tuple[str, ...]:
    lines = wrap(text, width, size_pt, weight)
    if len(lines) <= _MOST_LINES:
        return lines
    return (*lines[: _MOST_LINES - 1], "…")


def _cell(
    lines: Sequence[str], left: float, right: float, top: float, size_pt: float, weight: Weight, *, number: bool
) -> list[Primitive]:
    if not number:
        return lines_at(lines, left + _PAD, top + 0.7, size_pt, weight)
    return [
        Text(
            at=(right - _PAD, item.at[1]), text=item.text, size_pt=size_pt, weight=weight, anchor="end"
        )
        for item in lines_at(lines, left, top + 0.7, size_pt, weight)
        if isinstance(item, Text)
    ]  # fmt: skip


def _tick(left: float, right: float, top: float, height: float) -> Primitive:
    half = min(2.0, height / 2.0 - 0.6)
    x, y = (left + right) / 2.0, top + height / 2.0
    return rectangle(Box(x - half, y - half, x + half, y + half), width_mm=0.35)
