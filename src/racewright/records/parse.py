"""A job from plain data (dicts, lists, text), every error with the path of its field; and checks across its parts."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import TypeVar

import msgspec

from racewright.catalogue.raceways import Raceway, raceway_by_name
from racewright.errors import InputError, LimitError, RacewrightError, UnknownName, below, with_path
from racewright.field_words import explained, one_spelling
from racewright.records.before import JobBefore, JobOfThree, JobOfTwo, job_now, job_of_three, job_of_two
from racewright.records.model import JOB_FORMAT, Item, Job, JobHead, JobRun, Stock
from racewright.records.person import accuracy_of
from racewright.records.prices import check_prices, decimal
from racewright.survey.draft import place_in_words
from racewright.survey.from_data import survey_from_data
from racewright.survey.written import Written
from racewright.units.length import parse_length
from racewright.units.said import said

#: No hand saw or band saw cuts as wide (our own choice; a chop saw's wheel takes 1/8 in, common practice, no source).
MOST_KERF_MM = 25.4
#: Most sticks on hand of one line that a cut list looks at, and of all lines together that a job may have: a cut list
#: takes some seconds with as many (our own choice).
MOST_OF_A_LINE, MOST_ON_HAND = 200, 5_000
#: What is sold as a stick is from so long to so long, and what a wire has more than its run at each end, what a wire
#: takes more than that, and the least offcut worth keeping are no more than these: beyond is a slip of the pen, such
#: as 10 for 10 ft (our own choice).
LEAST_STICK_MM, MOST_STICK_MM = 24 * 25.4, 40 * 304.8
MOST_SLACK_MM, MOST_WASTE_PERCENT, MOST_KEEP_MM = 50 * 304.8, 100.0, 10 * 304.8
#: No job needs more of one item that no plan shows (our own choice).
MOST_OF_AN_ITEM = 100_000
#: A name that is longer is not said in a message.
_MOST_SAID = 60

Kind = TypeVar("Kind", Job, JobBefore, JobOfTwo, JobOfThree, JobRun)


def job_from_data(data: object, *, is_kept: bool = False) -> Job:
    """A whole job from the data of a job file, of this format or one before. `is_kept`: it came in before, and is only
    asked about: no figure of it is held to limits that may be newer than it is. Raises InputError with the field's
    path."""
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
    runs = data.get("runs")
    with _told_whose(data):
        for index, run in enumerate(runs if isinstance(runs, list | tuple) else ()):
            if isinstance(run, dict) and "survey" in run:
                # read for its errors, which have better words than plain conversion has
                with below(f"runs[{index}].survey"):
                    survey_from_data(run["survey"])
        if version == 1:
            job = job_now(job_of_three(job_of_two(_convert(data, JobBefore, "the job"))))
        elif version == 2:
            job = job_now(job_of_three(_convert(data, JobOfTwo, "the job")))
        elif version == 3:
            job = job_now(_convert(data, JobOfThree, "the job"))
        else:
            job = _convert(data, Job, "the job")
        (check_records if is_kept else check_job)(job)
    return job


def run_from_data(data: object) -> JobRun:
    """One run from plain data. Raises InputError with the field's path."""
    return _convert(data, JobRun, "the run")


def check_job(job: Job) -> None:
    """What a job that comes in must be beside its form. Raises InputError, LimitError."""
    check_head(job.head)
    check_prices(job.prices)
    for index, person in enumerate(job.people):
        accuracy_of(person, f"people[{index}]")
    check_records(job)
    for index, run in enumerate(job.runs):
        check_run(run, job.head, f"runs[{index}]")


def check_records(job: Job) -> None:
    """Raises InputError for ids that are used twice, entries of no run, tools whose figures cannot be read."""
    seen = {job.id: "id"}
    runs = [(f"runs[{i}]", run.id) for i, run in enumerate(job.runs)]
    entries = [(f"entries[{i}]", entry.id) for i, entry in enumerate(job.entries)]
    for field, one in (*runs, *entries):
        if one in seen:
            raise InputError(
                f"{field}.id: is that of {seen[one]} too.", hint="leave it out for a new one", field=f"{field}.id"
            )
        seen[one] = field
    there = {run_id for _, run_id in runs}
    for index, entry in enumerate(job.entries):
        if entry.run not in there:
            raise InputError(
                f"entries[{index}].run: no run of this job has this id.",
                hint="an entry names the run that it was made on by that run's id",
                field=f"entries[{index}].run",
            )
    for index, tool in enumerate(job.tools):
        with below(f"tools[{index}].profile"):
            tool.worked_out()
        if any(other.pin == tool.pin for other in job.tools[:index]):
            raise InputError(
                f"tools[{index}]: is there twice, as this revision.",
                hint="keep one of the two",
                field=f"tools[{index}]",
            )


