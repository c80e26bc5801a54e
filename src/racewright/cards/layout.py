"""Paper, type sizes and a writer that fills pages from top to bottom. Lengths mm, type pt. Knows no plan."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from racewright.drawing.metrics import CAP_HEIGHT, MM_PER_PT, fit_size_pt, text_width_mm, wrap
from racewright.drawing.scene import WHITE, Box, Circle, Line, Page, Polygon, Primitive, Scene, Text, Weight
from racewright.errors import UnknownName
from racewright.printable import printable


class Paper(msgspec.Struct, frozen=True):
    """A sheet and its border."""

    width_mm: float
    height_mm: float
    margin_mm: float = 12.7


PAPERS: dict[str, Paper] = {"letter": Paper(215.9, 279.4), "a4": Paper(210.0, 297.0)}

TITLE_PT = 24.0
CUT_PT = 30.0
HEADING_PT = 15.0
MARK_PT = 16.0
LEAST_MARK_PT = 14.0
BODY_PT = 11.0
SMALL_PT = 9.5
FOOT_PT = 8.0
LINE_SPACING = 1.22
_CONTINUED = ", continued"


def find_paper(name: str) -> Paper:
    """The paper of this name. Raises UnknownName."""
    try:
        return PAPERS[name.lower()]
    except KeyError:
        known = ", ".join(PAPERS)
        raise UnknownName(
            f"There is no paper called '{name}'.",
            hint=f"known papers: {known}.",
            field="paper",
            expected=known,
            example="letter",
        ) from None


def line_mm(size_pt: float) -> float:
    """From baseline to baseline."""
    return size_pt * MM_PER_PT * LINE_SPACING


def cap_mm(size_pt: float) -> float:
    """Height of a capital letter."""
    return size_pt * MM_PER_PT * CAP_HEIGHT


def lines_at(
    lines: Iterable[str], left: float, top: float, size_pt: float, weight: Weight = "regular", ink: float = 0.0
) -> list[Primitive]:
    """Lines of text below each other; `top` is the top of the first line's box."""
    step = line_mm(size_pt)
    first = top + 0.78 * size_pt * MM_PER_PT
    return [
        Text(at=(left, first + k * step), text=line, size_pt=size_pt, weight=weight, ink=ink)
        for k, line in enumerate(lines)
    ]


def paragraph(
    text: str, left: float, top: float, width: float, size_pt: float, weight: Weight = "regular"
) -> tuple[list[Primitive], float]:
    """A wrapped text at a place: what to draw and how high it is."""
    lines = wrap(text, width, size_pt, weight)
    return lines_at(lines, left, top, size_pt, weight), len(lines) * line_mm(size_pt)


def badge(text: str, centre: tuple[float, float], size_mm: float, *, square: bool = False) -> list[Primitive]:
    """A letter or number in white on a black disc or square of this width."""
    x, y = centre
    half = size_mm / 2.0
    pt = fit_size_pt(text, size_mm * 0.8, size_mm / MM_PER_PT * 0.62, 4.0, "bold")
    shape: Primitive = Circle(centre=centre, radius_mm=half, fill=0.0, width_mm=0.0)
    if square:
        corners = ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
        shape = Polygon(points=corners)
    letter = Text(at=(x, y + cap_mm(pt) / 2.0), text=text, size_pt=pt, weight="bold", anchor="middle", ink=WHITE)
    return [shape, letter]


def rectangle(box: Box, *, fill: float | None = None, width_mm: float = 0.25) -> Polygon:
    """A rectangle as a polygon."""
    left, top, right, bottom = box
    points = ((left, top), (right, top), (right, bottom), (left, bottom))
    return Polygon(points=points, fill=fill, width_mm=width_mm)


