"""A plan's pieces in the words of the card, as a screen shows them."""

from __future__ import annotations

import pytest

from racewright.cards.text.bend_card import text_bench
from racewright.cards.words import tool_words
from racewright.operations.at_bench import PieceAtBench, pieces_at_bench
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

CORNER = """
    - leg: 51 3/8
      from: face
      to: back
      features:
        - offset: {name: purlin, rise: 2 5/8, starts_at: 15 1/4, angle: 22.5}
    - turn: left
    - leg: 35 1/2
      from: back
      to: face
"""
TIGHT = "    - leg: 31\n" + "    - turn: left\n    - leg: 12\n" * 3 + "    - turn: left\n    - leg: 31\n"


def planned(walk: str, raceway: str = "EMT 1/2", **run: str) -> tuple[Plan, tuple[PieceAtBench, ...]]:
    head = {"name": "packing shed", "raceway": raceway, "start": "{fitting: none}", "end": "{fitting: none}"} | run
    text = "run:\n" + "".join(f"  {key}: {value}\n" for key, value in head.items()) + f"  walk:\n{walk}"
    plan = plan_run(survey_from_text(text).survey)
    return plan, pieces_at_bench(plan)


def test_a_bend_is_told_by_order_mark_and_hook_as_on_the_card() -> None:
    plan, (piece,) = planned(CORNER)
    card = " ".join(text_bench(plan).split())
    assert sorted(said.name for said in piece.bends) == sorted(
        f"{order} bend, mark {bend.number}"
        for bend in plan.pieces[0].bends
        for order in [("1st", "2nd", "3rd")[bend.order - 1]]
    )
    for said, bend in zip(piece.bends, plan.pieces[0].bends, strict=True):
        assert said.placed.endswith(f" on mark {bend.number}")
        assert said.hook == f"hook toward {bend.hook}"
        assert f"bend to {said.bend_to}, {said.read}" in card
    assert [line.name for line in piece.lines] == ["1", "2", "3"]
    assert (piece.take, piece.stop) == ("CUT", "")


@pytest.mark.parametrize(("raceway", "made"), [("PVC-40 1", "heat it from"), ("EMT 2", "by machine or form")])
def test_without_a_shoe_a_bend_begins_or_ends_and_nothing_hooks(raceway: str, made: str) -> None:
    plan, (piece,) = planned(CORNER, raceway, bend_radius="9 1/2")
    for said, bend in zip(piece.bends, plan.pieces[0].bends, strict=True):
        assert said.placed == f"bend {'begins' if bend.hook == 'A' else 'ends'} at mark {bend.number}"
        assert said.hook == ""
        assert bend.stance_words.startswith(made)
    assert all(line.hook == "" and line.what in ("bend begins", "bend ends") for line in piece.lines)


def test_what_is_cut_after_bending_is_taken_as_stock_and_has_its_cut_line() -> None:
    plan, (piece,) = planned(CORNER, cut="after")
    whole = plan.pieces[0]
    assert piece.take == "STOCK, at least"
    assert piece.length.mm == whole.least_stock_mm > whole.cut_length_mm
    cut = [line for line in piece.lines if line.is_cut]
    assert [(line.name, line.what) for line in cut][-1] == ("B", "cut line")
    assert cut[-1].at.mm == whole.cut_length_mm
    assert "cut it on line" in piece.more


def test_whole_sticks_are_taken() -> None:
    _, pieces = planned("    - leg: 27 ft\n")
    assert [piece.take for piece in pieces[:2]] == ["TAKE", "TAKE"]
    assert pieces[-1].take == "CUT"


def test_a_piece_without_a_bending_order_waits() -> None:
    plan, (piece,) = planned(TIGHT)
    assert not plan.pieces[0].ways
    assert piece.stop == "Do not cut or bend it yet"
    assert "No bending order is known" in piece.stop_why
    assert [said.name for said in piece.bends] == [f"mark {number}" for number in range(1, len(piece.bends) + 1)]


def test_straps_are_counted_from_end_a_of_their_own_piece() -> None:
    plan, pieces = planned("    - {leg: 26 ft, from: face, to: face}\n", "EMT 3/4")
    assert plan.checks is not None
    assert len(pieces) > 1
    along = [
        piece.run_start_mm + strap.mm for piece, told in zip(plan.pieces, pieces, strict=True) for strap in told.straps
    ]
    assert sorted(along) == pytest.approx(sorted(plan.checks.straps_mm))
    for step in plan.steps:
        for strap in pieces[(step.piece or 1) - 1].straps if step.kind == "strap" else ():
            assert strap.tape in step.detail


def test_the_tool_is_named_with_whose_figures_it_has() -> None:
    assert tool_words(planned(CORNER)[0]) == "emt-1/2, taught figures: calibrate yours"
    assert "radius as given" in tool_words(planned(CORNER, "EMT 2", bend_radius="9 1/2")[0])
    assert tool_words(planned("    - {leg: 60, from: face, to: face}\n")[0]) == ""
