"""A run of `times: n` gives the bill and the cut list of n runs written out, but for which of equal pieces is which."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st
from shed_jobs import jobs

from racewright.errors import LimitError
from racewright.job.materials import billed, cuts_of, job_tape, materials_of
from racewright.job.plan_job import PlannedRun, plan_job
from racewright.records.entry import STATUSES, Entry, Status, StatusSet, statuses_by
from racewright.records.model import Item, Job, JobRun, Wire
from racewright.records.prices import Price, Prices
from racewright.survey.from_data import survey_from_data
from racewright.takeoff.bill_model import Bill, RacewayCuts
from racewright.takeoff.cutting_model import CutStick
from racewright.takeoff.kits import make_kits

PRICES = Prices(
    items=(
        Price(item="EMT 1/2", per="each", price="7.37", labour_h="0.21"),
        Price(item="wire", per="ft", price="0.313", labour_h="0.007"),
        Price(item="box 4 in", price="3.19", labour_h="0.33"),
    ),
    labour_rate="61.7",
    currency="USD",
)


@st.composite
def alike(draw: st.DrawFn) -> Job:
    """A job of which runs are there several times, with wires, items, cement, offcuts of their own and prices."""
    job = draw(jobs())
    pvc = {
        "name": "duct",
        "raceway": "PVC-40 1",
        "end": {"fitting": "socket"},
        "walk": [{"leg": draw(st.integers(90, 400))}],
    }
    runs = [*job.runs, JobRun(key="PS-duct", survey=survey_from_data({"racewright": 1, "units": "in", "run": pvc}))]
    made = [
        msgspec.structs.replace(
            run,
            times=draw(st.integers(1, 7)),
            area=draw(st.sampled_from(["", "Rooms"])),
            wires=(Wire(size="12", count=draw(st.integers(1, 4)), colour="black"),) if draw(st.booleans()) else (),
            items=(Item(item="box 4 in", count=draw(st.integers(1, 3))),) if draw(st.booleans()) else (),
        )
        for run in runs
    ]
    head = msgspec.structs.replace(job.head, units="in")
    return msgspec.structs.replace(job, head=head, runs=tuple(made), prices=PRICES)


def written_out(planned: Sequence[PlannedRun]) -> list[PlannedRun]:
    """Each copy a run of its own, under a key of its own."""
    return [
        msgspec.structs.replace(one, run=msgspec.structs.replace(one.run, key=f"{one.key}#{n}", times=1))
        for one in planned
        for n in range(1, one.run.times + 1)
    ]


def quantities(bill: Bill) -> list[tuple[object, ...]]:
    return [(line.group, line.item, line.quantity, line.unit) for line in bill.lines]


def stick(one: CutStick) -> tuple[object, ...]:
    named = one.named_by.partition("#")[0]
    return (
        one.number,
        one.source_mm,
        one.offcut,
        [p.length_mm for p in one.pieces],
        one.new_offcut_mm,
        one.kept,
        named,
    )


def pieces(cuts: Sequence[RacewayCuts]) -> Counter[tuple[str, str, float, int, int, bool]]:
    """The pieces as they are labelled: of both ways '#' stands before the copy, behind the piece or before it."""
    return Counter(
        (p.run.partition("#")[0], one.raceway, p.length_mm, p.threads, p.own_threads, p.waits)
        for one in cuts
        for part in one.parts
        for s in part.sticks
        for p in s.pieces
    )


@settings(max_examples=40, deadline=None)
@given(alike())
def test_so_many_times_is_so_many_runs_written_out(job: Job) -> None:
    once = list(plan_job(job, choices=False))
    assert len(once) == len(job.runs)  # planned once, whatever the times
    out = written_out(once)
    many = msgspec.structs.replace(job, runs=tuple(one.run for one in out))
    try:
        bill = billed(job, once)
    except LimitError:
        return  # bent from a longer stick than there is
    other = billed(many, out)
    assert bill.job == other.job
    assert [quantities(area) for area in bill.areas] == [quantities(area) for area in other.areas]
    assert pieces(bill.cuts) == pieces(other.cuts)
    for mine, theirs in zip(bill.cuts, other.cuts, strict=True):
        for part, written in zip(mine.parts, theirs.parts, strict=True):
            assert [stick(one) for one in part.sticks] == [stick(one) for one in written.sticks]
            assert (part.new_sticks, part.least_sticks, part.proved, part.kept_mm, part.scrap_mm) == (
                (written.new_sticks, written.least_sticks, written.proved, written.kept_mm, written.scrap_mm)
            )
    labels = [p.label for one in bill.cuts for part in one.parts for s in part.sticks for p in s.pieces]
    assert len(set(labels)) == len(labels)
    # what a run is dealt is what its copies are dealt, but for a cent of each line and copy
    for one in bill.runs:
        same = [b for b in other.runs if b.name.partition("#")[0] == one.name]
        total = sum((b.material or Decimal(0) for b in same), Decimal(0))
        assert abs((one.material or 0) - total) <= Decimal("0.01") * len(same) * len(one.lines)


@settings(max_examples=40, deadline=None)
@given(alike())
def test_all_kits_together_are_the_bill(job: Job) -> None:
    """But for work, which is in no kit, and cans, of which the kits say how much each takes."""
    head = msgspec.structs.replace(job.head, items=(Item(item="spare box 4 in", count=2),))
    job = msgspec.structs.replace(job, head=head)
    once = list(plan_job(job, choices=False))
    try:
        bill = billed(job, once)
    except LimitError:
        return
    kits = make_kits(materials_of(job, once), job_tape(job.head), wire_waste_percent=job.head.wire_waste)
    assert len({(kit.area, kit.alike, kit.runs == ()) for kit in kits}) == len(kits)
    times = {run.key: run.times for run in job.runs}
    assert all(times[key] == kit.alike for kit in kits for key in kit.runs)
    counted: Counter[tuple[str, str]] = Counter()
    measured: dict[str, Fraction] = defaultdict(Fraction)
    for kit in kits:
        for line in kit.lines:
            if line.unit == "each":
                counted[line.group, line.item] += kit.alike * int(line.quantity)
            else:
                measured[line.item] += Fraction(line.quantity) * kit.alike
    each = [b for b in bill.job.lines if b.unit == "each" and b.group != "conduit"]
    things = [b for b in each if not b.item.endswith((" thread cut", " can"))]
    assert counted == {(b.group, b.item): int(b.quantity) for b in things}
    off = Fraction(sum(kit.alike for kit in kits), 100)  # hundredths that are rounded in each kit
    for b in bill.job.lines:
        if b.group == "wire":  # the bill's in whole feet
            assert measured[b.item] - off <= b.quantity < measured[b.item] + 1 + off
    taken = {b.item: b.quantity for area in bill.areas for b in area.lines if b.unit == "fl oz"}
    assert set(measured) == {b.item for b in bill.job.lines if b.group == "wire"} | set(taken)
    pieces: Counter[tuple[str, float]] = Counter()
    for kit in kits:
        for piece in kit.pieces:
            pieces[piece.raceway, piece.length_mm] += kit.alike
    sticks = [(one.raceway, stick) for one in bill.cuts for part in one.parts for stick in part.sticks]
    assert pieces == Counter((raceway, p.length_mm) for raceway, s in sticks for p in s.pieces)


@settings(max_examples=200, deadline=None)
@given(
    st.integers(1, 6),
    st.lists(st.tuples(st.sampled_from(STATUSES), st.none() | st.integers(1, 8)), max_size=12),
)
def test_each_copy_has_the_status_that_a_run_of_its_own_would_have(
    times: int, said: list[tuple[Status, int | None]]
) -> None:
    run = "0" * 32
    entries = [Entry(run=run, copy=copy, what=StatusSet(status=status)) for status, copy in said]
    alone = [
        statuses_by([msgspec.structs.replace(e, copy=None) for e in entries if e.copy in (None, n)])[0]
        for n in range(1, times + 1)
    ]
    assert list(statuses_by(entries, times)) == alone


@settings(max_examples=25, deadline=None)
@given(alike(), st.data())
def test_the_cut_list_is_of_the_copies_that_are_not_bent(job: Job, data: st.DataObject) -> None:
    entries = [
        Entry(run=run.id, copy=n, what=StatusSet(status="bent"))
        for run in job.runs
        for n in range(1, run.times + 1)
        if data.draw(st.booleans())
    ]
    bent = {(e.run, e.copy) for e in entries}
    job = msgspec.structs.replace(job, entries=tuple(entries))
    once = list(plan_job(job, choices=False))
    out = [
        one
        for one in written_out(list(plan_job(job, choices=False)))
        if (one.run.id, int(one.key.partition("#")[2])) not in bent
    ]
    many = msgspec.structs.replace(job, runs=tuple(one.run for one in out), entries=())
    try:
        mine = cuts_of(job, once)
    except LimitError:
        return
    theirs = cuts_of(many, out)
    assert pieces(mine) == pieces(theirs)
    assert [[stick(s) for s in one.plan.sticks] for one in mine] == [
        [stick(s) for s in one.plan.sticks] for one in theirs
    ]
