"""`racewright job` list, status, show, bill, cut, kits, batch, log: what the jobs of the shop file are asked."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, cast

from racewright.cards.entry_words import pins_line, said_line, said_together, who_says
from racewright.cli.answers import asked, show
from racewright.cli.job.common import job_key, open_shop
from racewright.cli.options import given
from racewright.records.differ import differences, fields_changed, quoted
from racewright.records.ends_cut import ends_cut
from racewright.records.entry import Entry, status_words
from racewright.records.kinds import Value, called
from racewright.records.model import Job, JobRun
from racewright.store.current_job import current_job
from racewright.store.job_log import changed_fields
from racewright.store.job_store import JobStore
from racewright.store.plan_cache import PlanCache

if TYPE_CHECKING:
    from collections.abc import Sequence

    from racewright.cards.takeoff_tables import Table
    from racewright.operations.batch import JobBatchAnswer
    from racewright.operations.common import Answer
    from racewright.operations.kits import JobKitsAnswer
    from racewright.operations.materials import JobBillAnswer, JobCutAnswer


def load_job(args: argparse.Namespace) -> Job:
    """The job of --shop and --job."""
    with open_shop(args) as store:
        return store.load(job_key(args, store))


def list_job(args: argparse.Namespace) -> int:
    """The jobs, with how far their runs are."""
    from racewright.cards.text.job import jobs_text
    from racewright.operations.jobs import JobsRequest

    with open_shop(args) as store:
        request = JobsRequest(jobs={key: store.load(key) for key in store.jobs()})
        current = current_job(store)
    several = f"\ncurrent job: {current}" if current and len(request.jobs) > 1 else ""
    return show(asked("jobs", request), lambda answer: jobs_text(answer) + several, as_json=args.json)


def status_job(args: argparse.Namespace) -> int:
    """Every run by area, with what is known of its plan; the exit code is 0, whatever that says."""
    from racewright.cards.text.job import job_status_text
    from racewright.operations.job_status import JobStatusRequest

    with open_shop(args) as store:
        key = job_key(args, store)
        job, revisions = store.load_with_revisions(key)
        plans = PlanCache(store.path).known
    answer = asked("job_status", JobStatusRequest(job=job, revisions=revisions), plans=plans)
    show(answer, job_status_text, as_json=args.json)
    return 0


def show_job(args: argparse.Namespace) -> int:
    """One run: where it stands, what was measured, and its card; or its survey alone."""
    with open_shop(args) as store:
        key = job_key(args, store)
        job, (kept,) = store.load_named(key, [args.run_key])
    run = kept.value
    if args.survey:
        from racewright.store.job_file import survey_to_json

        print(survey_to_json(run.survey))
        print(f"revision {kept.revision}", file=sys.stderr)
        return 0
    from racewright.cards.text.job import job_run_text
    from racewright.operations.job_run import JobRunRequest

    answer = asked("job_run", JobRunRequest(job=job, run=run.id, hands=args.hands))
    if not args.json:
        words = f"{run.key}  {run.alike}  {status_words(job.statuses(run))}  {run.area}".replace("    ", "  ").rstrip()
        print(f"{words}  revision {kept.revision}, {kept.at} {kept.by}".rstrip())
    return show(answer, job_run_text, as_json=args.json)


def bill_job(args: argparse.Namespace) -> int:
    """What the job needs. 1 where a run has a problem, or no plan and is left out."""
    from racewright.cards.text.job import job_bill_text
    from racewright.operations.materials import JobBillRequest

    answer = cast("JobBillAnswer", asked("job_bill", JobBillRequest(job=load_job(args))))
    if args.out:
        from racewright.cards.takeoff_tables import bill_tables

        _write_tables(args.out, answer, bill_tables(answer.bill))
    return show(answer, lambda told: job_bill_text(told, args.split), as_json=args.json)


def cut_job(args: argparse.Namespace) -> int:
    """How the conduit is cut. 1 where a run has a problem, or no plan and is left out."""
    from racewright.cards.text.job import job_cut_text
    from racewright.operations.materials import JobCutRequest

    request = JobCutRequest(**given(args, JobCutRequest) | {"job": load_job(args)})
    answer = cast("JobCutAnswer", asked("job_cut", request))
    if args.out:
        from racewright.cards.takeoff_tables import cut_tables
        from racewright.units.tape import style_of

        _write_tables(args.out, answer, cut_tables(answer.cuts, style_of(answer.units)))
    return show(answer, job_cut_text, as_json=args.json)


def kits_job(args: argparse.Namespace) -> int:
    """What goes to each room. 1 where a run has a problem, or no plan and is left out."""
    from racewright.cards.text.job import job_kits_text
    from racewright.operations.kits import JobKitsRequest

    answer = cast("JobKitsAnswer", asked("job_kits", JobKitsRequest(job=load_job(args), area=args.area or "")))
    if args.out:
        from racewright.cards.takeoff_tables import kit_tables
        from racewright.units.tape import style_of

        _write_tables(args.out, answer, kit_tables(answer.kits, style_of(answer.units)))
    return show(answer, job_kits_text, as_json=args.json)


def batch_job(args: argparse.Namespace) -> int:
    """What is still to be bent. 1 where a run has a problem, or no plan and is left out."""
    from racewright.cards.text.batch import job_batch_text
    from racewright.operations.batch import JobBatchRequest

    request = JobBatchRequest(**given(args, JobBatchRequest) | {"job": load_job(args)})
    answer = cast("JobBatchAnswer", asked("job_batch", request))
    if args.out:
        from racewright.cards.takeoff_tables import batch_tables

        _write_tables(args.out, answer, batch_tables(answer.bench))
    return show(answer, job_batch_text, as_json=args.json)


def _write_tables(name: str, answer: Answer, tables: Sequence[Table]) -> None:
    """What the answer leaves out, then its tables."""
    from racewright.cards.takeoff_tables import left_out_table
    from racewright.exports.output_file import write_tables

    write_tables(Path(name), [left_out_table(answer.not_included), *tables])
    print(f"wrote {name}", file=sys.stderr)


def log_job(args: argparse.Namespace) -> int:
    """Changes of the job; revisions and entries of a run; or refused saves."""
    with open_shop(args) as store:
        job = job_key(args, store)
        run = store.run_ever(job, args.run_key) if args.run_key else None
        if args.refused:
            _print_refused(store, job, run)
        elif run is not None:
            _print_run(store, job, run, pieces_known(store, job, run))
        else:
            changes = {change.number: change for change in (*store.changes(job), *store.list_changes(job))}
            for _, change in sorted(changes.items(), reverse=True):
                tail = "  (undone)" if change.undone else ""
                print(f"{change.number:6}  {change.at}  {change.by:12}  {change.what}{tail}")
                for line in changed_fields(store, change.number):
                    print(f"        {line}")
    return 0


def pieces_known(store: JobStore, job: str, run: JobRun) -> int:
    """Of how many pieces a run is; 0 where it has no plan."""
    from racewright.operations.said import pieces_of

    return pieces_of(run, store.load(job), PlanCache(store.path).known)


def _print_run(store: JobStore, job: str, run: JobRun, pieces: int) -> None:
    """What was changed on a run of so many pieces, and seen and done on it, newest first."""
    lines: list[tuple[int, int, str]] = []
    revisions = store.history(run.id)
    tools = store.tools_of([one.value for one in revisions if isinstance(one.value, JobRun)])
    for new, old in zip(revisions, [*revisions[1:], None], strict=True):
        told = [f"revision {new.number}  {new.at}  {new.by}  {new.what}"]
        if old is not None and new.value is not None and old.value is not None:
            told += [f"    {line}" for line in fields_changed(new.value, old.value, tools)]
        lines.append((new.change, 0, "\n".join(told)))
    seen = [(kept, "") for kept in store.entries_read(job)]
    seen += [(kept, f"  (taken back by {by or 'somebody'}, {at})") for kept, by, at in store.entries_taken_back(job)]
    came: dict[tuple[int, str, str], list[Entry]] = {}  # what came in at once, and went at once
    for kept, tail in seen:
        if kept.value.run == run.id:
            head = f"{kept.value.at or kept.at}  {who_says(kept.value, store.brought_by(kept))}"
            came.setdefault((kept.change, head, tail), []).append(kept.value)
    ends = ends_cut(kept.value for kept, _ in seen)
    together = ((at, one) for at, entries in came.items() for one in said_together(entries))
    for place, ((change, head, tail), (entry, copies)) in enumerate(together, 1):
        pins = pins_line(entry)
        line = f"{head}  {said_line(run, entry, copies, pieces, ends=ends)}" + (f"  [{pins}]" if pins else "") + tail
        lines.append((change, place, line))
    for *_, text in sorted(lines, key=lambda line: line[:2], reverse=True):
        print(text)


def _print_refused(store: JobStore, job: str, run: JobRun | None) -> None:
    runs = {kept.value.id: kept.value for kept in store.runs(job)}
    for refused in store.refused(job):
        value = refused.value
        of = value.run if isinstance(value, Entry) else refused.record
        if run is not None and of != run.id:
            continue
        known = run or runs.get(of)
        of_it = known if value is None or isinstance(value, Entry) else value
        name = called(of_it) if of_it else f"run that was taken out ({of[:6]})"
        if isinstance(value, Entry):
            says = who_says(value, refused.by)
            print(f"{refused.at}  {says}  {name}: {said_line(known, value) if known else 'an entry'}")
            continue
        made = f"made from revision {refused.base}" if refused.base else "not made from what stood here"
        print(f"{refused.at}  {refused.by}  {name}: {made}, revision {refused.found} stood")
        standing = next(iter(store.history(refused.record)), None)
        theirs = standing.value if standing else None
        tools = store.tools_of([one for one in (value, theirs) if isinstance(one, JobRun)])
        if value is None or theirs is None:
            print(f"    refused: {_there(value)}; stands: {_there(theirs)}")
        else:
            for one in differences(value, theirs, tools):
                print(f"    {one.field}: refused {quoted(one.mine)}, stands {quoted(one.theirs)}")


def _there(value: Value | None) -> str:
    return "removed" if value is None else "there"
