"""`racewright job` new, add, remove, set, undo, redo: changes of a job, each a revision that can be taken back."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

import msgspec

from racewright.cli.job.common import job_key, open_shop, who
from racewright.errors import InputError, LimitError
from racewright.job.plan_job import Chunk, RunSummary, find_in_job, plan_chunk
from racewright.records.model import STATUS_WORDS, Area, JobHead, JobRun
from racewright.records.parse import run_from_data
from racewright.store.job_store import JobStore, RunSave
from racewright.store.plan_cache import PlanCache
from racewright.store.survey_file import SurveyFile, read_survey_file
from racewright.survey.written import WrittenSurvey
from racewright.tools.benders import default_by_name
from racewright.tools.model import BenderProfile


def new_job(args: argparse.Namespace) -> int:
    """Begin a job."""
    head = JobHead(name=args.name or args.key, units=args.units, areas=tuple(Area(name=a) for a in args.area))
    with open_shop(args, create=True) as store:
        store.create_job(args.key, head, by=who(args))
        print(f"job {args.key} begun in {store.path}")
    return 0


def add_job(args: argparse.Namespace) -> int:
    """Add surveys as runs, all in one change; with --replace, new surveys for runs that are there."""
    if args.key and len(args.files) > 1:
        raise InputError("--key goes with one file.", hint="leave it away: each run is then named after its file")
    if args.revision is not None and (len(args.files) > 1 or not args.replace):
        raise InputError("--revision goes with --replace and one file.", hint="add the files one by one")
    with open_shop(args) as store:
        job = job_key(args, store)
        standing = {kept.value.key.casefold(): kept for kept in store.runs(job)}
        saves = []
        surveys = []
        files = []
        for file in args.files:
            read = read_survey_file(file)
            survey = read.written
            key = args.key or Path(file).stem[:40]
            old = standing.get(key.casefold())
            if old is not None and not args.replace:
                raise InputError(
                    f"job '{job}' has a run '{old.value.key}' already.", hint="give another --key, or --replace it"
                )
            if old is None and args.replace:
                raise InputError(f"job '{job}' has no run '{key}' to replace.", hint="leave --replace away to add it")
            surveys.append(survey)
            files.append((key, read))
            if old is None:
                saves.append(RunSave(run_from_data({"key": key, "survey": survey, "area": args.area or ""}), 0))
            else:
                saves.append(RunSave(_with_survey(old.value, survey, args.area), args.revision or old.revision))
        head = _completed_head(store, job, surveys, args.area)
        benders = (head[0] if head else store.head(job).value).benders
        cannot = [known for key, read in files if (known := _cannot_be_made(key, read, benders))]
        what = f"{'new survey' if args.replace else 'added'}: {', '.join(s.run.key for s in saves)}"
        store.save_runs(job, saves, head=head, by=who(args), what=what[:200])
        for save in saves:
            print(f"{save.run.key}: {save.run.name} {'replaced' if save.based_on else 'added'}")
        if cannot:
            PlanCache(store.path).add(cannot)  # so that the status says it
    for known in cannot:
        print(f"{known.key}: cannot be made: {known.message}\nhint: {known.hint}", file=sys.stderr)
    return 0


def _cannot_be_made(key: str, file: SurveyFile, benders: Sequence[BenderProfile]) -> RunSummary | None:
    """What is wrong with a survey that reads well and cannot be made; None where it can. Raises InputError with file,
    line and field for one that contradicts itself."""
    from racewright.plan.plan_run import plan_run

    try:
        with file.told_by_line():
            plan_run(file.survey, find=find_in_job(benders))
    except LimitError:
        run = run_from_data({"key": key, "survey": file.written, "area": ""})
        return plan_chunk(Chunk(runs=(run,), benders=tuple(benders)))[0]
    return None


def remove_job(args: argparse.Namespace) -> int:
    """Take a run out."""
    with open_shop(args) as store:
        job = job_key(args, store)
        kept = store.run(job, args.run_key)
        store.remove_run(job, kept.value.key, kept.revision, by=who(args))
        print(f"{kept.value.key}: removed; `racewright job undo` brings it back")
    return 0


def set_job(args: argparse.Namespace) -> int:
    """Set the status of runs, in one change."""
    with open_shop(args) as store:
        job = job_key(args, store)
        kept = {k.value.key: k for k in (store.run(job, key) for key in args.run_keys)}
        saves = [
            RunSave(msgspec.structs.replace(k.value, status=args.state), k.revision)
            for k in kept.values()
            if k.value.status != args.state
        ]
        word = STATUS_WORDS[args.state]
        if saves:
            what = f"{word}: {', '.join(s.run.key for s in saves)}"
            store.save_runs(job, saves, by=who(args), what=what[:200])
        for key in kept:
            print(f"{key}: {word}")
    return 0


def undo_job(args: argparse.Namespace) -> int:
    """Undo the last change of the job, or go back with one run."""
    with open_shop(args) as store:
        job = job_key(args, store)
        if args.run_key:
            kept = store.history(job, args.run_key)
            if not kept:
                store.run(job, args.run_key)  # says which runs there are
            target = args.to if args.to is not None else kept[0].number - 1
            store.restore_run(job, args.run_key, target, kept[0].number, by=who(args))
            print(f"{args.run_key}: back to revision {target}")
            return 0
        if args.to is not None:
            raise InputError("--to goes with a run.", hint="`racewright job undo RUN --to N`")
        change = _last(store, job, args, "undo")
        store.undo(job, by=who(args), expect=change)
        return 0


def redo_job(args: argparse.Namespace) -> int:
    """Take back the last undo."""
    with open_shop(args) as store:
        job = job_key(args, store)
        store.redo(job, by=who(args), expect=_last(store, job, args, "redo"))
    return 0


def _last(store: JobStore, job: str, args: argparse.Namespace, kind: str) -> int | None:
    """The number of the change to take back; somebody else's only when that was said."""
    wanted = "save" if kind == "undo" else "undo"
    last = next((c for c in store.changes(job) if c.kind == wanted and not c.undone), None)
    if last is None:
        return None
    if last.by != who(args) and not args.anyone:
        raise InputError(
            f"the last change is not yours: '{last.what}' by {last.by or 'somebody'}, {last.at}.",
            hint="talk to them, or give --anyone",
        )
    print(f"{'undone' if kind == 'undo' else 'redone'}: {last.what.removeprefix('undo: ')} ({last.at})")
    return last.number


