"""The bench page: all that is needed to cut, mark and bend a run and to put it up, on one sheet where it fits.

Cut, marks, order, finished piece, straps and couplings, problems, cautions. Of a run of several pieces the first sheet
lists them, and each bent piece follows, on the same sheet while there is room. Page mm, type pt.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import groupby
from typing import NamedTuple

from msgspec.structs import replace

from racewright.cards.bench_head import piece_head, problem_box, run_head
from racewright.cards.bend_table import bend_table
from racewright.cards.layout import BENCH_SIZES, Sizes, Writer, line_mm, lines_at, rectangle
from racewright.cards.notes import running_cautions, write_cautions
from racewright.cards.side_view import SideView, side_view, view_height, view_scale
from racewright.cards.straight_view import straight_marks, straight_view
from racewright.cards.words import faces_words, order_heading, pull_note, stock_zero_mm, tape_words, tool_words
from racewright.drawing.metrics import wrap
from racewright.drawing.scene import Box, Weight
from racewright.geometry.vector import even
from racewright.plan.model import Plan

_VIEW_MOST = 118.0
_GAP = 4.0


class _Height(NamedTuple):
    """What a piece takes on paper without its drawing, and the least and the wanted height of that."""

    words: float
    least: float
    wanted: float


class _Block(NamedTuple):
    """A paragraph beside the drawing."""

    lines: tuple[str, ...]
    size_pt: float
    weight: Weight


def write_bench(writer: Writer, plan: Plan) -> None:
    """The bench page of a run, from the top of a new sheet."""
    writer.start_page(plan.raceway if len(plan.pieces) == 1 else "bench page", running=False)
    bent = [index for index, piece in enumerate(plan.pieces) if piece.bends or len(plan.pieces) == 1]
    laid = _Laid(writer, plan)
    setting = _whole_sheet(laid, bent)
    if setting is None and len(plan.pieces) > 1:
        _several_sheets(laid, bent)
        return
    sizes, views = setting or _two_sheets(laid, bent)
    _top(writer, plan, sizes)
    for index, view in zip(bent, views, strict=True):
        _piece(writer, plan, index, sizes, view, own_sheet=False)
    _end(writer, plan, sizes)


class _Laid:
    """How high the parts of a page come at given sizes. Each is laid out once, on a sheet without end."""

    def __init__(self, writer: Writer, plan: Plan) -> None:
        self.writer, self.plan = writer, plan
        self._high: dict[tuple[object, ...], float] = {}
        self._views: dict[tuple[int, float], tuple[float, float]] = {}

    def around(self, sizes: Sizes) -> float:
        """The page's head and what stands below its pieces."""

        def write(scratch: Writer) -> None:
            _top(scratch, self.plan, sizes)
            _end(scratch, self.plan, sizes)

        return self._laid(write, sizes, _beside(self.plan, sizes))

    def piece(self, index: int, sizes: Sizes, *, own_sheet: bool = False) -> _Height:
        """One piece; `least` holds the lines beside the drawing as well."""
        writer, plan = self.writer, self.plan
        beside = _beside(plan, sizes)
        width = _view_width(writer, plan, sizes)
        if (index, width) not in self._views:
            self._views[index, width] = view_height(plan, index, width, _VIEW_MOST)
        least, wanted = self._views[index, width]
        least = min(least, sizes.view_mm)
        if beside:
            words = _words_mm(_words_beside(writer, plan, sizes))
            least = max(least, words - line_mm(sizes.text_pt) - 1.0)

        def write(scratch: Writer) -> None:
            _marks_and_order(scratch, plan, index, sizes, own_sheet=own_sheet)

        below = 1.0 if beside else 3.0  # with words beside it the drawing is the last on the sheet
        under = below + (0.0 if sizes.tight else 3.0 + line_mm(sizes.heading_pt)) + line_mm(sizes.text_pt)
        return _Height(self._laid(write, sizes, index, own_sheet) + under, least, max(least, wanted))

    def _laid(self, write: Callable[[Writer], None], sizes: Sizes, *what: object) -> float:
        """How high `write` comes; what it writes knows nothing of the drawing's share of the sheet."""
        key = (replace(sizes, share=1.0, view_mm=0.0), *what)
        if key not in self._high:
            scratch = self.writer.scratch()
            top = scratch.y
            write(scratch)
            self._high[key] = scratch.y - top
        return self._high[key]


def _whole_sheet(laid: _Laid, bent: list[int]) -> tuple[Sizes, list[float]] | None:
    """The largest sizes at which the run fits one sheet, and the heights of its drawings; of the shares of the width
    that there are for these sizes, and of all tight sizes, that which draws largest. None where nothing fits."""
    for _, alike in groupby(BENCH_SIZES, key=lambda sizes: 0.0 if sizes.tight else sizes.body_pt):
        settings = [(sizes, _setting(laid, bent, sizes)) for sizes in alike]
        fitting = [(sizes, views) for sizes, views in settings if views is not None]
        if fitting:
            return max(fitting, key=lambda setting: _drawn_at(laid, bent[0], *setting) if bent else 0.0)
    return None


