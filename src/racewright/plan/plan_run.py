"""Use cases, without input or output: what the command line, the page and other programs call."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import msgspec

from racewright.budget import Budget
from racewright.catalogue.raceways import find_raceway
from racewright.errors import InputError, LimitError, RacewrightError, about
from racewright.plan.model import Plan
from racewright.plan.pipeline import plan_survey
from racewright.survey.model import Survey
from racewright.tools.benders import (
    BenderProfile,
    default_bender,
    radius_only_profile,
    refuse_both,
    refuse_other_raceway,
)
from racewright.units.said import said_in
from racewright.units.tape import TapeStyle

FindBender = Callable[[str], BenderProfile]


def plan_run(
    survey: Survey,
    *,
    bender_name: str = "",
    fraction: int | None = None,
    find: FindBender | None = None,
    choices: bool = True,
    advice: bool = True,
    shop: Iterable[BenderProfile] = (),
    work: Budget | None = None,
) -> Plan:
    """Plan a surveyed run. `bender_name` overrules the survey's; `find` looks names up (the user's own first).
    A straight run needs no bender. `choices` False: no card is made of it; `advice` False: it is bent already; `shop`:
    the user's own benders; `work`: what its searches may take (see `plan_survey`).

    Raises InputError for a bender of another raceway; otherwise as `plan_survey`.
    """
    if fraction is not None:
        survey = msgspec.structs.replace(survey, tape=TapeStyle(survey.tape.unit, fraction))
    with said_in(survey.tape):
        bender = choose_bender(survey, bender_name, find)
        return plan_survey(survey, bender, choices=choices, advice=advice, shop=shop, work=work)


def choose_bender(survey: Survey, bender_name: str = "", find: FindBender | None = None) -> BenderProfile | None:
    """The bender of a survey: the one named, or its bend radius alone, or the trade's shoe for the raceway.

    `bender_name` overrules both of the survey's. None where nothing is bent and there is no shoe for the raceway.
    Raises InputError for a bender of another raceway and for a survey with both a bender and a bend radius, LimitError
    where something is bent and there is no shoe.
    """
    with about("run.raceway"):
        raceway = find_raceway(survey.raceway_type, survey.trade_size)
    name, field = (bender_name, "bender_name") if bender_name else (survey.bender, "run.bender")
    if name:
        if not bender_name and survey.bend_radius_mm is not None:
            refuse_both("run.bend_radius")
        if find is None:
            raise InputError(
                f"bender '{name}' cannot be looked up here.",
                hint="leave the name out for the trade's shoe",
                field=field,
            )
        try:
            bender = find(name)
        except RacewrightError as err:
            if not bender_name or err.field == "bender":
                err.field = field
            raise
        refuse_other_raceway(bender, raceway, field)
        return bender
    if survey.bend_radius_mm is not None:
        with about("run.bend_radius"):
            return radius_only_profile(raceway, survey.bend_radius_mm)
    try:
        with about("run.raceway"):
            return default_bender(survey.raceway_type, survey.trade_size)
    except LimitError:
        if survey.straight:
            return None
        raise
