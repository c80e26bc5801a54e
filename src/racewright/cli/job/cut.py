"""`racewright job cut`: the cut list of the runs that are not bent yet, with marks and stop settings for the saw."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from racewright.cli.figures import whole
from racewright.cli.out_files import ending

if TYPE_CHECKING:
    from racewright.takeoff.bill_model import RacewayCuts
    from racewright.takeoff.cutting_model import CutPlan
    from racewright.units.tape import TapeStyle

HELP = "the cut list: which piece from which stick, marks on the tape, saw stop settings, and how good it is"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The action's options."""
    parser.add_argument("--all", action="store_true", help="also runs that are bent already")
    parser.add_argument("--raceway", metavar="NAME", help="only this one, for example 'EMT 1/2'")
    parser.add_argument("--least", choices=("sticks", "length"), default="sticks", help="buy fewest sticks, or least")
    parser.add_argument(
        "--effort", type=whole("--effort", 0, 5), default=1, metavar="N", help="0 quick, 1 usual, up to 5: longer"
    )
    parser.add_argument("--prove", action="store_true", help="prove the least with an outside solver (an extra)")
    parser.add_argument(
        "--out", metavar="FILE", type=ending(".csv", ".xlsx"), help="write the tables to FILE.csv or FILE.xlsx"
    )
    parser.add_argument("--json", action="store_true", help="print the lists as JSON")


def run(args: argparse.Namespace) -> int:
    """Prints the lists; 1 where runs have no plan and are left out."""
    import msgspec

    from racewright.cautions import cautions_text
    from racewright.cli.job.takeoff import load_job, planned_runs, write_tables
    from racewright.job.materials import job_stock, job_tape, wanted_pieces
    from racewright.takeoff.bill_model import RacewayCuts
    from racewright.takeoff.cutting import cut_list

    job = load_job(args)
    style = job_tape(job.head)
    todo = [r for r in job.runs if args.all or r.status in ("measured", "planned")]
    planned, missing = planned_runs(msgspec.structs.replace(job, runs=tuple(todo)))
    stock = {
        s.raceway: msgspec.structs.replace(s.rules, least=args.least)
        for s in job_stock(job, [p.plan.raceway for p in planned if p.plan], effort=args.effort)
    }
    cuts = []
    for name in sorted(stock):
        if args.raceway and name.casefold() != " ".join(args.raceway.split()).casefold():
            continue
        pieces = [w for p in planned if p.plan and p.plan.raceway.name == name for w in wanted_pieces(p.run, p.plan)]
        plan = cut_list(pieces, stock[name])
        cuts.append(RacewayCuts(raceway=name, plan=_proved(plan) if args.prove else plan))
    if args.out:
        from racewright.cards.takeoff_tables import cut_tables

        write_tables(Path(args.out), cut_tables(cuts, style))
    if args.json:
        from racewright.plan.as_json import plain_json

        print(plain_json(cuts))
    else:
        for one in cuts:
            _print_cuts(one, style)
        if not cuts:
            print("nothing to cut")
        print("Measure each stick before you cut it; marks count from the hooked end.", file=sys.stderr)
        print(cautions_text("cut").lstrip())
    return 1 if missing else 0


cut_job = run


def _proved(plan: CutPlan) -> CutPlan:
    """With the outside solver's bound; a list that is too fine for it keeps its own, and stderr says so."""
    from racewright.errors import LimitError
    from racewright.takeoff.proof import prove

    try:
        return prove(plan)
    except LimitError as err:
        print(f"not proved: {err}", file=sys.stderr)
        return plan


def _print_cuts(one: RacewayCuts, style: TapeStyle) -> None:
    from racewright.takeoff.cut_order import cut_order, cut_words, leftover_words
    from racewright.units.tape import format_length

    order = cut_order(one.plan, style)
    pieces = sum(len(s.cuts) for s in order.sticks)
    print(f"{one.raceway}: {pieces} pieces, {cut_words(one.plan, style)}")
    print(f"  {leftover_words(one.plan, style)}")
    print(f"  saw cut {format_length(one.plan.rules.kerf_mm, style)}; length, then (mark from the hooked end)")
    for stick in order.sticks:
        source = f"offcut {stick.offcut}, {stick.source.text}" if stick.offcut else stick.source.text
        cuts = "  ".join(
            f"{c.label} {c.length.text} ({c.mark.text})" if c.cut else f"{c.label} {c.length.text} (to the end)"
            for c in stick.cuts
        )
        left = f"{stick.leftover.text} {'keep' if stick.kept else 'scrap'}" if stick.leftover else "nothing"
        print(f"  stick {stick.number:<3} [{source}] {cuts}  left {left}")
    print(f"  saw stop: {len(order.settings)} settings (stick by stick: {order.settings_one_by_one})")
    for number, stop in enumerate(order.settings, 1):
        takes = ", ".join(f"{s}" if n == 1 else f"{s} ({n} pieces)" for s, n in stop.takes)
        print(f"    {number:<3} {stop.length.text:>10}  {stop.pieces} from stick {takes}")
    print()
