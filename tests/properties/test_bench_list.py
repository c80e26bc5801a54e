"""The batch list: settings as few as can be, against every other order; and a list that a person can follow."""

from __future__ import annotations

from collections import Counter
from itertools import product

import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st
from shed_jobs import jobs

from racewright.job.bench_list import bench_list
from racewright.job.fewest_settings import fewest_settings
from racewright.job.plan_job import plan_job
from racewright.records.entry import NOT_BENT, BendMade, Entry, Made, StatusSet
from racewright.records.model import Job

SEQUENCES = st.lists(st.lists(st.integers(0, 3), min_size=0, max_size=5).map(tuple), max_size=6)


def holds(order: tuple[int, ...], sequence: tuple[int, ...]) -> bool:
    at = 0
    for setting in order:
        at += at < len(sequence) and sequence[at] == setting
    return at == len(sequence)


def fewest_by_trying(sequences: list[tuple[int, ...]], most: int) -> int:
    """The length of the shortest list that holds all of them: every list is tried, shortest first."""
    names = sorted({setting for sequence in sequences for setting in sequence})
    for length in range(most + 1):
        if any(all(holds(order, s) for s in sequences) for order in product(names, repeat=length)):
            return length
    return most + 1


@settings(max_examples=120, deadline=None)
@given(SEQUENCES)
def test_no_list_of_settings_is_shorter(sequences: list[tuple[int, ...]]) -> None:
    found = fewest_settings(sequences)
    assert all(holds(found.order, sequence) for sequence in sequences)
    assert found.least <= len(found.order)
    if len(found.order) <= 7:
        assert fewest_by_trying(sequences, len(found.order)) == len(found.order) == found.least


@settings(max_examples=4, deadline=None)
@given(st.lists(st.lists(st.integers(0, 9), min_size=6, max_size=12).map(tuple), min_size=40, max_size=120))
def test_a_search_that_is_cut_short_says_what_is_sure(sequences: list[tuple[int, ...]]) -> None:
    found = fewest_settings(sequences)
    assert all(holds(found.order, sequence) for sequence in sequences)
    most = Counter[int]()
    for sequence in sequences:
        most |= Counter(sequence)
    assert most.total() <= found.least <= len(found.order)
    assert found == fewest_settings(list(reversed(sequences)))


@st.composite
def half_done(draw: st.DrawFn) -> Job:
    """A job with runs alike of which copies are bent, and pieces that are begun."""
    job = draw(jobs())
    runs = tuple(msgspec.structs.replace(run, times=draw(st.integers(1, 4))) for run in job.runs)
    entries = []
    for run in runs:
        for copy in range(1, run.times + 1):
            told = draw(st.sampled_from(["", "", "bent", "begun"]))
            if told == "bent":
                entries.append(Entry(run=run.id, copy=copy, what=StatusSet(status="bent")))
            if told == "begun":
                entries.append(Entry(run=run.id, copy=copy, piece=1, what=Made(bends=(BendMade(number=1),))))
    return msgspec.structs.replace(job, runs=runs, entries=tuple(entries))


@settings(max_examples=40, deadline=None)
@given(half_done())
def test_who_follows_the_list_bends_each_piece_in_its_own_order(job: Job) -> None:
    planned = list(plan_job(job, choices=False))
    found = bench_list(job, planned, NOT_BENT)
    kinds = {kind.number: kind for kind in found.kinds}
    done = dict.fromkeys(kinds, 0)
    for batch in found.tools:
        for setting in batch.settings:
            assert setting.work
            for work in setting.work:
                kind = kinds[work.kind]
                assert (kind.tool, kind.raceway) == (batch.tool, batch.raceway)
                assert work.order == done[work.kind] + 1
                done[work.kind] = work.order
                bend = kind.bends[work.order - 1]
                assert (bend.order, bend.bend_to, bend.read) == (work.order, setting.bend_to, setting.read)
                assert bend.held == setting.how
        assert len(batch.settings) == batch.least
        assert all(a[1:] != b[1:] for a, b in zip(_named(batch.settings), _named(batch.settings)[1:], strict=False))
    assert all(done[number] == len(kind.bends) for number, kind in kinds.items())
    # every piece that has bends, of every copy that is not bent, once: listed, or told why not
    listed = Counter[str]()
    for kind in found.kinds:
        assert kind.count == sum(max(1, len(one.copies)) for one in kind.pieces)
        for one in kind.pieces:
            listed.update([f"{one.label}#{copy}" for copy in one.copies] or [one.label])
    listed.update(found.begun)
    wanted = Counter[str]()
    for run in planned:
        for number, piece in enumerate(run.plan.pieces if run.plan else (), 1):
            if not piece.bends or not piece.order_known:
                continue
            label = f"{run.key}-{number}" if run.plan and len(run.plan.pieces) > 1 else run.key
            for copy, status in enumerate(job.statuses(run.run), 1):
                if status in NOT_BENT:
                    wanted[f"{label}#{copy}" if run.run.times > 1 else label] += 1
    assert listed == wanted
    # what is one kind is marked alike, whichever piece it is
    by_label = {
        (f"{run.key}-{n}" if len(run.plan.pieces) > 1 else run.key): piece
        for run in planned
        if run.plan
        for n, piece in enumerate(run.plan.pieces, 1)
    }
    for kind in found.kinds:
        for one in kind.pieces:
            in_order = sorted(by_label[one.label].bends, key=lambda bend: bend.order)
            assert [bend.number for bend in in_order] == [bend.number for bend in kind.bends]
            assert [bend.mark_tape for bend in in_order] == [bend.reading.rstrip('"') for bend in kind.bends]


def _named(found: tuple[object, ...]) -> list[tuple[object, ...]]:
    return [(one, getattr(one, "bend_to", ""), getattr(one, "read", ""), getattr(one, "how", "")) for one in found]
