"""The paper card: nothing overlaps, nothing leaves the paper, everything is there."""

from __future__ import annotations

from io import BytesIO
from itertools import combinations, pairwise
from math import ceil
from pathlib import Path

import msgspec
import pytest
from page_boxes import bounds, text_box
from plan_factory import crowded_plan, every_plan, saddle_plan, two_piece_plan

from racewright.bends import roles
from racewright.cards.bend_card import card_pages
from racewright.cards.layout import LEAST_MARK_PT
from racewright.cards.straight_view import spread
from racewright.cards.strip import strip_pages
from racewright.cards.words import bend_names
from racewright.drawing.scene import Box, Line, Page, Scene, Text
from racewright.drawing.solids import clip_line
from racewright.drawing.svg import to_svg
from racewright.errors import UnknownName
from racewright.exports.pdf import to_pdf
from racewright.plan.plan_run import plan_run
from racewright.sequence.words import ordinal
from racewright.store.survey_file import read_survey_file
from racewright.units.tape import reading

EXAMPLES = Path(__file__).parents[2] / "examples"

PLANS = every_plan()
CASES = [(name, paper, kind) for name in PLANS for paper in ("letter", "a4") for kind in ("card", "strip")]


def drawn(name: str, paper: str, kind: str) -> Scene:
    return card_pages(PLANS[name], paper) if kind == "card" else strip_pages(PLANS[name], paper)


def texts(page: Page) -> list[Text]:
    return [item for item in page.items if isinstance(item, Text) and item.text.strip()]


@pytest.mark.parametrize(("name", "paper", "kind"), CASES)
def test_no_text_lies_on_another(name: str, paper: str, kind: str) -> None:
    for page in drawn(name, paper, kind).pages:
        boxes = [(text.text, text_box(text)) for text in texts(page)]
        # Boxes are ascent to descent, so lines set close may share 0.5 mm of empty descent.
        clashes = [(a, b) for (a, x), (b, y) in combinations(boxes, 2) if x.overlaps(y, 0.5)]
        assert clashes == []


@pytest.mark.parametrize(("name", "paper", "kind"), CASES)
def test_everything_stays_within_the_margins(name: str, paper: str, kind: str) -> None:
    for page in drawn(name, paper, kind).pages:
        m = page.margin_mm
        sheet = Box(m, m, page.width_mm - m, page.height_mm - m)
        # 0.5 mm for half the stroke of lines that lie on the margin.
        out = [item for item in page.items if not bounds(item).inside(sheet, 0.5)]
        assert out == []


@pytest.mark.parametrize("name", list(PLANS))
def test_every_mark_is_on_the_straight_and_in_the_table_large_enough(name: str) -> None:
    plan = PLANS[name]
    shown = [text for page in card_pages(plan).pages for text in texts(page)]
    for piece in plan.pieces:
        for bend in piece.bends:
            text = reading(bend.mark_tape, plan.tape.unit)
            found = [t for t in shown if t.text == text and t.weight == "bold"]
            assert len(found) >= 2
            assert all(t.size_pt >= LEAST_MARK_PT for t in found if t.size_pt > 11.0)
        cut = reading(piece.cut_length_tape, plan.tape.unit)
        assert any(cut in t.text for t in shown)


@pytest.mark.parametrize("name", list(PLANS))
def test_pdf_holds_every_mark(name: str) -> None:
    from pypdf import PdfReader

    plan = PLANS[name]
    reader = PdfReader(BytesIO(to_pdf(card_pages(plan, "a4"))))
    words = " ".join(page.extract_text() for page in reader.pages)
    for piece in plan.pieces:
        for bend in piece.bends:
            assert reading(bend.mark_tape, plan.tape.unit) in words
    assert "authority having jurisdiction" in " ".join(words.split())


def test_text_is_escaped_in_svg() -> None:
    svg = to_svg(card_pages(PLANS["long names"]))
    assert "&lt;standby&gt;" in svg
    assert "<standby>" not in svg


@pytest.mark.parametrize(("name", "length_mm"), [("saddle in", 101.6), ("saddle mm", 100.0)])
def test_check_bar_is_true_to_scale(name: str, length_mm: float) -> None:
    page = strip_pages(PLANS[name]).pages[0]
    label = next(t for t in texts(page) if t.text.startswith("must measure "))
    bars = [
        item
        for item in page.items
        if isinstance(item, Line) and item.start[1] == item.end[1] and abs(item.start[1] - label.at[1]) < 3.0
    ]
    assert [bar.end[0] - bar.start[0] for bar in bars] == pytest.approx([length_mm], abs=1e-9)
    first, last = bars[0].start[0], bars[0].end[0]
    # SVG coordinates are mm, three decimals.
    assert f'x1="{first:g}"' in to_svg(strip_pages(PLANS[name]))
    assert f'x2="{last:.3f}'.rstrip("0").rstrip(".") in to_svg(strip_pages(PLANS[name]))