def _with_survey(run: JobRun, survey: WrittenSurvey, area: str | None) -> JobRun:
    """The run with a new survey: a plan of the old one no longer stands."""
    status = run.status
    if survey != run.survey and status == "planned":
        status = "measured"
    elif survey != run.survey and status != "measured":
        print(f"{run.key}: is {STATUS_WORDS[status]} already, and its survey changes now", file=sys.stderr)
    return msgspec.structs.replace(run, survey=survey, status=status, area=run.area if area is None else area)


def _completed_head(
    store: JobStore, job: str, surveys: list[WrittenSurvey], area: str | None
) -> tuple[JobHead, int] | None:
    """The head with a new area, and with benders of the user's own that the surveys name; None: it stays."""
    from racewright.store.bender_file import find_bender

    kept = store.head(job)
    head = kept.value
    if area and area not in [a.name for a in head.areas]:
        head = msgspec.structs.replace(head, areas=(*head.areas, Area(name=area)))
    for name in dict.fromkeys(s.run.bender.strip() for s in surveys):
        known = any(b.name.casefold() == name.casefold() for b in head.benders)
        if name and not known and default_by_name(name) is None:
            head = msgspec.structs.replace(head, benders=(*head.benders, find_bender(name)))
    return None if head == kept.value else (head, kept.revision)
