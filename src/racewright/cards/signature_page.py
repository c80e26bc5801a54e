"""The pack's last pages: what is known of the finished work, room to write what came out otherwise, room to sign."""

from __future__ import annotations

from racewright.cards.layout import BODY_PT, SMALL_PT, Writer, line_mm, lines_at, rectangle
from racewright.cards.pack_model import Pack
from racewright.cards.run_words import as_built_lines, short_name, wire_lines
from racewright.cards.tables import Column, Row, write_table
from racewright.drawing.scene import Box, Line

_ROW_MM = 9.0
_SIGN_MM = 15.0
_SIGNERS = ("bent by", "installed by", "wires pulled by", "looked over by", "received by")


def write_as_built(writer: Writer, pack: Pack) -> None:
    """A line for each run to write on, what was measured on bent pieces, free lines, and the signatures."""
    writer.start_page("as built", running=True)
    writer.heading("As-built notes", "tick where the run hangs as on its card; else write what is different")
    writer.space(1.0)
    columns = (
        Column("run", 1.5, weight="bold"),
        Column("where it goes", 3.8),
        Column("as on card", 1.35),
        Column("what is different", 4.6),
        Column("date, initials", 1.8),
    )
    for area in pack.areas:
        runs = [run for run in pack.runs if run.area == area]
        if len(pack.areas) > 1 or area:
            writer.need(16.0 + _ROW_MM)
            writer.body(area or "(no area)", size_pt=BODY_PT, weight="bold")
            writer.space(0.8)
        rows = [
            Row((run.key, short_name(run.name, run.area), "", "", ""), least_mm=_ROW_MM, ticks=(2,)) for run in runs
        ]
        write_table(writer, columns, rows, size_pt=SMALL_PT, ruled=True)
    _known(writer, pack)
    _signatures(writer)


def _known(writer: Writer, pack: Pack) -> None:
    """Wires, measurements and notes that the job holds already."""
    told = [(run, wire_lines(run.run), as_built_lines(run.run)) for run in pack.in_order]
    told = [(run, wires, lines) for run, wires, lines in told if wires or lines or run.run.note]
    if not told:
        return
    writer.heading("Written down so far", keep=14.0)
    writer.space(1.2)
    for run, wires, as_built in told:
        writer.need(2.0 * line_mm(BODY_PT))
        writer.body(f"{run.key}  {run.name}", weight="bold")
        pulled = (", ".join(wires),) if wires else ()
        notes = (run.run.note,) if run.run.note else ()
        for name, lines in (("wires", pulled), ("measured, corrected", as_built), ("note", notes)):
            for line in lines:
                writer.body(f"{name}: {line}", indent=5.0, size_pt=SMALL_PT)
        writer.space(1.6)
    writer.space(2.0)


def _signatures(writer: Writer) -> None:
    writer.need(34.0 + _SIGN_MM * len(_SIGNERS))
    writer.heading("Signatures", keep=_SIGN_MM * len(_SIGNERS) + 16.0)
    writer.body(
        "A signature here says who did or received what, and when. It approves nothing.",
        size_pt=SMALL_PT,
    )
    writer.space(2.0)
    edges = [writer.left, writer.left + 40.0, writer.left + 96.0, writer.right - 34.0, writer.right]
    for name, x in zip(("", "name", "signature", "date"), edges, strict=False):
        writer.add(*lines_at((name,), x + 1.5, writer.y, SMALL_PT, "bold"))
    writer.y += line_mm(SMALL_PT) + 0.6
    for signer in _SIGNERS:
        top = writer.y
        writer.add(rectangle(Box(writer.left, top, writer.right, top + _SIGN_MM), width_mm=0.3))
        writer.add(*(Line(start=(x, top), end=(x, top + _SIGN_MM), width_mm=0.2) for x in edges[1:-1]))
        writer.add(*lines_at((signer,), writer.left + 1.5, top + _SIGN_MM / 2.0 - 2.0, BODY_PT, "bold"))
        writer.y = top + _SIGN_MM
    writer.space(3.0)