def check_head(head: JobHead, had: JobHead | None = None) -> None:
    """Raises InputError for lengths and money that cannot be read, names used twice, and sticks of a raceway that is in
    no catalogue, LimitError for a saw cut, a stock or an item beyond the limits. `had`: as it stands; what is as there
    is not checked again."""
    if had is None or head.areas != had.areas:
        _distinct([a.name for a in head.areas], "head.areas")
    _check_figures(head, had)
    new = [(i, stock) for i, stock in enumerate(head.stock) if had is None or stock not in had.stock]
    for i, stock in new:
        stock_raceway(stock, i)
        _check_stick(stock, head, f"head.stock[{i}].length")
        decimal(stock.price, f"head.stock[{i}].price")
    _check_items(head.items, "head.items", () if had is None else had.items)
    if new:
        check_on_hand(head)


def _check_figures(head: JobHead, had: JobHead | None) -> None:
    kerf_mm = 0.0
    if had is None or head.cutting.kerf != had.cutting.kerf:
        kerf_mm = length_mm(head.cutting.kerf, head, "head.cutting.kerf")
    if kerf_mm > MOST_KERF_MM:
        raise LimitError(
            f"head.cutting.kerf: no saw cuts {said(kerf_mm)} wide; the most is {said(MOST_KERF_MM)}.",
            hint="give what the blade takes, for example 1/16 in",
            field="head.cutting.kerf",
            quantity="saw cut",
            asked=kerf_mm,
            limit=MOST_KERF_MM,
        )
    keep = "keep what is worth carrying to another job: 24 in or 600 mm"
    if had is None or head.cutting.keep != had.cutting.keep:
        _no_more(head.cutting.keep, MOST_KEEP_MM, head, "head.cutting.keep", "least offcut that is kept", keep)
    if had is None or head.wire_slack != had.wire_slack:
        _no_more(head.wire_slack, MOST_SLACK_MM, head, "head.wire_slack", *_SLACK)
    if head.wire_waste > MOST_WASTE_PERCENT and (had is None or head.wire_waste != had.wire_waste):
        raise LimitError(
            f"head.wire_waste: {head.wire_waste:g} % of the wire is no waste; the most is {MOST_WASTE_PERCENT:g} %.",
            hint="give what is lost of a spool in percent, for example 5",
            field="head.wire_waste",
            quantity="waste of wire",
            asked=head.wire_waste,
            limit=MOST_WASTE_PERCENT,
            unit="%",
        )


def check_on_hand(head: JobHead) -> None:
    """Raises LimitError for more sticks than a cut list can look at."""
    there = sum(map(on_hand, head.stock))
    if there > MOST_ON_HAND:
        raise LimitError(
            f"head.stock: {there:,} sticks are on hand, up to {MOST_OF_A_LINE} of each line counted; the most is"
            f" {MOST_ON_HAND:,}.",
            hint="leave out what this job will not use",
            field="head.stock",
            quantity="sticks on hand",
            asked=there,
            limit=MOST_ON_HAND,
            unit="sticks",
        )


def _check_items(items: tuple[Item, ...], field: str, had: tuple[Item, ...] = ()) -> None:
    for i, item in enumerate(items):
        if item.count > MOST_OF_AN_ITEM and item not in had:
            raise LimitError(
                f"{field}[{i}].count: {item.count:,} of '{item.item}' are more than a job needs; the most is"
                f" {MOST_OF_AN_ITEM:,}.",
                hint="give how many are needed, and not how many feet or what they cost",
                field=f"{field}[{i}].count",
                quantity="count of an item",
                asked=item.count,
                limit=MOST_OF_AN_ITEM,
                unit="items",
            )


def stock_raceway(stock: Stock, index: int) -> Raceway:
    """What these sticks of the head are. Raises InputError with their place."""
    try:
        return raceway_by_name(stock.raceway)
    except UnknownName as err:
        raise InputError.at(
            f"head.stock[{index}].raceway",
            f"'{stock.raceway}', {stock.length}: {err.message}",
            hint=err.hint,
            expected=err.expected,
            example=err.example,
        ) from None


def on_hand(stock: Stock) -> int:
    """How many of these sticks a cut list looks at; none where they are bought."""
    return int(stock.offcut) if stock.count is None else min(stock.count, MOST_OF_A_LINE)


