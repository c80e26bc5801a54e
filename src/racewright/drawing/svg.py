"""Scene -> SVG text. One file a page, or all pages stacked in one file. Knows no plan."""

from __future__ import annotations

from racewright.drawing.metrics import MM_PER_PT
from racewright.drawing.scene import Arc, Circle, Line, Page, Point, Polygon, Polyline, Primitive, Scene, Text

FONT_FAMILY = "DejaVu Sans, Verdana, Bitstream Vera Sans, sans-serif"
_GAP_MM = 6.0
_ESCAPES = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"}


def escape(text: str) -> str:
    """Text for SVG content or a quoted attribute; control characters become spaces."""
    return "".join(_ESCAPES.get(c, c if c.isprintable() else " ") for c in text)


def to_svg_pages(scene: Scene) -> tuple[str, ...]:
    """One SVG document a page, width and height in mm."""
    return tuple(
        _document(page.width_mm, page.height_mm, page.label or scene.title, _page(page)) for page in scene.pages
    )


def to_svg(scene: Scene) -> str:
    """All pages in one SVG document, one below the other with a gap of 6 mm."""
    top = 0.0
    body = []
    for page in scene.pages:
        body.append(f'<g transform="translate(0 {_n(top)})">\n{_page(page)}</g>\n')
        top += page.height_mm + _GAP_MM
    width = max((page.width_mm for page in scene.pages), default=0.0)
    return _document(width, max(0.0, top - _GAP_MM), scene.title, "".join(body))


def _document(width_mm: float, height_mm: float, title: str, body: str) -> str:
    w, h = _n(width_mm), _n(height_mm)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}" '
        f'font-family="{FONT_FAMILY}" stroke-linejoin="round">\n'
        f"<title>{escape(title)}</title>\n{body}</svg>\n"
    )


def _page(page: Page) -> str:
    sheet = f'<rect width="{_n(page.width_mm)}" height="{_n(page.height_mm)}" fill="#fff"/>\n'
    return sheet + "".join(_item(item) + "\n" for item in page.items)


def _item(item: Primitive) -> str:
    match item:
        case Line():
            (x1, y1), (x2, y2) = item.start, item.end
            ends = f'x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}"'
            return f"<line {ends}{_stroke(item.width_mm, item.ink, item.dash, item.cap)}/>"
        case Polyline():
            stroke = _stroke(item.width_mm, item.ink, item.dash, item.cap)
            return f'<polyline points="{_points(item.points)}" fill="none"{stroke}/>'
        case Polygon():
            fill = _fill(item.fill)
            return f'<polygon points="{_points(item.points)}"{fill}{_outline(item.width_mm, item.ink)}/>'
        case Circle():
            (x, y), r = item.centre, item.radius_mm
            round_ = f'cx="{_n(x)}" cy="{_n(y)}" r="{_n(r)}"'
            return f"<circle {round_}{_fill(item.fill)}{_outline(item.width_mm, item.ink)}/>"
        case Arc():
            return _arc(item)
        case Text():
            return _text(item)


def _arc(arc: Arc) -> str:
    half = arc.start_deg + arc.sweep_deg / 2.0
    turn = 0 if arc.sweep_deg > 0 else 1
    r = _n(arc.radius_mm)
    start = arc.point_at(arc.start_deg)
    path = f"M{_n(start[0])} {_n(start[1])}"
    for angle in (half, arc.start_deg + arc.sweep_deg):
        x, y = arc.point_at(angle)
        path += f" A{r} {r} 0 0 {turn} {_n(x)} {_n(y)}"
    return f'<path d="{path}" fill="none"{_stroke(arc.width_mm, arc.ink, (), "butt")}/>'


def _text(text: Text) -> str:
    x, y = _n(text.at[0]), _n(text.at[1])
    weight = ' font-weight="bold"' if text.weight == "bold" else ""
    anchor = f' text-anchor="{text.anchor}"' if text.anchor != "start" else ""
    turn = f' transform="rotate({_n(-text.rotation_deg)} {x} {y})"' if text.rotation_deg else ""
    ink = f' fill="{_grey(text.ink)}"' if text.ink else ""
    size = _n(text.size_pt * MM_PER_PT)
    return f'<text x="{x}" y="{y}" font-size="{size}"{weight}{anchor}{turn}{ink}>{escape(text.text)}</text>'


def _stroke(width_mm: float, ink: float, dash: tuple[float, ...], cap: str) -> str:
    pattern = f' stroke-dasharray="{" ".join(_n(d) for d in dash)}"' if dash else ""
    ends = ' stroke-linecap="round"' if cap == "round" else ""
    return f' stroke="{_grey(ink)}" stroke-width="{_n(width_mm)}"{pattern}{ends}'


def _outline(width_mm: float, ink: float) -> str:
    return f' stroke="{_grey(ink)}" stroke-width="{_n(width_mm)}"' if width_mm > 0 else ""


def _fill(fill: float | None) -> str:
    return f' fill="{"none" if fill is None else _grey(fill)}"'


def _grey(ink: float) -> str:
    level = round(255 * min(1.0, max(0.0, ink)))
    return f"#{level:02x}{level:02x}{level:02x}"


def _points(points: tuple[Point, ...]) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in points)


def _n(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
