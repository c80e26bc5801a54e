"""`racewright job plan`: every run planned on all cores, or on a cluster; stopped, it goes on where it was."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import closing
from typing import TYPE_CHECKING, cast

import msgspec

from racewright.cards.text.job import job_plan_text
from racewright.cli.answers import asked, show
from racewright.cli.job.common import job_key, open_shop, who
from racewright.cli.terminal import own_codes
from racewright.job.batch import plan_chunks
from racewright.operations.job_status import JobPlanRequest, JobStatusRequest
from racewright.records.model import Job, JobRun
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_store import JobStore, Kept, RunSave
from racewright.store.plan_cache import PlanCache

if TYPE_CHECKING:
    from racewright.job.plan_job import Chunk, RunSummary
    from racewright.operations.job_status import JobPlanAnswer, JobStatusAnswer, RunRow

BAR = 30


def plan_job(args: argparse.Namespace) -> int:
    """Plan what is not planned yet. Returns 1 where a run has a problem or no plan."""
    with open_shop(args) as store:
        key = job_key(args, store)
        kept = store.runs(key)
        job = Job(head=store.head(key).value, runs=tuple(k.value for k in kept))
        cache = PlanCache(store.path)

        def workers(chunks: Sequence[Chunk]) -> Iterator[tuple[RunSummary, ...]]:
            bar = _Bar(len(kept), len(kept) - sum(len(chunk.runs) for chunk in chunks))
            with closing(plan_chunks(chunks, processes=args.processes, on=args.on)) as results, closing(bar):
                for part in results:
                    cache.add(part)
                    bar.show(bar.done + len(part))
                    yield part

        request = JobPlanRequest(job=job, revisions={k.value.key: k.revision for k in kept}, again=args.again)
        try:
            answer = cast("JobPlanAnswer", asked("job_plan", request, plans=cache.known, workers=workers))
        except KeyboardInterrupt:
            so_far = cast("JobStatusAnswer", asked("job_status", JobStatusRequest(job=job), plans=cache.known)).runs
            _save_status(store, key, kept, so_far, who(args))
            planned = sum(row.plan is not None for row in so_far)
            print(f"{planned} of {len(kept)} runs are planned; the same command goes on from here", file=sys.stderr)
            raise
        cache.tidy(row.plan.digest for row in answer.runs if row.plan)
        _save_status(store, key, kept, answer.runs, who(args))
    return show(answer, job_plan_text, as_json=args.json)


def _save_status(store: JobStore, job: str, kept: Sequence[Kept[JobRun]], rows: Sequence[RunRow], by: str) -> None:
    """What the plans make of the runs' status, in one change; runs that somebody changed meanwhile are left alone."""
    saves = [
        RunSave(msgspec.structs.replace(k.value, status=row.becomes), k.revision)
        for k, row in zip(kept, rows, strict=True)
        if row.becomes != row.status
    ]
    if not saves:
        return
    try:
        store.save_runs(job, saves, by=by, what=f"planned: {len(saves)} runs", skip_stale=True)
    except StoreTrouble as err:
        print(f"planned, but the status of the runs could not be saved: {err}", file=sys.stderr)


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
