"""Bill and cut list as plain tables: what the CSV and the XLSX file hold."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from racewright.cards.text.job import cut_words, left_words, there_words, thread_words, to_length
from racewright.cards.text.tail import LEFT_OUT, NOTHING_LEFT_OUT
from racewright.job.bench_list import BatchKind, BenchList
from racewright.job.piece_labels import PieceLabel
from racewright.takeoff.bill_model import Bill, JobBill, RacewayCuts
from racewright.takeoff.cutting_model import cut_order
from racewright.takeoff.kits import Kit, KitPiece
from racewright.units.tape import TapeStyle, read_tape

Cell = str | int | float | Decimal | None


class Table(NamedTuple):
    """A name, the head of each column, and the rows."""

    name: str
    header: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def left_out_table(not_included: Sequence[str]) -> Table:
    """What is left out, a row each: the first table of a file."""
    return Table(LEFT_OUT, ("what, why, what to do",), tuple((text,) for text in not_included or (NOTHING_LEFT_OUT,)))


def bill_tables(bill: JobBill) -> tuple[Table, ...]:
    """The whole job, then by area, then by run."""
    money = f" {bill.currency}" if bill.currency else ""
    tail = ("group", "item", "quantity", "unit", f"price{money}", "per", f"amount{money}", "labor h", f"labor{money}")
    tables = [Table("Bill", tail, tuple(_bill_rows(bill.job)))]
    for name, head, bills in (("By area", "area", bill.areas), ("By run", "run", bill.runs)):
        rows = [(one.title, *row) for one in bills for row in _bill_rows(one)]
        tables.append(Table(name, (head, *tail), tuple(rows)))
    return tuple(tables)


def cut_tables(cuts: Sequence[RacewayCuts], style: TapeStyle) -> tuple[Table, ...]:
    """Every cut with its mark, every setting of the stop, what each list comes to, and the pieces that wait."""
    unit = style.unit
    marks: list[tuple[Cell, ...]] = []
    stops: list[tuple[Cell, ...]] = []
    sums: list[tuple[Cell, ...]] = []
    waits: list[tuple[Cell, ...]] = []
    for one in cuts:
        order = cut_order(one.plan, style)
        for stick in order.sticks:
            source = stick.offcut_words or "new"
            left = stick.new_offcut.text if stick.new_offcut else ""
            for i, cut in enumerate(stick.cuts):
                last = i == len(stick.cuts) - 1
                end = (left, ("keep" if stick.kept else "scrap") if left else "nothing") if last else ("", "")
                head = (one.raceway, stick.number, source, stick.source.text)
                there = "cut already" if cut.there else ""
                marks.append((*head, cut.label, cut.run, cut.length.text, cut.mark.text, *end, there, cut.card))
        for number, stop in enumerate(order.settings, 1):
            takes = ", ".join(f"stick {s} x {n}" for s, n in stop.takes)
            stops.append((one.raceway, number, stop.length.text, stop.pieces, takes))
        waits += [(one.raceway, p.label, p.run, read_tape(p.length_mm, style).text) for p in one.pieces_waiting]
        sums.append((one.raceway, cut_words(one.plan, style), left_words(one.plan, style), thread_words(one.plan)))
    return (
        Table(
            "Cut list",
            (
                "raceway",
                "stick",
                "source",
                f"source {unit}",
                "piece",
                "run",
                f"length {unit}",
                f"mark {unit}",
                f"left {unit}",
                "offcut",
                "already",
                "card",
            ),
            tuple(marks),
        ),
        Table("Saw stop", ("raceway", "setting", f"stop {unit}", "pieces", "from"), tuple(stops)),
        Table("Cut sums", ("raceway", "sticks", "offcuts", "threads"), tuple(sums)),
        Table("Not to be cut yet", ("raceway", "piece", "run", f"length {unit}"), tuple(waits)),
    )


def kit_tables(kits: Sequence[Kit], style: TapeStyle) -> tuple[Table, ...]:
    """Every piece and every item of every kit, of one of those alike."""
    pieces: list[tuple[Cell, ...]] = []
    items: list[tuple[Cell, ...]] = []
    for kit in kits:
        head = (kit.title, kit.alike)
        pieces += [
            (*head, p.raceway, p.label, _length(p, kit, style), p.card, "waits" if p.waits else "", there_words(p, kit))
            for p in kit.pieces
        ]
        items += [(*head, line.group, line.item, line.quantity, line.unit) for line in kit.lines]
    return (
        Table(
            "Kits: pieces",
            ("area", "kits", "raceway", "piece", f"length {style.unit}", "on the card", "not yet", "already"),
            tuple(pieces),
        ),
        Table("Kits: items", ("area", "kits", "group", "item", "quantity each", "unit"), tuple(items)),
    )


def _length(piece: KitPiece, kit: Kit, style: TapeStyle) -> str:
    return read_tape(piece.length_mm, style).text if to_length(piece, kit) else ""


def batch_tables(bench: BenchList) -> tuple[Table, ...]:
    """Every bend in the order of the list, and every kind with its pieces. Where each piece is bent through, there is
    no setting's number."""
    kinds = {kind.number: kind for kind in bench.kinds}
    rows: list[tuple[Cell, ...]] = []
    at: list[tuple[int | None, BatchKind, int]] = [
        (number, kinds[work.kind], work.order)
        for batch in bench.tools
        for number, setting in enumerate(batch.settings, 1)
        for work in setting.work
    ]
    at = at or [(None, kind, bend.order) for kind in bench.kinds for bend in kind.bends]
    for number, kind, order in at:
        bend = kind.bends[order - 1]
        head = (kind.raceway, kind.tool, number, bend.bend_to, bend.read, kind.number, kind.count, order, bend.number)
        rows.append((*head, bend.reading, bend.at, bend.hook, bend.line, bend.making or bend.held, bend.look_at))
    pieces: list[tuple[Cell, ...]] = []
    for kind in bench.kinds:
        for one in kind.pieces:
            of = (kind.length, kind.ends_later, one.plan, "cut already" if one.there else "")
            pieces += [(kind.number, kind.raceway, kind.tool, one.label, n, *of) for n in one.copies or (None,)]
    bends = ("raceway", "tool", "setting", "bend to", "read", "kind", "pieces", "bend", "mark", "from end A")
    return (
        Table("Batch list", (*bends, "at", "hook", "line", "how", "then look"), tuple(rows)),
        Table(
            "Pieces",
            ("kind", "raceway", "tool", "piece", "copy", "length", "ends cut after bending", "plan", "already"),
            tuple(pieces),
        ),
    )


def label_tables(job: str, labels: Sequence[PieceLabel]) -> tuple[Table, ...]:
    """A row a label, for whatever prints them."""
    head = (
        "label",
        "job",
        "area",
        "run",
        "where it goes",
        "piece",
        "of",
        "copy",
        "of copies",
        "raceway",
        "cut",
        "ends cut after bending",
        "plan",
    )
    rows: list[tuple[Cell, ...]] = [
        (
            *(one.label, job, one.area, one.run, one.goes, one.piece, one.pieces, one.copy, one.copies),
            *(one.raceway, one.length, one.ends_later, one.plan),
        )
        for one in labels
    ]
    return (Table("Labels", head, tuple(rows)),)


def _bill_rows(bill: Bill) -> list[tuple[Cell, ...]]:
    rows: list[tuple[Cell, ...]] = [
        (b.group, b.item, b.quantity, b.unit, b.price, b.per, b.amount, b.labour_h, b.labour) for b in bill.lines
    ]
    if bill.material is not None or bill.labour_h is not None:
        rows.append(("total", "", None, "", None, "", bill.material, bill.labour_h, bill.labour))
    return rows
