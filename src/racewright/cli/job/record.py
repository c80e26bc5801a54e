"""`racewright job record`: what was measured on a bent piece, and corrections made, kept with the run."""

from __future__ import annotations

import argparse
from math import radians
from typing import get_args

import msgspec

from racewright.cli.job.common import job_key, open_shop, who
from racewright.errors import InputError, RacewrightError
from racewright.fit.measured import ApexRise, BendAngle, LegLean, Measured, OffAt, Way, check_bend, check_measured
from racewright.job.plan_job import plan_one
from racewright.records.model import AsBent, JobHead, JobRun, MoveMade, TweakMade
from racewright.records.parse import length_mm
from racewright.store.job_rows import now
from racewright.units.angle import read_degrees
from racewright.units.said import said_in

_WAYS: tuple[str, ...] = get_args(Way)


def record_job(args: argparse.Namespace) -> int:
    """Keep measurements and corrections with a run; a run that was only planned is bent now."""
    with open_shop(args) as store:
        job = job_key(args, store)
        kept = store.run(job, args.run_key)
        changed = recorded(kept.value, store.head(job).value, args, by=who(args), at=now())
        store.save_run(job, changed, kept.revision, by=who(args), what=f"recorded on {kept.value.key}")
        print(f"{changed.key}: recorded; status {changed.status}")
    return 0


def recorded(run: JobRun, head: JobHead, args: argparse.Namespace, *, by: str, at: str) -> JobRun:
    """The run with what the arguments say was measured and corrected. Raises InputError."""
    measured = measured_of(args, head)
    moves = tuple(
        MoveMade(number=_bend(pair, "--corrected"), by_rad=_degrees(pair, "--corrected")) for pair in args.corrected
    )
    if not measured and not moves and not args.note:
        raise InputError(
            "there is nothing to record.", hint="for example: racewright job record PH-07 --angle 2=21.5 --off up=1/4"
        )
    if args.piece < 1:
        raise InputError("--piece: pieces count from 1.", hint="leave it away for a run of one piece", field="piece")
    _on_the_piece(run, head, args.piece, measured, moves)
    if measured or not moves:
        seen = AsBent(piece=args.piece, measured=measured, by=by, at=at, note=args.note)
        run = msgspec.structs.replace(run, as_bent=(*run.as_bent, seen))
    if moves:
        made = TweakMade(piece=args.piece, moves=moves, by=by, at=at, note=args.note)
        run = msgspec.structs.replace(run, tweaks=(*run.tweaks, made))
    if run.status in ("measured", "planned") and (measured or moves):
        run = msgspec.structs.replace(run, status="bent")
    return run


def _on_the_piece(
    run: JobRun, head: JobHead, number: int, measured: tuple[Measured, ...], moves: tuple[MoveMade, ...]
) -> None:
    """Raises InputError for a piece, bend or place that the run does not have; a run that has no plan is not held."""
    try:
        plan = plan_one(run, head.benders)
    except RacewrightError:
        return
    count = len(plan.pieces)
    if number > count:
        raise InputError(
            f"piece {number} was named, and the run has {count} piece{'' if count == 1 else 's'}.",
            hint="pieces count from end A, the first is 1",
            field="--piece",
        )
    piece = plan.pieces[number - 1].piece
    with said_in(plan.tape):
        for item in measured:
            check_measured(piece, item)
        for move in moves:
            check_bend(piece, move.number)


def measured_of(args: argparse.Namespace, head: JobHead) -> tuple[Measured, ...]:
    """The measurements of the arguments, in mm and radians. Raises InputError naming the option."""
    out: list[Measured] = []
    for pair in args.angle:
        out.append(BendAngle(number=_bend(pair, "--angle"), angle_rad=_degrees(pair, "--angle")))
    for pair in args.rise:
        out.append(ApexRise(number=_bend(pair, "--rise"), rise_mm=length_mm(_split(pair, "--rise")[1], head, "--rise")))
    for pair in args.off:
        way, value = _way(pair, "--off")
        value, _, place = value.partition("@")
        sign = -1.0 if value.strip().startswith("-") else 1.0
        off = sign * length_mm(value.strip().lstrip("-").strip(), head, "--off")
        out.append(OffAt(way=way, off_mm=off, station_mm=length_mm(place, head, "--off") if place.strip() else None))
    for pair in args.lean:
        way, _ = _way(pair, "--lean")
        out.append(LegLean(way=way, lean_rad=_degrees(pair, "--lean")))
    return tuple(out)


def _split(pair: str, option: str) -> tuple[str, str]:
    name, sep, value = pair.partition("=")
    if not sep or not name.strip() or not value.strip():
        raise InputError(
            f"{option}: cannot take '{pair}'.", hint=f"write two parts with = between: {option} 2=21.5", field=option
        )
    return name.strip(), value.strip()


def _bend(pair: str, option: str) -> int:
    name, _ = _split(pair, option)
    if not name.isdecimal() or len(name) > 9 or int(name) < 1:
        raise InputError(f"{option}: '{name}' is no bend number.", hint="bends count from end A, from 1", field=option)
    return int(name)


def _degrees(pair: str, option: str) -> float:
    text = _split(pair, option)[1]
    return radians(read_degrees(text, least=-360.0, most=360.0, field=option, hint=f"{option} 2=21.5", example="21.5"))


def _way(pair: str, option: str) -> tuple[Way, str]:
    name, value = _split(pair, option)
    for way in get_args(Way):
        if name == way:
            found: Way = way
            return found, value
    raise InputError(f"{option}: '{name}' is no way.", hint=f"one of {', '.join(_WAYS)}", field=option)
