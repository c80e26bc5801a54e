"""Scene -> PDF bytes with the shipped font embedded; the same scene gives the same bytes. Needs reportlab."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import as_file, files
from io import BytesIO
from typing import Any

from racewright.cards.pack_model import Entry, Link
from racewright.drawing.scene import Arc, Circle, Line, Page, Point, Polygon, Polyline, Primitive, Scene, Text
from racewright.errors import MissingExtra
from racewright.printable import printable

PT_PER_MM = 72.0 / 25.4
_FACES = {"regular": ("RacewrightSans", "DejaVuSans.ttf"), "bold": ("RacewrightSansBold", "DejaVuSans-Bold.ttf")}


def to_pdf(scene: Scene, outline: Sequence[Entry] = (), links: Sequence[Link] = ()) -> bytes:
    """The scene as a PDF file, true to scale, with an outline and with links between its pages where they are given.
    Raises MissingExtra when reportlab is not installed."""
    try:
        from reportlab import rl_config
        from reportlab.pdfgen.canvas import Canvas
    except ImportError as error:
        raise MissingExtra("PDF", "pdf") from error
    _register_fonts()
    # streams as bytes: writing them as letters takes a fifth of the time and of the file
    rl_config.useA85 = 0
    buffer = BytesIO()
    canvas: Any = Canvas(buffer, invariant=1, pageCompression=1)
    canvas.setTitle(printable(scene.title))
    canvas.setCreator("Racewright")
    for number, page in enumerate(scene.pages, start=1):
        canvas.setPageSize((page.width_mm * PT_PER_MM, page.height_mm * PT_PER_MM))
        canvas.setLineJoin(1)
        if outline or links:
            canvas.bookmarkPage(f"page{number}")
        for k, entry in enumerate(entry for entry in outline if entry.page == number):
            # two entries of one page need names of their own, or the second takes the first one's place
            canvas.bookmarkPage(f"page{number}.{k}")
            canvas.addOutlineEntry(printable(entry.title), f"page{number}.{k}", entry.level, closed=entry.level == 0)
        pen = _Pen(canvas)
        for item in page.items:
            _draw(canvas, pen, page, item)
        for link in links:
            if link.page == number:
                left, right = link.box.left * PT_PER_MM, link.box.right * PT_PER_MM
                low, high = ((page.height_mm - y) * PT_PER_MM for y in (link.box.bottom, link.box.top))
                canvas.linkRect("", f"page{link.target}", (left, low, right, high), Border="[0 0 0]")
        canvas.showPage()
    canvas.setViewerPreference("PrintScaling", "None")
    if outline:
        canvas.showOutline()
    canvas.save()
    return buffer.getvalue()


def _register_fonts() -> None:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name, file in _FACES.values():
        if name in pdfmetrics.getRegisteredFontNames():
            continue
        with as_file(files("racewright.drawing").joinpath("fonts", file)) as path:
            pdfmetrics.registerFont(TTFont(name, str(path)))


def _draw(canvas: Any, pen: _Pen, page: Page, item: Primitive) -> None:
    def at(point: Point) -> Point:
        return (point[0] * PT_PER_MM, (page.height_mm - point[1]) * PT_PER_MM)

    match item:
        case Line():
            pen.take(item.width_mm, item.ink, item.dash, item.cap)
            canvas.line(*at(item.start), *at(item.end))
        case Polyline():
            pen.take(item.width_mm, item.ink, item.dash, item.cap)
            canvas.drawPath(_path(canvas, [at(p) for p in item.points], close=False), stroke=1, fill=0)
        case Polygon():
            fill, stroke = _brush(canvas, pen, item.fill, item.width_mm, item.ink)
            canvas.drawPath(_path(canvas, [at(p) for p in item.points], close=True), stroke=stroke, fill=fill)
        case Circle():
            fill, stroke = _brush(canvas, pen, item.fill, item.width_mm, item.ink)
            canvas.circle(*at(item.centre), item.radius_mm * PT_PER_MM, stroke=stroke, fill=fill)
        case Arc():
            pen.take(item.width_mm, item.ink, (), "butt")
            x, y = at(item.centre)
            r = item.radius_mm * PT_PER_MM
            canvas.arc(x - r, y - r, x + r, y + r, item.start_deg, item.sweep_deg)
        case Text():
            _text(canvas, at(item.at), item)


def _text(canvas: Any, at: Point, item: Text) -> None:
    canvas.setFont(_FACES[item.weight][0], item.size_pt)
    canvas.setFillGray(item.ink)
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor] * item.width_mm * PT_PER_MM
    text = printable(item.text)
    if not item.rotation_deg:
        canvas.drawString(at[0] - back, at[1], text)
        return
    canvas.saveState()
    canvas.translate(*at)
    canvas.rotate(item.rotation_deg)
    canvas.drawString(-back, 0, text)
    canvas.restoreState()


def _path(canvas: Any, points: list[Point], *, close: bool) -> Any:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if close:
        path.close()
    return path


class _Pen:
    """The pen of one page. It is set where another is taken: a full-size strip has thousands of ticks of one pen."""

    def __init__(self, canvas: Any) -> None:
        self._canvas = canvas
        self._last: tuple[float, float, tuple[float, ...], str] | None = None

    def take(self, width_mm: float, ink: float, dash: tuple[float, ...], cap: str) -> None:
        """Draw with this pen from here on."""
        wanted = (width_mm, ink, dash, cap)
        if wanted == self._last:
            return
        self._last = wanted
        self._canvas.setLineWidth(width_mm * PT_PER_MM)
        self._canvas.setStrokeGray(ink)
        self._canvas.setLineCap(1 if cap == "round" else 0)
        self._canvas.setDash([d * PT_PER_MM for d in dash])


def _brush(canvas: Any, pen: _Pen, fill: float | None, width_mm: float, ink: float) -> tuple[int, int]:
    if fill is not None:
        canvas.setFillGray(fill)
    if width_mm > 0:
        pen.take(width_mm, ink, (), "butt")
    return (int(fill is not None), int(width_mm > 0))
