"""Scene -> PDF with an outline and links between pages; the pages are those of `exports/pdf.py`. Needs reportlab."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any, NamedTuple

from racewright.drawing.scene import Box, Scene
from racewright.errors import MissingExtra
from racewright.exports import pdf
from racewright.printable import printable


class Bookmark(NamedTuple):
    """A line of the outline: `level` 0 stands at the top, 1 below the last 0; `page` counts from 1."""

    title: str
    page: int
    level: int = 0


class Jump(NamedTuple):
    """A box (mm, from the top left) on `page` that leads to page `target`; both count from 1."""

    page: int
    box: Box
    target: int


def to_linked_pdf(scene: Scene, bookmarks: Sequence[Bookmark], jumps: Sequence[Jump] = ()) -> bytes:
    """The scene as a PDF file, true to scale, with an outline. Raises MissingExtra when reportlab is not installed."""
    try:
        from reportlab.pdfgen.canvas import Canvas
    except ImportError as error:
        raise MissingExtra("PDF", "pdf") from error
    pdf._register_fonts()
    buffer = BytesIO()
    canvas: Any = Canvas(buffer, invariant=1, pageCompression=1)
    canvas.setTitle(printable(scene.title))
    canvas.setCreator("Racewright")
    by_page: dict[int, list[Jump]] = {}
    for jump in jumps:
        by_page.setdefault(jump.page, []).append(jump)
    marks: dict[int, list[Bookmark]] = {}
    for bookmark in bookmarks:
        marks.setdefault(bookmark.page, []).append(bookmark)
    for number, page in enumerate(scene.pages, start=1):
        canvas.setPageSize((page.width_mm * pdf.PT_PER_MM, page.height_mm * pdf.PT_PER_MM))
        canvas.setLineJoin(1)
        canvas.bookmarkPage(_name(number))
        for k, bookmark in enumerate(marks.get(number, ())):
            # two entries of one page need names of their own, or the second takes the first one's place
            name = f"{_name(number)}.{k}"
            canvas.bookmarkPage(name)
            canvas.addOutlineEntry(printable(bookmark.title), name, bookmark.level, closed=bookmark.level == 0)
        for item in page.items:
            pdf._draw(canvas, page, item)
        for jump in by_page.get(number, ()):
            left, right = jump.box.left * pdf.PT_PER_MM, jump.box.right * pdf.PT_PER_MM
            low = (page.height_mm - jump.box.bottom) * pdf.PT_PER_MM
            high = (page.height_mm - jump.box.top) * pdf.PT_PER_MM
            canvas.linkRect("", _name(jump.target), (left, low, right, high), Border="[0 0 0]")
        canvas.showPage()
    canvas.setViewerPreference("PrintScaling", "None")
    if bookmarks:
        canvas.showOutline()
    canvas.save()
    return buffer.getvalue()


def _name(page: int) -> str:
    return f"page{page}"
