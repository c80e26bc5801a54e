"""What a full plan adds to the marks: pieces and couplings, other ways, forecast, way in, straps, choices."""

from itertools import pairwise
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.errors import InputError, LimitError
from racewright.operations.answer import ask
from racewright.operations.plan import PlanAnswer, PlanRequest
from racewright.plan.choices import printed_tables
from racewright.plan.from_json import read_plan
from racewright.plan.model import NoteBlock, Plan
from racewright.plan.pipeline import mark_run, plan_survey
from racewright.plan.plan_run import choose_bender, plan_run
from racewright.store.survey_file import read_survey_file, survey_from_text
from racewright.units.tape import format_length

ROOT = Path(__file__).parents[2] / "examples"
IN = 25.4


def couplings_mm(plan: Plan) -> list[float]:
    return [j.at_mm for j in plan.joints if j.before and j.after]


def planned(walk: str, **run: Any) -> Plan:
    head = {"name": "x", "raceway": "EMT 1/2", "start": "{fitting: none}", "end": "{fitting: none}"} | run
    fields = "".join(f"  {key}: {value}\n" for key, value in head.items())
    return plan_run(survey_from_text(f"run:\n{fields}  walk:\n{walk}").survey)


def block(plan: Plan, title: str) -> NoteBlock:
    return next(b for b in plan.notes if b.title == title)


def test_a_run_longer_than_a_stick_is_cut_into_bendable_pieces_with_couplings_on_straights() -> None:
    plan = plan_run(read_survey_file(ROOT / "packing-shed-long-run.yaml").survey)
    assert len(plan.pieces) == len(couplings_mm(plan)) + 1
    assert len(plan.pieces) > 1
    arcs = [(p.run_start_mm + b.arc_start_mm, p.run_start_mm + b.arc_end_mm) for p in plan.pieces for b in p.bends]
    for coupling in couplings_mm(plan):
        # half a coupling and its spare room lie between the coupling's middle and the nearest arc
        assert all(not start - 25.0 < coupling < end + 25.0 for start, end in arcs)
    for piece in plan.pieces:
        assert piece.cut_length_mm <= 3048.0 + 1e-6
        assert piece.order_proved
    used = [p.stock_mm for p in plan.pieces]
    assert sum(mm == pytest.approx(64.5 * IN) for mm in used) <= 1


def test_its_own_couplings_keep_off_the_bend_and_leave_no_stub() -> None:
    """A big sweep with long legs on both sides: three pieces, the stick that holds the bend uncut, no stub, no thread
    that cannot be cut, nothing said against a coupling."""
    ends = {"start": "{fitting: threaded}", "end": "{fitting: threaded}"}
    legs = "    - {leg: 103, to: back}\n    - turn: right\n    - {leg: 94, from: back}\n"
    plan = planned(legs, raceway="RMC 2-1/2", bend_radius="42", **ends)
    assert len(plan.pieces) == 3
    middle = plan.pieces[1]
    assert middle.cut_length_mm == pytest.approx(middle.stock_mm)
    assert (middle.end_a.thread, middle.end_b.thread) == ("own", "own")
    assert min(p.cut_length_mm for p in plan.pieces) > 280.0
    against = ("run.coupling", "run.short_piece", "assembly.thread")
    assert [f.rule for f in plan.findings if f.rule in against] == []


def test_a_coupling_that_has_to_stand_close_is_said_with_its_figure() -> None:
    """Stairs of 45s, 213 mm of straight between them: the grip has room, a hand's width on both sides has not."""
    steps = "".join(f"    - turn: {('left', 'right')[k % 2]}\n      angle: 45\n    - leg: 307 mm\n" for k in range(11))
    plan = planned("    - leg: 307 mm\n" + steps)
    told = [f for f in plan.findings if f.rule == "run.coupling"]
    assert told
    assert {f.severity for f in told} == {"info"}
    assert all(f.measured is not None and 0.0 < f.measured < 100.0 and f.allowed == 100.0 for f in told)
    assert "a hand's width" in told[0].message


def test_a_run_that_no_split_allows_says_why_and_what_would_help() -> None:
    legs = "    - leg: 12\n" + "    - turn: left\n    - leg: 10\n    - turn: right\n    - leg: 10\n" * 8
    plan = planned(legs)
    problem = next(f for f in plan.findings if f.rule == "run.sticks")
    assert problem.severity == "problem"
    assert "What would work" in problem.message


def test_a_piece_that_nothing_helps_is_told_what_was_tried() -> None:
    legs = "    - leg: 31\n" + "    - turn: left\n    - leg: 12\n" * 3 + "    - turn: left\n    - leg: 31\n"
    problem = next(f for f in planned(legs).findings if f.rule == "bend.order")
    assert "no bending order works (proved)" in problem.message
    told = "What would work was not found; tried without help: a longer stick, a coupling, a longer leg "
    assert told in problem.message
    assert problem.message.endswith("each of them with cut: after.")
    assert problem.values == {}


