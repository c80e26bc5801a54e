"""The bill and the cut list of several runs at once."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

import msgspec

from racewright.cards.takeoff_tables import Cell, Table, bill_tables, cut_tables
from racewright.cautions import cautions_for
from racewright.errors import InputError
from racewright.job.materials import job_prices, job_stock, job_tape, run_materials, wanted_pieces
from racewright.job.plan_job import plan_job
from racewright.operations import messages as m
from racewright.operations.operations import OwnBenders
from racewright.operations.runs import check_size
from racewright.records.model import Job, JobHead, JobRun
from racewright.survey.written import WrittenSurvey
from racewright.takeoff.bill import make_bill
from racewright.takeoff.bill_model import RacewayCuts
from racewright.takeoff.cutting import cut_list
from racewright.tools.model import BenderProfile
from racewright.tools.written import profile_of

#: What a phone has room for, of the tables' columns.
_SHOWN_OF_BILL = (1, 2, 3)
_SHOWN_OF_CUTS = (0, 1, 4, 6, 7, 8, 9)


def order(request: m.OrderRequest, own: OwnBenders) -> m.OrderAnswer:
    """Plan every run, add up what they need, and cut the pieces of those that are not cut yet.

    Raises InputError for two runs of one key or a raceway that does not exist, LimitError for a run too large.
    """
    keys = [run.key for run in request.runs]
    twice = next((key for i, key in enumerate(keys) if key in keys[:i]), None)
    if twice is not None:
        raise InputError(f"runs: two runs are called '{twice}'.", hint="give each run a key of its own", field="runs")
    for run in request.runs:
        check_size(run.survey)
    benders = {run.key: profile_of(f"own {i}", run.bender) for i, run in enumerate(request.runs) if run.bender}
    head = JobHead(name="order", units=request.runs[0].survey.units, benders=tuple(benders.values()))
    job = Job(head=head, runs=tuple(JobRun(key=run.key, survey=_on(run, benders)) for run in request.runs))
    planned = list(plan_job(job))
    left_out = tuple(
        f"{p.run.name or p.run.key}: {p.trouble.message if p.trouble else 'no plan'}" for p in planned if p.plan is None
    )
    tape = job_tape(head)
    stock = job_stock(job, [p.plan.raceway for p in planned if p.plan])
    bill = make_bill(
        [run_materials(p.run, p.plan, head) for p in planned if p.plan], stock, job_prices(head), style=tape
    )
    done = {run.key for run in request.runs if run.cut}
    cuts = []
    for one in sorted(stock, key=lambda s: s.raceway):
        pieces = [
            piece
            for p in planned
            if p.plan and p.plan.raceway.name == one.raceway and p.run.key not in done
            for piece in wanted_pieces(p.run, p.plan)
        ]
        if pieces:
            cuts.append(RacewayCuts(raceway=one.raceway, plan=cut_list(pieces, one.rules)))
    marks, stops, sums = cut_tables(cuts, tape)
    return m.OrderAnswer(
        bill=_plain(bill_tables(bill)[0], _SHOWN_OF_BILL),
        cuts=_plain(marks, _SHOWN_OF_CUTS),
        stops=_plain(stops),
        sums=_plain(sums),
        left_out=left_out,
        cautions=cautions_for("order", "cut"),
    )


def _on(run: m.RunToOrder, benders: Mapping[str, BenderProfile]) -> WrittenSurvey:
    """The run's survey, on the asker's own bender where one came along."""
    if run.key not in benders:
        return run.survey
    own = msgspec.structs.replace(run.survey.run, bender=benders[run.key].name)
    return msgspec.structs.replace(run.survey, run=own)


def _plain(table: Table, columns: tuple[int, ...] | None = None) -> m.PlainTable:
    """The table as text, all columns or those named."""
    take = columns or tuple(range(len(table.header)))
    return m.PlainTable(
        name=table.name,
        header=tuple(table.header[i] for i in take),
        rows=tuple(tuple(_text(row[i]) for i in take) for row in table.rows),
    )


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    return f"{cell:f}" if isinstance(cell, Decimal) else str(cell)
