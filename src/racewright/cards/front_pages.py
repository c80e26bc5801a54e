"""The hand-over pack's first pages: cover, contents and run index.

A page number is put in when it is known; the layout holds.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence

from racewright.cards.layout import BODY_PT, HEADING_PT, SMALL_PT, Writer, line_mm, lines_at, rectangle
from racewright.cards.notes import write_left_out
from racewright.cards.pack_model import Entry, Pack, short_name
from racewright.cards.tables import Column, Row, write_table
from racewright.cards.words import long_length
from racewright.drawing.metrics import text_width_mm, wrap
from racewright.drawing.scene import WHITE, Box, Line, Text, Weight
from racewright.job.plan_job import PlannedRun
from racewright.records.anew import NEW_MARKS
from racewright.records.entry import STATUS_WORDS, STATUSES, Status, status_words
from racewright.records.far_off import FAR_OFF
from racewright.records.naming import NO_AREA
from racewright.records.other_marks import OTHER_MARKS
from racewright.records.read_otherwise import READ_OTHERWISE
from racewright.records.superseded import SUPERSEDED

_TITLE_PT = 30.0
_MOST_AREAS = 24


def write_cover(writer: Writer, pack: Pack) -> None:
    """Title, who and when, what the bill and the cut list leave out, the job in figures by area, conduit by size, and
    what is open: one page, where little is left out."""
    writer.start_page("cover", running=False)
    _title(writer, pack)
    write_left_out(writer, pack.not_included)
    _areas(writer, pack)
    _raceways(writer, pack)
    _open_points(writer, pack)


def _title(writer: Writer, pack: Pack) -> None:
    lines = wrap(pack.title, writer.width - 14.0, _TITLE_PT, "bold")[:4]
    height = 20.0 + len(lines) * line_mm(_TITLE_PT)
    top = writer.y
    writer.add(rectangle(Box(writer.left, top, writer.right, top + height), fill=0.0, width_mm=0.0))
    writer.add(*lines_at(("HAND-OVER PACK",), writer.left + 7.0, top + 7.0, BODY_PT, "bold", ink=WHITE))
    writer.add(*lines_at(lines, writer.left + 7.0, top + 15.0, _TITLE_PT, "bold", ink=WHITE))
    writer.y = top + height + 5.0
    if pack.job.head.note:
        writer.body(pack.job.head.note)
        writer.space(3.0)
    for name, value in (("made on", pack.made_on), ("made by", pack.made_by)):
        writer.add(*lines_at((name,), writer.left, writer.y, BODY_PT))
        if value:
            writer.add(*lines_at((value,), writer.left + 24.0, writer.y, BODY_PT, "bold"))
        else:
            base = writer.y + 0.78 * line_mm(BODY_PT)
            writer.add(Line(start=(writer.left + 24.0, base), end=(writer.left + 104.0, base), width_mm=0.25))
        writer.space(line_mm(BODY_PT) + 1.6)
    writer.space(2.0)


def _areas(writer: Writer, pack: Pack) -> None:
    statuses = [status for status in STATUSES if any(status in pack.job.statuses(run.run) for run in pack.runs)]
    if not pack.runs:
        writer.body("The job holds no runs yet.")
        return
    columns = [Column("area", 3.0, weight="bold"), Column("runs", 0.9, number=True)]
    columns += [Column(STATUS_WORDS[status], 1.5, number=True) for status in statuses]
    rows = []
    areas = pack.areas[:_MOST_AREAS]
    for area in areas:
        rows.append(_status_row(pack, area or NO_AREA, [r for r in pack.runs if r.area == area], statuses))
    if len(areas) < len(pack.areas):
        rest = [r for r in pack.runs if r.area not in areas]
        rows.append(_status_row(pack, f"{len(pack.areas) - len(areas)} more areas", rest, statuses))
    if len(rows) > 1:
        rows.append(_status_row(pack, pack.all_of_it, list(pack.runs), statuses)._replace(bold=True))
    writer.heading("How far it has come", keep=14.0)
    write_table(writer, columns, rows, size_pt=10.0)


def _status_row(pack: Pack, name: str, runs: list[PlannedRun], statuses: list[Status]) -> Row:
    count = Counter(status for run in runs for status in pack.job.statuses(run.run))
    return Row((name, str(count.total()), *(str(count[status]) if count[status] else "" for status in statuses)))


def _raceways(writer: Writer, pack: Pack) -> None:
    """The conduit that the bill counts."""
    sums: dict[str, list[float]] = {}
    for plan, needs in pack.counted:
        for (piece, count), planned in zip(needs.counted_pieces, plan.pieces, strict=True):
            if count:
                figures = sums.setdefault(plan.raceway, [0.0, 0.0, 0.0])
                figures[0] += count
                figures[1] += count * len(planned.bends)
                figures[2] += count * piece.length_mm
    if not sums:
        return
    sticks = Counter({cut.raceway: cut.new_sticks for cut in pack.cuts})
    columns = [
        Column("conduit", 3.0, weight="bold"),
        Column("pieces", 1.0, number=True),
        Column("bends", 1.0, number=True),
        Column("length", 1.6, number=True),
        Column("new sticks", 1.4, number=True),
    ]
    rows = [
        Row((name, f"{f[0]:.0f}", f"{f[1]:.0f}", long_length(f[2], pack.tape), str(sticks[name] or "")))
        for name, f in sorted(sums.items())
    ]
    if len(rows) > 1:
        pieces, bends, length = (sum(column) for column in zip(*sums.values(), strict=True))
        total = (pack.all_of_it, f"{pieces:.0f}", f"{bends:.0f}", long_length(length, pack.tape))
        rows.append(Row((*total, str(sum(sticks.values()) or "")), bold=True))
    writer.heading("Conduit", keep=14.0)
    write_table(writer, columns, rows, size_pt=10.0)


def _open_points(writer: Writer, pack: Pack) -> None:
    """What a reader must not miss of what the checks found."""
    words = open_points(pack)
    lines = [wrap(word, writer.width - 12.0, BODY_PT) for word in words]
    height = sum(len(one) * line_mm(BODY_PT) + 1.0 for one in lines) + line_mm(HEADING_PT) + 6.0
    writer.need(height)
    top = writer.y
    writer.add(rectangle(Box(writer.left + 0.5, top, writer.right - 0.5, top + height), width_mm=1.0))
    base = top + 3.0
    writer.add(*lines_at(("Open items",), writer.left + 4.0, base, HEADING_PT, "bold"))
    base += line_mm(HEADING_PT) + 0.6
    for one in lines:
        writer.add(Text(at=(writer.left + 4.0, base + 3.4), text="▪", size_pt=SMALL_PT))
        writer.add(*lines_at(one, writer.left + 8.0, base, BODY_PT))
        base += len(one) * line_mm(BODY_PT) + 1.0
    writer.y = top + height + 3.0


#: What a record says against its card, by rule.
_AGAINST_CARD = {
    SUPERSEDED: "Cut, bent or begun by another plan than its bench page, whose marks do not hold for it",
    OTHER_MARKS: "Bends were made by other marks than those that hold, so bend nothing more of it",
    NEW_MARKS: "New marks hold for the rest of a piece, not those of its bench page",
    FAR_OFF: "A bend is recorded far from what belongs there, so look at it first",
    READ_OTHERWISE: "Readings of a piece cannot both be right, so measure it again",
}


def open_points(pack: Pack) -> list[str]:
    """The open points in words, one line each."""
    words = []
    open_ = [run.key for run in pack.in_order if run.to_measure]
    without = [run.key for run in pack.in_order if run.plan is None and not run.to_measure]
    for keys, what in ((open_, "still to be measured, so left out"), (without, "without a plan, so left out")):
        if keys:
            words.append(f"{_count(len(keys), 'run')} {what}: {_some(keys)}")
    for rule, told in _AGAINST_CARD.items():
        keys = [run.key for run in pack.in_order if any(f.rule == rule for f in run.findings)]
        if keys:
            words.append(f"{told}: {_some(keys)}")
    for severity, word in (("problem", "problem"), ("caution", "caution")):
        keys = [run.key for run in pack.in_order if any(f.severity == severity for f in run.findings)]
        number = sum(f.severity == severity for run in pack.runs for f in run.findings)
        if number:
            words.append(f"{_count(number, word)} of the checks, in {_count(len(keys), 'run')}: {_some(keys)}")
    return words or ["nothing that the checks of this pack look for"]


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _some(keys: list[str], most: int = 5) -> str:
    return ", ".join(keys[:most]) + (f" and {len(keys) - most} more" if len(keys) > most else "")


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
        weight: Weight = "regular" if entry.level else "bold"
        writer.add(*lines_at((entry.title,), left, top, size, weight))
        base = top + 0.78 * line_mm(size) / 1.22
        writer.add(Text(at=(writer.right, base), text=number, size_pt=size, weight="bold", anchor="end"))
        start = left + text_width_mm(entry.title, size, weight) + 3.0
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
    several = "; pieces, bends, length = of one" if any(run.run.alike for run in pack.runs) else ""
    writer.heading("Runs", f"page = where the run's card begins; plan = what its sheets bear{several}", keep=60.0)
    on_start()
    writer.space(2.0)
    if not pack.runs:
        writer.body("The job holds no runs yet.")
        return
    columns = (
        Column("run", 1.5, weight="bold"),
        Column("where it goes", 3.7),
        Column("conduit", 1.4),
        Column("plan", 1.9),
        Column("pieces", 1.1, number=True),
        Column("bends", 1.1, number=True),
        Column("length", 1.35, number=True),
        Column("status", 1.7),
        Column("checks", 1.7),
        Column("page", 0.95, number=True, weight="bold"),
    )
    for runs in by_area(writer, pack, 20.0):
        rows = [_row(run, pack, first_pages) for run in runs]

        def told(index: int, column: int, box: Box, runs: list[PlannedRun] = runs) -> None:
            if column == len(columns) - 1 and runs[index].key in first_pages:
                on_number(Box(writer.left, box.top, box.right, box.bottom), first_pages[runs[index].key])

        write_table(writer, columns, rows, size_pt=9.0, on_cell=told)


def _row(run: PlannedRun, pack: Pack, first_pages: Mapping[str, int]) -> Row:
    page = str(first_pages[run.key]) if run.key in first_pages else "–"
    name, status = short_name(run.name, run.area), status_words(pack.job.statuses(run.run))
    name = f"{name}, {run.run.alike}" if run.run.alike else name
    if run.plan is None:
        why = "to measure" if run.to_measure else "no plan"
        return Row((run.key, name, run.raceway, "", "", "", "", status, why, page))
    pieces = run.plan.pieces
    return Row(
        (
            run.key,
            name,
            run.raceway,
            run.plan.digest,
            str(len(pieces)),
            str(sum(len(piece.bends) for piece in pieces)),
            long_length(sum(piece.cut_length_mm for piece in pieces), pack.tape),
            status,
            checks_in_short(run),
            page,
        )
    )


def by_area(writer: Writer, pack: Pack, keep_mm: float) -> Iterator[list[PlannedRun]]:
    """The runs of each area, its name written above them where there is one to tell; `keep_mm` must fit below."""
    for area in pack.areas:
        if len(pack.areas) > 1 or area:
            writer.need(keep_mm)
            writer.body(area or NO_AREA, size_pt=BODY_PT, weight="bold")
            writer.space(0.8)
        yield [run for run in pack.runs if run.area == area]


_IN_SHORT = {OTHER_MARKS: "STOP", SUPERSEDED: "OTHER PLAN", NEW_MARKS: "NEW MARKS"}


def checks_in_short(run: PlannedRun) -> str:
    """'1 problem', '2 cautions', 'none open'; before them that the marks do not hold for a piece, that it was begun by
    another plan, or that new marks hold, which count as cautions."""
    rules = {finding.rule for finding in run.findings}
    anew = next((f"{word}, " for rule, word in _IN_SHORT.items() if rule in rules), "")
    for severity in ("problem", "caution"):
        number = sum(finding.severity == severity for finding in run.findings)
        if number:
            return f"{anew}{number} {severity}" + ("s" if number > 1 else "")
    return "none open"
