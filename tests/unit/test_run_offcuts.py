"""An offcut that a survey names is on hand for that run: card, cut list and bill take the same piece from it."""

from __future__ import annotations

import pytest
from ask_samples import a_job, listed

from racewright.cards.takeoff_tables import cut_tables
from racewright.cards.text.job import cut_words
from racewright.cards.words import cut_of
from racewright.errors import InputError
from racewright.job.materials import billed, cuts_of
from racewright.job.plan_job import PlannedRun, plan_job
from racewright.plan.model import Plan
from racewright.records.model import Job, JobHead, JobRun, Stock
from racewright.store.survey_file import survey_from_text
from racewright.takeoff.cutting import cut_list
from racewright.takeoff.cutting_model import CutPlan, CutRules, RunOffcut, WantedPiece
from racewright.takeoff.on_hand import offcuts_twice
from racewright.units.tape import TapeStyle

#: Two sticks and 26 1/2 in of the shed's east wall: 10 ft, the offcut, and the rest.
WALL = "  raceway: EMT 3/4\n  offcuts: [16, 26 1/2]\n  walk:\n    - leg: 19' 11\"\n"


def job(*runs: tuple[str, str], stock: tuple[Stock, ...] = ()) -> Job:
    made = (JobRun(key=key, survey=survey_from_text(f"run:\n  name: {key}\n{text}").written) for key, text in runs)
    return Job(head=JobHead(name="Orchard", stock=stock), runs=tuple(made))


def planned_and_cut(made: Job) -> tuple[list[PlannedRun], CutPlan]:
    planned = list(plan_job(made))
    (cuts,) = cuts_of(made, planned)
    return planned, cuts.plan


def plan_of(run: PlannedRun) -> Plan:
    assert run.plan is not None
    return run.plan


def test_what_the_card_takes_whole_is_not_bought() -> None:
    made = job(("PS-4", WALL))
    (run,), plan = planned_and_cut(made)
    pieces = plan_of(run).pieces
    assert [p.offcut for p in pieces] == [0, 2, 0]
    assert cut_of(pieces[1], plan_of(run)) == ("TAKE", '26 1/2"', "a whole offcut")
    assert any(step.title.startswith('Take a whole offcut, 26 1/2"') for step in plan_of(run).steps)
    (offcut,) = [s for s in plan.sticks if s.offcut]
    assert (offcut.named_by, offcut.offcut, [p.label for p in offcut.pieces]) == ("PS-4", 2, ["PS-4-2"])
    assert plan.new_sticks == 2
    assert cut_words(plan, TapeStyle()) == "2 new sticks; no plan can do with fewer"
    rows = cut_tables(cuts_of(made, [run]), TapeStyle())[0].rows
    assert [row[2] for row in rows if row[4] == "PS-4-2"] == ["offcut 2 (of PS-4)"]
    sticks = [line for line in billed(made, [run]).job.lines if line.item == "EMT 3/4, 10 ft"]
    assert [int(line.quantity) for line in sticks] == [2]


def test_a_sawn_piece_of_an_offcut_comes_from_it_and_the_rest_is_used() -> None:
    """44 in from an offcut of 58 in leaves room for the 9 in of another run; nothing is bought."""
    made = job(
        ("PS-5", "  raceway: EMT 1/2\n  offcuts: [58]\n  walk:\n    - leg: 44\n"),
        ("PS-6", "  raceway: EMT 1/2\n  walk:\n    - leg: 9\n"),
    )
    (run, other), plan = planned_and_cut(made)
    assert cut_of(plan_of(run).pieces[0], plan_of(run))[2] == 'from an offcut of 58"'
    assert 'from the offcut of 58"' in plan_of(run).steps[0].title
    assert plan_of(other).pieces[0].offcut == 0
    (stick,) = plan.sticks
    assert [p.label for p in stick.pieces] == ["PS-5", "PS-6"]
    assert (stick.named_by, plan.new_sticks) == ("PS-5", 0)


def test_an_offcut_goes_with_the_runs_that_are_on_the_list() -> None:
    made = job(("PS-4", WALL), ("PS-7", "  raceway: EMT 3/4\n  walk:\n    - leg: 22\n"))
    planned = list(plan_job(made))
    (cuts,) = cuts_of(made, planned[1:])
    assert cuts.plan.rules.on_hand_mm == ()
    assert cuts.plan.new_sticks == 1


def test_copied_surveys_are_counted_each_and_told() -> None:
    made = job(("PS-4", WALL), ("PS-8", WALL), stock=(Stock(raceway="EMT 3/4", length="16", offcut=True),))
    planned, plan = planned_and_cut(made)
    own = {(s.named_by, s.pieces[0].label) for s in plan.sticks if s.offcut}
    assert {("PS-4", "PS-4-2"), ("PS-8", "PS-8-2")} <= own
    told = [found.message for found in offcuts_twice(billed(made, planned).cuts, TapeStyle())]
    assert len(told) == 2
    assert "an offcut of 16\" is named by the job's stock and by run PS-4 and by run PS-8: counted as 3" in told[0]
    assert 'an offcut of 26 1/2" is named by run PS-4 and by run PS-8: counted as 2' in told[1]


