"""The drawing of the finished piece: as large as its frame allows, and no label on the conduit."""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot
from pathlib import Path

import pytest
from page_boxes import bounds, text_box
from plan_factory import every_plan
from test_bench_page import NINE, planned

from racewright.cards.bend_card import bench_pages
from racewright.cards.side_view import SideView, side_view
from racewright.cards.words import ends_words
from racewright.drawing.scene import WHITE, Box, Polyline, Text, around
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file

EXAMPLES = Path(__file__).parents[2] / "examples"
#: What a bench page gives: the whole width of a sheet, a part of it beside words, a low strip.
FRAMES = {
    "wide": Box(13.0, 100.0, 203.0, 158.0),
    "beside": Box(13.0, 120.0, 125.0, 215.0),
    "low": Box(13, 200, 203, 236),
}
TURNS = """units: in
run:
  name: Pump house, around the tank
  raceway: EMT 3/4
  start: {name: feed box, fitting: compression}
  end: {name: float box, fitting: compression}
  walk:
    - leg: 27 1/2
    - turn: away
    - leg: 18
    - turn: left
    - leg: 22 1/2
"""


def plans() -> dict[str, Plan]:
    found = {path.stem: plan_run(read_survey_file(path).survey) for path in sorted(EXAMPLES.glob("*.yaml"))}
    return {**every_plan(), **found, "nine": planned(NINE), "turns": planned(TURNS)}


PLANS = plans()
CASES = [
    (name, index, frame)
    for name, plan in PLANS.items()
    for index, piece in enumerate(plan.pieces)
    if piece.bends
    for frame in FRAMES
]


def conduit(view: SideView) -> Iterator[tuple[float, float, float]]:
    """Places along the middle of what is drawn white between two walls, and half its width."""
    for item in view.items:
        if isinstance(item, Polyline) and item.ink == WHITE:
            for (x0, y0), (x1, y1) in zip(item.points, item.points[1:], strict=False):
                parts = int(hypot(x1 - x0, y1 - y0) / 0.4) + 1
                for k in range(parts + 1):
                    yield x0 + (x1 - x0) * k / parts, y0 + (y1 - y0) * k / parts, item.width_mm / 2.0


@pytest.mark.parametrize(("name", "index", "frame"), CASES)
def test_no_label_lies_on_the_conduit_and_all_in_the_frame(name: str, index: int, frame: str) -> None:
    area = FRAMES[frame]
    for readings in (True, False):
        view = side_view(PLANS[name], index, area, 8.0, with_readings=readings)
        boxes = [(item.text, text_box(item)) for item in view.items if isinstance(item, Text)]
        pipe = list(conduit(view))
        assert pipe
        for text, box in boxes:
            assert not [p for p in pipe if box.overlaps(Box(p[0] - p[2], p[1] - p[2], p[0] + p[2], p[1] + p[2]))], text
        reach = [around(item.points) if isinstance(item, Polyline) else bounds(item) for item in view.items]
        assert [box for box in reach if not box.inside(area, 0.6)] == []


@pytest.mark.parametrize(("name", "index", "frame"), CASES)
def test_every_bend_has_its_number_on_the_drawing(name: str, index: int, frame: str) -> None:
    view = side_view(PLANS[name], index, FRAMES[frame], 8.0, with_readings=False)
    drawn = {item.text for item in view.items if isinstance(item, Text)}
    told = [f"{b.name}:" for b in PLANS[name].pieces[index].bends if str(b.number) not in drawn]
    assert len(told) <= (name == "crowded")  # eight bends 2 in apart
    for mark in told:
        assert any(text.startswith(mark) for text in view.left_over)
    assert {"A", "B"} <= drawn


@pytest.mark.parametrize("frame", ["wide", "beside"])
@pytest.mark.parametrize("name", ["packing-shed-two-turns", "nine", "turns", "pump-house-saddle", "workshop-bench-u"])
def test_it_fills_its_frame(name: str, frame: str) -> None:
    area = FRAMES[frame]
    pipe = around(tuple((x, y) for x, y, _ in conduit(side_view(PLANS[name], 0, area, 8.0, with_readings=False))))
    wide = (pipe.right - pipe.left) / (area.right - area.left)
    high = (pipe.bottom - pipe.top) / (area.bottom - area.top)
    assert max(wide, high) > 0.45


def test_beside_words_it_still_says_what_its_readings_count_from() -> None:
    (page,) = bench_pages(PLANS["turns"]).pages
    said = " ".join(item.text for item in page.items if isinstance(item, Text))
    assert "Readings count from the faces of its fittings" in " ".join(said.split())


@pytest.mark.parametrize(("start", "end"), [("compression", "none"), ("none", "none"), ("none", "compression")])
def test_an_end_without_a_fitting_stays_open_in_words_and_picture(start: str, end: str) -> None:
    text = TURNS.replace("feed box, fitting: compression", f"feed box, fitting: {start}")
    plan = planned(text.replace("float box, fitting: compression", f"float box, fitting: {end}"))
    (piece,) = plan.pieces
    words = ends_words(piece, plan)
    assert wider_than_the_conduit(PLANS["turns"]) - wider_than_the_conduit(plan) == [start, end].count("none")
    for letter, kind, name, stands in (("A", start, "feed box", piece.end_a), ("B", end, "float box", piece.end_b)):
        if kind == "none":
            assert f"End {letter} stays open at {name} (no fitting)." in words
            assert (stands.fitting, stands.open_at, stands.insertion_mm) == ("", name, 0.0)
        else:
            assert f"End {letter} into {name} (compression), " in words
            assert stands.open_at == ""
            other = "B" if letter == "A" else "A"
            told = [f"End {other} stays open: nothing is made there." in step.detail for step in plan.steps]
            assert told.count(True) == 1


def wider_than_the_conduit(plan: Plan) -> int:
    """How many things wider than the conduit are drawn: what its ends go into."""
    view = side_view(plan, 0, FRAMES["wide"], 8.0, with_readings=False)
    black = [item.width_mm for item in view.items if isinstance(item, Polyline) and item.ink != WHITE]
    tube = min(item.width_mm for item in view.items if isinstance(item, Polyline) and item.ink == WHITE)
    return sum(width > tube + 2.0 for width in black)
