"""What stands below the drawings: steps, cautions, findings, the rule of thumb beside the exact marks, the survey."""

from __future__ import annotations

from racewright.cards.layout import BODY_PT, SMALL_PT, Sizes, Writer, badge, cap_mm, line_mm, lines_at, rectangle
from racewright.cards.text.tail import LEFT_OUT, NOTHING_LEFT_OUT
from racewright.cautions import DECIDES
from racewright.drawing.metrics import text_width_mm, wrap
from racewright.drawing.scene import Box, Line, Primitive, Text, Weight
from racewright.errors import SEVERITY_WORDS, Finding
from racewright.plan.choices import PrintedTable, printed_tables
from racewright.plan.model import NoteBlock, Plan, Step, ThumbComparison
from racewright.units.tape import format_length

_STEP_PT = 12.0
_BADGE = 6.0
_INDENT = 26.0
#: Room inside a frame at both sides, and behind a point, mm.
_PAD, _POINT = 4.0, 3.6


def write_notes(writer: Writer, plan: Plan) -> None:
    """What there is to read besides the bench page, from the top of a new sheet; nothing where there is nothing."""
    if not (plan.steps or plan.notes or plan.findings or plan.rules_of_thumb or plan.measured):
        return
    writer.start_page("more", running=True)
    _steps(writer, plan)
    for block in plan.notes:
        _block(writer, block)
    for table in printed_tables(plan):
        _table(writer, table)
    _findings(writer, plan.findings)
    if plan.rules_of_thumb:
        _thumb_section(writer, plan)
    if plan.measured:
        writer.heading("What you measured")
        for line in plan.measured:
            writer.body(line)
        writer.space(3.0)


def _steps(writer: Writer, plan: Plan) -> None:
    if not plan.steps:
        return
    writer.heading("Steps")
    for number, step in enumerate(_without_bends(plan.steps), start=1):
        indent = _BADGE + 3.0
        titles = wrap(step.title, writer.width - indent, _STEP_PT, "bold")
        details = wrap(step.detail, writer.width - indent, BODY_PT)
        height = len(titles) * line_mm(_STEP_PT) + len(details) * line_mm(BODY_PT)
        writer.need(min(max(height, _BADGE), 60.0))
        writer.add(*badge(str(number), (writer.left + _BADGE / 2.0, writer.y + line_mm(_STEP_PT) / 2.0), _BADGE))
        for line in titles:
            writer.body(line, indent=indent, size_pt=_STEP_PT, weight="bold")
        for line in details:
            writer.body(line, indent=indent)
        writer.space(max(0.0, _BADGE - height) + 1.4)
    writer.space(2.5)


def _block(writer: Writer, block: NoteBlock) -> None:
    writer.heading(block.title)
    for line in block.lines:
        _bullet(writer, line)
    writer.space(2.5)


def _table(writer: Writer, table: PrintedTable) -> None:
    """A table whose last column is free text and takes what is left of the width."""
    writer.heading(table.title)
    fixed = len(table.header) - 1
    widths = []
    for i in range(fixed):
        head = max(text_width_mm(word, SMALL_PT, "bold") for word in (table.header[i].split() or [""]))
        widths.append(max(head, *(text_width_mm(r[i], SMALL_PT) for r in table.rows)) + 2.6)
    lefts = [sum(widths[:i]) for i in range(fixed)]
    rest = sum(widths)
    step = line_mm(SMALL_PT) + 0.4
    heads = [wrap(h, w - 1.0, SMALL_PT, "bold") if h else [] for h, w in zip(table.header, widths, strict=False)]
    writer.need((max(len(h) for h in heads) + 2) * step)
    for left, lines in zip(lefts, heads, strict=True):
        writer.add(*lines_at(tuple(lines), writer.left + left, writer.y, SMALL_PT, "bold"))
    writer.y += max(len(h) for h in heads) * line_mm(SMALL_PT) + 0.6
    writer.add(Line(start=(writer.left, writer.y), end=(writer.right, writer.y), width_mm=0.3))
    writer.space(0.8)
    for row in table.rows:
        at = rest if any(row[2:-1]) else sum(widths[:2])
        lines = wrap(row[-1], writer.width - at, SMALL_PT) if row[-1] else []
        writer.need(max(1, len(lines)) * step)
        for left, cell in zip(lefts, row[:-1], strict=True):
            if cell:
                writer.add(*lines_at((cell,), writer.left + left, writer.y, SMALL_PT))
        writer.add(*lines_at(tuple(lines), writer.left + at, writer.y, SMALL_PT))
        writer.y += max(1, len(lines)) * step
    writer.space(3.5)


