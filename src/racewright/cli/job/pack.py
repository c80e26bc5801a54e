"""`racewright job pack OUT.pdf`: the whole job as one document to hand over."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from math import degrees
from pathlib import Path
from typing import TYPE_CHECKING

from racewright.cli.out_files import ending

if TYPE_CHECKING:
    from racewright.cards.pack_model import Pack, PackRun
    from racewright.job.plan_job import PlannedRun
    from racewright.records.model import Job, JobRun

HELP = "the hand-over pack: cover, run index, cards, bill, cut list, checks and as-built notes as one PDF"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The action's options."""
    parser.add_argument("file", metavar="OUT", type=ending(".pdf"), help="the PDF to write")
    parser.add_argument("--paper", choices=("letter", "a4"), help="paper size (letter for inches, a4 for mm)")
    parser.add_argument("--area", metavar="NAME", help="only the runs of this area")
    parser.add_argument("--no-cards", action="store_true", help="leave the runs' bend cards out")
    parser.add_argument("--made-by", default="", metavar="NAME", help="printed on the cover (else room to write)")


def run(args: argparse.Namespace) -> int:
    """Plans every run and writes the pack; 1 where a run has no plan or a problem."""
    from racewright.cards.pack import build_pack
    from racewright.cli.job.takeoff import load_job
    from racewright.exports.output_file import write_whole
    from racewright.exports.pdf_outline import Bookmark, Jump, to_linked_pdf
    from racewright.job.plan_job import plan_job

    job = only_area(load_job(args), args.area)
    pack = pack_of(job, list(plan_job(job)), made_by=args.made_by, made_on=date.today().isoformat())
    paper = args.paper or ("letter" if job.head.units == "in" else "a4")
    document = build_pack(pack, paper, with_cards=not args.no_cards)
    bookmarks = [Bookmark(entry.title, entry.page, entry.level) for entry in document.outline]
    jumps = [Jump(link.page, link.box, link.target) for link in document.links]
    write_whole(Path(args.file), to_linked_pdf(document.scene, bookmarks, jumps))
    print(f"{len(document.scene.pages)} pages written to {args.file}: print at 100 %", file=sys.stderr)
    lost = [run for run in pack.runs if run.plan is None]
    for entry in lost:
        print(f"no plan: {entry.key}: {entry.trouble}", file=sys.stderr)
    problems = any(finding.severity == "problem" for entry in pack.runs for finding in entry.findings)
    return 1 if lost or problems else 0


pack_job = run


def only_area(job: Job, area: str | None) -> Job:
    """The job with the runs of one area only. Raises UnknownName for an area that no run has."""
    import msgspec

    from racewright.errors import UnknownName

    if area is None:
        return job
    runs = tuple(run for run in job.runs if run.area.casefold() == area.casefold())
    if not runs:
        known = ", ".join(dict.fromkeys(run.area for run in job.runs if run.area)) or "none"
        raise UnknownName(
            f"no run is in area '{area}'.", hint=f"areas with runs: {known}", field="area", expected=known
        )
    return msgspec.structs.replace(job, runs=runs)


def in_areas(job: Job, planned: list[PlannedRun]) -> list[PlannedRun]:
    """The runs in the order of the job's areas, those of no area last."""
    order = {area.name: k for k, area in enumerate(job.head.areas)}
    return sorted(planned, key=lambda p: (p.run.area == "", order.get(p.run.area, len(order))))


def pack_of(job: Job, planned: list[PlannedRun], *, made_by: str = "", made_on: str = "") -> Pack:
    """What the pack is made from: the job's runs with their plans, the bill, the cut list of what is planned."""
    from racewright.cards.pack_model import Pack
    from racewright.cli.job.bill import bill_of
    from racewright.job.materials import job_tape
    from racewright.records.model import STATUS_WORDS, STATUSES

    planned = in_areas(job, planned)
    good = [p for p in planned if p.plan is not None]
    bill = bill_of(job, good) if good else None
    return Pack(
        title=job.head.name,
        runs=tuple(_pack_run(p) for p in planned),
        tape=job_tape(job.head),
        made_on=made_on,
        made_by=made_by,
        note=job.head.note,
        statuses=tuple(STATUS_WORDS[status] for status in STATUSES),
        bill=bill,
        cuts=bill.cuts if bill else (),
    )


def _pack_run(planned: PlannedRun) -> PackRun:
    from racewright.cards.pack_model import PackRun
    from racewright.records.model import STATUS_WORDS

    run, plan = planned.run, planned.plan
    return PackRun(
        key=run.key,
        name=run.name,
        raceway=plan.raceway.name if plan else run.raceway,
        area=run.area,
        status=STATUS_WORDS[run.status],
        plan=plan,
        trouble=str(planned.trouble).replace("\nhint: ", " ") if planned.trouble else "",
        findings=plan.findings if plan else (),
        wires=wire_lines(run),
        as_built=as_built_lines(run),
        notes=(run.note,) if run.note else (),
    )


def wire_lines(run: JobRun) -> tuple[str, ...]:
    """What is pulled into the run, in words; the survey's wires where the run names none of its own."""
    if run.wires:
        return tuple(
            " ".join(part for part in (f"{w.count} × {w.size}", w.insulation, w.material, w.colour) if part)
            for w in run.wires
        )
    return tuple(str(wire) for wire in run.survey.run.wires)


def as_built_lines(run: JobRun) -> tuple[str, ...]:
    """What was measured on bent pieces and what was corrected, in words."""
    from racewright.cli.job.report import _measured_words

    lines = []
    for seen in run.as_bent:
        words = "; ".join(_measured_words(measured, run) for measured in seen.measured)
        lines.append(_signed(f"piece {seen.piece}: {words}", seen.note, seen.by, seen.at))
    for tweak in run.tweaks:
        words = ", ".join(f"bend {m.number} {m.kind} {degrees(m.by_rad):+.3g}°" for m in tweak.moves)
        lines.append(_signed(f"piece {tweak.piece}, corrected: {words}", tweak.note, tweak.by, tweak.at))
    return tuple(lines)


def _signed(text: str, note: str, by: str, at: str) -> str:
    who = " ".join(part for part in (by, at) if part)
    return "; ".join(part for part in (text, note) if part) + (f" ({who})" if who else "")
