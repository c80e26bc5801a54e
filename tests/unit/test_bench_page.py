"""The bench page: everything to cut, mark, bend and put up a run stands on it, on one sheet for up to nine bends."""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path

import msgspec
import pytest
from page_boxes import bounds, text_box
from plan_factory import every_plan

from racewright.cards.bend_card import bench_pages, card_pages
from racewright.cards.layout import LEAST_MARK_PT
from racewright.cards.text.bend_card import text_bench, text_card
from racewright.cautions import DECIDES
from racewright.cli.main import main
from racewright.drawing.scene import Box, Circle, Page, Text
from racewright.errors import Finding, Severity
from racewright.operations.answer import answer
from racewright.operations.common import Refused
from racewright.operations.plan import CardAnswer
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.sequence.words import REFERENCE_WORDS, ordinal
from racewright.store.survey_file import read_survey_file, survey_from_text
from racewright.units.angle import hand_angle
from racewright.units.tape import format_length, reading

EXAMPLES = Path(__file__).parents[2] / "examples"
#: A saddle, two turns and two offsets on one stick: nine bends, none in one plane.
NINE = """units: in
run:
  name: Workshop, compressor feed past the water tank
  raceway: EMT 1/2
  start: {name: panel, fitting: set-screw}
  end: {name: compressor, fitting: set-screw}
  walk:
    - leg: 29 1/2
      features:
        - saddle: {name: water pipe, center: 14 3/4, over: round, height: 1 3/4, width: 1 3/4}
    - turn: left
    - leg: 30 3/4
      features:
        - offset: {rise: 2 1/8, starts_at: 11, toward: away}
    - turn: left
    - leg: 34 1/2
      features:
        - offset: {rise: 2 5/8, starts_at: 14, toward: away}
"""
#: Four whole sticks along a wall, then one corner.
YARD = """units: in
run:
  name: Packing shed, yard light
  raceway: EMT 3/4
  start: {fitting: set-screw}
  end: {fitting: set-screw}
  walk:
    - leg: 41 ft
    - turn: left
    - leg: 37
"""


def planned(text: str) -> Plan:
    return plan_run(survey_from_text(text).survey)


def texts(page: Page) -> list[Text]:
    return [item for item in page.items if isinstance(item, Text) and item.text.strip()]


def words(page: Page) -> str:
    return " ".join(" ".join(text.text for text in texts(page)).split())


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_nine_bends_stand_on_one_sheet_with_all_that_is_needed(paper: str) -> None:
    plan = planned(NINE)
    (piece,) = plan.pieces
    assert len(piece.bends) == 9
    (page,) = bench_pages(plan, paper).pages
    said = words(page)
    shown = texts(page)
    assert reading(piece.cut_length_tape, "in") in said
    for bend in piece.bends:
        marks = [t for t in shown if t.text == reading(bend.mark_tape, "in") and t.weight == "bold"]
        assert len(marks) >= 2
        assert min(t.size_pt for t in marks) >= LEAST_MARK_PT
        assert ordinal(bend.order) in said
        assert hand_angle(bend.pointer_deg) in said
        assert REFERENCE_WORDS[bend.reference] in said
        for told in (bend.spin_words, bend.look_at):
            assert told.rstrip(".") in said
    for told in (*plan.along, *(caution for caution in plan.cautions if caution != DECIDES)):
        assert told in said
    for finding in plan.findings:
        if finding.severity == "problem":
            assert finding.message in said
    assert f"plan {plan.digest}" in said


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_where_room_is_short_the_drawing_holds_the_bends_and_the_readings_stand_in_words(paper: str) -> None:
    plan = planned(NINE)
    (page,) = bench_pages(plan, paper).pages
    readings = [dimension.text for dimension in plan.dimensions]
    assert readings
    assert not set(readings) & {text.text for text in texts(page)}
    assert f"It reads {'; '.join(readings)}." in words(page)
    assert 'Readings count from the faces of its fittings; both ends go 3/4" past them.' in words(page)