def _without_bends(steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """The steps with each run of bends as one line: the table on the card says how."""
    out: list[Step] = []
    for step in steps:
        if step.kind != "bend":
            out.append(step)
        elif not out or out[-1].kind != "bend":
            out.append(Step(kind="bend", title="Bend it, in the order of the table"))
    return tuple(out)


def running_cautions(cautions: tuple[str, ...]) -> str:
    """What to take care of in one paragraph; '' where there is nothing."""
    texts = [text for text in cautions if text != DECIDES]
    return " ▪ ".join(("Take care", *texts)) if texts else ""


def write_cautions(writer: Writer, cautions: tuple[str, ...], sizes: Sizes | None = None) -> None:
    """What to take care of, on the bench page in one paragraph; who decides stands at the foot of every page."""
    texts = [text for text in cautions if text != DECIDES]
    if not texts:
        return
    if sizes is not None:
        writer.body(running_cautions(cautions), size_pt=sizes.care_pt)
        return
    writer.heading("Take care")
    for text in texts:
        _bullet(writer, text)
    writer.space(3.0)


def write_left_out(writer: Writer, not_included: tuple[str, ...]) -> None:
    """In a frame, above the first table: what is left out of it, or that nothing is known to be. A list that no sheet
    holds goes on without the frame."""
    texts = not_included or (NOTHING_LEFT_OUT,)
    inside, pad = writer.width - 2.0 * _PAD, 2.4
    rows = sum(len(wrap(text, inside - _POINT, SMALL_PT)) for text in texts)
    height = 2.0 * pad + line_mm(_STEP_PT) + rows * line_mm(SMALL_PT) + (len(texts) + 1) * 0.8
    writer.need(min(height, writer.sheet_mm))
    top = writer.y
    if height <= writer.room:
        writer.add(rectangle(Box(writer.left + 0.5, top, writer.right - 0.5, top + height), width_mm=1.0))
    writer.space(pad)
    writer.body(LEFT_OUT, indent=_PAD, size_pt=_STEP_PT, weight="bold")
    writer.space(0.8)
    for text in texts:
        writer.need(line_mm(SMALL_PT))
        writer.add(*lines_at(("▪",), writer.left + _PAD, writer.y, SMALL_PT))
        for line in wrap(text, inside - _POINT, SMALL_PT):
            writer.body(line, indent=_PAD + _POINT, size_pt=SMALL_PT)
        writer.space(0.8)
    writer.space(pad + 3.5)


def _bullet(writer: Writer, text: str) -> None:
    writer.need(line_mm(BODY_PT))
    writer.add(*lines_at(("▪",), writer.left, writer.y, BODY_PT))
    writer.body(text, indent=5.0)
    writer.space(0.6)


def _findings(writer: Writer, findings: tuple[Finding, ...]) -> None:
    if not findings:
        return
    writer.heading("What the checks found")
    order = {"problem": 0, "caution": 1, "info": 2}
    for finding in sorted(findings, key=lambda f: order[f.severity]):
        text = finding.message + (f" ({finding.where})" if finding.where else "")
        source = " · ".join(part for part in (finding.rule, finding.citation) if part)
        write_entry(writer, SEVERITY_WORDS[finding.severity].upper(), text, source)
    writer.space(2.5)


def write_entry(writer: Writer, word: str, text: str, source: str = "", runs: str = "") -> None:
    """A word at the left and what is told under it, what that rests on, and which runs it is about."""
    lines = wrap(text, writer.width - _INDENT, BODY_PT)
    below = sum(map(bool, (source, runs))) * line_mm(SMALL_PT)
    writer.need(min(60.0, len(lines) * line_mm(BODY_PT) + below))
    word_lines = wrap(word, _INDENT - 2.0, BODY_PT, "bold")[:1]
    writer.add(*lines_at(word_lines, writer.left, writer.y, BODY_PT, "bold"))
    writer.body(text, indent=_INDENT)
    if source:
        writer.body(source, indent=_INDENT, size_pt=SMALL_PT)
    if runs:
        writer.body(runs, indent=_INDENT, size_pt=SMALL_PT, weight="bold")
    writer.space(1.4)


def _thumb_section(writer: Writer, plan: Plan) -> None:
    writer.heading(
        "Rule of thumb beside the exact marks",
        "the card's marks are worked from the bender's figures; this shows what the rule would do on it",
        keep=30.0,
    )
    for comparison in plan.rules_of_thumb:
        _thumb(writer, plan, comparison)


def _thumb(writer: Writer, plan: Plan, comparison: ThumbComparison) -> None:
    writer.need(min(80.0, 24.0 + (len(comparison.marks) + 1) * line_mm(BODY_PT)))
    writer.body(f"{comparison.shape}: {comparison.rule}" if comparison.shape else comparison.rule, weight="bold")
    columns = (0.0, writer.width * 0.40, writer.width * 0.60, writer.width * 0.80)
    step, unit = line_mm(BODY_PT) + 0.7, plan.tape.unit
    writer.need(2.0 * step)
    writer.add(*_table_line(writer, columns, ("mark", f"rule, {unit}", f"exact, {unit}", "exact is"), bold=True))
    writer.y += step
    writer.add(Line(start=(writer.left, writer.y), end=(writer.right, writer.y), width_mm=0.3))
    writer.space(0.8)
    for mark in comparison.marks:
        lines = wrap(mark.label, columns[1] - 3.0, BODY_PT)
        writer.need(len(lines) * step)
        move = mark.exact_mm - mark.rule_mm
        shift = format_length(abs(move), plan.tape)
        same = mark.rule_tape == mark.exact_tape
        words = (
            "the same"
            if same or shift.lstrip("0") in ('"', " mm")
            else f"{shift} {'nearer B' if move > 0 else 'nearer A'}"
        )
        row = (lines[0] if lines else "", mark.rule_tape, mark.exact_tape, words)
        writer.add(*_table_line(writer, columns, row, bold=False))
        writer.add(*lines_at(lines[1:], writer.left, writer.y + step, BODY_PT))
        writer.y += max(1, len(lines)) * step
    writer.space(1.0)
    for label, text in (("by the rule: ", comparison.landing_rule), ("by the exact marks: ", comparison.landing_exact)):
        if text:
            indent = text_width_mm("by the exact marks: ", BODY_PT, "bold") + 1.0
            writer.need(line_mm(BODY_PT))
            writer.add(*lines_at((label.strip(),), writer.left, writer.y, BODY_PT, "bold"))
            writer.body(text, indent=indent)
    writer.space(3.5)


def _table_line(writer: Writer, columns: tuple[float, ...], row: tuple[str, ...], *, bold: bool) -> list[Primitive]:
    base = writer.y + cap_mm(BODY_PT) + 0.9
    weights: list[Weight] = ["bold" if bold or k == 2 else "regular" for k in range(len(columns))]
    return [
        Text(at=(writer.left + x, base), text=text, size_pt=BODY_PT, weight=weight)
        for x, text, weight in zip(columns, row, weights, strict=True)
    ]