class Sizes(msgspec.Struct, frozen=True):
    """How large the bench page is set: title, the length to cut, headings, what is read (`body`), what is read once
    (`text`), cautions where they run on, pt; the leaders of the marks' labels, the least height of the finished piece's
    drawing, mm. `share`: that of the page's width that the drawing has; under 1, straps, couplings and cautions stand
    beside it. `tight`: no headings over what stands below the table, and the shoe's mark and the hook's way stand in
    that alone, not with the marks on the straight conduit too. A mark's reading is never set smaller."""

    title_pt: float
    cut_pt: float
    heading_pt: float
    body_pt: float
    text_pt: float
    care_pt: float
    leader_mm: float
    view_mm: float
    share: float = 1.0
    tight: bool = False


#: Shares of the width that the drawing may have, of which the one that draws it largest is taken.
_SHARES = (1.0, 0.64, 0.59, 0.54, 0.49, 0.44, 0.4, 0.36)
#: From what a few bends leave room for to what nine bends need on one sheet.
BENCH_SIZES = (
    *(Sizes(TITLE_PT, CUT_PT, HEADING_PT, BODY_PT, SMALL_PT, 8.5, 8.0, 50.0, share) for share in _SHARES[:4]),
    *(Sizes(18.0, 26.0, 12.0, 9.5, 8.5, 8.0, 7.0, 46.0, share) for share in _SHARES[:4]),
    *(Sizes(16.0, 24.0, 11.0, 8.5, 8.0, 7.5, 5.5, 44.0, share) for share in _SHARES[:5]),
    *(Sizes(15.0, 22.0, 10.5, 8.0, 7.5, 7.0, 4.0, 36.0 if share == 1.0 else 44.0, share, True) for share in _SHARES),
    *(Sizes(14.0, 20.0, 10.0, 7.5, 7.0, 6.6, 4.0, 36.0 if share == 1.0 else 44.0, share, True) for share in _SHARES),
)


