"""The scene, the width table and the back ends."""

from __future__ import annotations

import re
import time
from io import BytesIO
from xml.etree import ElementTree

import pytest
from page_boxes import bounds, text_box

from racewright.drawing.metrics import fit_size_pt, text_width_mm, wrap
from racewright.drawing.scene import Arc, Box, Circle, Line, Page, Polygon, Polyline, Scene, Text
from racewright.drawing.solids import clip_convex, clip_line, convex_hull, hatch
from racewright.drawing.svg import to_svg, to_svg_pages
from racewright.exports.pdf import to_pdf

NASTY = "Panel <A> & \"B\" 'C' ]]> \x00\x07 end"


def scene_of(*items: object) -> Scene:
    page = Page(width_mm=100.0, height_mm=60.0, items=items)  # type: ignore[arg-type]
    return Scene(title="Shop & <shed>", pages=(page, page))


ALL_ITEMS = (
    Line(start=(1.0, 2.0), end=(30.0, 2.0), dash=(1.0, 0.5)),
    Polyline(points=((1.0, 5.0), (10.0, 8.0), (20.0, 5.0)), cap="round"),
    Polygon(points=((1.0, 10.0), (9.0, 10.0), (5.0, 16.0)), fill=0.8, width_mm=0.3),
    Circle(centre=(20.0, 14.0), radius_mm=4.0, fill=None),
    Arc(centre=(40.0, 20.0), radius_mm=8.0, start_deg=0.0, sweep_deg=90.0),
    Text(at=(5.0, 40.0), text="7 3/16\"", size_pt=14.0, weight="bold"),
    Text(at=(60.0, 40.0), text="turned", rotation_deg=90.0, anchor="middle"),
)  # fmt: skip


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_width_table_agrees_with_the_font(weight: str) -> None:
    from reportlab.pdfbase import pdfmetrics

    to_pdf(scene_of(Text(at=(0.0, 10.0), text="x")))
    face = {"regular": "RacewrightSans", "bold": "RacewrightSansBold"}[weight]
    for text in ('31 5/16"', "22 1/2°", "Ölpumpe – Größe ½ ◂ A B ▸", "WAVE fluff fi 0123456789", "795 mm…"):
        points = pdfmetrics.stringWidth(text, face, 12.0)
        # The table keeps 1/2048 em, the PDF library 1/1000 em: 0.01 mm over a line.
        assert text_width_mm(text, 12.0, weight) == pytest.approx(points * 25.4 / 72.0, abs=0.01)  # type: ignore[arg-type]


