"""`racewright job bill`: what the job needs, by run, by area and in all, with the user's own prices."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from racewright.cli.out_files import ending

if TYPE_CHECKING:
    from racewright.job.plan_job import PlannedRun
    from racewright.records.model import Job
    from racewright.takeoff.bill_model import Bill, JobBill

HELP = "the bill: sticks, fittings, straps, boxes, wire; with your own prices and hours where the job has them"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The action's options."""
    parser.add_argument("--split", choices=("none", "areas", "runs"), default="none", help="also by area, or by run")
    parser.add_argument(
        "--out", metavar="FILE", type=ending(".csv", ".xlsx"), help="write all tables to FILE.csv or FILE.xlsx"
    )
    parser.add_argument("--json", action="store_true", help="print the whole bill as JSON")


def bill_of(job: Job, planned: list[PlannedRun], *, effort: int = 1) -> JobBill:
    """The bill of a job's planned runs."""
    from racewright.job.materials import job_extras, job_prices, job_stock, job_tape, run_materials
    from racewright.takeoff.bill import make_bill

    head = job.head
    runs = [run_materials(p.run, p.plan, head) for p in planned if p.plan]
    stock = job_stock(job, [p.plan.raceway for p in planned if p.plan], effort=effort)
    return make_bill(
        [*runs, *job_extras(head)],
        stock,
        job_prices(head),
        style=job_tape(head),
        wire_waste_percent=head.wire_waste,
    )


def run(args: argparse.Namespace) -> int:
    """Prints the bill; 1 where runs have no plan and are left out."""
    from racewright.cautions import cautions_for, cautions_text
    from racewright.cli.job.takeoff import load_job, planned_runs, write_tables

    job = load_job(args)
    planned, missing = planned_runs(job)
    bill = bill_of(job, planned)
    if args.out:
        from racewright.cards.takeoff_tables import bill_tables

        write_tables(Path(args.out), bill_tables(bill))
    if args.json:
        import msgspec

        from racewright.plan.as_json import plain_json

        print(plain_json({**msgspec.to_builtins(bill), "cautions": cautions_for("order")}))
    else:
        _print_bill(job.head.name, bill.job, bill.currency)
        for part in {"none": (), "areas": bill.areas, "runs": bill.runs}[args.split]:
            _print_bill(part.name or ("no area" if part.scope == "area" else "the job itself"), part, bill.currency)
        print(cautions_text("order").lstrip())
    return 1 if missing else 0


bill_job = run


def _print_bill(name: str, bill: Bill, currency: str) -> None:
    print(f"{name}")
    width = max((len(line.item) for line in bill.lines), default=0)
    for line in bill.lines:
        row = f"  {line.group:10} {line.item:{width}} {line.quantity:>10} {line.unit:4}"
        if line.amount is not None:
            price = f"{line.price} / {line.per}" if line.price is not None else ""
            row += f" {price:>16} {line.amount:>10}"
        if line.labour_h is not None:
            row += f"   {line.labour_h} h" + (f" {line.labour}" if line.labour is not None else "")
        print(row.rstrip())
    if bill.material is not None:
        print(f"  material {bill.material} {currency}".rstrip())
    if bill.labour_h is not None:
        money = f", {bill.labour} {currency}".rstrip() if bill.labour is not None else ""
        print(f"  labour {bill.labour_h} h{money}")
    if bill.total is not None and bill.material is not None and bill.labour is not None:
        print(f"  together {bill.total} {currency}".rstrip())
    if bill.unpriced and bill.material is not None:
        print(f"  without a price, left out of the money: {'; '.join(bill.unpriced)}")
    print()