class Writer:
    """Fills pages from the top; starts the next page when a block does not fit."""

    def __init__(self, paper: Paper, *, title: str, footer: str, running: str, stamp: str = "") -> None:
        """`footer`, `running` and `stamp`: below each page, above those that follow one, beside the page's number."""
        self.paper = paper
        self.stamp = stamp
        self.title = title
        self.footer = wrap(footer, paper.width_mm - 2 * paper.margin_mm, FOOT_PT)
        self.running = running
        self.left = paper.margin_mm
        self.width = paper.width_mm - 2 * paper.margin_mm
        self.right = self.left + self.width
        self.foot_top = paper.height_mm - paper.margin_mm - (len(self.footer) + 1) * line_mm(FOOT_PT) - 1.5
        self._pages: list[list[Primitive]] = []
        self._labels: list[str] = []
        self.y = 0.0

    def start_page(self, label: str, *, running: bool) -> None:
        """Begin a sheet; `running` puts the running title on top."""
        self._pages.append([])
        self._labels.append(label)
        self.y = self.paper.margin_mm
        if running:
            self._running_title(label)

    def _running_title(self, label: str) -> None:
        side = text_width_mm(label, BODY_PT, "bold") + 6.0
        name = printable(self.running)
        size = fit_size_pt(name, self.width - side, BODY_PT, 7.0, "bold")
        shown = cut_to_width(name, self.width - side, size)
        base = self.y + cap_mm(BODY_PT)
        self.add(
            Text(at=(self.left, base), text=shown, size_pt=size, weight="bold"),
            Text(at=(self.right, base), text=label, size_pt=BODY_PT, weight="bold", anchor="end"),
            Line(start=(self.left, base + 2.4), end=(self.right, base + 2.4), width_mm=0.9),
        )
        self.y = base + 6.5

    def add(self, *items: Primitive) -> None:
        """Put primitives on the present page as they are."""
        self._pages[-1].extend(items)

    @property
    def room(self) -> float:
        """Height left on the page."""
        return self.foot_top - self.y

    @property
    def sheet_mm(self) -> float:
        """Height of a sheet below its running title."""
        return self.foot_top - self.paper.margin_mm - 10.0

    def need(self, height: float) -> bool:
        """Start the next page unless `height` fits; says whether it did."""
        if height <= self.room + 1e-6:  # a sheet may be filled to its foot
            return False
        self.start_page(self._labels[-1].removesuffix(_CONTINUED) + _CONTINUED, running=True)
        return True

    def heading(
        self, text: str, note: str = "", *, keep: float = 20.0, size_pt: float = HEADING_PT, note_pt: float = SMALL_PT
    ) -> None:
        """A section's heading with a short note beside or below it; `keep` more mm must fit below."""
        self.need(cap_mm(size_pt) + 5.0 + keep)
        base = self.y + cap_mm(size_pt)
        self.add(Text(at=(self.left, base), text=text, size_pt=size_pt, weight="bold"))
        self.y = base + 0.16 * size_pt
        if note:
            start = self.left + text_width_mm(text, size_pt, "bold") + 4.0
            if start + text_width_mm(note, note_pt) <= self.right:
                self.add(Text(at=(start, base), text=note, size_pt=note_pt))
            else:
                items, height = paragraph(note, self.left, self.y, self.width, note_pt)
                self.add(*items)
                self.y += height + 1.0

    def body(self, text: str, *, indent: float = 0.0, size_pt: float = BODY_PT, weight: Weight = "regular") -> None:
        """A wrapped paragraph, broken over pages line by line."""
        for line in wrap(text, self.width - indent, size_pt, weight):
            self.need(line_mm(size_pt))
            self.add(*lines_at((line,), self.left + indent, self.y, size_pt, weight))
            self.y += line_mm(size_pt)

    def scratch(self) -> Writer:
        """A writer of this paper's width and no end, to find out how high something comes."""
        paper = Paper(self.paper.width_mm, 1e6, self.paper.margin_mm)
        writer = Writer(paper, title="", footer="", running="")
        writer.start_page("", running=False)
        return writer

    def space(self, height: float) -> None:
        """Leave a gap."""
        self.y += height

    def scene(self) -> Scene:
        """The finished pages with footers."""
        count = len(self._pages)
        sheets = []
        for k, items in enumerate(self._pages):
            goes_on = k + 1 < count and self._labels[k + 1].endswith(_CONTINUED)
            sheets.append(
                Page(
                    width_mm=self.paper.width_mm,
                    height_mm=self.paper.height_mm,
                    margin_mm=self.paper.margin_mm,
                    items=(*items, *self._foot(k + 1, count, goes_on=goes_on)),
                    label=f"{self.title}, page {k + 1} of {count}",
                )
            )
        return Scene(title=self.title, pages=tuple(sheets))

    def _foot(self, number: int, count: int, *, goes_on: bool) -> list[Primitive]:
        top = self.foot_top + 1.5
        rule = Line(start=(self.left, top), end=(self.right, top), width_mm=0.35)
        lines = lines_at(self.footer, self.left, top + 1.0, FOOT_PT)
        base = top + 1.0 + len(self.footer) * line_mm(FOOT_PT) + 0.76 * FOOT_PT * MM_PER_PT
        page = Text(
            at=(self.right, base), text=f"page {number} of {count}", size_pt=FOOT_PT, weight="bold", anchor="end"
        )
        stamp = Text(
            at=((self.left + self.right) / 2.0, base), text=self.stamp, size_pt=FOOT_PT, weight="bold", anchor="middle"
        )
        left = self.right - text_width_mm("page 8888 of 8888", FOOT_PT, "bold")
        on = Text(at=(left, base), text="goes on overleaf", size_pt=FOOT_PT, weight="bold", anchor="end")
        return [rule, *lines, *((stamp,) if self.stamp else ()), *((on,) if goes_on else ()), page]


def cut_to_width(text: str, width_mm: float, size_pt: float, weight: Weight = "bold") -> str:
    """The text, or as much of it as fits with an ellipsis."""
    if text_width_mm(text, size_pt, weight) <= width_mm:
        return text
    keep = len(text)
    while keep > 1 and text_width_mm(text[:keep].rstrip() + "…", size_pt, weight) > width_mm:
        keep -= 1
    return text[:keep].rstrip() + "…"
