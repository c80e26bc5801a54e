"""`racewright job` list, status, show, log: what stands in the shop file, in words and as JSON."""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Sequence
from math import degrees

from racewright.cautions import cautions_text
from racewright.cli.job.common import job_key, open_shop
from racewright.fit.measured import ApexRise, BendAngle, LegLean, Measured
from racewright.job.plan_job import RunSummary, find_in_job, run_digest
from racewright.records.model import STATUS_WORDS, STATUSES, JobRun
from racewright.store.job_errors import differences
from racewright.store.job_store import JobStore, Kept
from racewright.store.plan_cache import PlanCache
from racewright.units.tape import TapeStyle, format_length, style_of


def list_job(args: argparse.Namespace) -> int:
    """The jobs, with how far their runs are."""
    with open_shop(args) as store:
        rows = []
        for key in store.jobs():
            runs = store.runs(key)
            count = Counter(k.value.status for k in runs)
            rows.append((key, store.head(key).value.name, len(runs), {s: count[s] for s in STATUSES if count[s]}))
    if args.json:
        print(json.dumps([{"job": k, "name": n, "runs": c, "status": s} for k, n, c, s in rows], indent=2))
        return 0
    for key, name, count_all, by_status in rows:
        states = ", ".join(f"{n} {STATUS_WORDS[s]}" for s, n in by_status.items())
        print(f"{key:16} {name}: {count_all} runs{f' ({states})' if states else ''}")
    if not rows:
        print("no jobs yet: `racewright job new KEY` begins one")
    return 0


def status_job(args: argparse.Namespace) -> int:
    """Every run by area, with what is known of its plan."""
    with open_shop(args) as store:
        job = job_key(args, store)
        head = store.head(job).value
        runs = store.runs(job)
        cache = PlanCache(store.path)
        known = {k.value.key: cache.get(run_digest(k.value, head.benders)) for k in runs}
    areas = [*(a.name for a in head.areas), ""]
    if args.json:
        print(json.dumps([_row_data(k, known[k.value.key]) for k in runs], indent=2))
        return 0
    print(f"{head.name}: {len(runs)} runs")
    for area in areas:
        here = [k for k in runs if k.value.area == area]
        if here:
            print(f"\n{area or 'no area'}")
            print_rows([k.value for k in here], known)
    count = Counter(k.value.status for k in runs)
    print("\n" + ", ".join(f"{count[s]} {STATUS_WORDS[s]}" for s in STATUSES))
    print(cautions_text("plan"))
    return 0


def print_rows(runs: Sequence[JobRun], known: dict[str, RunSummary | None]) -> None:
    """One line a run: key, status, raceway, length and bends where they are known, name."""
    width = max((len(r.key) for r in runs), default=0)
    for run in runs:
        plan = known.get(run.key)
        print(
            f"  {run.key:{width}}  {STATUS_WORDS[run.status]:12} {run.raceway:10} {_figures(run, plan):30} {run.name}"
        )
        if plan is not None and plan.outcome not in ("planned", "problem"):
            print(f"  {'':{width}}  {plan.message}" + (f" hint: {plan.hint}" if plan.hint else ""))


def show_job(args: argparse.Namespace) -> int:
    """One run: where it stands, what was measured, and its card. Returns 1 where a finding is a problem."""
    with open_shop(args) as store:
        job = job_key(args, store)
        kept = store.run(job, args.run_key)
        head = store.head(job).value
    run = kept.value
    if args.survey:
        import msgspec

        data = {"racewright": 1, "units": run.survey.units, **msgspec.to_builtins(run.survey)}
        print(json.dumps(data, indent=2, ensure_ascii=False))
        print(f"revision {kept.revision}", file=sys.stderr)
        return 0
    print(f"{run.key}  {STATUS_WORDS[run.status]}  {run.area}  revision {kept.revision}, {kept.at} {kept.by}".rstrip())
    for wire in run.wires:
        print(f"  wires: {wire.count} x {wire.size} {wire.insulation} {wire.colour} {wire.material}")
    for seen in run.as_bent:
        for measured in seen.measured:
            print(f"  piece {seen.piece}, measured: {_measured_words(measured, run)}  {seen.at} {seen.by}".rstrip())
        if seen.note:
            print(f"  piece {seen.piece}: {seen.note}")
    for tweak in run.tweaks:
        moves = ", ".join(f"bend {m.number} {m.kind} {degrees(m.by_rad):+.3g}°" for m in tweak.moves)
        print(f"  piece {tweak.piece}, corrected: {moves}  {tweak.at} {tweak.by}".rstrip())
    if run.note:
        print(f"  {run.note}")
    print()
    from racewright.cards.text.bend_card import text_card
    from racewright.plan.plan_run import plan_run
    from racewright.survey.read import read_survey

    plan = plan_run(read_survey(run.survey), find=find_in_job(head.benders))
    print(text_card(plan, colour=False))
    return 1 if any(f.severity == "problem" for f in plan.findings) else 0


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


def _figures(run: JobRun, plan: RunSummary | None) -> str:
    if plan is None:
        return "not planned yet" if run.status == "measured" else ""
    if plan.outcome in ("planned", "problem"):
        bends = sum(p.bends for p in plan.pieces)
        pieces = f"{len(plan.pieces)} pieces" if len(plan.pieces) > 1 else "1 piece"
        words = f"{format_length(plan.developed_length_mm, tape_of(run))}, {pieces}, {_counted(bends)}"
        return words + (", PROBLEM" if plan.problems else "")
    return plan.outcome.upper()


def tape_of(run: JobRun) -> TapeStyle:
    """How this run's tape reads."""
    return style_of(run.survey.units, run.survey.fraction)


def _row_data(kept: Kept[JobRun], plan: RunSummary | None) -> dict[str, object]:
    import msgspec

    run = kept.value
    return {
        "run": run.key,
        "name": run.name,
        "area": run.area,
        "raceway": run.raceway,
        "status": run.status,
        "revision": kept.revision,
        "as_bent": len(run.as_bent),
        "plan": None if plan is None else msgspec.to_builtins(plan),
    }


def _measured_words(measured: Measured, run: JobRun) -> str:
    tape = tape_of(run)
    if isinstance(measured, BendAngle):
        return f"bend {measured.number} has {degrees(measured.angle_rad):.4g}°"
    if isinstance(measured, ApexRise):
        return f"rise under bend {measured.number} {format_length(measured.rise_mm, tape)}"
    if isinstance(measured, LegLean):
        return f"last leg leans {measured.way} {degrees(measured.lean_rad):.3g}°"
    place = "end B" if measured.station_mm is None else f"{format_length(measured.station_mm, tape)} from end A"
    return f"off {measured.way} by {format_length(measured.off_mm, tape)} at {place}"


def _counted(bends: int) -> str:
    return "1 bend" if bends == 1 else f"{bends} bends"
