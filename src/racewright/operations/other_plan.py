"""What is recorded of a piece beside the plan that it was cut or begun for, where that is not the run's present one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from racewright.errors import Finding
from racewright.operations.steps_recorded import StepSaid
from racewright.plan.model import Plan
from racewright.records.entry import Entry, Made, is_work
from racewright.records.model import JobRun
from racewright.records.steps import STEPS
from racewright.records.superseded import far_made, further, made_by_other, plan_differs


def of_another_plan(run: JobRun, bent_from: str, now: Plan | None) -> Iterator[Finding]:
    """A caution where it is recorded for another plan than the run has now."""
    differs = plan_differs(bent_from, now.digest if now else "")
    if differs:
        yield Finding(
            severity="caution",
            rule="job.other_plan",
            message=f"recorded {differs}, so nothing of it was held to that",
            where=run.key,
        )


def by_this_plan(
    run: JobRun, piece: int, steps: Sequence[StepSaid], of_copy: Sequence[Entry], now: Plan
) -> Iterator[Finding]:
    """A caution where the piece was begun by another plan and work on it is recorded by the present one."""
    one = replace(run, times=1)
    entries = (replace(entry, copy=None) for entry in of_copy)
    before = made_by_other(one, entries, now.digest, len(now.pieces)).get((1, piece))
    work = (e for e in of_copy if is_work(e) and (e.piece or 1) == piece)
    others = (e.what for e in work if e.pins.marks != now.digest)
    only_cut = further(*("bent" if not isinstance(what, Made) else far_made(what) for what in others)) == "cut"
    if before and only_cut and not any(STEPS[step.kind].cut == "is" for step in steps):
        yield Finding(
            severity="caution",
            rule="job.other_plan",
            message=f"it was cut for plan {before}, and this is recorded for the present one, {now.digest}: once it is"
            f" cut to that, record it (`racewright job record {run.key} --done length`)",
            where=run.key,
        )
    elif before and not only_cut:
        yield Finding(
            severity="caution",
            rule="job.other_plan",
            message=f"it was begun for plan {before}, and this is recorded for the present one, {now.digest}: if it was"
            f" bent by the sheet of that plan, take this back (`racewright job undo {run.key}`) and record it with"
            f" `--plan {before.partition(' ')[0]}`",
            where=run.key,
        )
