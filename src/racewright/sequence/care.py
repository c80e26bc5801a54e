"""What bending asks to take care of: by the tool, and for a shoe on a handle by how it is held."""

from __future__ import annotations

from collections.abc import Iterable

from racewright.cautions import Work
from racewright.sequence.machine import STANCES, Stance
from racewright.tools.benders import BenderProfile, made_by


def bending_care(bender: BenderProfile, stances: Iterable[Stance] = STANCES) -> tuple[Work, ...]:
    """The kinds of work in bends that are made on this bender; `stances` that they are made in, both where nobody has
    planned them yet."""
    how = made_by(bender)
    if how == "hand shoe":
        held = set(stances)
        return ("bend", "hand shoe", *(stance for stance in STANCES if stance in held))
    return ("bend", how)


def cutting_care(*, threaded: bool) -> tuple[Work, ...]:
    """The kinds of work in cutting an end, and in cutting its thread where it has one."""
    return ("thread", "cut") if threaded else ("cut",)


def correcting_care(bender: BenderProfile, stances: Iterable[Stance] = STANCES) -> tuple[Work, ...]:
    """The kinds of work in opening, closing or twisting bends that were made on this bender; heated PVC is heated
    again."""
    again = bending_care(bender, stances)
    return again if "heat" in again else (*again, "correct")
