"""Labels for pieces on sheets: plain paper with lines to cut along, or a grid of labels, by rows, columns and margins.

Page mm, type pt. What tells one piece from another, its length and its plan are never cut off; names go on in
further lines where a label is high enough, and are cut off else.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from racewright.cards.layout import Paper, cut_to_width, line_mm, rectangle
from racewright.drawing.metrics import MM_PER_PT, fit_size_pt, text_width_mm, wrap
from racewright.drawing.scene import Box, Page, Primitive, Scene, Text, Weight
from racewright.errors import LimitError
from racewright.job.piece_labels import PieceLabel
from racewright.units.said import said, said_least

#: Type that is still read at arm's length, and what is large enough: of a line, of what stands at its right.
_LEAST_PT, _MOST_PT, _BESIDE_PT = 5.5, 15.0, 10.0
#: Sizes of the lines, by that of the smallest: what the piece is, what it is cut to, and the rest.
_TALL = (1.9, 1.45, 1.0, 1.0, 1.0)
_LOW = (1.4, 1.2, 1.0)
#: Between what stands at the left of a line and at its right; how wide a label is at least.
_GAP_MM = 2.0
_LEAST_WIDE_MM = 25.0


class Grid(msgspec.Struct, frozen=True, kw_only=True):
    """Where the labels of a sheet stand: mm. `lines`: drawn round each, to cut along."""

    paper: Paper
    rows: int
    columns: int
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    across_mm: float
    down_mm: float
    lines: bool

    def box(self, at: int) -> Box:
        """The place of a label of the sheet, row by row."""
        row, column = divmod(at, self.columns)
        left = self.left_mm + column * (self.width_mm + self.across_mm)
        top = self.top_mm + row * (self.height_mm + self.down_mm)
        return Box(left, top, left + self.width_mm, top + self.height_mm)

    def check(self) -> None:
        """Raises LimitError for labels that stand beyond the paper, or are too small to be read."""
        last = self.box(self.rows * self.columns - 1)
        for what, end, paper, field in (
            ("columns", last.right, self.paper.width_mm, "columns"),
            ("rows", last.bottom, self.paper.height_mm, "rows"),
        ):
            if end > paper + 0.01:
                told = f"the last of these {what} ends {said(end)} from the edge where the paper ends at {said(paper)}."
                raise _limit(told, end, paper, field)
        least = 2.0 * _pad(self.height_mm) + sum(_LOW) * line_mm(_LEAST_PT)
        if self.height_mm < least:
            told = f"a label would be {said(self.height_mm)} high; what is read needs {said_least(least)}."
            raise _limit(told, self.height_mm, least, "rows")
        if self.width_mm < _LEAST_WIDE_MM:
            told = f"a label would be {said(self.width_mm)} wide; what is read needs {said_least(_LEAST_WIDE_MM)}."
            raise _limit(told, self.width_mm, _LEAST_WIDE_MM, "columns")


def _limit(told: str, asked_mm: float, limit_mm: float, field: str) -> LimitError:
    return LimitError(
        told,
        hint="other rows, columns, margins or gaps; all as the sheet itself measures",
        field=field,
        quantity="size on the sheet",
        asked=asked_mm,
        limit=limit_mm,
        unit="mm",
    )


def label_sheets(title: str, labels: Sequence[PieceLabel], grid: Grid, skip: int = 0) -> Scene:
    """The labels on as many sheets as they need; `skip`: places of the first sheet that are used up. Raises
    LimitError."""
    grid.check()
    a_sheet = grid.rows * grid.columns
    sheets: list[list[Primitive]] = []
    for at, label in enumerate(labels, skip):
        if not sheets or at % a_sheet == 0:
            sheets.append([])
        box = grid.box(at % a_sheet)
        if grid.lines:
            sheets[-1].append(rectangle(box, width_mm=0.15))
        sheets[-1] += _label(label, title, box)
    pages = (
        Page(
            width_mm=grid.paper.width_mm,
            height_mm=grid.paper.height_mm,
            items=tuple(items),
            label=f"{title}: labels, sheet {number} of {len(sheets)}",
        )
        for number, items in enumerate(sheets, 1)
    )
    return Scene(title=f"{title}: labels", pages=tuple(pages))


def _pad(height_mm: float) -> float:
    return min(2.5, 0.08 * height_mm)


def _label(label: PieceLabel, job: str, box: Box) -> list[Primitive]:
    pad = _pad(box.bottom - box.top)
    inside = box.bottom - box.top - 2.0 * pad
    tall = inside >= sum(_TALL) * line_mm(_LEAST_PT)
    rows = _TALL if tall else _LOW
    size = min(_MOST_PT, inside / (sum(rows) * line_mm(1.0)))
    which = f"piece {label.piece} of {label.pieces}"
    which += f", copy {label.copy} of {label.copies}" if label.copies > 1 else ""
    cut = f"cut {label.length}" + (f", end {label.ends_later} later" if label.ends_later else "")
    plan = f"plan {label.plan}"
    lines: list[tuple[str, str, Weight]]
    if tall:
        goes = ", ".join(part for part in (label.area, label.goes) if part)
        lines = [
            (label.label, label.raceway, "bold"),
            (cut, "", "bold"),
            (which, "", "regular"),
            (goes, "", "regular"),
            (job, plan, "regular"),
        ]
    else:
        of = ", ".join(part for part in (label.area, job) if part)
        lines = [(label.label, label.raceway, "bold"), (cut, plan, "bold"), (of, which, "regular")]
    items: list[Primitive] = []
    kept = (label.label, cut, which)
    spare = inside - sum(rows) * line_mm(size)  # below all lines
    top, left, right = box.top + pad, box.left + pad + 0.5, box.right - pad - 0.5
    for part, (text, aside, weight) in zip(rows, lines, strict=True):
        room, base = right - left, top + 0.78 * part * size * MM_PER_PT
        most = part * size
        if aside:
            # beside what is never cut off both are set smaller alike; beside a name it keeps its size
            beside = min(size, _BESIDE_PT)
            both = text_width_mm(text, most, weight) + text_width_mm(aside, beside, "bold") + _GAP_MM
            wide = both if text in kept else text_width_mm(aside, beside, "bold") / 0.6
            beside = max(min(beside, _LEAST_PT), beside * min(1.0, room / wide))
            items.append(Text(at=(right, base), text=aside, size_pt=beside, weight="bold", anchor="end"))
            room -= text_width_mm(aside, beside, "bold") + _GAP_MM
        least = 3.0 if text in kept else _LEAST_PT
        more = 0 if text in kept else int(spare / line_mm(most))
        fitted = most if more else fit_size_pt(text, room, most, least, weight)
        shown = (text,) if text in kept else _name(text, room, fitted, 1 + more)
        items += (
            Text(at=(left, base + n * line_mm(most)), text=line, size_pt=fitted, weight=weight)
            for n, line in enumerate(shown)
        )
        spare -= (len(shown) - 1) * line_mm(most)
        top += len(shown) * line_mm(most)
    return items


def _name(text: str, room_mm: float, size_pt: float, most: int) -> tuple[str, ...]:
    """A name in at most so many lines, the last cut off where it has more."""
    lines = wrap(text, room_mm, size_pt) or ("",)
    if len(lines) <= most:
        return lines
    return *lines[: most - 1], cut_to_width(" ".join(lines[most - 1 :]), room_mm, size_pt, "regular")
