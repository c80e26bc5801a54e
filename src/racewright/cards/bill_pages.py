"""The pack's bill and its cut list: what to buy, and how to cut it."""

from __future__ import annotations

from decimal import Decimal

from racewright.cards.batch_words import CUT_ALREADY
from racewright.cards.layout import BODY_PT, SMALL_PT, Writer, lines_at, rectangle
from racewright.cards.notes import write_cautions, write_left_out
from racewright.cards.pack_model import Pack
from racewright.cards.tables import Column, Row, write_table
from racewright.cards.text.job import cut_words, left_words, thread_words
from racewright.cautions import cautions_for
from racewright.drawing.metrics import fit_size_pt, text_width_mm
from racewright.drawing.scene import WHITE, Box, Line, Primitive, Text
from racewright.records.naming import THE_JOB
from racewright.takeoff.bill_model import Bill, BillLine, JobBill, RacewayCuts
from racewright.takeoff.cutting_model import Cut, CutOrder, CutStick, StickCuts, cut_order
from racewright.takeoff.on_hand import offcuts_twice
from racewright.takeoff.on_tape import cards_read
from racewright.units.tape import TapeStyle, format_length, reading

_BAR_MM = 6.6
_NAMES_MM = 44.0


def write_bill(writer: Writer, pack: Pack) -> None:
    """The whole job's bill, then each area's where there are several."""
    writer.start_page("bill", running=True)
    writer.heading("Bill")
    writer.space(1.5)
    write_left_out(writer, pack.not_in_bill)
    bill = pack.bill
    if bill is None:
        writer.body("No run has a plan, so there is nothing to count.")
        return
    own = f" and {THE_JOB}" if any(area.scope == "own" for area in bill.areas) else ""
    _bill_table(writer, f"{pack.only}{own}" if pack.only else "Whole job", bill.job, bill.currency)
    for wrong in pack.prices_of_another_measure:
        writer.body(wrong.message)
    notes = [f"Wire holds {bill.wire_waste_percent:g} % for waste." if any(_wires(bill)) else ""]
    if bill.job.material is not None or bill.job.labour_h is not None:
        notes.append("Prices and labor are the user's own figures.")
    text = " ".join(note for note in notes if note)
    if text:
        writer.body(text, size_pt=SMALL_PT)
        writer.space(4.0)
    if len(bill.areas) > 1:
        for area in bill.areas:
            if area.lines:
                _bill_table(writer, area.title, area, bill.currency)
    write_cautions(writer, cautions_for("order"))


def _wires(bill: JobBill) -> list[BillLine]:
    return [line for line in bill.job.lines if line.group == "wire"]


def _bill_table(writer: Writer, title: str, bill: Bill, currency: str) -> None:
    writer.need(26.0)
    writer.body(title, size_pt=12.0, weight="bold")
    writer.space(1.0)
    if not bill.lines:
        writer.body("Nothing to buy.")
        return
    money = bill.material is not None
    work = bill.labour_h is not None
    columns = [Column("item", 5.0), Column("quantity", 1.4, number=True), Column("unit", 0.8)]
    if money:
        columns += [Column("price", 1.2, number=True), Column("per", 1.25), Column("amount", 1.5, number=True)]
    if work:
        columns += [Column("hours", 1.1, number=True), Column("labor", 1.4, number=True)]
    rows = [Row(tuple(_cells(line, money=money, work=work))) for line in bill.lines]
    if money or work:
        sums = [_sum_words(currency), "", ""]
        sums += ["", "", _figure(bill.material)] if money else []
        sums += [_figure(bill.labour_h), _figure(bill.labour)] if work else []
        rows.append(Row(tuple(sums), bold=True))
    write_table(writer, columns, rows, size_pt=SMALL_PT)
    if bill.total is not None and bill.labour is not None:
        unit = f" {currency}" if currency else ""
        writer.body(f"Material and labor: {_figure(bill.total)}{unit}", weight="bold")
    if bill.scope != "job" and (money or work) and bill.unpriced:
        writer.body(f"Without a figure, so not in the sums: {'; '.join(bill.unpriced)}.", size_pt=SMALL_PT)
    writer.space(4.0)


def _sum_words(currency: str) -> str:
    return f"sum, {currency}" if currency else "sum"


def _cells(line: BillLine, *, money: bool, work: bool) -> list[str]:
    out = [line.item, f"{line.quantity:,f}", "" if line.unit == "each" else line.unit]
    if money:
        out += [_figure(line.price), line.per if line.price is not None else "", _figure(line.amount)]
    if work:
        out += [_figure(line.labour_h), _figure(line.labour)]
    return out


def _figure(value: Decimal | None) -> str:
    return "" if value is None else f"{value:,f}"


def write_cut_list(writer: Writer, pack: Pack) -> None:
    """For each raceway: what is bought, how near the best it is, every stick with its marks, the stop's settings."""
    writer.start_page("cut list", running=True)
    writer.heading(
        "Cut list", "marks count from the end at the left, saw cuts included; the blade goes beyond the mark"
    )
    writer.space(1.5)
    write_left_out(writer, pack.not_in_cuts)
    if not pack.cuts:
        writer.body("Nothing to cut.")
    for cuts in pack.cuts:
        _cut_section(writer, pack.tape, cuts)
    for twice in offcuts_twice(pack.cuts, pack.tape):
        writer.body(twice.message, weight="bold")
    for other in cards_read(pack.cuts):
        writer.body(other.message)
    if pack.cuts:
        plans = ", ".join(f"{run.key} {run.plan.digest}" for run in pack.in_order if run.plan is not None)
        writer.body(f"For these plans: {plans}.", size_pt=SMALL_PT)
    write_cautions(writer, cautions_for("cut"))