def test_a_piece_that_no_order_allows_is_still_printed_and_told_what_stick_would_do() -> None:
    walk = "    - leg: 29 1/2\n      features:\n        - saddle: {rise: 2 3/4, centre: 14 5/8, angle: 22.5}\n"
    plan = planned(walk)
    problem = next(f for f in plan.findings if f.rule == "bend.order")
    assert "proved" in problem.message
    assert "cut: after" in problem.message
    # what binds, as figures too: the straight that is there and the hands' 8 in
    assert problem.measured is not None
    assert problem.measured < problem.allowed == pytest.approx(8 * 25.4)
    assert f"{format_length(problem.measured, plan.tape)} of straight conduit" in problem.message
    after = planned(walk, cut="after")
    piece = after.pieces[0]
    assert "bend.order" not in [f.rule for f in after.findings]
    assert piece.least_stock_mm > piece.cut_length_mm
    assert piece.trim_marks[-1].shown_mm == pytest.approx(piece.extra_a_mm + piece.cut_length_mm, abs=1)
    shorter = plan_survey(
        survey_from_text(
            "run:\n  name: x\n  raceway: EMT 1/2\n  start: {fitting: none}\n  end: {fitting: none}\n  walk:\n" + walk
        ).survey,
        choose_bender(read_survey_file(ROOT / "pump-house-saddle.yaml").survey),
        choices=False,
    )
    assert shorter.pieces[0].cut_length_mm == pytest.approx(piece.cut_length_mm)


def test_the_card_says_how_likely_it_fits_and_what_deserves_care() -> None:
    plan = plan_run(read_survey_file(ROOT / "pump-house-saddle.yaml").survey)
    forecast = plan.pieces[0].forecast
    assert 0.0 < forecast.chance < 1.0
    assert sum(forecast.by_kind.values()) == pytest.approx(1.0)
    assert block(plan, "Will it fit").lines


def test_better_hands_have_better_chances() -> None:
    usual = planned("    - leg: 40\n      features:\n        - offset: {rise: 4, starts_at: 10}\n")
    steady = planned(
        "    - leg: 40\n      features:\n        - offset: {rise: 4, starts_at: 10}\n",
        accuracy="{mark: 1/32, angle: 1/4, roll: 1/4}",
    )
    assert steady.pieces[0].forecast.across_most_mm < 0.5 * usual.pieces[0].forecast.across_most_mm


@pytest.mark.parametrize("accuracy", ["{angle: -1}", "{roll: 40}", "{mark: nan}", "{angle: much}"])
def test_hands_that_make_no_sense_are_refused(accuracy: str) -> None:
    with pytest.raises(InputError, match="accuracy"):
        planned("    - leg: 40\n", accuracy=accuracy)


def test_straps_stand_on_straights_and_within_reach() -> None:
    plan = plan_run(read_survey_file(ROOT / "packing-shed-long-run.yaml").survey)
    stations = plan.checks.straps_mm
    arcs = [(p.run_start_mm + b.arc_start_mm, p.run_start_mm + b.arc_end_mm) for p in plan.pieces for b in p.bends]
    assert stations[0] <= 3 * 12 * IN + 25
    assert all(b - a <= 10 * 12 * IN + 1e-6 for a, b in pairwise(stations))
    assert all(not start < s < end for s in stations for start, end in arcs)


def test_sixty_percent_is_for_a_nipple_from_box_to_box() -> None:
    """4 x 8 THHN fill 1/2 EMT to 48 percent: a nipple of 20 in between two boxes takes them, a stub does not."""
    ends = {"start": "{fitting: set-screw}", "end": "{fitting: set-screw}"}
    nipple = planned("    - leg: 20\n", wires='["4 x 8 THHN"]', **ends)
    stub = planned("    - leg: 20\n", wires='["4 x 8 THHN"]')
    assert "wire.fill" not in {f.rule for f in nipple.findings}
    assert "wire.fill" in {f.rule for f in stub.findings}


def test_a_fill_that_rests_on_an_area_from_memory_says_so() -> None:
    plan = planned("    - leg: 40\n", wires='["4 x 6 RHH"]')
    assert next(f for f in plan.findings if f.rule == "wire.fill").citation.endswith("(from memory)")


