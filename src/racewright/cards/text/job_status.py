"""How far jobs and their runs are, as text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from racewright.records.model import STATUS_WORDS, Status

if TYPE_CHECKING:
    from racewright.operations.job_run import JobRunAnswer
    from racewright.operations.job_status import JobPlanAnswer, JobsAnswer, JobStatusAnswer, RunRow

#: So many runs are listed after planning; a longer job has its status.
_MOST_ROWS = 60


def jobs_text(answer: JobsAnswer) -> str:
    """One line a job."""
    lines = []
    for row in answer.jobs:
        states = ", ".join(f"{n} {STATUS_WORDS[s]}" for s, n in row.status.items())
        lines.append(f"{row.job:16} {row.name}: {row.runs} runs{f' ({states})' if states else ''}")
    return "\n".join(lines) if lines else "no jobs yet: `racewright job new KEY` begins one"


def job_status_text(answer: JobStatusAnswer) -> str:
    """Every run by area, and how many have each status."""
    lines = [f"{answer.name}: {len(answer.runs)} runs"]
    for area in (*answer.areas, ""):
        here = [row for row in answer.runs if row.area == area]
        if here:
            lines += ["", area or "no area", *_rows([(row, row.status) for row in here])]
    return "\n".join([*lines, "", ", ".join(f"{n} {STATUS_WORDS[s]}" for s, n in answer.status.items())])


def job_plan_text(answer: JobPlanAnswer) -> str:
    """The runs that have a plan without a problem, and how many that are."""
    plans = [row.plan for row in answer.runs if row.plan]
    good = [row for row in answer.runs if row.plan and row.plan.outcome == "planned"]
    cautions = sum(plan.cautions > 0 for plan in plans)
    words = f"{len(good)} of {len(answer.runs)} runs planned without a problem"
    words += f", {cautions} with a caution" if cautions else ""
    rows = _rows([(row, row.becomes) for row in good]) if len(answer.runs) <= _MOST_ROWS else []
    return "\n".join([*rows, f"{words}; {answer.planned_now} worked out now"])


def job_run_text(answer: JobRunAnswer) -> str:
    """What is written down about a run, and its card."""
    lines = [f"  wires: {', '.join(answer.wires)}"] if answer.wires else []
    lines += [f"  measured, corrected: {line}" for line in answer.as_built]
    lines += [f"  note: {answer.note}"] if answer.note else []
    return "\n".join([*lines, "", answer.card])


def _rows(runs: Sequence[tuple[RunRow, Status]]) -> list[str]:
    """One line a run: key, status, raceway, length and bends where they are known, name."""
    width = max((len(row.run) for row, _ in runs), default=0)
    return [
        f"  {row.run:{width}}  {STATUS_WORDS[status]:12} {row.raceway:10} {_figures(row):30} {row.name}"
        for row, status in runs
    ]


def _figures(row: RunRow) -> str:
    if row.plan is None:
        return "not planned yet" if row.status == "measured" else ""
    if not row.plan.pieces:
        return row.plan.outcome.upper()
    bends = sum(piece.bends for piece in row.plan.pieces)
    pieces = f"{len(row.plan.pieces)} pieces" if len(row.plan.pieces) > 1 else "1 piece"
    counted = "1 bend" if bends == 1 else f"{bends} bends"
    return f"{row.length}, {pieces}, {counted}" + (", PROBLEM" if row.plan.problems else "")
