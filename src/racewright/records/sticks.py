"""The sticks that a run of a job is planned from: those that its survey names, else those that its job buys."""

from __future__ import annotations

from msgspec.structs import replace

from racewright.catalogue.raceways import raceway_by_name
from racewright.errors import UnknownName
from racewright.records.model import JobHead, JobRun
from racewright.survey.written import Written, WrittenSurvey
from racewright.units.length import names_unit


def on_sticks(run: JobRun, head: JobHead) -> JobRun:
    """The run as it is planned."""
    return replace(run, survey=from_stock(run.survey, head))


def from_stock(survey: WrittenSurvey, head: JobHead | None) -> WrittenSurvey:
    """The survey with the sticks that it is planned from; `head`: of its job, if it is of one."""
    if head is None or survey.run.stock:
        return survey
    name = _catalogued(survey.run.raceway)
    sticks = tuple(
        _with_unit(stock.length, head.units)
        for stock in (head.stock if name else ())
        if stock.count is None and not stock.offcut and _catalogued(stock.raceway) == name
    )
    return replace(survey, run=replace(survey.run, stock=sticks)) if sticks else survey


def _catalogued(raceway: str) -> str:
    """The catalogue's name of a raceway, '' where it has none."""
    try:
        return raceway_by_name(raceway).name
    except UnknownName:
        return ""


def _with_unit(length: Written, unit: str) -> str:
    """A length as written, for a survey that may have another unit."""
    text = str(length)
    return text if names_unit(text) else f"{text} {unit}"
