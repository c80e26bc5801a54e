"""One run of a job: what was written down about it, and its card."""

from __future__ import annotations

import msgspec

from racewright.cards.entry_words import as_built_lines
from racewright.cards.pack_model import named_plan, wire_lines
from racewright.cards.text.bend_card import text_card
from racewright.cards.words import tool_words
from racewright.cautions import cautions_for
from racewright.errors import InputError, RacewrightError, UnknownName
from racewright.job.plan_job import plan_one, run_digest, without_plan
from racewright.operations.bends_recorded import (
    kept_otherwise,
)
from racewright.operations.common import Answer, Known, Name
from racewright.operations.job_status import trouble
from racewright.operations.jobs import JobRequest, newer_tools
from racewright.plan.model import Plan
from racewright.records.entry import (
    Status,
    status_words,
)
from racewright.records.fields import Text
from racewright.records.model import Job, JobRun
from racewright.records.naming import keys_told_apart, runs_called, short_ids
from racewright.records.new_steps import with_new_marks
from racewright.records.of_plan import of_plan
from racewright.records.person import Person, accuracy_of
from racewright.records.superseded import against_card
from racewright.survey.written import WrittenAccuracy


class JobRunRequest(JobRequest, frozen=True, kw_only=True):
    """The run of the job that is called `run`: its key, or the beginning of its id. `hands`: who bends it, one of the
    shop's people: the forecast is for their hands ('': as the survey says, else as for everybody)."""

    run: Name
    hands: Text = ""


class JobRunAnswer(Answer, frozen=True, kw_only=True):
    """`status`: how far all `times` copies are, in `status_words` each of them. `wires` and `as_built` (what was
    measured and corrected on bent pieces) in lines of words; `card`: the bend card as text, which holds the findings
    and the cautions of the plan as well; '' for a run that is still to be measured (`job.open`) or cannot be made
    (`job.plan`). `tool`: the tool that the run names, and as which revision; else the trade's shoe with the word that
    its figures are taught; '' where it has no plan, or nothing is bent. `hands`: whose hands the card's
    forecast is for, where somebody was named."""

    run: str
    times: int
    status: Status
    status_words: str
    area: str
    tool: str
    wires: tuple[str, ...]
    as_built: tuple[str, ...]
    note: str
    hands: str
    card: str


def _person(job: Job, name: str) -> Person | None:
    return next((one for one in job.people if one.name.casefold() == name.strip().casefold()), None)


def _in_hands(run: JobRun, job: Job, name: str) -> JobRun:
    """The run as this person bends it; the plan's marks are the same."""
    if not name.strip():
        return run
    person = _person(job, name)
    if person is None:
        known = ", ".join(one.name for one in job.people) or "nobody yet"
        raise UnknownName(
            f"nobody is called '{name}' here.",
            hint=f"people: {known}; `racewright job people NAME --mark 1/16` adds somebody",
            field="hands",
        )
    hand = accuracy_of(person)
    accuracy = WrittenAccuracy(
        mark=f"{hand.mark_mm} mm", angle=str(person.angle_deg), roll=str(person.roll_deg), cut=f"{hand.cut_mm} mm"
    )
    of_run = msgspec.structs.replace(run.survey.run, accuracy=accuracy)
    return msgspec.structs.replace(run, survey=msgspec.structs.replace(run.survey, run=of_run))


def job_run(request: JobRunRequest, _: Known) -> JobRunAnswer:
    """Plan the run with the job's own tools. Raises InputError for a run, UnknownName for a person who is not there."""
    run, _at = run_of(request.job, request.run)
    _in_hands(run, request.job, request.hands)
    plan: Plan | None = None
    cautions = cautions_for("plan")
    try:
        plan = plan_one(_in_hands(run, request.job, request.hands), request.job)
        found, cautions = plan.findings, plan.cautions
    except RacewrightError as err:
        found = (trouble(run.key, without_plan(run, run_digest(run, request.job), err)),)
    entries, now = of_plan(request.job.entries_of(run), plan), plan.digest if plan else ""
    return JobRunAnswer(
        run=run.key,
        times=run.times,
        status=request.job.status(run),
        status_words=status_words(request.job.statuses(run)),
        area=run.area,
        tool=_tool(request.job, run, plan) if plan else "",
        wires=wire_lines(run),
        as_built=as_built_lines(run, entries, now, len(plan.pieces) if plan else 0),
        note=run.note,
        hands=person.name if plan and (person := _person(request.job, request.hands)) else "",
        card=text_card(named_plan(run, with_new_marks(plan, run, entries), key=False), colour=False) if plan else "",
        findings=(
            *newer_tools(request.job, [run]),
            *against_card(run, entries, now, plan.bends_planned if plan else (), plan),
            *(kept_otherwise(plan, run, entries) if plan else ()),
            *found,
        ),
        cautions=cautions,
    )


def _tool(job: Job, run: JobRun, plan: Plan) -> str:
    """'blue half, revision 2', or whose figures the marks are for."""
    return tool_words(plan) and (job.tool_words(run) or tool_words(plan))


def run_of(job: Job, name: str) -> tuple[JobRun, str]:
    """The run of this key or beginning of an id, and its path in the request. Raises InputError where that is none, or
    more than one."""
    found = runs_called(job.runs, name)
    if len(found) == 1:
        return found[0], f"job.runs[{job.runs.index(found[0])}]"
    if found:
        begins = short_ids(job.runs)
        named = "; ".join(f"{begins[run.id]} ({run.name})" for run in found)
        raise InputError(
            f"{len(found)} runs are called '{name}'.",
            hint=f"name one by the beginning of its id: {named}",
            field="run",
        )
    known = ", ".join(keys_told_apart(job.runs)[:12])
    raise InputError(
        f"the job has no run '{name}'.", hint=f"runs: {known}" if known else "it has no runs yet", field="run"
    )
