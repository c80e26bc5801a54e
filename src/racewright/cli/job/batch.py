"""`racewright job plan`: every run planned on all cores, or on a cluster; stopped, it goes on where it was."""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from contextlib import closing

import msgspec

from racewright.cautions import cautions_text
from racewright.cli.job.common import job_key, open_shop, who
from racewright.cli.job.report import print_rows
from racewright.cli.terminal import own_codes
from racewright.errors import InputError
from racewright.job.batch import plan_chunks
from racewright.job.plan_job import RunSummary, chunks_of, run_digest
from racewright.records.model import JobRun, Status
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_store import JobStore, Kept, RunSave
from racewright.store.plan_cache import PlanCache

BAR = 30


def plan_job(args: argparse.Namespace) -> int:
    """Plan what is not planned yet. Returns 1 where a run has a problem or no plan."""
    if args.processes is not None and args.processes < 1:
        raise InputError(
            "--processes: at least one is needed.", hint="leave it away for one each core", field="processes"
        )
    with open_shop(args) as store:
        job = job_key(args, store)
        head = store.head(job).value
        kept = store.runs(job)
        cache = PlanCache(store.path)
        digests = {k.value.key: run_digest(k.value, head.benders) for k in kept}
        known = {} if args.again else {key: r for key, d in digests.items() if (r := cache.get(d)) is not None}
        todo = [k.value for k in kept if k.value.key not in known]
        bar = _Bar(len(kept), len(kept) - len(todo))
        try:
            with closing(plan_chunks(chunks_of(head, todo), processes=args.processes, on=args.on)) as results:
                for part in results:
                    cache.add(part)
                    known.update((r.key, r) for r in part)
                    bar.show(len(known))
        except KeyboardInterrupt:
            bar.end()
            _note_status(store, job, kept, known, who(args))
            print(f"{len(known)} of {len(kept)} runs are planned; the same command goes on from here", file=sys.stderr)
            raise
        bar.end()
        cache.tidy(digests.values())
        _note_status(store, job, kept, known, who(args))
        runs = [k.value for k in store.runs(job) if k.value.key in known]
    _print(args, runs, known, planned_now=len(todo))
    return 0 if all(r.outcome == "planned" for r in known.values()) else 1


def _note_status(
    store: JobStore, job: str, kept: Sequence[Kept[JobRun]], known: dict[str, RunSummary], by: str
) -> None:
    """measured -> planned where there is a plan without a problem, and back; in one change; runs that somebody changed
    meanwhile are left alone."""
    saves = []
    for k in kept:
        result = known.get(k.value.key)
        if result is not None and k.value.status in ("measured", "planned"):
            status: Status = "planned" if result.outcome == "planned" else "measured"
            if status != k.value.status:
                saves.append(RunSave(msgspec.structs.replace(k.value, status=status), k.revision))
    if not saves:
        return
    try:
        store.save_runs(job, saves, by=by, what=f"planned: {len(saves)} runs", skip_stale=True)
    except StoreTrouble as err:
        print(f"planned, but the status of the runs could not be saved: {err}", file=sys.stderr)


def _print(args: argparse.Namespace, runs: Sequence[JobRun], known: dict[str, RunSummary], *, planned_now: int) -> None:
    if args.json:
        print(json.dumps([msgspec.to_builtins(known[r.key]) for r in runs], indent=2))
        return
    bad = [r for r in runs if known[r.key].outcome != "planned"]
    for run in bad:
        result = known[run.key]
        print(f"{run.key}: {result.outcome}: {result.message}")
        if result.hint:
            print(f"  hint: {result.hint}")
    if len(runs) <= 60:
        print_rows([r for r in runs if r not in bad], dict(known))
    cautions = sum(known[r.key].cautions > 0 for r in runs)
    print(
        f"{len(runs) - len(bad)} of {len(runs)} runs planned without a problem"
        f"{f', {cautions} with a caution' if cautions else ''}; {planned_now} worked out now"
    )
    print(cautions_text("plan"))


class _Bar:
    """A bar on the terminal, or nothing."""

    def __init__(self, total: int, done: int) -> None:
        self.total, self.first = total, done
        self.on = sys.stderr.isatty() and total > done
        self.began = time.monotonic()
        self.show(done)

    def show(self, done: int) -> None:
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

    def end(self) -> None:
        if self.on:
            print(file=sys.stderr)
            self.on = False
