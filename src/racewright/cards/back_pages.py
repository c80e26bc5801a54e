"""The hand-over pack's last pages: what the checks found, where, by which article; room to write what came out
otherwise, and to sign."""

from __future__ import annotations

from racewright.cards.entry_words import as_built_lines
from racewright.cards.front_pages import by_area, checks_in_short
from racewright.cards.layout import BODY_PT, SMALL_PT, Writer, line_mm, lines_at, rectangle
from racewright.cards.notes import write_entry
from racewright.cards.pack_model import Pack, short_name, wire_lines
from racewright.cards.tables import Column, Row, write_table
from racewright.drawing.scene import Box, Line
from racewright.errors import SEVERITY_WORDS, Finding, Severity
from racewright.records.of_plan import of_plan

_HEADS: tuple[tuple[Severity, str], ...] = (("problem", "Problems"), ("caution", "Cautions"), ("info", "Notes"))
_MOST_KEYS = 60
_ROW_MM = 9.0
_SIGN_MM = 15.0
_SIGNERS = ("bent by", "installed by", "wires pulled by", "checked by", "received by")


def write_checks(writer: Writer, pack: Pack) -> None:
    """Runs without a plan, then findings by weight; one that several runs share is written once with their keys."""
    writer.start_page("checks", running=True)
    writer.heading("What the checks found")
    writer.space(1.0)
    writer.body(
        "These are checks of what was written down, against the articles named beside each. They approve nothing.",
        size_pt=SMALL_PT,
    )
    writer.space(3.0)
    quiet = sum(1 for run in pack.runs if run.plan is not None and checks_in_short(run) == "none open")
    writer.body(f"{quiet} of {len(pack.runs)} runs have a plan and nothing open that these checks look for.")
    writer.space(3.0)
    lost = [run for run in pack.in_order if run.plan is None]
    if lost:
        writer.heading("Runs without a plan", keep=12.0)
        writer.space(1.2)
        for run in lost:
            write_entry(writer, run.key, ": ".join(part for part in (run.name.strip(), run.why_not) if part))
        writer.space(2.0)
    for severity, head in _HEADS:
        found = shared_findings(pack, severity)
        if found and severity == "info":
            _notes(writer, found, sum(run.plan is not None for run in pack.runs))
        elif found:
            writer.heading(head, keep=14.0)
            writer.space(1.2)
            for finding, keys in found:
                source = _source(finding.rule, finding.citation)
                write_entry(writer, SEVERITY_WORDS[severity].upper(), _placed(finding), source, _keys(keys))
            writer.space(2.0)


def _notes(writer: Writer, found: list[tuple[Finding, list[str]]], planned: int) -> None:
    """Notes by rule: the rule once, then what it says and to which of the planned runs."""
    writer.heading("Notes", keep=14.0)
    writer.space(1.2)
    by_rule: dict[tuple[str, str], list[tuple[Finding, list[str]]]] = {}
    for finding, keys in found:
        by_rule.setdefault((finding.rule, finding.citation), []).append((finding, keys))
    for (rule, citation), group in by_rule.items():
        writer.need(3.0 * line_mm(SMALL_PT))
        writer.body(_source(rule, citation), size_pt=SMALL_PT, weight="bold")
        for finding, keys in group:
            writer.body(f"{_keys(keys, planned)}: {_placed(finding)}", indent=5.0, size_pt=SMALL_PT)
        writer.space(1.6)


def _source(rule: str, citation: str) -> str:
    return " · ".join(part for part in (rule, citation or "no citation") if part)


def _placed(finding: Finding) -> str:
    where = "" if not finding.where or finding.says_where() else f" ({finding.where})"
    return finding.message + where


def shared_findings(pack: Pack, severity: Severity) -> list[tuple[Finding, list[str]]]:
    """Findings of this weight, each once, with the keys of the runs that have it, in the order of the runs."""
    found: dict[tuple[str, str, str, str], tuple[Finding, dict[str, None]]] = {}
    for run in pack.in_order:
        for finding in run.findings:
            if finding.severity == severity:
                same = (finding.rule, finding.message, finding.citation, finding.where)
                found.setdefault(same, (finding, {}))[1][run.key] = None
    return [(finding, list(keys)) for finding, keys in found.values()]


def _keys(keys: list[str], planned: int = 0) -> str:
    if len(keys) > 2 and len(keys) == planned:
        return "all runs with a plan"
    if len(keys) > _MOST_KEYS:
        shown = ", ".join(keys[:_MOST_KEYS])
        return f"runs {shown} and {len(keys) - _MOST_KEYS} more (each run's card says so)"
    return ("run " if len(keys) == 1 else "runs ") + ", ".join(keys)


def write_as_built(writer: Writer, pack: Pack) -> None:
    """A line for each run, also of those alike, to write on; what was measured on bent pieces; lines; signatures."""
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
    for runs in by_area(writer, pack, 16.0 + _ROW_MM):
        rows = [
            Row((run.key + copy, short_name(run.name, run.area), "", "", ""), least_mm=_ROW_MM, ticks=(2,))
            for run in runs
            for copy in ([f"#{n}" for n in range(1, run.run.times + 1)] if run.run.alike else [""])
        ]
        write_table(writer, columns, rows, size_pt=SMALL_PT, ruled=True)
    _known(writer, pack)
    _signatures(writer)


def _known(writer: Writer, pack: Pack) -> None:
    """Wires, measurements and notes that the job holds already."""
    told = []
    for run in pack.in_order:
        now, pieces = (run.plan.digest, len(run.plan.pieces)) if run.plan else ("", 0)
        entries = of_plan(pack.job.entries_of(run.run), run.plan)
        wires, as_built = wire_lines(run.run), as_built_lines(run.run, entries, now, pieces)
        if wires or as_built or run.run.note:
            told.append((run, wires, as_built))
    if not told:
        return
    writer.heading("Written down so far", keep=14.0)
    writer.space(1.2)
    for run, wires, as_built in told:
        writer.need(2.0 * line_mm(BODY_PT))
        writer.body(f"{run.key}  {run.name}", weight="bold")
        pulled = (f"wires: {', '.join(wires)}",) if wires else ()
        notes = (f"note: {run.run.note}",) if run.run.note else ()
        for line in (*pulled, *as_built, *notes):
            writer.body(line, indent=5.0, size_pt=SMALL_PT)
        writer.space(1.6)
    writer.space(2.0)


def _signatures(writer: Writer) -> None:
    writer.need(34.0 + _SIGN_MM * len(_SIGNERS))
    writer.heading("Signatures", keep=_SIGN_MM * len(_SIGNERS) + 16.0)
    writer.body("A signature here says who did or received what, and when. It approves nothing.", size_pt=SMALL_PT)
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
