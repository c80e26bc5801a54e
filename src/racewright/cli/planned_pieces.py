"""The bent pieces of a survey, planned now, or of a plan that was written as JSON before."""

from __future__ import annotations

from math import radians
from pathlib import Path
from typing import Literal

import msgspec

from racewright.bends.model import Bend, BentPiece
from racewright.errors import InputError
from racewright.field_words import explained
from racewright.fit.accuracy import HookEnd
from racewright.marks.mark import Reference
from racewright.store.yaml_text import json_lines, placed
from racewright.tools.model import BenderProfile
from racewright.units.tape import TapeStyle

_MOST_BYTES = 5_000_000


class PlannedBend(msgspec.Struct, frozen=True, kw_only=True):
    """One bend as a written plan has it: see MarkedBend for the fields."""

    number: int
    order: int
    arc_start_mm: float
    angle_deg: float
    roll_deg: float
    hook: HookEnd
    reference: Reference
    mark_mm: float
    pointer_deg: float
    pointer_basis: Literal["under load", "relaxed"]
    stance: str
    shape: str = ""
    role: str = ""


class JobPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece with which end each hook faces, in the order of its bends from end A. `extra_*_mm` is left on beyond
    each end until it is cut after bending (`trim_after`), `stock_mm` the stick it comes from (0 unknown)."""

    label: str
    piece: BentPiece
    hooks: tuple[HookEnd, ...]
    bends: tuple[PlannedBend, ...]
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


class _Piece(msgspec.Struct):
    label: str
    cut_length_mm: float
    outside_diameter_mm: float
    bend_radius_mm: float
    bends: list[PlannedBend]
    extra_a_mm: float
    extra_b_mm: float
    stock_mm: float
    trim_after: bool


class _Bender(msgspec.Struct):
    name: str
    radius_mm: float
    arrow_lead_mm: float
    centre_mm: float
    star_mm: float
    take_up_mm: float
    gain_mm: float
    hook_reach_mm: float
    grip_mm: float


class _Plan(msgspec.Struct):
    format: str
    name: str
    raceway: str
    tape: TapeStyle
    bender: _Bender | None
    pieces: list[_Piece]


def planned_pieces(path: str, bender_name: str = "") -> Job:
    """Read a survey and plan it, or read a plan. Raises InputError for a file that is neither."""
    if Path(path).suffix.lower() == ".json":
        job = _from_plan(path)
        if job is not None:
            return job
    from racewright.plan.as_json import plan_to_data
    from racewright.store.bender_file import find_bender
    from racewright.store.survey_file import plan_file

    plan = plan_file(path, bender_name=bender_name, find=find_bender)
    return _job(path, msgspec.convert(plan_to_data(plan), _Plan))


def _from_plan(path: str) -> Job | None:
    """A plan's pieces; None where the file is something else (a survey may be JSON too)."""
    try:
        text = Path(path).read_bytes()
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror}.", hint="check the name and the folder") from None
    if len(text) > _MOST_BYTES or b'"racewright plan' not in text:
        return None
    again = "write it again with `racewright plan FILE --json`"
    try:
        data = msgspec.json.decode(text)
        plan = msgspec.convert(data, _Plan)
    except msgspec.ValidationError as error:
        told = explained(str(error), data, _Plan, see=again, whole="the plan")
        placed(told, path, json_lines(text))
        raise told from None
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        raise InputError(f"{path}: is no whole plan: it was cut off or changed.", hint=again) from None
    if plan.format != "racewright plan 1":
        raise InputError(
            f"{path}: is a '{plan.format}', and this version reads 'racewright plan 1'.",
            hint="write it again with `racewright plan FILE --json`",
            field="format",
        )
    return _job(path, plan)


def _job(path: str, plan: _Plan) -> Job:
    shoe = plan.bender
    if shoe is None:
        raise InputError(
            f"{path}: nothing is bent in this run, so there is nothing to correct.", hint="cut, join and strap it"
        )
    kind, _, size = plan.raceway.partition(" ")
    diameter = plan.pieces[0].outside_diameter_mm if plan.pieces else 0.0
    bender = BenderProfile(
        raceway_type=kind, trade_size=size, outside_diameter_mm=diameter, **msgspec.structs.asdict(shoe)
    )
    pieces = tuple(_piece(path, item) for item in plan.pieces)
    return Job(name=plan.name, tape=plan.tape, bender=bender, pieces=pieces)


def _piece(path: str, item: _Piece) -> JobPiece:
    ordered = sorted(item.bends, key=lambda bend: bend.number)
    bends = tuple(
        Bend(
            arc_start_mm=bend.arc_start_mm,
            angle_rad=radians(bend.angle_deg),
            roll_rad=radians(bend.roll_deg),
            radius_mm=item.bend_radius_mm,
            shape=bend.shape,
            role=bend.role,
        )
        for bend in ordered
    )
    piece = BentPiece(cut_length_mm=item.cut_length_mm, outside_diameter_mm=item.outside_diameter_mm, bends=bends)
    if [bend.number for bend in ordered] != list(range(1, len(bends) + 1)) or min(piece.straights_mm()) < -1e-6:
        raise InputError(
            f"{path}: the bends of {item.label} do not make a piece.",
            hint="write the plan again with `racewright plan FILE --json`",
            field="bends",
        )
    return JobPiece(
        label=item.label,
        piece=piece,
        hooks=tuple(bend.hook for bend in ordered),
        bends=tuple(ordered),
        extra_a_mm=item.extra_a_mm,
        extra_b_mm=item.extra_b_mm,
        stock_mm=item.stock_mm,
        trim_after=item.trim_after,
    )