def _cut_section(writer: Writer, tape: TapeStyle, cuts: RacewayCuts) -> None:
    plan = cuts.plan
    order = cut_order(plan, tape)
    writer.need(34.0)
    writer.body(f"{cuts.raceway}: {cut_words(plan, tape)}", size_pt=12.0, weight="bold")
    kerf = format_length(
        plan.rules.kerf_mm, TapeStyle(tape.unit, max(tape.denominator, 32 if tape.unit == "in" else 10))
    )
    keep = format_length(plan.rules.keep_mm, tape)
    writer.body(f"{left_words(plan, tape)}; a saw cut takes {kerf}; offcuts from {keep} up are kept", size_pt=SMALL_PT)
    threads = thread_words(plan)
    if threads:
        writer.body(threads, size_pt=SMALL_PT)
    writer.space(1.6)
    longest = max((stick.source_mm for stick in plan.sticks), default=1.0)
    whole = [read for read in order.sticks if _is_whole(read)]
    if whole:
        writer.body(f"Whole sticks, not cut: {_whole_words(whole, tape)}", size_pt=SMALL_PT)
        writer.space(2.0)
    for stick, read in zip(plan.sticks, order.sticks, strict=True):
        if not _is_whole(read):
            _stick(writer, stick, read, longest, plan.rules.kerf_mm, tape)
    _stop_settings(writer, order, tape)
    writer.space(4.0)


def _is_whole(read: StickCuts) -> bool:
    return len(read.cuts) == 1 and not read.cuts[0].cut


def _whole_words(whole: list[StickCuts], tape: TapeStyle) -> str:
    words = []
    for read in whole:
        source = read.offcut_words or f"stick {read.number}"
        words.append(f"{source}, {reading(read.source.text, tape.unit)}: {_who(read.cuts[0])}")
    return " · ".join(words)


def _stick(
    writer: Writer, stick: CutStick, read: StickCuts, longest_mm: float, kerf_mm: float, tape: TapeStyle
) -> None:
    """A stick drawn to scale, and below it its marks with what each piece is for."""
    words = []
    for cut in read.cuts:
        where = f"mark {reading(cut.mark.text, tape.unit)}" if cut.cut else "no cut"
        words.append(f"{where}: {reading(cut.length.text, tape.unit)} {_who(cut)}")
    rest = "keep" if read.kept else "scrap"
    words.append(f"left {reading(read.new_offcut.text, tape.unit)}, {rest}" if read.new_offcut else "nothing left")
    writer.need(_BAR_MM + 13.0)
    source = read.offcut_words or f"stick {read.number}"
    name = f"{source}, {reading(read.source.text, tape.unit)}"
    writer.add(*lines_at((name,), writer.left, writer.y + 1.2, SMALL_PT, "bold"))
    left = writer.left + _NAMES_MM
    writer.add(*_bar(stick, read, left, writer.y, (writer.right - left) / longest_mm, kerf_mm, tape))
    writer.y += _BAR_MM + 0.8
    writer.body(" · ".join(words), indent=_NAMES_MM, size_pt=SMALL_PT)
    writer.space(2.0)


def _who(cut: Cut) -> str:
    label = cut.label if cut.run in cut.label else f"{cut.run} {cut.label}"
    return label + cut.on_card + (CUT_ALREADY if cut.there else "")


def _bar(
    stick: CutStick, read: StickCuts, left: float, top: float, scale: float, kerf_mm: float, tape: TapeStyle
) -> list[Primitive]:
    items: list[Primitive] = []
    x = left
    for piece, cut in zip(stick.pieces, read.cuts, strict=True):
        end = x + piece.length_mm * scale
        items += _block(x, end, top, reading(cut.length.text, tape.unit))
        x = min(end + kerf_mm * scale, left + stick.source_mm * scale)
    end = left + stick.source_mm * scale
    if stick.new_offcut_mm > 0.0 and end - x > 0.4:
        box = Box(x, top, end, top + _BAR_MM)
        items.append(rectangle(box, fill=WHITE if stick.kept else 0.82, width_mm=0.3))
        if stick.kept:
            middle = top + _BAR_MM / 2.0
            items.append(Line(start=(x, middle), end=(end, middle), width_mm=0.2, dash=(0.8, 0.8)))
    return items


def _block(x: float, end: float, top: float, text: str) -> list[Primitive]:
    items: list[Primitive] = [rectangle(Box(x, top, end, top + _BAR_MM), width_mm=0.3)]
    size = fit_size_pt(text, end - x - 1.6, BODY_PT, 6.0, "bold")
    if text_width_mm(text, size, "bold") <= end - x - 1.0:
        at = ((x + end) / 2.0, top + _BAR_MM / 2.0 + 1.4)
        items.append(Text(at=at, text=text, size_pt=size, weight="bold", anchor="middle"))
    return items


def _stop_settings(writer: Writer, order: CutOrder, tape: TapeStyle) -> None:
    """Where it saves something: the saw's stop set once for each length across all sticks."""
    if order.settings_one_by_one <= len(order.settings):
        return
    writer.body(
        f"With a stop on the saw: set it {len(order.settings)} times instead of {order.settings_one_by_one}, "
        "longest first.",
        size_pt=SMALL_PT,
        weight="bold",
    )
    writer.space(1.0)
    columns = (
        Column("set the stop at", 1.5, weight="bold"),
        Column("pieces", 0.8, number=True),
        Column("from stick (times)", 6.0),
    )
    rows = [
        Row((reading(setting.length.text, tape.unit), str(setting.pieces), _takes(setting.takes)))
        for setting in order.settings
    ]
    write_table(writer, columns, rows)


def _takes(takes: tuple[tuple[int, int], ...]) -> str:
    return ", ".join(str(stick) if count == 1 else f"{stick} ({count})" for stick, count in takes)
