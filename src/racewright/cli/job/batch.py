"""`racewright job plan`: every run planned on all cores, or on a cluster; stopped, it goes on where it was."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import closing
from typing import TYPE_CHECKING, cast

from racewright import __version__
from racewright.cards.text.job import job_plan_text
from racewright.cli.answers import asked, show
from racewright.cli.job.common import job_key, open_shop, who
from racewright.cli.terminal import own_codes
from racewright.job.batch import plan_chunks
from racewright.operations.job_status import JobPlanRequest, JobStatusRequest
from racewright.records.entry import NOT_BENT, Pins, Status, StatusSet, to_set
from racewright.records.model import Job, JobRun
from racewright.store.job_changes import Noted, add_planned
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_store import JobStore
from racewright.store.plan_cache import PlanCache

if TYPE_CHECKING:
    from racewright.job.plan_job import Chunk, RunSummary
    from racewright.operations.job_status import JobPlanAnswer, JobStatusAnswer, RunRow

BAR = 30


def plan_job(args: argparse.Namespace) -> int:
    """Plan what is not planned yet. Returns 1 where a run has a problem or no plan, 2 where its status is not saved."""
    with open_shop(args) as store:
        key = job_key(args, store)
        job, revisions = store.load_with_revisions(key)
        cache = PlanCache(store.path)

        def workers(chunks: Sequence[Chunk]) -> Iterator[tuple[RunSummary, ...]]:
            bar = _Bar(len(job.runs), len(job.runs) - sum(len(chunk.runs) for chunk in chunks))
            with closing(plan_chunks(chunks, processes=args.processes, on=args.on)) as results, closing(bar):
                for part in results:
                    cache.add(part)
                    bar.show(bar.done + len(part))
                    yield part

        request = JobPlanRequest(job=job, revisions=revisions, again=args.again)
        try:
            answer = cast("JobPlanAnswer", asked("job_plan", request, plans=cache.known, workers=workers))
        except KeyboardInterrupt:
            # as the file has it: the interrupt may have come before the last results were in it
            looked = JobStatusRequest(job=job, revisions=revisions)
            known = PlanCache(store.path).known
            so_far = cast("JobStatusAnswer", asked("job_status", looked, plans=known)).runs
            _save_status(store, key, looked, so_far, who(args))
            planned = sum(row.plan is not None for row in so_far)
            print(f"{planned} of {len(job.runs)} runs are planned; the same command goes on from here", file=sys.stderr)
            raise
        cache.tidy(row.plan.digest for row in answer.runs if row.plan)
        saved = _save_status(store, key, request, answer.runs, who(args))
    shown = show(answer, job_plan_text, as_json=args.json)
    return shown if saved else 2


def _save_status(store: JobStore, key: str, seen: JobStatusRequest, rows: Sequence[RunRow], by: str) -> bool:
    """What the plans make of the runs' status, in one change; runs that somebody changed meanwhile are left alone.
    False where it could not be saved, as is said."""
    runs = {run.id: run for run in seen.job.runs}
    noted = [
        Noted(runs[row.id], (StatusSet(status=status),), _pins(row), copy=copy)
        for row in rows
        for copy, status in to_set(_bent_as_said(seen.job, runs[row.id], row), [row.becomes] * len(row.statuses))
    ]
    if not noted:
        return True
    try:
        add_planned(store, key, seen.job, seen.revisions, noted, by=by)
    except StoreTrouble as err:
        print(f"planned, but the status of the runs could not be saved: {err}", file=sys.stderr)
        return False
    return True


def _bent_as_said(job: Job, run: JobRun, row: RunRow) -> list[Status]:
    """How far the copies are; what was called bent stays so, also where more of it is to be bent by now."""
    said = zip(job.said_of(run), row.statuses, strict=True)
    return [now if was in NOT_BENT else was for was, now in said]


def _pins(row: RunRow) -> Pins:
    tool, marks = (row.plan.tool, row.plan.marks) if row.plan else ("", "")
    return Pins(run=row.revision, tool=tool, engine=__version__, marks=marks)


class _Bar:
    """A bar on the terminal, or nothing."""

    def __init__(self, total: int, done: int) -> None:
        self.total, self.first, self.done = total, done, done
        self.on = sys.stderr.isatty() and total > done
        self.began = time.monotonic()
        self.show(done)

    def show(self, done: int) -> None:
        self.done = done
        if not self.on:
            return
        filled = BAR * done // max(self.total, 1)
        spent = time.monotonic() - self.began
        left = spent / (done - self.first) * (self.total - done) if done > self.first else 0.0
        rest = f"  {left:.0f} s left" if left >= 1.0 else ""
        with own_codes(sys.stderr):
            bar = f"[{'#' * filled}{'.' * (BAR - filled)}] {done}/{self.total} runs{rest}"
            print(f"\r{bar}\x1b[K", end="", file=sys.stderr)
        sys.stderr.flush()

    def close(self) -> None:
        if self.on:
            print(file=sys.stderr)
            self.on = False
