"""The pack's contents and its run index, with page numbers. A number is put in when it is known; the layout holds."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from racewright.cards.cover import long_length
from racewright.cards.layout import BODY_PT, Writer, line_mm, lines_at
from racewright.cards.pack_model import Entry, Pack
from racewright.cards.run_words import short_name
from racewright.cards.tables import Column, Row, write_table
from racewright.drawing.metrics import text_width_mm
from racewright.drawing.scene import Box, Line, Text
from racewright.job.plan_job import PlannedRun
from racewright.records.model import STATUS_WORDS

#: told where a page number stands on the writer's present page, and which page it names
OnNumber = Callable[[Box, int], None]


def write_contents(writer: Writer, entries: Sequence[Entry], on_number: OnNumber) -> None:
    """The sections with their pages. `on_number` is told where each line stands."""
    writer.start_page("contents", running=True)
    writer.heading("Contents")
    writer.space(2.0)
    size = 12.0
    for entry in entries:
        writer.need(line_mm(size) + 2.0)
        top = writer.y
        left = writer.left + 6.0 * entry.level
        number = str(entry.page)
        weight = "regular" if entry.level else "bold"
        writer.add(*lines_at((entry.title,), left, top, size, "regular" if weight == "regular" else "bold"))
        base = top + 0.78 * line_mm(size) / 1.22
        writer.add(Text(at=(writer.right, base), text=number, size_pt=size, weight="bold", anchor="end"))
        start = left + text_width_mm(entry.title, size, "regular" if weight == "regular" else "bold") + 3.0
        end = writer.right - text_width_mm(number, size, "bold") - 3.0
        if end > start:
            writer.add(Line(start=(start, base), end=(end, base), width_mm=0.25, dash=(0.3, 1.4)))
        on_number(Box(left, top, writer.right, top + line_mm(size)), entry.page)
        writer.y = top + line_mm(size) + 2.0
    writer.space(5.0)


def write_run_index(
    writer: Writer,
    pack: Pack,
    first_pages: Mapping[str, int],
    on_number: OnNumber,
    on_start: Callable[[], None] = lambda: None,
) -> None:
    """Every run with its card's page, by area, on from where the writer stands. A run without a plan has no card and
    says so. `on_start` is called on the page where the index begins."""
    writer.heading("Runs", "page = where the run's card begins", keep=60.0)
    on_start()
    writer.space(2.0)
    if not pack.runs:
        writer.body("The job holds no runs yet.")
        return
    columns = (
        Column("run", 1.5, weight="bold"),
        Column("where it goes", 4.2),
        Column("conduit", 1.4),
        Column("pieces", 1.1, number=True),
        Column("bends", 1.1, number=True),
        Column("length", 1.35, number=True),
        Column("status", 1.7),
        Column("checks", 1.7),
        Column("page", 0.95, number=True, weight="bold"),
    )
    for area in pack.areas:
        runs = [run for run in pack.runs if run.area == area]
        if len(pack.areas) > 1 or area:
            writer.need(20.0)
            writer.body(area or "(no area)", size_pt=BODY_PT, weight="bold")
            writer.space(0.8)
        rows = [_row(run, pack, first_pages) for run in runs]

        def told(index: int, column: int, box: Box, runs: list[PlannedRun] = runs) -> None:
            if column == len(columns) - 1 and runs[index].key in first_pages:
                on_number(Box(writer.left, box.top, box.right, box.bottom), first_pages[runs[index].key])

        write_table(writer, columns, rows, size_pt=9.0, on_cell=told)


def _row(run: PlannedRun, pack: Pack, first_pages: Mapping[str, int]) -> Row:
    page = str(first_pages[run.key]) if run.key in first_pages else "–"
    name, status = short_name(run.name, run.area), STATUS_WORDS[run.run.status]
    if run.plan is None:
        return Row((run.key, name, run.raceway, "", "", "", status, "no plan", page))
    pieces = run.plan.pieces
    return Row(
        (
            run.key,
            name,
            run.raceway,
            str(len(pieces)),
            str(sum(len(piece.bends) for piece in pieces)),
            long_length(sum(piece.cut_length_mm for piece in pieces), pack.tape),
            status,
            checks_in_short(run),
            page,
        )
    )


def checks_in_short(run: PlannedRun) -> str:
    """'1 problem', '2 cautions', 'none open'."""
    for severity in ("problem", "caution"):
        number = sum(finding.severity == severity for finding in run.findings)
        if number:
            return f"{number} {severity}" + ("s" if number > 1 else "")
    return "none open"
