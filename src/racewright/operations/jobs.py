"""Jobs in a request: read and checked, what questions about them share, and the page's own job file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import msgspec

from racewright.errors import Finding, InputError, LimitError, UnknownName, below
from racewright.operations.common import MOST_RUNS, Answer, Known, Part, Request, SurveyRequest
from racewright.records.before import STATUS_BEFORE as STATUS_BEFORE
from racewright.records.entry import STATUSES, Status
from racewright.records.model import Job, JobRun
from racewright.records.naming import copy_words, keys_twice, short_ids
from racewright.records.new_steps import with_new_marks
from racewright.records.of_plan import of_plan
from racewright.records.parse import job_from_data
from racewright.records.superseded import against_card
from racewright.records.tool import ToolAt
from racewright.survey.from_data import survey_from_data
from racewright.survey.written import WrittenSurvey

if TYPE_CHECKING:
    from racewright.job.plan_job import PlannedRun
    from racewright.plan.model import Plan


FORMAT = "racewright job 1"


class JobRequest(Request, frozen=True, kw_only=True):
    """A question about a job. `job` is a job file as data."""

    job: Job


class SheetRequest(SurveyRequest, frozen=True, kw_only=True):
    """A question for sheets of one run. `job`: of a run that is kept, the job file of it alone: what its record says
    against its card (other marks than the sheet's hold, it was made with another plan) then stands on the sheet."""

    job: Job | None = None


class JobsRequest(Request, frozen=True, kw_only=True):
    """A question about several jobs. `jobs`: job files as data, by the jobs' short names."""

    jobs: dict[str, Job]


def with_jobs(request: type[Request], parts: Mapping[str, Any], most_runs: int = MOST_RUNS) -> dict[str, Any]:
    """A request's fields with its jobs read, as they are kept. Raises InputError, its field a path in the request,
    LimitError for a job of more than `most_runs`."""
    out = dict(parts)
    of_sheet = issubclass(request, SheetRequest) and parts.get("job") is not None
    if of_sheet or (issubclass(request, JobRequest) and "job" in parts):
        out["job"] = _job(parts["job"], "job", most_runs)
    if issubclass(request, JobsRequest) and isinstance(parts.get("jobs"), dict):
        out["jobs"] = {key: _job(job, f"jobs.{key}", most_runs) for key, job in parts["jobs"].items()}
    return out


def _job(data: object, field: str, most_runs: int, *, is_kept: bool = True) -> Job:
    from racewright.operations.planned import check_size

    with below(field):
        job = job_from_data(data, is_kept=is_kept)
    if len(job.runs) > most_runs:
        raise LimitError(
            f"the job has {len(job.runs)} runs; the most that one request may hold is {most_runs}.",
            hint="ask for a part of it, or use the command `racewright job`, which takes any number",
            field=f"{field}.runs",
            quantity="runs",
            asked=len(job.runs),
            limit=most_runs,
        )
    for run in job.runs:
        check_size(run.survey)
    return job


def with_record(request: SheetRequest, made: Plan) -> Plan:
    """The plan to print, with what the run's record says against it. Raises InputError for a job that is not of one
    run."""
    job = request.job
    if job is None:
        return made
    if len(job.runs) != 1:
        raise InputError(
            f"a sheet is of one run, and the job holds {len(job.runs)}.",
            hint="give the job file of that run alone",
            field="job.runs",
        )
    run = job.runs[0]
    entries = of_plan(job.entries_of(run), made)
    told = against_card(run, entries, made.digest, made.bends_planned, made)
    return msgspec.structs.replace(with_new_marks(made, run, entries), findings=(*told, *made.findings))


def about_records(job: Job) -> Iterator[Finding]:
    """What the job's records say that does not go together: a caution for each key that two runs bear, and for each
    area that runs name and the job does not list."""
    begins = short_ids(job.runs)
    for key, runs in keys_twice(job.runs).items():
        named = "; ".join(f"{begins[run.id]} ({run.name})" for run in runs)
        yield Finding(
            rule="job.keys",
            severity="caution",
            message=f"{len(runs)} runs bear the key {key}, so a paper or a pencil mark with it may mean either: "
            f"{named}. Give all but one a key of their own: `racewright job rename`.",
            where=key,
        )
    yield from newer_tools(job, job.runs)
    called = Counter(person.name.casefold() for person in job.people)
    for name in dict.fromkeys(one.name for one in job.people if called.pop(one.name.casefold(), 1) > 1):
        yield Finding(
            rule="job.people",
            severity="caution",
            message=f"two people are called {name}, letter case aside: a forecast for {name} is for the hands of the"
            " first in the list. Give one of them another name.",
            where=name,
        )
    for area, names in areas_unlisted(job).items():
        yield Finding(
            rule="job.area",
            severity="caution",
            message=f"the area {area} is not among the job's: it was renamed or taken out elsewhere, or is new. These"
            f" runs are still listed under it: {', '.join(names)}.",
            where=area,
        )


def newer_tools(job: Job, runs: Sequence[JobRun]) -> Iterator[Finding]:
    """A caution for each tool that was measured anew since these runs were put on it, and one for each run alike that
    is begun in some of its copies alone; a run that is begun whole stays on what it is marked for."""
    found: dict[tuple[str, int, int], list[str]] = {}
    for run in runs:
        newer = job.newer_tool(run)
        if newer is not None and run.tool and not job.is_begun(run):
            found.setdefault((newer.name, run.tool.revision, newer.revision), []).append(run.key)
    for (name, old, new), keys in found.items():
        yield Finding(
            rule="run.newer_tool",
            severity="caution",
            message=f"the tool {name} was measured anew (revision {new}), and is planned with as it stood before"
            f" (revision {old}): {', '.join(keys)}. `racewright job tool RUN` takes it as it is now; what is marked or"
            " begun stays.",
            where=name,
        )
    for run in runs:
        newer = job.newer_tool(run)
        begun = job.copies_begun(run) if newer is not None else ()
        if newer is not None and run.tool and 0 < len(begun) < run.times:
            message = _begun_before(run, begun, newer, run.tool.revision)
            yield Finding(rule="run.newer_tool", severity="caution", message=message, where=run.key)


def _begun_before(run: JobRun, begun: Sequence[int], newer: ToolAt, old: int) -> str:
    """That some of runs alike are begun on a tool as it stood before, and how the others get its figures of now."""
    last = max(begun)
    others = [n for n in range(1, run.times + 1) if n not in begun]
    rest, among = run.times - last, copy_words([n for n in others if n < last])
    message = (
        f"the tool {newer.name} was measured anew (revision {newer.revision}) while {copy_words(begun)} were begun as"
        f" it stood before (revision {old}); {len(others)} more ({copy_words(others)}) are planned with the old"
        " figures."
    )
    if rest:
        message += (
            f" To bend {rest} by the new ones: `racewright job times {last} {run.key}`, then add the survey"
            f" (`racewright job show {run.key} --survey`) as a run of its own, `--times {rest}`: it takes the tool as"
            " it is now."
        )
        if run.survey.run.bender.casefold() != newer.name.casefold():
            message += f" The survey does not name it, so: `racewright job tool NEW --on '{newer.name}'`."
    if among:
        message += f" No number of copies parts off {among}: make a test bend with the tool as it is now before those."
    return message


def areas_unlisted(job: Job) -> dict[str, list[str]]:
    """The areas that runs name and the job does not list, each with the keys of these runs, in the order of the
    runs."""
    listed = {area.name for area in job.head.areas}
    found: dict[str, list[str]] = {}
    for run in job.runs:
        if run.area and run.area not in listed:
            found.setdefault(run.area, []).append(run.key)
    return found


def problems_of(planned: Sequence[PlannedRun]) -> tuple[Finding, ...]:
    """What stands against these runs, each by the run that has it: why it has no plan, the problems of its
    plan, what its record says against its card, and whether its searches were cut short."""
    loud = ((f, run.key) for run in planned for f in run.findings if f.severity == "problem")
    told = (finding for run in planned for finding in run.told)
    return (*left_out(planned), *(of_runs(finding, (key,)) for finding, key in loud), *told, *_cut_short(planned))


def _cut_short(planned: Sequence[PlannedRun]) -> tuple[Finding, ...]:
    message = (
        "Its couplings, and whether its pieces can be bent, were looked for with less work than it has alone, so many"
        " hard runs were asked for at once: its pieces may not be those of its card. Ask for fewer before you cut them."
    )
    return tuple(
        Finding(rule="job.search", severity="caution", message=message, where=run.key)
        for run in planned
        if run.cut_short
    )


def left_out(planned: Sequence[PlannedRun]) -> tuple[Finding, ...]:
    """A problem for each run that has no plan, named as a person knows it, and why."""
    return tuple(
        Finding(rule="job.no_plan", severity="problem", message=run.left_out_words, where=run.key)
        for run in planned
        if run.plan is None
    )


def of_runs(finding: Finding, keys: Sequence[str]) -> Finding:
    """A finding of a plan, told among those of other runs: by the runs that have it, its own place in the message."""
    where = f" ({finding.where})" if finding.where and not finding.says_where() else ""
    return msgspec.structs.replace(finding, message=f"{finding.message}{where}", where=", ".join(keys))


def only_area(job: Job, area: str) -> Job:
    """The job with the runs of one area only, with all where none is named. Raises UnknownName for an area that no run
    has."""
    if not area:
        return job
    runs = tuple(run for run in job.runs if run.area.casefold() == area.casefold())
    if not runs:
        known = ", ".join(dict.fromkeys(run.area for run in job.runs if run.area)) or "none"
        raise UnknownName(
            f"no run is in area '{area}'.", hint=f"areas with runs: {known}", field="area", expected=known
        )
    return msgspec.structs.replace(job, runs=runs)


def in_areas(job: Job, planned: Sequence[PlannedRun]) -> tuple[PlannedRun, ...]:
    """The runs in the order of the job's areas, those of no area last."""
    order = {name: k for k, name in enumerate((*(area.name for area in job.head.areas), *areas_unlisted(job)))}
    return tuple(sorted(planned, key=lambda p: order.get(p.area, len(order))))


class ReadJobRequest(Request, frozen=True, kw_only=True):
    """A job file as decoded JSON, one that the page gave out before (`{"format": "racewright job 1", "runs": [...]}`),
    or one survey."""

    job: dict[str, Any]


class PageRun(Part, frozen=True, kw_only=True):
    """A run as the page keeps it: its readings as text, and how far its conduit is."""

    survey: WrittenSurvey
    status: Status


class ReadJobAnswer(Answer, frozen=True, kw_only=True):
    """A job file's job, as it is kept now; of all else the runs, checked."""

    runs: tuple[PageRun, ...] = ()
    job: Job | None = None


def read_job(request: ReadJobRequest, _: Known) -> ReadJobAnswer:
    """What a file holds. Raises InputError with the field of what cannot be taken."""
    job = request.job
    if "racewright_job" in job:
        return ReadJobAnswer(job=_job(job, "job", MOST_RUNS, is_kept=False))
    if isinstance(job.get("run"), Mapping):
        return ReadJobAnswer(runs=(PageRun(survey=_survey(job, "job"), status="measured"),))
    runs = job.get("runs")
    if job.get("format") != FORMAT or not isinstance(runs, list):
        raise InputError(
            "this holds no runs that can be read here.",
            hint="choose a file saved from this page, or a survey in JSON",
            field="job",
        )
    return ReadJobAnswer(runs=tuple(_run(item, f"job.runs[{i}]") for i, item in enumerate(runs)))


def _run(item: object, field: str) -> PageRun:
    if not isinstance(item, Mapping):
        raise InputError(f"{field}: this is no run.", hint="a run has a survey and a status", field=field)
    told = item.get("status", "measured")
    status = STATUS_BEFORE.get(told, told) if isinstance(told, str) else told
    if status not in STATUSES:
        known = ", ".join(STATUSES)
        raise InputError(f"{field}.status: there is no such status.", hint=f"it is one of: {known}", field=field)
    return PageRun(survey=_survey(item.get("survey"), f"{field}.survey"), status=status)


def _survey(data: object, field: str) -> WrittenSurvey:
    if isinstance(data, Mapping):
        data = {name: _text(value) if name == "run" else value for name, value in data.items()}
    with below(field):
        survey = survey_from_data(data)
    if not survey.run.walk or any(part.leg is None and part.turn is None for part in survey.run.walk):
        raise InputError(
            f"{field}.run.walk: a run is a walk of legs and turns.",
            hint="each part says leg, its length, or turn, its way",
            field=f"{field}.run.walk",
        )
    return survey


def _text(value: Any) -> Any:
    """Numbers as text; what is null is left out."""
    if isinstance(value, Mapping):
        return {name: _text(inner) for name, inner in value.items() if inner is not None}
    if isinstance(value, list):
        return [_text(inner) for inner in value]
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(value) if isinstance(value, int | float) and not isinstance(value, bool) else value
