"""Labels for the pieces of a job, one a piece and copy, on sheets."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from racewright.cards.label_sheets import Grid, label_sheets
from racewright.cards.layout import find_paper
from racewright.cards.takeoff_tables import label_tables
from racewright.cautions import cautions_for
from racewright.drawing.scene import Scene
from racewright.drawing.svg import to_svg_pages
from racewright.job.left_out import left_out_of_labels
from racewright.job.piece_labels import PieceLabel, piece_labels
from racewright.job.plan_job import plan_job
from racewright.operations.as_tables import ListAnswer, ListRequest, listed
from racewright.operations.common import Known, LengthText, Name, Paper
from racewright.operations.jobs import about_records, in_areas, only_area, problems_of
from racewright.records.entry import NOT_BENT, Status
from racewright.records.model import JobHead
from racewright.records.naming import told_apart
from racewright.units.length import parse_length

Across = Annotated[int, msgspec.Meta(ge=1, le=12)]
Down = Annotated[int, msgspec.Meta(ge=1, le=60)]


class JobLabelsRequest(ListRequest, frozen=True, kw_only=True):
    """A label for each piece of the job, or of one `area`: of the runs, and of runs alike the copies, that have one of
    these statuses (`status`; none named: those that are not bent). The sheet: `rows` by `columns` on this `paper`
    (left out: letter for inches, a4 for mm), the first `margin_top`, `margin_left` from its edges, `gap_across` and
    `gap_down` between two, each `label_width` by `label_height`, or left out as the paper has room with the same
    margins at the other side. `skip`: so many of the first sheet are used up. `lines`: drawn round each, to cut
    along."""

    area: Name = ""
    status: Annotated[tuple[Status, ...], msgspec.Meta(max_length=5)] = ()
    paper: Paper | None = None
    rows: Down = 10
    columns: Across = 3
    margin_top: LengthText = "1/2 in"
    margin_left: LengthText = "1/2 in"
    gap_across: LengthText = "0"
    gap_down: LengthText = "0"
    label_width: LengthText = ""
    label_height: LengthText = ""
    skip: Annotated[int, msgspec.Meta(ge=0, le=719)] = 0
    lines: bool = True
    form: Literal["pdf", "svg", "table"] = "svg"


class JobLabelsAnswer(ListAnswer, frozen=True, kw_only=True):
    """The labels in the order of the sheets; how many `sheets`; the sheets as one PDF, or as one SVG document each;
    neither where a table was asked for."""

    labels: tuple[PieceLabel, ...]
    sheets: int
    pdf: bytes
    svg: tuple[str, ...]


def job_labels(request: JobLabelsRequest, _: Known) -> JobLabelsAnswer:
    """Plan every run and lay out the labels. Raises UnknownName for an area that no run has, InputError for a length
    that cannot be read, LimitError for a sheet that cannot hold them, MissingExtra for PDF without its library."""
    job = only_area(told_apart(request.job), request.area)
    grid = _grid(request, job.head)
    grid.check()
    planned = in_areas(job, list(plan_job(job, choices=False)))
    made = piece_labels(job, planned, request.status or NOT_BENT)
    scene = label_sheets(job.head.name, made.labels, grid, request.skip % (grid.rows * grid.columns))
    answer = JobLabelsAnswer(
        labels=made.labels,
        sheets=len(scene.pages),
        pdf=_pdf(scene) if request.form == "pdf" and scene.pages else b"",
        svg=to_svg_pages(scene) if request.form == "svg" else (),
        findings=(*about_records(request.job), *problems_of(planned)),
        not_included=left_out_of_labels(planned, made),
        cautions=cautions_for("plan"),
    )
    return listed(answer, request, label_tables(job.head.name, made.labels), left_out_first=False)


def _pdf(scene: Scene) -> bytes:
    from racewright.exports.pdf import to_pdf

    return to_pdf(scene)


def _grid(request: JobLabelsRequest, head: JobHead) -> Grid:
    paper = find_paper(request.paper or ("letter" if head.units == "in" else "a4"))

    def length(field: str) -> float:
        return float(parse_length(getattr(request, field), head.units, field=field))

    left, top = length("margin_left"), length("margin_top")
    across, down = length("gap_across"), length("gap_down")
    wide = (paper.width_mm - 2.0 * left - (request.columns - 1) * across) / request.columns
    high = (paper.height_mm - 2.0 * top - (request.rows - 1) * down) / request.rows
    return Grid(
        paper=paper,
        rows=request.rows,
        columns=request.columns,
        left_mm=left,
        top_mm=top,
        width_mm=length("label_width") if request.label_width else max(0.0, wide),
        height_mm=length("label_height") if request.label_height else max(0.0, high),
        across_mm=across,
        down_mm=down,
        lines=request.lines,
    )
