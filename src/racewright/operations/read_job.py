"""A job file as the page writes it, or one survey, checked: every reading as text, as a person wrote it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, get_args

from racewright.errors import InputError, renamed
from racewright.operations.common import Answer, Known, Part, Request
from racewright.survey.from_data import survey_from_data
from racewright.survey.written import WrittenSurvey

FORMAT = "racewright job 1"
#: How far the conduit of a run is, from the tape to the wall.
Progress = Literal["measured", "bending", "bent", "in-place"]


class ReadJobRequest(Request, frozen=True, kw_only=True):
    """A job file as decoded JSON, `{"format": "racewright job 1", "runs": [...]}`, or one survey."""

    job: dict[str, Any]


class PageRun(Part, frozen=True, kw_only=True):
    """A run as the page keeps it: its readings as text, and how far its conduit is."""

    survey: WrittenSurvey
    status: Progress


class ReadJobAnswer(Answer, frozen=True, kw_only=True):
    """The runs, checked."""

    runs: tuple[PageRun, ...]


def read_job(request: ReadJobRequest, _: Known) -> ReadJobAnswer:
    """The runs of a job. Raises InputError with the field of what cannot be taken."""
    job = request.job
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
    status = item.get("status", "measured")
    if status not in get_args(Progress):
        known = ", ".join(get_args(Progress))
        raise InputError(f"{field}.status: there is no such status.", hint=f"it is one of: {known}", field=field)
    return PageRun(survey=_survey(item.get("survey"), f"{field}.survey"), status=status)


def _survey(data: object, field: str) -> WrittenSurvey:
    if isinstance(data, Mapping):
        data = {name: _text(value) if name == "run" else value for name, value in data.items()}
    try:
        survey = survey_from_data(data)
    except InputError as err:
        raise renamed(err, f"{field}.{err.field}".rstrip(".")) from None
    if not survey.run.walk or any(part.leg is None and part.turn is None for part in survey.run.walk):
        raise InputError(
            f"{field}.run.walk: a run is a walk of legs and turns.",
            hint="each part says leg, its length, or turn, its way",
            field=f"{field}.run.walk",
        )
    return survey


def _text(value: Any) -> Any:
    """Numbers as text; what is null is left away."""
    if isinstance(value, Mapping):
        return {name: _text(inner) for name, inner in value.items() if inner is not None}
    if isinstance(value, list):
        return [_text(inner) for inner in value]
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(value) if isinstance(value, int | float) and not isinstance(value, bool) else value
