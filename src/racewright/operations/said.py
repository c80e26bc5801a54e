"""What was seen and done on the runs of a job, in words; nothing is planned for it."""

from __future__ import annotations

from racewright.cards.entry_words import pins_line, said_line
from racewright.operations.common import Answer, Known, Part
from racewright.operations.jobs import JobRequest
from racewright.records.ids import Id


class JobSaidRequest(JobRequest, frozen=True, kw_only=True):
    """The entries of the job, in words."""


class SaidEntry(Part, frozen=True, kw_only=True):
    """One entry, by its id: what it says, on its run's tape; what it was made with ('revision 2, plan 4K7WQX, ...')."""

    entry: Id
    words: str
    made_with: str


class JobSaidAnswer(Answer, frozen=True, kw_only=True):
    """The entries in the order of the job."""

    said: tuple[SaidEntry, ...]


def job_said(request: JobSaidRequest, _: Known) -> JobSaidAnswer:
    """Put every entry into words."""
    runs = {run.id: run for run in request.job.runs}
    return JobSaidAnswer(
        said=tuple(
            SaidEntry(entry=entry.id, words=said_line(runs[entry.run], entry), made_with=pins_line(entry))
            for entry in request.job.entries
        )
    )