def check_run(run: JobRun, head: JobHead, field: str = "run") -> None:
    """Raises InputError for a slack that cannot be read, LimitError for one or an item beyond the limit. A survey
    may be unfinished, and the area one that the job does not list: both are findings."""
    if run.wire_slack is not None:
        _no_more(run.wire_slack, MOST_SLACK_MM, head, f"{field}.wire_slack", *_SLACK)
    _check_items(run.items, f"{field}.items")


#: What a slack is, and what would work.
_SLACK = ("slack at each end of a run", "give what the box or panel needs at one end, for example 18 in or 450 mm")


def _no_more(value: Written, most_mm: float, head: JobHead, field: str, what: str, hint: str) -> None:
    asked = length_mm(value, head, field)
    if asked > most_mm:
        raise LimitError(
            f"{field}: '{value}' is {_long(asked, head)}; the most is {_long(most_mm, head)}.",
            hint=hint,
            field=field,
            quantity=what,
            asked=asked,
            limit=most_mm,
        )


def _check_stick(stock: Stock, head: JobHead, field: str) -> None:
    """An offcut may be as short as it is."""
    asked = length_mm(stock.length, head, field, allow_zero=False)
    least_mm = 0.0 if stock.offcut else LEAST_STICK_MM
    if not least_mm <= asked <= MOST_STICK_MM:
        raise LimitError(
            f"{field}: '{stock.length}' is {_long(asked, head)}, and a stick is sold from {_long(LEAST_STICK_MM, head)}"
            f" to {_long(MOST_STICK_MM, head)} long.",
            hint=f"write its unit too: {'10 ft' if head.units == 'in' else '3 m'}; a shorter one is an offcut",
            field=field,
            quantity="stick",
            asked=asked,
            limit=least_mm if asked < least_mm else MOST_STICK_MM,
        )


def _long(length_mm: float, head: JobHead) -> str:
    """In feet or meters, as nobody says 4,800 in; less than a foot or a meter as the tape shows it."""
    whole_mm, unit = (304.8, "ft") if head.units == "in" else (1000.0, "m")
    return said(length_mm) if length_mm < whole_mm else f"{length_mm / whole_mm:.4g} {unit}"


def length_mm(value: Written, head: JobHead, field: str, *, allow_zero: bool = True) -> float:
    """A length of the job in mm; plain numbers are in the job's units. Raises InputError."""
    return float(parse_length(value, head.units, field=field, allow_zero=allow_zero))


def _distinct(names: list[str], field: str) -> None:
    seen = set()
    for name in names:
        if name.casefold() in seen:
            raise InputError(f"{field}: '{name}' is there twice.", hint="keep one of the two", field=field)
        seen.add(name.casefold())


@contextmanager
def _told_whose(data: Mapping[object, object]) -> Iterator[None]:
    """What is refused inside begins with whose field it is, in words: 'run PH-04, leg 2: runs[3].survey.run...'."""
    try:
        yield
    except RacewrightError as err:
        if words := _whose(data, err.field):
            err.message = f"{words}: {with_path(err.message, err.field)}"
        raise


#: The lists of a job file whose fields are told by what they are of: what one is called, and by which of its fields.
_CALLED = {
    "runs": ("run", "key"),
    "tools": ("tool", "name"),
    "people": ("person", "name"),
    "entries": ("entry", ""),
    "prices.items": ("item", "item"),
}


def _whose(data: Mapping[object, object], field: str) -> str:
    """'run PH-04, leg 2', 'tool blue half', 'person Sam', 'entry 3'; '' where it is the job's own."""
    found = re.match(r"(runs|tools|people|entries|prices\.items)\[(\d+)\](?:\.survey\.(.*))?", field)
    if not found:
        return ""
    at, number = data, int(found[2])
    for name in found[1].split("."):
        of = at.get(name)
        at = of if isinstance(of, dict) else {}
    one = of[number] if isinstance(of, list | tuple) and number < len(of) else None
    kind, called = _CALLED[found[1]]
    told = one.get(called) if isinstance(one, dict) else None
    words = f"{kind} {told if isinstance(told, str) and 0 < len(told) <= _MOST_SAID else number + 1}"
    place = place_in_words(one.get("survey"), found[3]) if found[3] and isinstance(one, dict) else ""
    return f"{words}, {place}" if place else words


def _convert(data: object, kind: type[Kind], whole: str) -> Kind:
    spelled = one_spelling(data)
    try:
        return msgspec.convert(spelled, kind, strict=False)
    except msgspec.ValidationError as err:
        raise explained(str(err), spelled, kind, see="see docs/job.md", whole=whole) from None