def test_two_that_one_survey_names_are_two_and_nothing_is_told() -> None:
    twice = WALL.replace("[16, 26 1/2]", "[26 1/2, 26 1/2]").replace("19' 11\"", "12' 1\"")
    planned, plan = planned_and_cut(job(("PS-9", twice)))
    assert len({p.offcut for p in plan_of(planned[0]).pieces}) == len(plan_of(planned[0]).pieces)
    assert plan.unused_offcuts or [s.offcut for s in plan.sticks if s.offcut] == [1, 2]
    assert offcuts_twice(cuts_of(job(("PS-9", twice)), planned), TapeStyle()) == ()


def test_a_cut_list_says_whose_each_offcut_is() -> None:
    run = {"raceway": "EMT 3/4", "offcuts": ["31"], "walk": [{"leg": "29"}]}
    surveys = [{"units": "in", "run": {"name": name, **run}} for name in ("East wall", "West wall")]
    answer, tables = listed("job_cut", a_job(*zip(("k1", "k2"), surveys, strict=True)))
    (told,) = answer["findings"]
    assert (told["rule"], told["severity"]) == ("job.offcuts", "caution")
    assert "run k1 and by run k2" in told["message"]
    assert [row[2] for row in tables["Cut list"]] == ["offcut 1 (of k1)", "offcut 2 (of k2)"]
    assert "no new stick" in tables["Cut sums"][0][1]


def test_an_offcut_that_is_too_short_for_what_is_cut_off_after_bending_is_left() -> None:
    """A 90 a short way before the end wants a longer stick than the offcut: the card takes a new one."""
    walk = "  walk:\n    - leg: 30\n    - turn: right\n    - leg: 6 1/2\n"
    for offcut in (33, 35, 38, 45, 60):
        made = job(("PH-5", f"  raceway: EMT 1/2\n  cut: after\n  offcuts: [{offcut}]\n{walk}"))
        (run,), plan = planned_and_cut(made)
        (piece,) = plan_of(run).pieces
        assert piece.least_stock_mm <= piece.stock_mm + 1e-6
        assert (piece.offcut == 0) == (plan.new_sticks == 1)


def test_the_fewest_are_claimed_against_every_other_way_to_use_the_offcuts() -> None:
    """Held to its offcut, the 20 in piece keeps the 70 in one off it: a new stick that another way would save."""
    rules = CutRules(
        stock_mm=(80.0,), run_offcuts=(RunOffcut(run="A", number=1, length_mm=70.0),), kerf_mm=0.0, offcuts_mm=(20.0,)
    )
    pieces = [
        WantedPiece(label="A-1", run="A", length_mm=20.0, offcut=1),
        WantedPiece(label="A-2", run="A", length_mm=70.0),
    ]
    plan = cut_list(pieces, rules)
    assert [(s.offcut, s.pieces[0].label) for s in plan.sticks] == [(2, "A-1"), (0, "A-2")]
    assert (plan.new_sticks, plan.least_sticks, plan.proved) == (1, 0, False)


@pytest.mark.parametrize(("run", "offcut", "length_mm"), [("A", 2, 40.0), ("B", 1, 40.0), ("A", 1, 71.0)])
def test_an_offcut_that_is_not_there_or_too_short_is_refused(run: str, offcut: int, length_mm: float) -> None:
    rules = CutRules(run_offcuts=(RunOffcut(run="A", number=1, length_mm=70.0),))
    with pytest.raises(InputError, match="cannot give it"):
        cut_list([WantedPiece(label="x", run=run, length_mm=length_mm, offcut=offcut)], rules)


def test_what_a_card_takes_whole_is_whole_where_a_longer_length_lies_by() -> None:
    """121 in on hand would give the 10 ft piece; its card takes a stick as it is, one on hand first."""
    ten = 3048.0
    pieces = [WantedPiece(label=f"A-{n}", run="A", length_mm=ten, whole=True) for n in (1, 2)]
    plan = cut_list([*pieces, WantedPiece(label="B", length_mm=900.0)], CutRules(offcuts_mm=(3073.4, ten)))
    assert [(s.source_mm, s.offcut, [p.label for p in s.pieces]) for s in plan.sticks] == [
        (3073.4, 1, ["B"]),
        (ten, 2, ["A-1"]),
        (ten, 0, ["A-2"]),
    ]
    assert (plan.new_sticks, plan.least_sticks, plan.proved) == (1, 1, True)
