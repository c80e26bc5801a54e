"""A job from plain data (dicts, lists, text), every error with the path of its field; and checks across its parts."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from typing import Any

import msgspec

from racewright.errors import InputError
from racewright.field_words import explained, one_spelling
from racewright.fit.accuracy import Accuracy
from racewright.records.model import JOB_FORMAT, Accuracies, Job, JobHead, JobRun
from racewright.survey.read import read_survey
from racewright.survey.written import Written, WrittenSurvey
from racewright.units.length import parse_length

ReadSurvey = Callable[[object], WrittenSurvey]

#: Money or hours above this are a slip of the pen, and finer ones than this many places are none (our own choice).
MOST_AMOUNT = 1_000_000_000
MOST_PLACES = 12

_TYPES: dict[str, Any] = {"run": JobRun, "job": Job}


def is_amount(number: Decimal) -> bool:
    """Whether this can be a price, a rate, or hours. A number such as 1E+400000000 would be worked on for ever."""
    exponent = number.as_tuple().exponent
    return isinstance(exponent, int) and exponent >= -MOST_PLACES and 0 <= number <= MOST_AMOUNT


def job_from_data(data: object, *, read: ReadSurvey | None = None) -> Job:
    """A whole job from the data of a job file. `read` turns a survey's data into a written survey, with better words
    for its errors than plain conversion has. Raises InputError with the field's path."""
    if not isinstance(data, dict):
        raise InputError("this is not a job: a job file holds head and runs.", hint="see docs/job.md", field="head")
    version = data.get("racewright_job")
    if isinstance(version, int) and version > JOB_FORMAT:
        raise InputError(
            f"the job file is of format {version}; this Racewright reads up to {JOB_FORMAT}.",
            hint="bring Racewright up to date",
            field="racewright_job",
        )
    if version is None:
        raise InputError(
            "racewright_job: is missing, so this is no job file.",
            hint="a run alone is a survey: add it to a job with `racewright job add`",
            field="racewright_job",
        )
    runs = data.get("runs", [])
    if read is not None and isinstance(runs, list | tuple):
        for index, run in enumerate(runs):
            if isinstance(run, dict) and "survey" in run:
                _read_survey(run["survey"], read, f"runs[{index}].survey")
    job: Job = _convert(one_spelling(data), "job")
    check_job(job)
    return job


def run_from_data(data: object) -> JobRun:
    """One run from plain data. Raises InputError with the field's path."""
    found: JobRun = _convert(one_spelling(data), "run")
    return found


def check_job(job: Job) -> None:
    """What no single field can tell: keys that are used twice, areas that do not exist, lengths, money and surveys
    that cannot be read. Raises InputError."""
    check_head(job.head)
    seen: dict[str, str] = {}
    for index, run in enumerate(job.runs):
        other = seen.get(run.key.casefold())
        if other is not None:
            raise InputError(
                f"runs[{index}].key: '{run.key}' and '{other}' are one key.",
                hint="give every run a key of its own",
                field=f"runs[{index}].key",
            )
        seen[run.key.casefold()] = run.key
        check_run(run, job.head, f"runs[{index}]")


def check_head(head: JobHead) -> None:
    """Raises InputError for lengths and money that cannot be read, and names used twice."""
    _distinct([a.name for a in head.areas], "head.areas")
    _distinct([b.name for b in head.benders], "head.benders")
    _distinct([p.item for p in head.prices.items], "head.prices.items")
    _distinct([p.name for p in head.people], "head.people")
    length_mm(head.cutting.kerf, head, "head.cutting.kerf")
    length_mm(head.cutting.keep, head, "head.cutting.keep")
    length_mm(head.wire_slack, head, "head.wire_slack")
    for i, stock in enumerate(head.stock):
        length_mm(stock.length, head, f"head.stock[{i}].length", allow_zero=False)
        decimal(stock.price, f"head.stock[{i}].price")
    decimal(head.prices.labour_rate, "head.prices.labour_rate")
    for i, price in enumerate(head.prices.items):
        decimal(price.price, f"head.prices.items[{i}].price")
        decimal(price.labour_h, f"head.prices.items[{i}].labour_h")
    for i, person in enumerate(head.people):
        accuracy_of(person, head, f"head.people[{i}]")


def check_run(run: JobRun, head: JobHead, field: str = "run") -> None:
    """Raises InputError for an area that the job does not have, a slack or a survey that cannot be read."""
    check_area(run, head, field)
    if run.wire_slack is not None:
        length_mm(run.wire_slack, head, f"{field}.wire_slack")
    try:
        read_survey(run.survey)
    except InputError as err:
        raise _moved(err, f"{field}.survey", run.key) from None


def check_area(run: JobRun, head: JobHead, field: str = "run") -> None:
    """Raises InputError for an area that the job does not have."""
    names = [a.name for a in head.areas]
    if run.area and run.area not in names:
        raise InputError(
            f"{field}.area: the job has no area '{run.area}'.",
            hint=f"its areas: {', '.join(names)}" if names else "add the area to the job's head first",
            field=f"{field}.area",
            expected=", ".join(names),
        )


def length_mm(value: Written, head: JobHead, field: str, *, allow_zero: bool = True) -> float:
    """A length of the job in mm; plain numbers are in the job's units. Raises InputError."""
    return float(parse_length(value, head.units, field=field, allow_zero=allow_zero))


def decimal(value: Written | None, field: str) -> Decimal | None:
    """Money or hours, exactly as written, or None. Raises InputError for what is no number, or below zero."""
    if value is None:
        return None
    text = str(value).strip() if not isinstance(value, int) or abs(value) <= MOST_AMOUNT else "too much"
    try:
        number = Decimal(text) if len(text) <= 40 else Decimal("NaN")
    except InvalidOperation:
        number = Decimal("NaN")
    if not is_amount(number):
        raise InputError(
            f"{field}: cannot take '{text[:40]}' as an amount: it must be a plain number from 0 to {MOST_AMOUNT:,}.",
            hint="write digits with a point, for example 14.20",
            field=field,
            expected="a number",
            example="14.20",
        )
    return number


def accuracy_of(person: Accuracies, head: JobHead, field: str = "person") -> Accuracy:
    """A person's figures as the fit takes them. Raises InputError."""
    from math import radians

    accuracy = Accuracy(
        mark_mm=length_mm(person.mark, head, f"{field}.mark"),
        angle_rad=radians(person.angle_deg),
        roll_rad=radians(person.roll_deg),
        cut_mm=length_mm(person.cut, head, f"{field}.cut"),
    )
    accuracy.check()
    return accuracy


def _distinct(names: list[str], field: str) -> None:
    seen = set()
    for name in names:
        if name.casefold() in seen:
            raise InputError(f"{field}: '{name}' is there twice.", hint="keep one of the two", field=field)
        seen.add(name.casefold())


def _read_survey(data: object, read: ReadSurvey, field: str) -> None:
    try:
        read(data)
    except InputError as err:
        raise _moved(err, field, "") from None


def _moved(err: InputError, field: str, key: str) -> InputError:
    where = f"{field} ({key})" if key else field
    path = f"{field}.{err.field}" if err.field else field
    return InputError(f"{where}: {err.message}", hint=err.hint, field=path, expected=err.expected, example=err.example)


def _convert(data: object, what: str) -> Any:
    try:
        return msgspec.convert(data, _TYPES[what], strict=False)
    except msgspec.ValidationError as err:
        raise explained(str(err), data, _TYPES[what], see="see docs/job.md", whole=f"the {what}") from None
