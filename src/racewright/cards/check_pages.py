"""The pack's checks: what was found, where, by which article; and how many runs had nothing open."""

from __future__ import annotations

from racewright.cards.index_pages import checks_in_short
from racewright.cards.layout import BODY_PT, SMALL_PT, Writer, line_mm, lines_at
from racewright.cards.pack_model import Pack
from racewright.cards.words import SEVERITY_WORDS
from racewright.drawing.metrics import wrap
from racewright.errors import Finding, Severity

_HEADS: tuple[tuple[Severity, str], ...] = (("problem", "Problems"), ("caution", "Cautions"), ("info", "Notes"))
_INDENT = 26.0
_MOST_KEYS = 60


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
            _entry(writer, run.key, f"{run.name}: {run.why_not}", "")
        writer.space(2.0)
    for severity, head in _HEADS:
        found = shared_findings(pack, severity)
        if found and severity == "info":
            _notes(writer, found, sum(run.plan is not None for run in pack.runs))
        elif found:
            writer.heading(head, keep=14.0)
            writer.space(1.2)
            for finding, keys in found:
                source = " · ".join(part for part in (finding.rule, finding.citation or "no citation") if part)
                _entry(writer, SEVERITY_WORDS[severity], _said(finding), f"{source}\n{_keys(keys)}")
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
        writer.body(
            " · ".join(part for part in (rule, citation or "no citation") if part), size_pt=SMALL_PT, weight="bold"
        )
        for finding, keys in group:
            writer.body(f"{_keys(keys, planned)}: {_said(finding)}", indent=5.0, size_pt=SMALL_PT)
        writer.space(1.6)


def shared_findings(pack: Pack, severity: Severity) -> list[tuple[Finding, list[str]]]:
    """Findings of this weight, each once, with the keys of the runs that have it, in the order of the runs."""
    found: dict[tuple[str, str, str, str], tuple[Finding, dict[str, None]]] = {}
    for run in pack.in_order:
        for finding in run.findings:
            if finding.severity == severity:
                same = (finding.rule, finding.message, finding.citation, finding.where)
                found.setdefault(same, (finding, {}))[1][run.key] = None
    return [(finding, list(keys)) for finding, keys in found.values()]


def _said(finding: Finding) -> str:
    """The message, and the place behind it unless the message names it."""
    return finding.message if finding.where in finding.message else f"{finding.message} ({finding.where})"


def _keys(keys: list[str], planned: int = 0) -> str:
    if len(keys) > 2 and len(keys) == planned:
        return "all runs with a plan"
    if len(keys) > _MOST_KEYS:
        shown = ", ".join(keys[:_MOST_KEYS])
        return f"runs {shown} and {len(keys) - _MOST_KEYS} more (each run's card says so)"
    return ("run " if len(keys) == 1 else "runs ") + ", ".join(keys)


def _entry(writer: Writer, word: str, text: str, below: str) -> None:
    lines = wrap(text, writer.width - _INDENT, BODY_PT)
    writer.need(min(60.0, len(lines) * line_mm(BODY_PT) + line_mm(SMALL_PT) * (2 if below else 0)))
    size = BODY_PT
    writer.add(*lines_at((wrap(word, _INDENT - 2.0, size, "bold") or ("",))[:1], writer.left, writer.y, size, "bold"))
    writer.body(text, indent=_INDENT)
    source, _, runs = below.partition("\n")
    if source:
        writer.body(source, indent=_INDENT, size_pt=SMALL_PT)
    if runs:
        writer.body(runs, indent=_INDENT, size_pt=SMALL_PT, weight="bold")
    writer.space(1.4)
