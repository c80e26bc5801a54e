"""Which bender a question means: the asker's own profile, one by name, or the trade's shoe."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

from racewright.catalogue.raceways import find_raceway
from racewright.errors import InputError, UnknownName, below, told_of
from racewright.operations.common import BenderRecord, Known
from racewright.tools.benders import BenderProfile, default_bender, default_benders, default_by_name
from racewright.tools.profile_checks import refuse_impossible
from racewright.tools.written import profile_of

if TYPE_CHECKING:
    from racewright.plan.plan_run import FindBender

OWN_NAME = "your own"


def finder(record: BenderRecord | None, known: Known) -> FindBender:
    """A look-up for `plan_run`: the profile that came with the question, the server's own, the table's."""

    def find(name: str) -> BenderProfile:
        if record is not None:
            return _profile(record, name)
        key = name.strip().casefold()
        for own_name in known.benders:
            if own_name.casefold() == key:
                return known.benders[own_name]
        found = default_by_name(name)
        if found is None:
            names = [*known.benders, *(b.name for b in default_benders())]
            near = get_close_matches(key, names, n=1, cutoff=0.4)
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
    kind, _, size = raceway.strip().partition(" ")
    with told_of({"size": "raceway"}):
        wanted = find_raceway(kind, size)
        if record is None and not name:
            return default_bender(wanted.type, wanted.trade_size)
    bender = finder(record, known)(name or OWN_NAME)
    if (bender.raceway_type, bender.trade_size) != (wanted.type, wanted.trade_size):
        raise InputError(
            f"this bender is for {bender.raceway_type} {bender.trade_size}, and {wanted.name} was asked.",
            hint="choose a bender for this raceway, or none",
            field="bender" if record is not None else "bender_name",
        )
    return bender


def _profile(record: BenderRecord, name: str) -> BenderProfile:
    with below("bender"), told_of({"hook-reach": "hook_reach"}):
        profile = profile_of(name, record)
        refuse_impossible(profile)
        return profile
