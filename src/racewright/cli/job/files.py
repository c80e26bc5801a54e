"""`racewright job` pack, labels, models, export, import, backup, recover, check: whole files in and out."""

from __future__ import annotations

import argparse
import re
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, cast

from racewright.cli.answers import asked, show
from racewright.cli.job.common import job_key, open_shop, shop_path, who, work_on
from racewright.cli.job.look import load_job
from racewright.cli.options import given, options_of
from racewright.cli.out_files import now, refuse_loss
from racewright.errors import InputError

if TYPE_CHECKING:
    from racewright.operations.job_files import JobModelsAnswer, JobPackAnswer, ModelKind
    from racewright.operations.job_status import JobStatusAnswer
    from racewright.operations.piece_labels import JobLabelsAnswer
    from racewright.records.model import Job
    from racewright.store.job_store import JobStore
    from racewright.store.runs_before import Taken


def pack_job(args: argparse.Namespace) -> int:
    """The whole job as one PDF. 1 where a run has no plan or a problem."""
    from racewright.exports.output_file import write_whole
    from racewright.operations.job_files import JobPackRequest

    more = {"job": load_job(args), "made_on": date.today().isoformat()}
    request = JobPackRequest(**given(args, JobPackRequest) | more)
    answer = cast("JobPackAnswer", asked("job_pack", request))
    write_whole(Path(args.file), answer.pdf)
    words = f"{answer.pages} pages written to {args.file}: print at 100 %"
    return show(answer, lambda _: words, as_json=False, aside=True, within=args.file)


def labels_job(args: argparse.Namespace) -> int:
    """The labels of the job's pieces. 1 where a run has no plan or a problem."""
    from racewright.exports.output_file import write_tables, write_whole
    from racewright.operations.piece_labels import JobLabelsRequest

    out = Path(args.file)
    form = out.suffix.lower().removeprefix(".")
    more = {"job": load_job(args), "form": form if form in ("pdf", "svg") else "table", "lines": not args.no_lines}
    request = JobLabelsRequest(**given(args, JobLabelsRequest) | more)
    answer = cast("JobLabelsAnswer", asked("job_labels", request, options=options_of(JobLabelsRequest)))
    count = f"{len(answer.labels)} label{'' if len(answer.labels) == 1 else 's'}"
    if not answer.labels:
        words = "no piece is to be labeled: nothing written"
    elif request.form == "table":
        from racewright.cards.takeoff_tables import label_tables

        write_tables(out, label_tables(request.job.head.name, answer.labels))
        words = f"{count} written to {out}"
    else:
        names = [out] if request.form == "pdf" or answer.sheets == 1 else _numbered(out, answer.sheets)
        refuse_loss(args, names)
        for name, data in zip(names, [answer.pdf] if answer.pdf else [s.encode() for s in answer.svg], strict=True):
            write_whole(name, data)
        sheets = f"{answer.sheets} sheet{'' if answer.sheets == 1 else 's'}"
        written = str(out) if len(names) == 1 else f"{names[0]} to {names[-1].name}"
        words = f"{count} on {sheets} written to {written}: print at 100 %"
    return show(answer, lambda _: words, as_json=False, aside=True)


def _numbered(out: Path, count: int) -> list[Path]:
    """'labels-1.svg', 'labels-2.svg' of 'labels.svg'."""
    return [out.with_name(f"{out.stem}-{number}{out.suffix}") for number in range(1, count + 1)]


def models_job(args: argparse.Namespace) -> int:
    """The whole job as model files. 1 where a run has a problem, or no plan and is left out."""
    from racewright.exports.output_file import write_whole
    from racewright.operations.job_files import JobModelsRequest

    kinds: list[ModelKind] = [kind for kind in ("dxf", "gltf", "ifc") if getattr(args, kind)]
    if not kinds:
        raise InputError("no file to write was named.", hint="say --dxf FOLDER, --gltf OUT or --ifc OUT")
    request = JobModelsRequest(job=load_job(args), kinds=tuple(kinds), area=args.area or "", written_at=now())
    answer = cast("JobModelsAnswer", asked("job_models", request))
    files = [(Path(args.dxf, f"{f.name}.dxf") if f.run else Path(getattr(args, f.kind)), f) for f in answer.files]
    refuse_loss(args, [path for path, _ in files])
    lines = []
    if args.dxf:
        folder = Path(args.dxf)
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as err:
            raise InputError(f"{folder}: cannot be made: {err.strerror}.", hint="name a folder") from None
        lines.append(f"{sum(bool(f.run) for f in answer.files)} DXF files written to {folder}")
    for path, file in files:
        write_whole(path, file.data)
        lines += [] if file.run else [f"{'glTF' if file.kind == 'gltf' else 'IFC'} written to {path}"]
    return show(answer, lambda _: "\n".join(lines), as_json=False, aside=True)


def export_job(args: argparse.Namespace) -> int:
    """Write the whole job as one JSON file."""
    from racewright.store.job_file import job_to_json, write_job

    with open_shop(args) as store:
        job = store.handed_on(job_key(args, store))
    if args.file == "-":
        sys.stdout.write(job_to_json(job))
    else:
        write_job(args.file, job)
        print(f"{len(job.runs)} runs written to {args.file}", file=sys.stderr)
    return 0