def _two_sheets(laid: _Laid, bent: list[int]) -> tuple[Sizes, list[float]]:
    """The sizes of a piece that no sheet holds: its drawing has the next one's whole width."""
    sizes = next(sizes for sizes in BENCH_SIZES if sizes.tight)
    return sizes, [laid.piece(index, sizes).wanted for index in bent]


def _setting(laid: _Laid, bent: list[int], sizes: Sizes) -> list[float] | None:
    """The heights of a sheet's drawings at these sizes, which share what it has to spare; None where it does not fit:
    the pieces that follow are then not looked at."""
    left = laid.writer.room - laid.around(sizes)
    heights: list[_Height] = []
    for index in bent:
        if left < 0.0:
            return None
        heights.append(laid.piece(index, sizes))
        left -= heights[-1].words + heights[-1].least
    if left < 0.0:
        return None
    views = []
    for height in heights:
        more = max(0.0, min(left, height.wanted - height.least))
        views.append(height.least + more)
        left -= more
    return views


def _drawn_at(laid: _Laid, index: int, sizes: Sizes, views: list[float]) -> float:
    """How large the first drawing comes out."""
    area = Box(0.0, 0.0, _view_width(laid.writer, laid.plan, sizes), views[0])
    return even(view_scale(laid.plan, index, area, sizes.body_pt))


def _several_sheets(laid: _Laid, bent: list[int]) -> None:
    """The run on its own sheet, then each bent piece where it fits whole."""
    writer, plan = laid.writer, laid.plan
    sizes = next((s for s in BENCH_SIZES if laid.around(s) <= writer.room), BENCH_SIZES[-1])
    _top(writer, plan, sizes)
    _end(writer, plan, sizes)
    for index in bent:
        sizes, height = _own_sheet(laid, index)
        view = max(height.least, min(writer.room - height.words, height.wanted))
        _piece(writer, plan, index, sizes, view, own_sheet=True)


def _own_sheet(laid: _Laid, index: int) -> tuple[Sizes, _Height]:
    """The largest sizes at which a piece fits what is left of the sheet, or a new one."""
    writer = laid.writer
    for room in (writer.room, writer.foot_top - writer.paper.margin_mm - 7.0):
        for sizes in BENCH_SIZES:
            height = laid.piece(index, sizes, own_sheet=True)
            if height.words + height.least <= room:
                writer.need(height.words + height.least)
                return sizes, height
    writer.need(writer.room + 1.0)
    return BENCH_SIZES[-1], laid.piece(index, BENCH_SIZES[-1], own_sheet=True)


def _top(writer: Writer, plan: Plan, sizes: Sizes) -> None:
    run_head(writer, plan, sizes)
    problem_box(writer, plan.findings, sizes)


def _end(writer: Writer, plan: Plan, sizes: Sizes) -> None:
    if _beside(plan, sizes):
        return
    if plan.along:
        if not sizes.tight:
            writer.heading("Straps and couplings", keep=0.0, size_pt=sizes.heading_pt)
        for line in plan.along:
            writer.body(line, size_pt=sizes.text_pt if sizes.tight else sizes.body_pt)
        writer.space(0.5 if sizes.tight else 2.0)
    write_cautions(writer, plan.cautions, sizes)


def _beside(plan: Plan, sizes: Sizes) -> bool:
    """Whether straps, couplings and cautions stand beside the drawing: of several pieces they are said of the run."""
    return sizes.share < 1.0 and len(plan.pieces) == 1


def _view_width(writer: Writer, plan: Plan, sizes: Sizes) -> float:
    return writer.width * (sizes.share if _beside(plan, sizes) else 1.0)


def _readings(plan: Plan, sizes: Sizes) -> str:
    """What a tape reads on the finished piece, in words where the drawing is too small to hold it; '' elsewhere."""
    if not sizes.tight or len(plan.pieces) > 1 or not plan.dimensions:
        return ""
    return f"It reads {'; '.join(dimension.text for dimension in plan.dimensions)}. {faces_words(plan)}".rstrip()


def _words_beside(writer: Writer, plan: Plan, sizes: Sizes) -> list[_Block]:
    """What stands beside the drawing."""
    room = writer.width * (1.0 - sizes.share) - _GAP
    head = "Straps and couplings" if plan.along and not sizes.tight else ""
    told: tuple[tuple[str, float, Weight], ...] = (
        (_readings(plan, sizes), sizes.text_pt, "regular"),
        (head, sizes.body_pt, "bold"),
        *((text, sizes.text_pt, "regular") for text in plan.along),
        (running_cautions(plan.cautions), sizes.care_pt, "regular"),
    )
    return [_Block(wrap(text, room, size, weight), size, weight) for text, size, weight in told if text]