def test_check_bar_measures_four_inches_in_the_pdf() -> None:
    from pypdf import PdfReader

    reader = PdfReader(BytesIO(to_pdf(strip_pages(saddle_plan()))))
    content = reader.pages[0].get_contents()
    assert content is not None
    numbers = content.get_data().decode("latin-1").split()
    lengths = [
        float(numbers[k + 3]) - float(numbers[k])
        for k in range(len(numbers) - 5)
        if numbers[k + 2] == "m" and numbers[k + 5] == "l" and numbers[k + 1] == numbers[k + 4]
    ]
    # 4 in = 288 pt; the PDF keeps at least two decimals.
    assert any(abs(length - 288.0) < 0.02 for length in lengths)


def test_strip_marks_lie_at_their_exact_distance() -> None:
    plan = saddle_plan()
    scene = strip_pages(plan)
    span = 215.9 - 2 * 12.7 - 16.0
    found = []
    for page in scene.pages:
        found += [
            item.start[0]
            for item in page.items
            if isinstance(item, Line) and item.width_mm == 0.5 and item.start[0] == item.end[0]
        ]
    piece = plan.pieces[0]
    each = piece.cut_length_mm / ceil(piece.cut_length_mm / span)
    wanted = [12.7 + 8.0 + bend.mark_mm % each for bend in piece.bends]
    assert found == pytest.approx(wanted, abs=1e-9)


def test_cut_after_bending_says_stock_and_where_to_cut() -> None:
    plan = two_piece_plan()
    words = " ".join(t.text for page in card_pages(plan).pages for t in texts(page))
    piece = next(piece for piece in plan.pieces if piece.trim_after)
    assert piece.cut_ends == ("A", "B")
    assert "STOCK, at least" in words
    assert "cut it on lines A and B after bending" in words
    assert (
        f"draw cut line A {piece.trim_marks[0].text}\" from the stick's end: every reading counts from that line"
        in words
    )
    assert words.count("cut line") == 3  # where the tape is hooked, and at each line on the straight conduit


def test_unknown_paper_is_refused() -> None:
    with pytest.raises(UnknownName, match="papyrus"):
        card_pages(saddle_plan(), "papyrus")


def test_spread_keeps_order_gaps_and_room() -> None:
    centres = spread([10.0, 11.0, 12.0, 95.0], [20.0, 20.0, 20.0, 20.0], 0.0, 100.0, 2.0)
    assert all(b - a >= 22.0 - 1e-9 for a, b in pairwise(centres))
    assert centres[0] >= 10.0
    assert centres[-1] <= 90.0
    assert spread([30.0, 70.0], [10.0, 10.0], 0.0, 100.0, 2.0) == [30.0, 70.0]


def test_words() -> None:
    assert [ordinal(n) for n in (1, 2, 3, 4, 11, 12, 13, 21)] == [
        "1st", "2nd", "3rd", "4th", "11th", "12th", "13th", "21st",
    ]  # fmt: skip
    piece = saddle_plan().pieces[0]
    assert bend_names(piece.bends[0], piece) == "saddle 1, outer"


def test_the_bends_of_a_four_bend_saddle_are_told_apart() -> None:
    piece = crowded_plan().pieces[0]
    named = tuple(msgspec.structs.replace(bend, shape="duct", role=roles.SADDLE_FOUR) for bend in piece.bends[:4])
    four = msgspec.structs.replace(piece, bends=named)
    assert [bend_names(bend, four) for bend in named] == [
        "duct, saddle leg near A",
        "duct, saddle top near A",
        "duct, saddle top near B",
        "duct, saddle leg near B",
    ]
    # the others are on the next piece: which of the four these are is not known
    two = msgspec.structs.replace(piece, bends=named[:2])
    assert {bend_names(bend, two) for bend in two.bends} == {"duct, four-bend saddle"}


@pytest.mark.parametrize("name", ["pump-house-saddle", "pump-house-kick", "workshop-panel-stub", "packing-shed-duct"])
def test_no_line_is_drawn_through_a_dimension(name: str) -> None:
    """A leader through a figure could be read as another; what is drawn before its white patch lies under it."""
    plan = plan_run(read_survey_file(EXAMPLES / f"{name}.yaml").survey)
    said = {dimension.text for dimension in plan.dimensions}
    for page in card_pages(plan).pages:
        for i, text in enumerate(page.items):
            if isinstance(text, Text) and text.text in said:
                after = [line for line in page.items[i + 1 :] if isinstance(line, Line)]
                assert not [line for line in after if clip_line(line.start, line.end, text_box(text))], text.text