def test_the_order_of_a_tenth_bend_keeps_clear_of_its_disc() -> None:
    tread = "        - offset: {rise: 1, starts_at: %d, angle: 10}\n"
    walk = "    - leg: 116\n      features:\n" + "".join(tread % at for at in range(5, 105, 18))
    plan = planned(f"units: in\nrun:\n  name: x\n  raceway: EMT 1/2\n  walk:\n{walk}")
    (piece,) = plan.pieces
    assert len(piece.bends) == 12
    for page in bench_pages(plan).pages:
        discs = [bounds(item) for item in page.items if isinstance(item, Circle) and item.fill == 0.0]
        for text in texts(page):
            if re.fullmatch(r"\d+(st|nd|rd|th)", text.text):
                assert not [disc for disc in discs if disc.grown(0.5).overlaps(text_box(text))]


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", [*every_plan(), "nine", "yard"])
def test_nothing_lies_on_another_and_all_within_the_margins(name: str, paper: str) -> None:
    plan = {"nine": lambda: planned(NINE), "yard": lambda: planned(YARD)}.get(name, lambda: every_plan()[name])()
    for page in bench_pages(plan, paper).pages:
        boxes = [(text.text, text_box(text)) for text in texts(page)]
        # Boxes are ascent to descent, so lines set close may share 0.5 mm of empty descent.
        assert [(a, b) for (a, x), (b, y) in combinations(boxes, 2) if x.overlaps(y, 0.5)] == []
        m = page.margin_mm
        sheet = Box(m, m, page.width_mm - m, page.height_mm - m)
        assert [item for item in page.items if not bounds(item).inside(sheet, 0.5)] == []


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.yaml")), ids=lambda path: path.stem)
def test_a_run_of_one_piece_takes_one_sheet_and_the_card_begins_with_it(path: Path) -> None:
    plan = plan_run(read_survey_file(path).survey)
    alone, card = bench_pages(plan), card_pages(plan)
    assert len(alone.pages) < len(card.pages)
    if len(plan.pieces) == 1:
        assert len(alone.pages) == 1
    for bench, whole in zip(alone.pages, card.pages, strict=False):
        numbers = re.compile(r"page \d+ of \d+")
        assert numbers.sub("", words(bench)) == numbers.sub("", words(whole))
    assert text_card(plan).startswith(text_bench(plan).split("\n\n─", 1)[0])


def test_of_several_pieces_each_stands_in_the_list_and_only_bent_ones_have_a_sheet() -> None:
    plan = planned(YARD)
    assert [bool(piece.bends) for piece in plan.pieces].count(True) == 1
    pages = bench_pages(plan).pages
    assert len(pages) <= 2
    first, whole = words(pages[0]), " ".join(words(page) for page in pages)
    straps = plan.checks.straps_mm if plan.checks else ()
    for number, piece in enumerate(plan.pieces, start=1):
        assert reading(piece.cut_length_tape, "in") in first
        assert (f"Piece {number} of {len(plan.pieces)}:" in whole) == bool(piece.bends)
        for strap in piece.on_it_mm(straps):
            assert format_length(strap, plan.tape) in first
    assert sum(len(piece.on_it_mm(straps)) for piece in plan.pieces) == len(straps)
    assert whole.count("Bend it, in this order") == 1


def test_a_straight_piece_has_no_marks_and_nothing_to_bend() -> None:
    plan = planned("units: in\nrun:\n  name: Pump house, well cap\n  raceway: EMT 1/2\n  walk:\n    - leg: 66 3/8\n")
    for said in (*(words(page) for page in card_pages(plan).pages), text_card(plan)):
        assert "Bend it" not in said
        assert "BEND IT" not in said
        assert "Mark it" not in said


def test_the_card_operation_and_the_command_give_it_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = EXAMPLES / "pump-house-kick.yaml"
    survey = read_survey_file(path).written
    got = answer("card", {"survey": msgspec.to_builtins(survey), "what": "bench"})
    assert not isinstance(got, Refused)
    assert isinstance(got, CardAnswer)
    assert len(got.pages) == 1
    out = tmp_path / "bench.svg"
    assert main(["plan", str(path), "--bench", "--svg", str(out)]) == 0
    said, err = capsys.readouterr()
    assert "bench page written to" in err
    assert "page 1 of 1" in out.read_text(encoding="utf-8")
    for wanted in ("CUT", "MARK IT", "BEND IT, IN THIS ORDER", "THE FINISHED PIECE", "TAKE CARE"):
        assert wanted in said
    for more in ("STEPS", "WHAT YOU MEASURED", "run.ream"):
        assert more not in said


def test_a_whole_length_is_taken_not_cut() -> None:
    plan = planned(YARD)
    whole = [piece for piece in plan.pieces if piece.is_whole]
    assert whole
    assert all(abs(piece.cut_length_mm - piece.stock_mm) < 0.5 for piece in whole)
    taken = {step.piece for step in plan.steps if step.title.startswith("Take a whole length")}
    assert taken == {number for number, piece in enumerate(plan.pieces, start=1) if piece.is_whole}
    assert {step.piece for step in plan.steps if step.kind == "cut"}.isdisjoint(taken)
    assert "a whole length" in words(bench_pages(plan).pages[0])
    assert text_bench(plan).count("a whole length") >= len(whole)


