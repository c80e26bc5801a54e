"""`racewright job record`: what was measured on a bent piece, and corrections made, kept with the run."""

from __future__ import annotations

import argparse
from math import radians
from typing import cast, get_args

from racewright.cli.answers import asked, show
from racewright.cli.job.common import job_key, open_shop, who
from racewright.errors import InputError
from racewright.operations.job_record import (
    ApexRise,
    BendAngle,
    JobRecordAnswer,
    JobRecordRequest,
    LegLean,
    Measured,
    OffAt,
    Way,
)
from racewright.records.model import STATUS_WORDS, AsBent, Job, JobHead, MoveMade, TweakMade
from racewright.records.parse import length_mm
from racewright.store.job_rows import now
from racewright.units.angle import read_degrees

_WAYS: tuple[str, ...] = get_args(Way)


def record_job(args: argparse.Namespace) -> int:
    """Keep measurements and corrections with a run; a run that was only planned is bent now."""
    with open_shop(args) as store:
        key, by, at = job_key(args, store), who(args), now()
        kept, head = store.run(key, args.run_key), store.head(key).value
        measured = measured_of(args, head)
        moves = tuple(
            MoveMade(number=_bend(pair, "--corrected"), by_rad=_degrees(pair, "--corrected")) for pair in args.corrected
        )
        seen = AsBent(piece=args.piece, measured=measured, by=by, at=at, note=args.note)
        made = TweakMade(piece=args.piece, moves=moves, by=by, at=at, note=args.note)
        request = JobRecordRequest(
            job=Job(head=head, runs=(kept.value,)),
            run=kept.value.key,
            as_bent=seen if measured or not moves else None,
            corrected=made if moves else None,
        )
        answer = cast(JobRecordAnswer, asked("job_record", request))
        run = answer.run
        store.save_run(key, run, kept.revision, by=by, what=f"recorded on {run.key}")
    return show(answer, lambda _: f"{run.key}: recorded; status {STATUS_WORDS[run.status]}", as_json=False)


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
