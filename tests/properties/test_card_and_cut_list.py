"""The cards of a job's runs and its cut list say the same of where each piece comes from, and the bill buys what the
list cuts."""

from __future__ import annotations

from hypothesis import given, settings
from shed_jobs import jobs

from racewright.cards.words import cut_of
from racewright.errors import LimitError
from racewright.job.materials import billed, cuts_of, without_sticks
from racewright.job.plan_job import plan_job
from racewright.records.model import Job
from racewright.takeoff.cutting_model import CutPlan


def first_fit(plan: CutPlan, on_hand_mm: tuple[float, ...]) -> int:
    """New sticks that a person needs who saws the longest first, from what is on hand where it will do."""
    (stick_mm,) = plan.rules.stock_mm
    room = list(on_hand_mm)
    new = 0
    for length in sorted((p.length_mm for s in plan.sticks for p in s.pieces), reverse=True):
        at = next((k for k, left in enumerate(room) if left >= length - 1e-6), None)
        if at is None:
            new, at = new + 1, len(room)
            room.append(stick_mm)
        room[at] -= length + plan.rules.kerf_mm
    return new


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_card_list_and_bill_agree(job: Job) -> None:
    planned = list(plan_job(job, choices=False))
    left = {run.key for run in without_sticks(planned)}
    planned = [run for run in planned if run.key not in left]
    try:
        bill = billed(job, planned)
    except LimitError:
        return  # bent from a longer stick than there is
    cuts = {one.raceway: one.plan for one in cuts_of(job, planned)}
    assert cuts == {one.raceway: one.plan for one in bill.cuts}
    at = {p.label: s for plan in cuts.values() for s in plan.sticks for p in s.pieces}
    seen = set()
    waits = set()
    for run in planned:
        assert run.plan is not None
        for number, piece in enumerate(run.plan.pieces, 1):
            label = f"{run.key}-{number}" if len(run.plan.pieces) > 1 else run.key
            if not piece.order_known:  # it waits, and is on no list
                assert label not in at
                waits.add(run.raceway)
                continue
            stick = at.pop(label)
            said = " ".join(cut_of(piece, run.plan))
            if piece.offcut:
                lengths = [float(str(v)) for v in run.run.survey.run.offcuts]
                assert (run.key, piece.offcut) not in seen
                seen.add((run.key, piece.offcut))
                rules = cuts[run.raceway].rules
                named = rules.run_offcuts[stick.offcut - len(rules.offcuts_mm) - 1]
                assert (stick.named_by, named.run, named.number) == (run.key, run.key, piece.offcut)
                assert abs(stick.source_mm - 25.4 * lengths[piece.offcut - 1]) < 1e-6
                assert "offcut" in said
            else:
                assert "offcut" not in said
            if said.startswith("TAKE"):
                assert len(stick.pieces) == 1
                assert abs(stick.source_mm - piece.stock_mm) < 1e-6
    assert not at
    for plan in cuts.values():
        taken = [s.offcut for s in plan.sticks if s.offcut]
        assert len(taken) == len(set(taken))
        if plan.proved and len(plan.rules.stock_mm) == 1:
            assert plan.new_sticks <= first_fit(plan, plan.rules.on_hand_mm)
    for raceway, plan in cuts.items():
        conduit = [b for b in bill.job.lines if b.group == "conduit" and b.unit == "each"]
        bought = sum(int(b.quantity) for b in conduit if b.item.startswith(f"{raceway}, "))
        assert bought == plan.new_sticks or (raceway in waits and bought > plan.new_sticks)  # the bill counts its stick