def test_a_whole_length_that_waits_for_a_union_is_taken_and_shortened_only_for_that() -> None:
    plan = planned(
        "units: in\nrun:\n  name: Pump house, riser\n  raceway: RMC 1\n  start: {fitting: hub}\n  end: {fitting: hub}\n"
        "  walk:\n    - leg: 228\n"
    )
    (union,) = [joint for joint in plan.joints if joint.how == "union"]
    said = " ".join(text_bench(plan).split())
    piece = plan.pieces[(union.before or 0) - 1]
    assert piece.is_whole
    told = "a whole length; shorten it only by what the union is longer"
    assert f"{union.before}. TAKE {reading(piece.cut_length_tape, 'in')}, {told}." in said
    (step,) = [step for step in plan.steps if step.piece == union.before and step.kind == "stock"]
    assert step.title == f"Take a whole length, {reading(piece.cut_length_tape, 'in')} ({piece.label})"
    assert "by what it is longer, cut end B shorter" in step.detail
    assert step.care == ("cut",)
    for page in (said, words(bench_pages(plan).pages[0])):
        assert page.count(step.detail) == 1


#: Two 90s with less straight between them than the hook takes.
TOO_CLOSE = """units: in
run:
  name: Packing shed, door opener
  raceway: EMT 1/2
  walk:
    - leg: 23
    - turn: left
    - leg: 9 3/4
    - turn: left
    - leg: 21
"""


def test_without_a_bending_order_nothing_is_said_to_be_cut() -> None:
    plan = planned(TOO_CLOSE)
    (piece,) = plan.pieces
    assert not piece.order_known
    cut = reading(piece.cut_length_tape, "in")
    for said in (words(bench_pages(plan).pages[0]), " ".join(text_bench(plan).split())):
        assert "STOP do not cut or bend it yet" in said
        assert f"as planned {cut}; its problem says what would work" in said
        assert "CUT" not in said


def test_a_piece_on_its_own_sheet_bears_what_stands_against_it() -> None:
    plan = planned(YARD)
    (number,) = [number for number, piece in enumerate(plan.pieces, start=1) if piece.bends]
    piece = plan.pieces[number - 1]
    own = Finding(
        rule="bend.order", severity="problem", message="No order for the corner.", where=f"{piece.label}, mark 1"
    )
    other = Finding(rule="bend.order", severity="problem", message="No thread for the first.", where="piece 1")
    long = Finding(rule="run.test", severity="problem", message="The eave is not measured yet. " * 100)
    stuck = msgspec.structs.replace(piece, ways=())
    pieces = tuple(stuck if each is piece else each for each in plan.pieces)
    plan = msgspec.structs.replace(plan, pieces=pieces, findings=(own, other, long))
    first, *rest = [words(page) for page in bench_pages(plan).pages]
    (sheet,) = [page for page in rest if f"Piece {number} of {len(pieces)}: STOP do not cut or bend it yet" in page]
    assert own.message in first
    assert own.message in sheet
    assert other.message in first
    assert other.message not in sheet


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("count", [1, 5, 12])
def test_every_problem_and_caution_is_printed_where_room_is_short_too(paper: str, count: int) -> None:
    plan = planned(NINE)
    texts_of = {
        "problem": "The guard rail at post %d is in the way of the run.",
        "caution": "Hold the reel at door %d back.",
    }
    severities: tuple[Severity, ...] = ("problem", "caution")
    findings = tuple(
        Finding(rule="run.test", severity=severity, message=texts_of[severity] % number)
        for severity in severities
        for number in range(1, count + 1)
    )
    pages = bench_pages(msgspec.structs.replace(plan, findings=findings), paper).pages
    said = words(pages[0])
    for finding in findings:
        assert finding.message in said
    assert "whole card" not in said
    assert min(text.size_pt for page in pages for text in texts(page)) >= 6.4 or count == 12
    assert ["goes on overleaf" in words(page) for page in pages] == [True] * (len(pages) - 1) + [False]


def test_a_hook_on_conduit_too_short_to_hold_is_told_with_its_bend() -> None:
    plan = planned(
        "units: in\nrun:\n  name: Pump house, float switch\n  raceway: EMT 1/2\n  walk:\n    - leg: 11 1/4\n"
        "      from: face\n    - turn: left\n    - leg: 38\n"
    )
    (bend,) = plan.pieces[0].bends
    short = min(bend.arc_start_mm, plan.pieces[0].cut_length_mm - bend.arc_end_mm)
    told = f"Hook on a short end, {format_length(short, plan.tape)}: hold the conduit on "
    told += f"{'B' if bend.hook == 'A' else 'A'}'s side, or leave "
    (step,) = [step for step in plan.steps if step.kind == "bend"]
    for said in (words(bench_pages(plan).pages[0]), " ".join(text_bench(plan).split()), step.detail):
        assert said.count(told) == 1


def test_a_run_of_straight_pieces_has_no_empty_column() -> None:
    plan = planned("units: in\nrun:\n  name: Packing shed, eave\n  raceway: EMT 1/2\n  walk:\n    - leg: 32 ft\n")
    assert len(plan.pieces) > 1
    said = [text.text for page in bench_pages(plan).pages for text in texts(page)]
    assert "length" in said
    assert "bends" not in said
