"""Which bender a question means: the asker's own profile, one by name, or the trade's shoe."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import msgspec

from racewright.catalogue.raceways import find_raceway, raceway_by_name
from racewright.errors import UnknownName, below, told_of
from racewright.operations.common import BenderRecord, Known, LengthText, Name, Request, TapeUnit
from racewright.survey.written import WrittenSurvey
from racewright.tools.benders import (
    BenderProfile,
    default_bender,
    default_benders,
    own_or_trade,
    radius_only_profile,
    refuse_both,
    refuse_other_raceway,
)
from racewright.tools.profile_checks import refuse_impossible
from racewright.tools.written import profile_of
from racewright.units.length import parse_length

if TYPE_CHECKING:
    from racewright.plan.plan_run import FindBender

OWN_NAME = "your own"


class ToolRequest(Request, frozen=True, kw_only=True):
    """A question about bends on a bender: `bender` is a profile of the asker's own; with neither it nor a name, the
    trade's shoe for the raceway. `raceway` and `size` are those of the bender where one is given, else EMT 1/2."""

    bender: BenderRecord | None = None
    bender_name: Annotated[
        Name, msgspec.Meta(title="Bender", description="a bender profile (`racewright bender` lists them)")
    ] = ""
    raceway: Annotated[
        Name,
        msgspec.Meta(
            title="Raceway",
            description="raceway, for the trade's hand shoe (else EMT)",
            extra={"metavar": "TYPE", "choose": "raceway types"},
        ),
    ] = ""
    size: Annotated[
        Name,
        msgspec.Meta(
            title="Trade size", description="trade size (else 1/2)", extra={"metavar": "SIZE", "choose": "trade sizes"}
        ),
    ] = ""
    bend_radius: Annotated[
        LengthText,
        msgspec.Meta(
            title="Bend radius, without a shoe",
            description="no shoe: centerline radius of the bend (heated PVC)",
            extra={"of": "bend radius"},
        ),
    ] = ""
    unit: Annotated[TapeUnit, msgspec.Meta(title="Tape in", description="unit of the tape and of plain numbers")] = "in"


def asked_name(record: BenderRecord | None, name: str, survey: WrittenSurvey) -> str:
    """The bender that a question about a survey asks for, by name; '': the one that the survey says. The asker's own
    shoe is one for its raceway, and a bend radius is written for this run alone: it goes before the shoe. A shoe that
    comes with its name keeps it."""
    return name or OWN_NAME if record is not None and survey.run.bend_radius in (None, "") else name


def finder(record: BenderRecord | None, known: Known) -> FindBender:
    """A look-up for `plan_run`: the profile that came with the question, the server's own, the table's."""

    def find(name: str) -> BenderProfile:
        if record is not None:
            return _profile(record, name)
        found = own_or_trade(name, known.benders)
        if found is None:
            names = [*known.benders, *(b.name for b in default_benders())]
            from difflib import get_close_matches

            near = get_close_matches(name.strip().casefold(), names, n=1, cutoff=0.4)
            raise UnknownName(
                f"there is no bender '{name}'.",
                hint=f"benders known here: {', '.join(names)}" + (f"; nearest: {near[0]}" if near else ""),
                field="bender_name",
                expected=", ".join(names),
                example=names[0],
            )
        return found

    return find


def bender_for(raceway: str, record: BenderRecord | None, name: str, known: Known) -> BenderProfile:
    """The bender for a request's `raceway` ('EMT 1/2'). Raises InputError for one of another raceway, UnknownName for
    no such name."""
    with told_of({"size": "raceway"}):
        wanted = raceway_by_name(raceway)
        if record is None and not name:
            return default_bender(wanted.type, wanted.trade_size)
    bender = finder(record, known)(name or OWN_NAME)
    refuse_other_raceway(bender, wanted, "bender" if record is not None else "bender_name")
    return bender


def bender_or_radius(request: ToolRequest, known: Known) -> BenderProfile:
    """The bender of a question that may give a bend radius instead, and a raceway in two fields. Raises InputError
    where a bender is given with a radius, or with a raceway or a size that it is not for."""
    named = request.bender is not None or bool(request.bender_name)
    if request.bend_radius:
        if named:
            refuse_both("bend_radius")
        radius = parse_length(request.bend_radius, request.unit, field="bend_radius", allow_zero=False)
        return radius_only_profile(find_raceway(request.raceway or "EMT", request.size or "1/2"), float(radius))
    if not named:
        return default_bender(request.raceway or "EMT", request.size or "1/2")
    bender = finder(request.bender, known)(request.bender_name or OWN_NAME)
    wanted = find_raceway(request.raceway or bender.raceway_type, request.size or bender.trade_size)
    refuse_other_raceway(bender, wanted, "bender" if request.bender is not None else "bender_name")
    return bender


def _profile(record: BenderRecord, name: str) -> BenderProfile:
    with below("bender"), told_of({"hook-reach": "hook_reach"}):
        profile = profile_of(name, record)
        refuse_impossible(profile)
        return profile