def import_job(args: argparse.Namespace) -> int:
    """A job file becomes a new job, in one change, or what is new of it comes into the job that it is of; a folder of
    shared runs the job that it always becomes. 1 where the file and that job say different things."""
    from racewright.operations.job_status import JobStatusRequest
    from racewright.store.job_file import load_job
    from racewright.store.job_met import job_met

    if Path(args.file).is_dir():
        return _import_runs(args)
    job = load_job(args.file)
    key = args.key or re.sub(r"[^A-Za-z0-9._-]+", "-", Path(args.file).stem).strip("-._")[:40] or "job"
    with open_shop(args, create=True) as store:
        here = job_met(store, job)
        if here is not None and args.key in (None, here):
            return _bring_into(args, store, here, job)
        others = store.create_job(key, job, by=who(args), what=f"imported from {Path(args.file).name}"[:200])
        print(f"job {key}: {len(job.runs)} runs imported into {store.path}; {work_on(store, key)}")
        if others:
            print(
                f"said differently in the file and here, and left as here: {', '.join(others)};"
                " `racewright job people` and `job prices` show and change it",
                file=sys.stderr,
            )
        job = store.load(key)
    answer = cast("JobStatusAnswer", asked("job_status", JobStatusRequest(job=job)))
    unfinished, without_tool = answer.open, sum(run.tool is not None and job.tool_of(run) is None for run in job.runs)
    for count, words in ((unfinished, "still to be measured to the end"), (without_tool, "on a tool that is not here")):
        if count:
            told = f"{count} of them {'are' if count > 1 else 'is'} {words}"
            print(f"{told}: `racewright job status` says what", file=sys.stderr)
    return 0


def _bring_into(args: argparse.Namespace, store: JobStore, key: str, job: Job) -> int:
    from racewright.store.job_met import bring_into

    what = f"brought in from {Path(args.file).name}"
    met = bring_into(store, key, job, replace=args.replace, by=who(args), what=what)
    print(f"job {key} is here already: {len(met.added)} runs and {met.entries} entries of {args.file} brought in")
    for count, words in (
        (met.older, "changed here since: left as here"),
        (met.removed, "removed here: not brought back"),
    ):
        if count:
            print(f"{count} {'run' if count == 1 else 'runs'} {words}")
    if met.entries_older:
        print(f"{_entries(met.entries_older)} changed or taken back in part here since: left as here")
    if met.entries_differ:
        told = f"{_entries(met.entries_differ)} said differently in the file and here, and left as here"
        print(told, file=sys.stderr)
    left = 1 if met.entries_differ else 0
    differ = ["the job's head"] * met.head + [f"run {run.key}" for run in met.differ] + [*met.lists]
    if not differ:
        return left
    if args.replace:
        print(f"as the file says it, in a new revision: {', '.join(differ)}")
        return left
    print(f"said differently in the file and here, and left as here: {', '.join(differ)}", file=sys.stderr)
    print(
        "`racewright job log --refused` shows both; --replace takes the file's; --key NAME makes a second job of it",
        file=sys.stderr,
    )
    return 1


def _entries(count: int) -> str:
    return "1 entry" if count == 1 else f"{count} entries"


def _import_runs(args: argparse.Namespace) -> int:
    from racewright.store.runs_before import take_in

    taken = take_in(shop_path(args), Path(args.file))
    if taken is None:
        raise InputError(f"{args.file}: is a folder without shared runs.", hint="name a job file")
    print(told_of_runs(taken, args.file, shop_path(args)))
    return 0


def told_of_runs(taken: Taken, folder: Path | str, shop: Path) -> str:
    """What was done with a folder of shared runs, in lines."""
    lines = [
        f"{folder}: {taken.runs} shared runs are in {shop} as job {taken.job}" if taken.job else f"{folder}: no run"
    ]
    lines += taken.troubles
    aside = "the folder could not be renamed, and is looked at again at the next start"
    lines.append(f"the folder is {taken.aside} now, older versions in it; nothing reads it" if taken.aside else aside)
    return "\n".join(lines)


def backup_job(args: argparse.Namespace) -> int:
    """Make a whole copy."""
    with open_shop(args) as store:
        print(f"backup written to {store.backup(args.file)}")
    return 0


def recover_job(args: argparse.Namespace) -> int:
    """Bring the newest whole backup back."""
    from racewright.store.job_backup import NUMBERS_AGAIN, may_give_numbers_again, recover

    path = shop_path(args)
    source, aside = recover(path)
    print(f"{path}: recovered from {source}")
    if aside is not None:
        print(f"the damaged file is kept as {aside}")
    print("changes made after that backup are not in it: look at `racewright job log`")
    if may_give_numbers_again(path, source):
        print(NUMBERS_AGAIN)
    return 0


def check_job(args: argparse.Namespace) -> int:
    """Look at the whole file; it was checked when it was opened."""
    with open_shop(args) as store:
        jobs = store.jobs()
        print(f"{store.path}: whole; {len(jobs)} job{'' if len(jobs) == 1 else 's'}")
    return 0
