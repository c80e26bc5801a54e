"""The bent pieces of a survey, planned now, or of a plan that was written as JSON before."""

from __future__ import annotations

from pathlib import Path

import msgspec

from racewright.bends.model import BentPiece
from racewright.errors import InputError
from racewright.plan.model import MarkedBend, Plan, PlannedPiece
from racewright.store.yaml_text import json_lines, placed
from racewright.tools.model import BenderProfile, HookEnd
from racewright.units.tape import TapeStyle

_MOST_BYTES = 5_000_000


class JobPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece with which end each hook faces, in the order of its bends from end A. `extra_*_mm` is left on beyond
    each end until it is cut after bending (`trim_after`), `stock_mm` the stick it comes from (0 unknown)."""

    label: str
    piece: BentPiece
    hooks: tuple[HookEnd, ...]
    bends: tuple[MarkedBend, ...]
    extra_a_mm: float
    extra_b_mm: float
    stock_mm: float
    trim_after: bool


class Job(msgspec.Struct, frozen=True, kw_only=True):
    """What a command about bent pieces needs of a plan."""

    name: str
    tape: TapeStyle
    bender: BenderProfile
    pieces: tuple[JobPiece, ...]


def planned_pieces(path: str, bender_name: str = "") -> Job:
    """Read a survey and plan it, or read a plan. Raises InputError for a file that is neither."""
    plan = _from_plan(path) if Path(path).suffix.lower() == ".json" else None
    if plan is None:
        from racewright.store.bender_file import find_bender
        from racewright.store.survey_file import plan_file

        plan = plan_file(path, bender_name=bender_name, find=find_bender)
    if plan.bender is None:
        raise InputError(
            f"{path}: nothing is bent in this run, so there is nothing to correct.", hint="cut, join and strap it"
        )
    return Job(name=plan.name, tape=plan.tape, bender=plan.shoe, pieces=tuple(_piece(p) for p in plan.pieces))


def _from_plan(path: str) -> Plan | None:
    """A plan's pieces; None where the file is something else (a survey may be JSON too)."""
    from racewright.plan.from_json import read_plan

    try:
        text = Path(path).read_bytes()
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror}.", hint="check the name and the folder") from None
    if len(text) > _MOST_BYTES or b'"racewright plan' not in text:
        return None
    try:
        return read_plan(msgspec.json.decode(text))
    except InputError as error:
        placed(error, path, json_lines(text))
        raise
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        again = "write it again with `racewright plan FILE --json`"
        raise InputError(f"{path}: is no whole plan: it was cut off or changed.", hint=again) from None


def _piece(item: PlannedPiece) -> JobPiece:
    return JobPiece(
        label=item.label,
        piece=item.piece,
        hooks=tuple(bend.hook for bend in item.bends),
        bends=item.bends,
        extra_a_mm=item.extra_a_mm,
        extra_b_mm=item.extra_b_mm,
        stock_mm=item.stock_mm,
        trim_after=item.trim_after,
    )
