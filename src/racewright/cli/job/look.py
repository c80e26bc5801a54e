"""`racewright job` list, status, show, bill, cut, log: what the jobs of the shop file are asked."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, cast

from racewright.cli.answers import asked, show
from racewright.cli.job.common import job_key, open_shop
from racewright.cli.options import given
from racewright.records.model import STATUS_WORDS, Job
from racewright.store.job_errors import differences
from racewright.store.job_store import JobStore
from racewright.store.plan_cache import PlanCache

if TYPE_CHECKING:
    from collections.abc import Sequence

    from racewright.cards.takeoff_tables import Table
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
    return show(asked("jobs", request), jobs_text, as_json=args.json)


def status_job(args: argparse.Namespace) -> int:
    """Every run by area, with what is known of its plan; the exit code is 0, whatever that says."""
    from racewright.cards.text.job import job_status_text
    from racewright.operations.job_status import JobStatusRequest

    with open_shop(args) as store:
        key = job_key(args, store)
        job, revisions = store.load(key), {kept.value.key: kept.revision for kept in store.runs(key)}
        plans = PlanCache(store.path).known
    answer = asked("job_status", JobStatusRequest(job=job, revisions=revisions), plans=plans)
    show(answer, job_status_text, as_json=args.json)
    return 0


def show_job(args: argparse.Namespace) -> int:
    """One run: where it stands, what was measured, and its card; or its survey alone."""
    with open_shop(args) as store:
        key = job_key(args, store)
        kept = store.run(key, args.run_key)
        head = store.head(key).value
    run = kept.value
    if args.survey:
        from racewright.store.job_file import survey_to_json

        print(survey_to_json(run.survey))
        print(f"revision {kept.revision}", file=sys.stderr)
        return 0
    from racewright.cards.text.job import job_run_text
    from racewright.operations.job_run import JobRunRequest

    answer = asked("job_run", JobRunRequest(job=Job(head=head, runs=(run,)), run=run.key))
    if not args.json:
        words = f"{run.key}  {STATUS_WORDS[run.status]}  {run.area}  revision {kept.revision}, {kept.at} {kept.by}"
        print(words.rstrip())
    return show(answer, job_run_text, as_json=args.json)


def bill_job(args: argparse.Namespace) -> int:
    """What the job needs. 1 where a run has a problem, or no plan and is left out."""
    from racewright.cards.text.job import job_bill_text
    from racewright.operations.materials import JobBillRequest

    answer = cast("JobBillAnswer", asked("job_bill", JobBillRequest(job=load_job(args))))
    if args.out:
        from racewright.cards.takeoff_tables import bill_tables

        _write_tables(args.out, bill_tables(answer.bill))
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

        _write_tables(args.out, cut_tables(answer.cuts, style_of(answer.units)))
    return show(answer, job_cut_text, as_json=args.json)


def _write_tables(name: str, tables: Sequence[Table]) -> None:
    from racewright.exports.output_file import write_tables

    write_tables(Path(name), tables)
    print(f"wrote {name}", file=sys.stderr)


def log_job(args: argparse.Namespace) -> int:
    """Changes of the job, revisions of a run, or refused saves."""
    with open_shop(args) as store:
        job = job_key(args, store)
        if args.refused:
            _print_refused(store, job, args.run_key)
        elif args.run_key:
            revisions = store.history(job, args.run_key)
            if not revisions:
                store.run(job, args.run_key)  # says which runs there are
            for new, old in zip(revisions, [*revisions[1:], None], strict=True):
                print(f"revision {new.number}  {new.at}  {new.by}  {new.what}")
                if old is not None and new.value is not None and old.value is not None:
                    for line in differences(new.value, old.value):
                        print(f"    {line.replace(': yours ', ': ').replace(', theirs ', ', was ')}")
        else:
            for change in store.changes(job):
                tail = "  (undone)" if change.undone else ""
                print(f"{change.number:6}  {change.at}  {change.by:12}  {change.what}{tail}")
    return 0


def _print_refused(store: JobStore, job: str, key: str | None) -> None:
    for refused in store.refused(job):
        if key is None or refused.item.casefold() == key.casefold():
            name = refused.item or "the job's head"
            print(
                f"{refused.at}  {refused.by}  {name}: made from revision {refused.based_on},"
                f" revision {refused.found} stood"
            )
            standing = next(iter(store.history(job, refused.item)), None)
            for line in differences(refused.value, standing.value if standing else None):
                print(f"    {line.replace(': yours ', ': refused ').replace(', theirs ', ', stands ')}")
