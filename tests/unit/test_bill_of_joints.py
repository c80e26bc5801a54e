"""What joints cost beside their fittings: threads as the pieces come out of the sticks, primer and cement."""

from __future__ import annotations

from decimal import Decimal
from math import pi

import pytest

from racewright.cards.takeoff_tables import bill_tables, cut_tables
from racewright.cards.text.job import thread_words
from racewright.job.materials import billed, cuts_of
from racewright.job.plan_job import plan_job
from racewright.records.model import Job, JobHead, JobRun
from racewright.records.prices import Price, Prices
from racewright.store.survey_file import survey_from_text
from racewright.takeoff.bill_model import Bill
from racewright.takeoff.cutting import cut_list
from racewright.takeoff.cutting_model import CutPlan, WantedPiece
from racewright.takeoff.threads import pieces_without, threads_to_cut
from racewright.units.tape import TapeStyle

STICK = 3048.0


def job(*runs: tuple[str, str], prices: Prices | None = None) -> Job:
    """Runs by key, each the text of its survey below `run:`."""
    made = (JobRun(key=key, survey=survey_from_text(f"run:\n  name: {key}\n{text}").written) for key, text in runs)
    return Job(head=JobHead(name="Orchard"), runs=tuple(made), prices=prices or Prices())


def run(raceway: str, fitting: str, leg: str, more: str = "") -> str:
    ends = f"  start: {{fitting: {fitting}}}\n  end: {{fitting: {fitting}}}\n"
    return f"  raceway: {raceway}\n{more}{ends}  walk:\n    - leg: {leg}\n"


def count(bill: Bill, item: str) -> Decimal:
    return sum((line.quantity for line in bill.lines if line.item == item), Decimal(0))


def piece(label: str, length: float, threads: int = 2, own: int = 1) -> WantedPiece:
    return WantedPiece(label=label, length_mm=length, run="R", threads=threads, own_threads=own)


def cut(*pieces: WantedPiece) -> CutPlan:
    return cut_list(pieces)


def test_the_first_and_the_last_piece_of_a_stick_keep_its_thread_and_the_middle_one_none() -> None:
    three = cut(piece("a", 1100.0), piece("b", 1000.0), piece("c", 800.0))
    assert three.new_sticks == 1
    # six ends, and the stick has two threads
    assert threads_to_cut(three) == {"R": 4}
    assert [p.label for p in pieces_without(three)] == ["b"]
    assert "cut it too: b." in thread_words(three)
    two = cut(piece("a", 1100.0), piece("c", 800.0))
    assert threads_to_cut(two) == {"R": 2}
    assert pieces_without(two) == ()
    assert "measure the last from the other end" in thread_words(two)


def test_a_whole_stick_keeps_both_and_a_piece_keeps_no_more_than_its_plan_leaves_it() -> None:
    assert threads_to_cut(cut(piece("a", STICK, own=2))) == {}
    assert threads_to_cut(cut(piece("a", STICK - 100.0, own=2))) == {"R": 1}
    assert [p.label for p in pieces_without(cut(piece("a", STICK - 100.0, own=2)))] == ["a"]
    # cut after bending at both ends, or out of an offcut: the plan threads both
    assert threads_to_cut(cut(piece("a", 900.0, own=0))) == {"R": 2}
    assert threads_to_cut(cut(piece("a", 900.0, threads=0, own=0))) == {}
    assert thread_words(cut(piece("a", 900.0, threads=0, own=0))) == ""


def test_the_bill_counts_them_by_run_as_the_sticks_are_cut() -> None:
    """Three short runs share a stick: 34 in, 33 in and 31 in of 120 in. Alone each keeps a thread."""
    runs = [(key, run("RMC 1", "threaded", leg)) for key, leg in (("W-1", "34"), ("W-2", "33"), ("W-3", "31"))]
    alone = [billed(job(one), list(plan_job(job(one)))).job for one in runs]
    assert [count(bill, "RMC 1 thread cut") for bill in alone] == [1, 1, 1]
    shared = job(*runs)
    planned = list(plan_job(shared))
    bill = billed(shared, planned)
    assert count(bill.job, "RMC 1 thread cut") == 4
    assert [count(part, "RMC 1 thread cut") for part in bill.runs] == [1, 2, 1]
    (cuts,) = cuts_of(shared, planned)
    assert [p.label for p in pieces_without(cuts.plan)] == ["W-2"]
    assert "cut it too: W-2." in str(cut_tables([cuts], TapeStyle())[2].rows)


def test_cement_and_primer_go_by_the_sockets() -> None:
    """47 ft of 1 in between two sockets, in a climate: two sockets at the boxes, two at each thing between."""
    weather = "  bend_radius: 7\n  climate: {lowest: -8 F, highest: 94 F, install: 58 F}\n"
    made = job(("F-1", run("PVC-40 1", "socket", "47 ft", weather)), ("F-2", run("PVC-40 1", "socket", "9 ft")))
    planned = list(plan_job(made))
    bill = billed(made, planned)
    assert planned[0].plan is not None
    between = len(planned[0].plan.pieces) - 1
    sockets = (2 * between + 2, 2)
    # 1.315 in by 0.875 in, two faces, 1.1 mm on each; a fluid ounce is 29.57 cm3
    one = 2 * pi * 1.315 * 0.875 * 25.4**2 * 1.1 / 29573.5
    for number, part in enumerate(bill.runs):
        assert float(count(part, "PVC cement")) == pytest.approx(sockets[number] * one, abs=0.006)
        assert float(count(part, "PVC primer")) == pytest.approx(0.5 * sockets[number] * one, abs=0.006)
    assert count(bill.job, "PVC cement, 1 pint can") == count(bill.job, "PVC primer, 1 pint can") == 1
    assert count(bill.job, "PVC cement") == 0
    assert [line.unit for line in bill.runs[0].lines if line.item == "PVC cement"] == ["fl oz"]


def test_the_price_of_the_cans_is_dealt_to_the_runs() -> None:
    prices = Prices(items=(Price(item="PVC cement, 1 pint can", price="9.30"),))
    made = job(("F-1", run("PVC-40 2", "socket", "90 ft")), ("F-2", run("PVC-40 2", "socket", "31 ft")), prices=prices)
    bill = billed(made, list(plan_job(made)))
    whole = [line.amount for line in bill.job.lines if line.item.startswith("PVC cement")]
    parts = [line.amount for part in bill.runs for line in part.lines if line.item == "PVC cement"]
    assert whole == [Decimal("9.30")]
    assert len(parts) == 2
    assert sum(p or 0 for p in parts) == Decimal("9.30")
    assert "PVC primer, 1 pint can" in bill.job.unpriced
    assert any(row[1] == "PVC cement, 1 pint can" for row in bill_tables(bill)[0].rows)


def test_a_metric_job_buys_half_liters_and_steel_none() -> None:
    made = job(("F-1", run("PVC-40 1", "socket", "9 ft")))
    metric = Job(head=JobHead(name="Orchard", units="mm"), runs=made.runs)
    bill = billed(metric, list(plan_job(metric)))
    assert count(bill.job, "PVC cement, 500 mL can") == 1
    assert [line.unit for line in bill.runs[0].lines if line.item == "PVC primer"] == ["mL"]
    steel = job(("E-1", run("EMT 1", "set-screw", "9 ft")))
    assert not any("cement" in line.item for line in billed(steel, list(plan_job(steel))).job.lines)
