"""What was seen and done on the runs of a job, in words; nothing is planned for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import msgspec

from racewright.cards.entry_words import pins_line, said_line
from racewright.errors import RacewrightError
from racewright.job.plan_job import plan_one, run_digest
from racewright.operations.common import Answer, Known, Part
from racewright.operations.jobs import JobRequest
from racewright.records.ends_cut import ends_cut
from racewright.records.ids import Id
from racewright.records.model import Job, JobRun

if TYPE_CHECKING:
    from racewright.operations.common import Plans


class JobSaidRequest(JobRequest, frozen=True, kw_only=True):
    """The entries of the job, in words. `pieces`: of how many pieces a run is, by its id, where that is known."""

    pieces: dict[Id, Annotated[int, msgspec.Meta(ge=0, le=1000)]] = msgspec.field(default_factory=dict)


class SaidEntry(Part, frozen=True, kw_only=True):
    """One entry, by its id: what it says, on its run's tape; what it was made with ('revision 2, plan 4K7WQX, ...')."""

    entry: Id
    words: str
    made_with: str


class JobSaidAnswer(Answer, frozen=True, kw_only=True):
    """The entries in the order of the job."""

    said: tuple[SaidEntry, ...]


def pieces_of(run: JobRun, job: Job, plans: Plans) -> int:
    """Of how many pieces a run is, by what is known of its plan, else planned now; 0 where it has no plan."""
    known = plans.get(run_digest(run, job))
    try:
        return len(known.pieces if known else plan_one(run, job).pieces)
    except RacewrightError:
        return 0


def job_said(request: JobSaidRequest, _: Known) -> JobSaidAnswer:
    """Put every entry into words."""
    runs, ends = {run.id: run for run in request.job.runs}, ends_cut(request.job.entries)
    return JobSaidAnswer(
        said=tuple(
            SaidEntry(
                entry=entry.id,
                words=said_line(runs[entry.run], entry, pieces=request.pieces.get(entry.run, 0), ends=ends),
                made_with=pins_line(entry),
            )
            for entry in request.job.entries
        )
    )