def test_wrapped_lines_fit_and_keep_every_letter() -> None:
    text = "insulated-throat connector Donaudampfschifffahrtsgesellschaft in the lower left knockout"
    lines = wrap(text, 30.0, 11.0)
    assert all(text_width_mm(line, 11.0) <= 30.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_a_word_as_long_as_a_book_is_broken_at_once() -> None:
    word = "conveyor" * 50_000
    began = time.process_time()
    lines = wrap(f"to the {word} 2", 60.0, 11.0)
    assert time.process_time() - began < 2.0
    assert all(text_width_mm(line, 11.0) <= 60.0 for line in lines)
    assert "".join(lines).replace(" ", "") == f"tothe{word}2"
    assert wrap("WWW", 1.0, 20.0) == ("W", "W", "W")  # narrower than a letter: one for each line


def test_size_shrinks_to_fit_but_not_below_the_least() -> None:
    assert fit_size_pt("12", 100.0, 16.0, 14.0) == 16.0
    assert fit_size_pt("a very long reading", 10.0, 16.0, 14.0) == 14.0


def test_svg_parses_escapes_and_is_in_mm() -> None:
    scene = scene_of(*ALL_ITEMS, Text(at=(5.0, 50.0), text=NASTY))
    pages = to_svg_pages(scene)
    assert len(pages) == 2
    root = ElementTree.fromstring(pages[0])
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("100mm", "60mm", "0 0 100 60")
    texts = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    assert NASTY.replace("\x00", " ").replace("\x07", " ") in texts
    stacked = ElementTree.fromstring(to_svg(scene))
    assert stacked.get("height") == "126mm"


def test_pdf_sets_the_pen_where_another_is_taken_and_anew_on_each_page() -> None:
    from pypdf import PdfReader

    ticks = [Line(start=(1.0 + k, 5.0), end=(1.0 + k, 8.0), width_mm=0.2) for k in range(60)]
    thick, dashed = (Line(start=(1.0, y), end=(60.0, y), width_mm=0.8, dash=d) for y, d in ((9.0, ()), (12.0, (2.0,))))
    turned = Text(at=(60.0, 40.0), text="turned", rotation_deg=90.0)
    reader = PdfReader(BytesIO(to_pdf(scene_of(*ticks[:30], turned, *ticks[30:], thick, dashed, ticks[0]))))
    for page in reader.pages:
        drawn = page.get_contents().operations
        widths = [float(operands[0]) * 25.4 / 72.0 for operands, operator in drawn if operator == b"w"]
        assert widths == pytest.approx([0.2, 0.8, 0.8, 0.2], abs=1e-3)
        assert sum(operator == b"S" for _, operator in drawn) == 63


def test_pdf_is_the_same_twice_and_holds_the_text() -> None:
    from pypdf import PdfReader

    scene = scene_of(*ALL_ITEMS)
    first, second = to_pdf(scene), to_pdf(scene)
    assert first == second
    reader = PdfReader(BytesIO(first))
    assert len(reader.pages) == 2
    assert '7 3/16"' in reader.pages[0].extract_text()
    # Page size in points, 1/72 in.
    assert float(reader.pages[0].mediabox.width) == pytest.approx(100.0 / 25.4 * 72.0, abs=0.01)


def test_text_box_turns_with_the_text() -> None:
    flat = text_box(Text(at=(50.0, 50.0), text="abc", size_pt=12.0))
    up = text_box(Text(at=(50.0, 50.0), text="abc", size_pt=12.0, rotation_deg=90.0))
    assert up.bottom - up.top == pytest.approx(flat.right - flat.left)
    assert up.top == pytest.approx(50.0 - (flat.right - flat.left))


def test_bounds_hold_the_stroke() -> None:
    assert bounds(Circle(centre=(10.0, 10.0), radius_mm=4.0, width_mm=1.0)) == Box(5.5, 5.5, 14.5, 14.5)
    quarter = bounds(Arc(centre=(0.0, 0.0), radius_mm=10.0, start_deg=0.0, sweep_deg=90.0, width_mm=0.0))
    assert quarter.right == pytest.approx(10.0)
    assert quarter.top == pytest.approx(-10.0)


def test_hull_clip_and_hatch() -> None:
    square = convex_hull([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (2.0, 2.0)])
    assert set(square) == {(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)}
    cut = clip_convex(square, Box(2.0, -1.0, 9.0, 9.0))
    assert {round(x, 6) for x, _ in cut} == {2.0, 4.0}
    assert clip_convex(square, Box(10.0, 10.0, 12.0, 12.0)) == ()
    assert clip_line((-5.0, 1.0), (5.0, 1.0), Box(0.0, 0.0, 2.0, 2.0)) == ((0.0, 1.0), (2.0, 1.0))
    assert clip_line((-5.0, 3.0), (5.0, 3.0), Box(0.0, 0.0, 2.0, 2.0)) is None
    strokes = hatch(square, 1.0)
    assert len(strokes) > 3
    assert all(0.0 <= v <= 4.0 for stroke in strokes for point in stroke for v in point)


@pytest.mark.parametrize("width_mm", [24.0, 27.0, 33.0, 47.0, 60.0])
def test_a_reading_is_not_broken_before_its_fraction_or_its_unit(width_mm: float) -> None:
    text = 'marks (1) 19 3/4", (2) 27 7/16", (12) 119 15/16" and (3) 1775 mm, 3 of 14 pieces, 2 ft 3 5/16 in on 12 runs'
    lines = wrap(text, width_mm, 9.5, "bold")
    assert " ".join(lines) == text
    assert not [line for line in lines if re.match(r"\d+/|mm\b|ft\b", line)]
    assert not [line for line in lines[:-1] if re.search(r"(119|27|19|1775)$", line)]
    assert wrap('mark 119 15/16"', 14.0, 9.5) == ("mark", "119", '15/16"')  # no line holds it whole