def _words_mm(blocks: list[_Block]) -> float:
    return sum(len(block.lines) * line_mm(block.size_pt) + 1.0 for block in blocks)


def _piece(writer: Writer, plan: Plan, index: int, sizes: Sizes, view_mm: float, *, own_sheet: bool) -> None:
    _marks_and_order(writer, plan, index, sizes, own_sheet=own_sheet)
    _finished(writer, plan, index, sizes, view_mm)


def _marks_and_order(writer: Writer, plan: Plan, index: int, sizes: Sizes, *, own_sheet: bool) -> None:
    piece = plan.pieces[index]
    if len(plan.pieces) > 1:
        piece_head(writer, plan, index, sizes, own_sheet=own_sheet)
    if piece.pencil_lines:
        _straight(writer, plan, index, sizes)
    if piece.bends:
        lines = "" if plan.planar else "line: as it faces, seen from A; dotted: insides of the bends made"
        note = "; ".join(told for told in ("" if sizes.tight else tool_words(plan), pull_note(piece), lines) if told)
        writer.heading(order_heading(piece), note, keep=24.0, size_pt=sizes.heading_pt, note_pt=sizes.text_pt)
        bend_table(writer, plan, piece, sizes)


def _straight(writer: Writer, plan: Plan, index: int, sizes: Sizes) -> None:
    piece = plan.pieces[index]
    zero = stock_zero_mm(piece)
    marks = straight_marks(piece, plan.tape, zero)
    if sizes.tight:
        marks = [mark._replace(below="") for mark in marks]
    step = 25.4 if plan.tape.unit == "in" else 10.0
    length = max(piece.least_stock_mm, piece.cut_length_mm)
    hooks = any(bend.on_shoe for bend in piece.bends)
    note = tape_words(piece, plan.tape) + ("; arrowheads show where the hook faces" if hooks else "")
    writer.heading("Mark it", note, keep=40.0, size_pt=sizes.heading_pt, note_pt=sizes.text_pt)
    items, height = straight_view(
        marks,
        length,
        writer.left,
        writer.y,
        writer.width,
        tape_step_mm=step,
        zero_mm=zero,
        leader_mm=sizes.leader_mm,
    )
    writer.need(height)
    writer.add(*items)
    writer.y += height + 0.25 * sizes.heading_pt


def _finished(writer: Writer, plan: Plan, index: int, sizes: Sizes, view_mm: float) -> None:
    beside = _beside(plan, sizes)
    width = _view_width(writer, plan, sizes)
    if not sizes.tight:
        writer.heading("The finished piece", keep=view_mm, size_pt=sizes.heading_pt)
    writer.need(view_mm)
    top = writer.y
    area, view, below = _drawn(plan, index, sizes, Box(writer.left, top, writer.left + width, top + view_mm))
    for _ in range(3):  # a reading that found no room on the drawing stands on a line below it
        low = top + view_mm - (len(below) - 1) * line_mm(sizes.text_pt)
        if area.bottom <= low + 1e-6:
            break
        area, view, below = _drawn(plan, index, sizes, Box(area.left, top, area.right, low))
    writer.add(rectangle(area, width_mm=0.25), *view.items)
    writer.add(*lines_at(below, writer.left, area.bottom + 1.0, sizes.text_pt))
    writer.y = area.bottom + 1.0 + len(below) * line_mm(sizes.text_pt)
    y = top
    for block in _words_beside(writer, plan, sizes) if beside else ():
        writer.add(*lines_at(block.lines, area.right + _GAP, y, block.size_pt, block.weight))
        y += len(block.lines) * line_mm(block.size_pt) + 1.0
    writer.y = max(writer.y, y)
    writer.space(2.0)


def _drawn(plan: Plan, index: int, sizes: Sizes, area: Box) -> tuple[Box, SideView, tuple[str, ...]]:
    """The finished piece in an area, and the lines below it: how it is seen, and what is not on the drawing."""
    readings = _readings(plan, sizes)
    view = side_view(plan, index, area, sizes.body_pt, with_readings=not sizes.tight)
    caption = f"The finished piece, {view.caption}." if sizes.tight else f"{view.caption[0].upper()}{view.caption[1:]}."
    below = "" if readings and _beside(plan, sizes) else readings or faces_words(plan)
    if below:
        caption += f" {below}"
    if view.left_over:
        caption += f" Not on the drawing: {'; '.join(view.left_over)}."
    return area, view, wrap(caption, area.right - area.left, sizes.text_pt)