def test_wires_are_checked_and_the_better_end_to_feed_is_told() -> None:
    plan = plan_run(read_survey_file(ROOT / "packing-shed-long-run.yaml").survey)
    assert plan.checks.pulls
    full = planned("    - leg: 40\n", wires='["9 x 6 THHN"]')
    assert next(f for f in full.findings if f.rule == "wire.fill").severity == "problem"
    with pytest.raises(InputError):
        planned("    - leg: 40\n", wires='["3 x 12 NOSUCH"]')


def test_pvc_that_moves_gets_expansion_fittings_with_their_place_and_setting() -> None:
    walk = "    - leg: 90'\n"
    climate = "{lowest: 0 F, highest: 100 F, install: 60 F}"
    ends = "{fitting: socket}"
    plan = planned(walk, raceway="PVC-40 1", bend_radius="6", start=ends, end=ends, climate=climate)
    told = next(f for f in plan.findings if f.rule == "run.expansion")
    # NFPA 70-2023 Table 352.44(A): 4.06 in over 100 ft and 100 F; 90 ft take nine tenths of it
    assert told.measured == pytest.approx(0.9 * 4.06 * IN, rel=0.01)
    assert "piston" in told.message
    with pytest.raises(InputError, match="not below the highest"):
        planned(walk, climate="{lowest: 50 C, highest: 40 C, install: 20 C}")
    with pytest.raises(InputError, match="temperature"):
        planned(walk, climate="{lowest: cold, highest: 40 C, install: 20 C}")


def test_too_many_degrees_between_pull_points_cite_the_article() -> None:
    walk = (
        "    - leg: 20\n"
        + "    - turn: left\n    - leg: 20\n    - turn: right\n    - leg: 20\n" * 2
        + ("    - turn: left\n    - leg: 20\n")
    )
    told = next(f for f in planned(walk).findings if f.rule == "run.degrees")
    assert (told.measured, told.allowed) == (pytest.approx(450.0), pytest.approx(360.0))
    assert "358.24(B)" in told.citation


def test_choices_mark_the_chosen_row_and_clear_the_thing_at_every_angle() -> None:
    plan = plan_run(read_survey_file(ROOT / "packing-shed-duct.yaml").survey)
    table = printed_tables(plan)[0]
    assert table.title == "Choices for return duct"
    assert len(table.rows) == 12
    assert [row[:2] for row in table.rows if "planned" in row[-1]] == [("22 1/2°", "4")]
    assert all(len(row) == len(table.header) for row in table.rows)
    three = [row for row in table.rows if row[1] == "3"]
    assert all(float(row[2].split()[0]) > 99 for row in three if row[2])


def test_the_page_shows_the_rows_of_the_card_that_keep_the_number_of_bends() -> None:
    written = read_survey_file(ROOT / "packing-shed-duct.yaml").written
    answer = ask("plan", PlanRequest(survey=written, pictures=()))
    assert isinstance(answer, PlanAnswer)
    card = [row for row in printed_tables(answer.plan)[0].rows if row[1] == "4"]
    (shown,) = answer.angles
    assert [row.room.tape if row.room and row.possible else "" for row in shown.rows] == [
        row[3].removesuffix(" mm") for row in card
    ]
    assert [row.possible for row in shown.rows].count(True) >= 3
    assert shown.planned == 2
    # the table is worked out from the plan: the plan does not hold it
    assert all(block.lines for block in answer.plan.notes)
    assert "Choices for" not in msgspec.json.encode(answer.plan).decode()
    assert read_plan(msgspec.to_builtins(answer.plan)).shapes == answer.plan.shapes


def test_the_marks_alone_are_those_of_the_plan() -> None:
    survey = read_survey_file(ROOT / "pump-house-saddle.yaml").survey
    (planned_piece,) = plan_run(survey).pieces
    (marked,) = mark_run(survey, choose_bender(survey)).cut.pieces
    assert marked.bends == planned_piece.bends
    assert len(marked.ways) == 1 < len(planned_piece.ways)
    assert marked.forecast is None


def test_a_run_of_more_sticks_than_any_run_has_is_refused_before_it_is_split() -> None:
    with pytest.raises(LimitError) as refused:
        planned("    - leg: 1000 ft\n    - turn: left\n    - leg: 1100 ft\n")
    assert (refused.value.asked, refused.value.limit) == (210, 200)
    assert refused.value.field == "run.walk"
    assert "box" in refused.value.hint


def test_a_run_over_a_stick_without_a_split_says_so_and_looks_for_no_order() -> None:
    walk = "    - leg: 10\n" + "    - turn: left\n    - leg: 10\n    - turn: right\n    - leg: 10\n" * 8
    plan = planned(walk)
    found = [f.rule for f in plan.findings if f.severity == "problem"]
    assert "run.sticks" in found
    assert "bend.order" not in [f.rule for f in plan.findings]
    assert not plan.pieces[0].order_proved
    assert len(plan.pieces[0].bends) == 16
