"""`racewright job record`: what was measured on a bent piece, and corrections made, kept with the run."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import TypeVar, cast, get_args

from racewright.cli.answers import asked, show
from racewright.cli.figures import bend_number, degrees, pair
from racewright.cli.job.common import job_key, open_shop, who
from racewright.errors import InputError
from racewright.operations.job_run import CorrectionMade, JobRecordAnswer, JobRecordRequest
from racewright.records.measured import AngleReading, EndWay, LeanReading, LeanWay, OffReading, Reading, RiseReading
from racewright.records.model import STATUS_WORDS, Job
from racewright.store.job_rows import now

#: 'forward' is what a survey's plan calls it, 'long' what is said of the finished piece.
_WAYS: dict[str, EndWay] = {**{way: way for way in cast(tuple[EndWay, ...], get_args(EndWay))}, "forward": "long"}
_LEANS: dict[str, LeanWay] = {way: way for way in cast(tuple[LeanWay, ...], get_args(LeanWay))}

W = TypeVar("W", bound=str)


def record_job(args: argparse.Namespace) -> int:
    """Keep measurements and corrections with a run; a run that was only planned is bent now."""
    given = list(_measured(args))
    corrected = [pair(text, "--corrected", "1=-1.5") for text in args.corrected]
    with open_shop(args) as store:
        key, by = job_key(args, store), who(args)
        kept, head = store.run(key, args.run_key), store.head(key).value
        request = JobRecordRequest(
            job=Job(head=head, runs=(kept.value,)),
            run=kept.value.key,
            piece=args.piece,
            measured=tuple(reading for _, reading in given),
            corrected=tuple(
                CorrectionMade(number=bend_number(number, "--corrected"), by_deg=degrees(angle, "--corrected"))
                for number, angle in corrected
            ),
            note=args.note,
            by=by,
            at=now(),
        )
        options = {f"measured[{k}]": option for k, (option, _) in enumerate(given)}
        answer = cast(JobRecordAnswer, asked("job_record", request, options=options | {"corrected": "--corrected"}))
        run = answer.run
        store.save_run(key, run, kept.revision, by=by, what=f"recorded on {run.key}")
    return show(answer, lambda _: f"{run.key}: recorded; status {STATUS_WORDS[run.status]}", as_json=False)


def _measured(args: argparse.Namespace) -> Iterator[tuple[str, Reading]]:
    """What was measured, each with the option that says it."""
    for text in args.angle:
        number, angle = pair(text, "--angle", "2=47")
        yield "--angle", AngleReading(number=bend_number(number, "--angle"), angle_deg=degrees(angle, "--angle"))
    for text in args.rise:
        number, rise = pair(text, "--rise", "2=3-5/8")
        yield "--rise", RiseReading(number=bend_number(number, "--rise"), rise=rise)
    for text in args.off:
        way, value = pair(text, "--off", "up=1/4")
        off, _, place = value.partition("@")
        yield "--off", OffReading(way=_way(way, _WAYS, "--off"), off=off.strip(), station=place.strip())
    for text in args.lean:
        way, angle = pair(text, "--lean", "up=1")
        yield "--lean", LeanReading(way=_way(way, _LEANS, "--lean"), lean_deg=degrees(angle, "--lean"))


def _way(name: str, ways: dict[str, W], option: str) -> W:
    if name not in ways:
        raise InputError(f"{option}: '{name}' is no way.", hint=f"one of {', '.join(ways)}", field=option)
    return ways[name]
