"""The pack's batch list: what is still to be bent, tool by tool, setting by setting, with a box to tick."""

from __future__ import annotations

from racewright.cards.batch_words import (
    RULE,
    bend_words,
    count_words,
    kind_words,
    kinds_of,
    length_words,
    marks_words,
    pieces_words,
    plans_words,
    setting_words,
)
from racewright.cards.layout import BODY_PT, SMALL_PT, Writer, line_mm
from racewright.cards.notes import write_cautions, write_left_out
from racewright.cards.pack_model import Pack
from racewright.cards.tables import Column, Row, begin_mm, write_table
from racewright.cautions import cautions_for
from racewright.drawing.metrics import wrap
from racewright.job.bench_list import BatchKind, BatchSetting, BenchList
from racewright.job.left_out import left_out_of_batch

_ROW_MM = 7.0
_KINDS = (
    Column("kind", 0.6, weight="bold"),
    Column("pieces", 2.6),
    Column("count", 0.7, number=True),
    Column("plan", 1.3),
    Column("cut", 1.6, weight="bold"),
    Column("pencil marks, from end A", 3.9),
)
_BENDS = (
    Column("done", 0.6),
    Column("kind, pieces", 2.2, weight="bold"),
    Column("bend", 0.95),
    Column("mark", 1.9, weight="bold"),
    Column("at the mark; how it lies", 2.9),
    Column("then", 3.5),
)


def write_batch(writer: Writer, pack: Pack, bench: BenchList) -> None:
    """The rule; then of each tool its kinds, and what is bent at each setting."""
    writer.start_page("batch list", running=True)
    writer.heading("Batch list", "what is still to be bent, by tool and angle")
    writer.space(1.5)
    write_left_out(writer, left_out_of_batch(pack.in_order, bench))
    writer.body(RULE, size_pt=SMALL_PT)
    writer.space(3.0)
    by_number = {kind.number: kind for kind in bench.kinds}
    for batch in bench.tools:
        writer.need(40.0)
        writer.body(f"{batch.raceway}, {batch.tool}", size_pt=12.0, weight="bold")
        writer.space(1.0)
        write_table(writer, _KINDS, [_kind(kind) for kind in kinds_of(bench, batch.tool, batch.raceway)])
        writer.body(count_words(batch), size_pt=SMALL_PT)
        writer.space(2.0)
        for number, setting in enumerate(batch.settings, 1):
            title, rows = f"{number}. {setting_words(setting)}", _bends(setting, by_number)
            lines = len(wrap(title, writer.width, BODY_PT, "bold"))
            writer.need(lines * line_mm(BODY_PT) + 3.0 + begin_mm(writer, _BENDS, rows))
            writer.body(title, size_pt=BODY_PT, weight="bold")
            writer.space(0.8)
            write_table(writer, _BENDS, rows, ruled=True)
    write_cautions(writer, cautions_for(*bench.care))


def _kind(kind: BatchKind) -> Row:
    pieces, plans = pieces_words(kind), plans_words(kind)
    return Row((str(kind.number), pieces, str(kind.count), plans, length_words(kind), marks_words(kind)))


def _bends(setting: BatchSetting, kinds: dict[int, BatchKind]) -> list[Row]:
    rows = []
    for work in setting.work:
        kind = kinds[work.kind]
        bend = kind.bends[work.order - 1]
        of = f"{bend.order} of {len(kind.bends)}"
        mark = f"({bend.number}) {bend.reading}"
        words = (bend_words(bend), bend.look_at)
        rows.append(Row(("", kind_words(kind), of, mark, *words), least_mm=_ROW_MM, ticks=(0,)))
    return rows
