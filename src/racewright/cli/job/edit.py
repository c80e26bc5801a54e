"""`racewright job` new, use, add, rename, times, remove, set, record: what changes a job."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar, cast, get_args

from racewright.cards.entry_words import copy_made
from racewright.cli.answers import asked, show
from racewright.cli.job.common import job_key, open_shop, who, work_on
from racewright.cli.options import degrees, mark_number, pair
from racewright.errors import InputError, LimitError
from racewright.operations.job_status import JobPlanRequest, JobStatusRequest
from racewright.operations.planned import CheckRequest
from racewright.records.copies import counted_again
from racewright.records.entry import NOT_BENT, STATUS_WORDS, Status, by_copy, status_words
from racewright.records.model import (
    AngleReading,
    Area,
    EndWay,
    Job,
    JobHead,
    JobRun,
    LeanReading,
    LeanWay,
    MadeReading,
    OffReading,
    Reading,
    RiseReading,
)
from racewright.records.naming import NO_AREA, copy_words
from racewright.records.superseded import Far
from racewright.store.current_job import make_current
from racewright.store.job_changes import (
    Noted,
    add_noted,
    add_surveys,
    put_on_tool,
    rename_run,
    set_area,
    set_times,
)
from racewright.store.job_store import JobStore
from racewright.store.places import own_shop
from racewright.store.plan_cache import PlanCache
from racewright.store.shop_tools import ToolShelf
from racewright.store.survey_file import SurveyFile, read_as_far

if TYPE_CHECKING:
    from racewright.job.plan_job import RunSummary
    from racewright.operations.job_record import JobRecordAnswer
    from racewright.operations.job_status import JobPlanAnswer
    from racewright.operations.steps_recorded import StepSaid

#: 'forward' is what a survey's plan calls it, 'long' what is said of the finished piece.
WAYS: dict[str, EndWay] = {**{way: way for way in cast(tuple[EndWay, ...], get_args(EndWay))}, "forward": "long"}
LEANS: dict[str, LeanWay] = {way: way for way in cast(tuple[LeanWay, ...], get_args(LeanWay))}

W = TypeVar("W", bound=str)


def new_job(args: argparse.Namespace) -> int:
    """Begin a job."""
    head = JobHead(name=args.name or args.key, units=args.units, areas=tuple(Area(name=a) for a in args.area))
    with open_shop(args, create=True) as store:
        store.create_job(args.key, head, by=who(args))
        print(f"job {args.key} begun in {store.path}; {work_on(store, args.key)}")
    return 0


def use_job(args: argparse.Namespace) -> int:
    """Make a job the current one."""
    with open_shop(args) as store:
        key = store.job_key(args.key)
        make_current(store, key)
        print(f"job {key} is the current job of {store.path}")
    return 0


def add_job(args: argparse.Namespace) -> int:
    """Add surveys as runs, all in one change; with --replace, new surveys for runs that are there; with --unfinished,
    also those that cannot be read as they are."""
    if args.key and len(args.files) > 1:
        raise InputError("--key goes with one file.", hint="leave it out: each run is then named after its file")
    if args.revision is not None and (len(args.files) > 1 or not args.replace):
        raise InputError("--revision goes with --replace and one file.", hint="add the files one by one")
    with open_shop(args) as store:
        job = job_key(args, store)
        tools = ToolShelf(store.path, own_shop())
        surveys, cannot = [], []
        before = store.load(job)
        for name in args.files:
            key = args.key or Path(name).stem[:40]
            written, file = read_as_far(name, unfinished=args.unfinished)
            if file is not None and not _can_be_made(file, tools):
                cannot.append(key.casefold())
            surveys.append((key, written))
        added = add_surveys(
            store,
            job,
            surveys,
            own=tools,
            area=args.area,
            times=args.times,
            replace=args.replace,
            revision=args.revision,
            by=who(args),
        )
        unmade = tuple(save.run for save in added.saves if save.run.key.casefold() in cannot)
        runs = tuple(save.run for save in added.saves)
        held = store.tools_of(runs)
        unfinished = asked("job_status", JobStatusRequest(job=Job(head=added.head, runs=runs, tools=held)))
        why_not = _why_not(store, Job(head=added.head, runs=unmade, tools=held))
        now = store.load(job)
    for run, statuses, made in added.past:
        print(past_words(run.key, statuses, made), file=sys.stderr)
    for save in added.saves:
        old = next((one for one in before.runs if one.id == save.run.id), None)
        if old and (words := _again(before, old, now, save.run)):
            print(words)
        alike = f", {save.run.alike}" if save.run.alike else ""
        on = next((f", on {tool.name}" for tool in held if tool.pin == save.run.tool), "")
        print(f"{save.run.key}: {save.run.name} {'replaced' if save.based_on else 'added'}{alike}{on}")
    for finding in unfinished.findings if args.unfinished else ():
        if finding.rule == "job.open":
            print(f"{finding.where}: {finding.message}", file=sys.stderr)
    for known in why_not:
        print(f"{known.key}: cannot be made: {known.message}\nhint: {known.hint}", file=sys.stderr)
    return 0


def _can_be_made(file: SurveyFile, tools: ToolShelf) -> bool:
    """Whether a survey that reads well can be made. Raises InputError with file, line and field for one that
    contradicts itself or names what is not there."""
    try:
        with file.told_by_line():
            asked("check", CheckRequest(survey=file.written), tools=tools)
    except LimitError:
        return False
    return True


def _why_not(store: JobStore, job: Job) -> list[RunSummary]:
    """What is wrong with runs that cannot be made, kept so that the status says it."""
    if not job.runs:
        return []
    rows = cast("JobPlanAnswer", asked("job_plan", JobPlanRequest(job=job))).runs
    found = [row.plan for row in rows if row.plan and row.plan.outcome == "cannot be made"]
    PlanCache(store.path).add(found)
    return found


def rename_job(args: argparse.Namespace) -> int:
    """Give a run another key; what is kept of it stays with it."""
    with open_shop(args) as store:
        job = job_key(args, store)
        old, new = rename_run(store, job, args.run_key, args.key, by=who(args))
        print(f"{old}: is {new} now")
    return 0


def tool_job(args: argparse.Namespace) -> int:
    """Put runs on a tool as it stands now."""
    with open_shop(args) as store:
        job, own = job_key(args, store), ToolShelf(own_shop())
        for run, tool in put_on_tool(store, job, args.run_keys, args.on, own=own, by=who(args)):
            on = f"{tool.name}, revision {tool.revision}" if tool else "the trade's hand shoe"
            print(f"{run.key}: on {on}")
    return 0


def times_job(args: argparse.Namespace) -> int:
    """Say how many of a run there are alike."""
    with open_shop(args) as store:
        job = job_key(args, store)
        before = store.load(job)
        changed = set_times(store, job, args.run_keys, args.times, by=who(args))
        now = store.load(job)
        for one in store.runs_named(job, args.run_keys):
            if all(one.value.id != run.id for run in changed):
                print(f"{one.value.key}: {one.value.alike or 'there is one'}, as before")
        for run in changed:
            statuses = now.statuses(run)
            how_far = f": {status_words(statuses)}" if len(set(statuses)) > 1 else ""
            print(f"{run.key}: {run.alike or 'there is one'}{how_far}")
            old = next(one for one in before.runs if one.id == run.id)
            if words := _again(before, old, now, run):
                print(words)
            for words in _gone(before, old, run.times):
                print(words, file=sys.stderr)
    return 0


def _gone(job: Job, run: JobRun, times: int) -> Iterator[str]:
    """Which copies of a run count no more, of which something is bent already."""
    gone = [copy for copy in job.copies_begun(run) if copy > times]
    bent = [copy for copy in gone if job.statuses(run)[copy - 1] not in NOT_BENT]
    for copies, there in ((bent, "what is there is bent already"), (sorted({*gone} - {*bent}), "it is begun already")):
        if copies:
            count = "counts" if len(copies) == 1 else "count"
            yield f"{run.key}: {copy_words(copies)} {count} no more, though {there}"


def _again(before: Job, old: JobRun, now: Job, run: JobRun) -> str:
    """Which copies of a run count again, and how far they are; '' for none."""
    again = sorted(counted_again(before.entries_of(old), range(old.times + 1, run.times + 1)))
    statuses = [now.statuses(run)[copy - 1] for copy in again]
    count = "counts" if len(again) == 1 else "count"
    told = f"{run.key}: {copy_words(again)} {count} again, with what is kept of"
    made = [
        words for copy, of in by_copy(now.entries_of(run), run.times) if copy in again for words in copy_made(copy, of)
    ]
    begun = f" ({'; '.join(made)})" if made else ""
    return f"{told} {'it' if len(again) == 1 else 'them'}: {status_words(statuses)}{begun}" if again else ""


def remove_job(args: argparse.Namespace) -> int:
    """Take a run out."""
    with open_shop(args) as store:
        job = job_key(args, store)
        kept = store.run(job, args.run_key)
        store.remove_run(job, kept.value.id, kept.revision, by=who(args))
        print(f"{kept.value.key}: removed; `racewright job undo` brings it back")
    return 0


def set_job(args: argparse.Namespace) -> int:
    """Set the status of runs, in one change."""
    from racewright.operations.job_record import JobRecordRequest

    with open_shop(args) as store:
        key = job_key(args, store)
        job, kept = store.load_named(key, args.run_keys)
        noted = []
        for one in kept:
            request = JobRecordRequest(
                job=job,
                run=one.value.id,
                revision=one.revision,
                status=args.state,
                copies=tuple(dict.fromkeys(args.copy or ())),
            )
            answer = cast("JobRecordAnswer", asked("job_record", request, options={"copies": "--copy"}))
            noted += [Noted(one.value, answer.what, answer.pins, copy=copy) for copy in answer.copies or (None,)]
        word = STATUS_WORDS[args.state]
        add_noted(store, key, noted, by=who(args), what=f"{word}: ")
        now = store.load(key)
        for one in kept:
            print(f"{one.value.key}: {status_words(now.statuses(one.value))}")
    return 0


def past_words(key: str, statuses: Sequence[Status], made: Far) -> str:
    """What is there of a run whose plan changes."""
    there = "bends of it are made already" if made == "begun" else f"it is {made} already"
    there = f"is {status_words(statuses)} already" if made == "bent" else there
    return f"{key}: {there}, and its plan changes now"


def area_job(args: argparse.Namespace) -> int:
    """Say in which area runs are."""
    with open_shop(args) as store:
        for run in set_area(store, job_key(args, store), args.run_keys, args.area.strip(), by=who(args)):
            print(f"{run.key}: in {run.area or NO_AREA}")
    return 0


def record_job(args: argparse.Namespace) -> int:
    """Keep measurements and corrections with a run; a run that was only planned is bent now."""
    from racewright.operations.job_record import CorrectionMade, JobRecordRequest

    if args.have and not args.new_marks:
        raise InputError("--have goes with --new-marks.", hint="leave it out, or ask for new marks", field="--have")
    given = list(_measured(args))
    corrected = [pair(text, "--corrected", "1=-1.5") for text in args.corrected]
    with open_shop(args) as store:
        key, by = job_key(args, store), who(args)
        job, (kept,) = store.load_named(key, [args.run_key])
        request = JobRecordRequest(
            job=job,
            run=kept.value.id,
            revision=kept.revision,
            piece=args.piece,
            copies=tuple(dict.fromkeys(args.copy or ())),
            measured=tuple(reading for _, reading in given),
            corrected=tuple(
                CorrectionMade(number=mark_number(number, "--corrected"), by_deg=degrees(angle, "--corrected"))
                for number, angle in corrected
            ),
            made=tuple(_made(args)),
            steps=tuple(steps_said(args)),
            anew=args.new_marks,
            in_hand=args.have,
            by_card=args.by_card,
            note=args.note,
            plan=args.plan,
        )
        options = {f"measured[{k}]": option for k, (option, _) in enumerate(given)}
        options |= {name: f"--{name}" for name in ("corrected", "made", "plan")} | {
            "copies": "--copy",
            "measured": "--angle",
            "in_hand": "--have",
            "steps": "--done",
        }
        examples = {"--angle": f"racewright job record {args.run_key} --angle 2=47"}
        answer = cast("JobRecordAnswer", asked("job_record", request, options=options, examples=examples))
        noted = [Noted(kept.value, answer.what, answer.pins, answer.piece, one) for one in answer.copies or (None,)]
        add_noted(store, key, noted, by=by, what="recorded on ")
    copy = f", {copy_words(list(dict.fromkeys(args.copy)))}" if args.copy else ""
    done = "recorded" if answer.what else "nothing new to record"
    words = f"{kept.value.key}{copy}: {done}; status {STATUS_WORDS[answer.status]}"
    return show(
        answer, lambda _: "\n".join((words, *answer.words, *_new_marks(answer, have=bool(args.have)))), as_json=False
    )


def _new_marks(answer: JobRecordAnswer, *, have: bool) -> Iterator[str]:
    """The new marks that were asked for, and whether they hold from here on."""
    from racewright.cards.text.corrections import remark_text

    if answer.remark is not None:
        held = "New marks for the rest hold from here on: the planned ones do not."
        yield held if answer.remark.keep else "There are no new marks for the rest to keep."
        yield remark_text(answer.remark, have=have)


def _made(args: argparse.Namespace) -> Iterator[MadeReading]:
    """Bends that were made at the bench: '2=45', '2=45@26 1/8', '2=45, start 23-1/2, roll -2'."""
    for text in args.made:
        number, value = pair(text, "--made", "2=45@26-1/8")
        read, *more = re.split(r",?\s*\b(start|roll)\b", value)
        said = dict(zip(more[::2], more[1::2], strict=True))
        if len(more) > 2 * len(said):
            raise InputError(f"--made {text} says a thing twice.", hint="keep one of the two", field="--made")
        angle, at, mark = read.partition("@")
        if at and not mark.strip():
            raise InputError(
                f"--made {text} says no place behind the @.",
                hint="write where the mark is, for example 2=45@26-1/8, or leave the @ out",
                field="--made",
            )
        yield MadeReading(
            number=mark_number(number, "--made"),
            angle_deg=degrees(angle.strip(), "--made"),
            mark=mark.strip(),
            start=said.get("start", "").strip(),
            roll_off_deg=degrees(said["roll"].strip(), "--made") if "roll" in said else None,
        )


def steps_said(args: argparse.Namespace) -> Iterator[StepSaid]:
    """Steps that are no bends: 'cut', 'twist 2', 'ream', 'insert 2'."""
    from racewright.operations.steps_recorded import StepSaid, step_named

    for text in args.done:
        kind, _, number = text.strip().partition(" ")
        which = mark_number(number.strip(), "--done") if number else None
        if which == 0:
            hint = "insert 2 is the second of its kind, twist 2 the one at mark 2"
            raise InputError(f"--done {text}: steps count from 1.", hint=hint, field="--done")
        yield StepSaid(kind=step_named(kind, "--done"), number=which)


def _measured(args: argparse.Namespace) -> Iterator[tuple[str, Reading]]:
    """What was measured, each with the option that says it."""
    for text in args.angle:
        number, angle = pair(text, "--angle", "2=47")
        yield "--angle", AngleReading(number=mark_number(number, "--angle"), angle_deg=degrees(angle, "--angle"))
    for text in args.rise:
        number, rise = pair(text, "--rise", "2=3-5/8")
        yield "--rise", RiseReading(number=mark_number(number, "--rise"), rise=rise)
    for text in args.off:
        way, value = pair(text, "--off", "up=1/4")
        off, _, place = value.partition("@")
        yield "--off", OffReading(way=way_said(way, WAYS, "--off"), off=off.strip(), station=place.strip())
    for text in args.lean:
        way, angle = pair(text, "--lean", "up=1")
        yield "--lean", LeanReading(way=way_said(way, LEANS, "--lean"), lean_deg=degrees(angle, "--lean"))


def way_said(name: str, ways: dict[str, W], option: str) -> W:
    """The way of this name. Raises InputError naming the option."""
    if name not in ways:
        raise InputError(
            f"{option}: '{name}' is no way.", hint=f"one of {', '.join(dict.fromkeys(ways.values()))}", field=option
        )
    return ways[name]
