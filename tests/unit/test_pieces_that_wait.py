"""A piece that no bending order is known for is not cut: the lists name it apart, and its stick is on the bill."""

from __future__ import annotations

import msgspec
from ask_samples import listed

from racewright.cards.takeoff_tables import cut_tables
from racewright.job.bench_list import bench_list
from racewright.job.left_out import waiting_words
from racewright.job.materials import billed, cuts_of
from racewright.job.piece_labels import piece_labels
from racewright.job.plan_job import plan_job
from racewright.records.entry import NOT_BENT, Entry, StatusSet
from racewright.records.model import Job, JobHead, JobRun
from racewright.store.job_file import job_to_data
from racewright.store.survey_file import survey_from_text
from racewright.units.tape import TapeStyle

#: No straight for the hook at one end of the offset.
STUCK = "  raceway: EMT 1/2\n{more}  walk:\n    - leg: 37 1/2\n      features:\n"
STUCK += "        - offset: {{rise: 6, starts_at: 1/2, angle: 60}}\n"
GOOD = "  raceway: EMT 1/2\n  walk:\n    - leg: 41\n"


def job(more: str = "") -> Job:
    texts = {"WS-1": GOOD, "WS-2": STUCK.format(more=more), "WS-3": GOOD}
    runs = (
        JobRun(key=key, survey=survey_from_text(f"run:\n  name: {key}\n{text}").written) for key, text in texts.items()
    )
    return Job(head=JobHead(name="Orchard workshop"), runs=tuple(runs))


def test_it_is_not_on_any_stick_that_is_cut_and_named_as_waiting() -> None:
    made = job()
    planned = list(plan_job(made, choices=False))
    assert planned[1].plan is not None
    assert not planned[1].plan.pieces[0].order_known
    (cuts,) = cuts_of(made, planned)
    assert [p.run for stick in cuts.plan.sticks for p in stick.pieces] == ["WS-1", "WS-3"]
    assert [p.run for p in cuts.pieces_waiting] == ["WS-2"]
    length = planned[1].plan.pieces[0].cut_length_tape
    assert waiting_words(cuts, TapeStyle()).startswith(f'Waiting, not to be cut yet: WS-2 {length}". ')
    tables = {table.name: table.rows for table in cut_tables([cuts], TapeStyle())}
    assert "WS-2" not in {row[5] for row in tables["Cut list"]}
    assert tables["Not to be cut yet"] == (("EMT 1/2", "WS-2", "WS-2", length),)


def test_the_bill_counts_its_stick_and_cuts_nothing_else_from_it() -> None:
    made = job()
    bill = billed(made, list(plan_job(made, choices=False)))
    (line,) = [line for line in bill.job.lines if line.item == "EMT 1/2, 10 ft"]
    assert int(line.quantity) == 2  # the two good pieces share one
    (cuts,) = bill.cuts
    assert (cuts.plan.new_sticks, cuts.new_sticks) == (1, 2)


def test_the_offcut_that_its_plan_takes_is_kept_for_it() -> None:
    made = job("  offcuts: [47]\n")
    planned = list(plan_job(made, choices=False))
    assert planned[1].plan is not None
    assert planned[1].plan.pieces[0].offcut == 1
    (cuts,) = cuts_of(made, planned)
    assert cuts.waiting is not None
    assert [stick.named_by for stick in cuts.waiting.sticks] == ["WS-2"]
    assert all(stick.offcut == 0 for stick in cuts.plan.sticks)
    assert cuts.new_sticks == 1


def test_the_cut_list_says_so_above_its_tables() -> None:
    told, tables = listed("job_cut", job_to_data(job()))
    assert "WS-2" not in {cell for row in tables["Cut list"] for cell in row}
    assert any(line.startswith("EMT 1/2: Waiting, not to be cut yet: WS-2 ") for line in told["not_included"])


def test_it_has_no_label_and_is_named_as_waiting() -> None:
    made = job()
    made = msgspec.structs.replace(made, runs=(*made.runs[:2], msgspec.structs.replace(made.runs[2], times=3)))
    bent = Entry(run=made.runs[2].id, copy=2, what=StatusSet(status="bent"))
    made = msgspec.structs.replace(made, entries=(bent,))
    planned = list(plan_job(made, choices=False))
    found = piece_labels(made, planned, NOT_BENT)
    assert [(one.label, one.piece, one.pieces, one.copy, one.copies) for one in found.labels] == [
        ("WS-1", 1, 1, 1, 1),
        ("WS-3#1", 1, 1, 1, 3),
        ("WS-3#3", 1, 1, 3, 3),
    ]
    assert found.waiting == ("WS-2",)
    assert [one.label for one in piece_labels(made, planned, ("bent",)).labels] == ["WS-3#2"]
    assert piece_labels(made, planned, ("bent",)).waiting == ()
    assert piece_labels(made, planned, ("in",)).labels == ()


def test_ends_that_are_cut_after_bending_stand_on_the_label_and_the_batch_list() -> None:
    """At which end, the rest stick; a piece that is cut before has none."""
    after = "  raceway: EMT 1/2\n  cut: after\n  walk:\n    - leg: 9\n    - turn: away\n    - leg: 30\n"
    runs = tuple(
        JobRun(key=key, survey=survey_from_text(f"run:\n  name: {key}\n{text}").written)
        for key, text in {"PH-1": after, "PH-2": after.replace("  cut: after\n", "")}.items()
    )
    made = Job(head=JobHead(name="Orchard pump house"), runs=runs)
    planned = list(plan_job(made, choices=False))
    labels = {one.run: one for one in piece_labels(made, planned, NOT_BENT).labels}
    kinds = {kind.pieces[0].label: kind for kind in bench_list(made, planned, NOT_BENT).kinds}
    assert {key: one.ends_later for key, one in labels.items()} == {"PH-1": "B", "PH-2": ""}
    assert {key: kind.ends_later for key, kind in kinds.items()} == {"PH-1": "B", "PH-2": ""}
    for key, one in labels.items():
        assert one.length == kinds[key].length
    assert kinds["PH-1"].zero == ""
    assert labels["PH-1"].length != labels["PH-2"].length
