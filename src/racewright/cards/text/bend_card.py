"""Plan -> the card as text for a terminal. Content and order as on paper, the drawing in characters."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from racewright.cards.straight_view import spread, straight_marks
from racewright.cards.words import (
    FOOTER,
    bend_names,
    bender_words,
    clearance_words,
    cut_of,
    digest_words,
    ends_words,
    faces_words,
    in_bending_order,
    measured_first,
    order_heading,
    order_words,
    piece_words,
    places_words,
    pull_words,
    shoe_words,
    stock_zero_mm,
    tape_words,
    tool_words,
)
from racewright.cautions import DECIDES
from racewright.errors import SEVERITY_WORDS, Finding
from racewright.plan.choices import PrintedTable, printed_tables
from racewright.plan.model import MarkedBend, NoteBlock, Plan, PlannedPiece, ThumbComparison
from racewright.printable import printable
from racewright.sequence.words import clock_words, mark_names
from racewright.units.angle import hand_angle
from racewright.units.tape import reading

if TYPE_CHECKING:
    from racewright.operations.planned import CheckAnswer

_LEAST_WIDTH = 60
_HOOKS = {"A": "◂", "B": "▸", "": "│"}
_BOLD, _RED, _YELLOW, _PLAIN = "\x1b[1m", "\x1b[1;31m", "\x1b[33m", "\x1b[0m"
_SEVERITY_STYLE = {"problem": _RED, "caution": _YELLOW, "info": ""}


class _Page:
    """Lines of text no wider than the terminal."""

    def __init__(self, width: int, *, colour: bool) -> None:
        self.width = width
        self.colour = colour
        self.lines: list[str] = []

    def styled(self, text: str, style: str) -> str:
        return f"{style}{text}{_PLAIN}" if self.colour and style and text else text

    def wrapped(self, text: str, *, first: str = "", rest: str | None = None, style: str = "") -> None:
        indent = " " * len(first) if rest is None else rest
        lines = textwrap.wrap(
            printable(text), self.width, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False
        )
        self.lines += [self.styled(line, style) for line in lines or [first.rstrip()]]

    def heading(self, text: str) -> None:
        self.lines += ["", self.styled(printable(text).upper(), _BOLD), "─" * len(text)]


def text_bench(plan: Plan, *, colour: bool = False, width: int = 80) -> str:
    """The bench page in `width` columns (60 at least), with ANSI colours only when asked."""
    return _text(plan, colour, width, whole=False)


def text_card(plan: Plan, *, colour: bool = False, width: int = 80) -> str:
    """The whole card: the bench page, then more."""
    return _text(plan, colour, width, whole=True)


def _text(plan: Plan, colour: bool, width: int, *, whole: bool) -> str:
    page = _Page(max(width, _LEAST_WIDTH), colour=colour)
    _bench(page, plan)
    if whole:
        _more(page, plan)
    page.lines.append("")
    page.lines.append("─" * page.width)
    page.wrapped(FOOTER)
    return "\n".join(page.lines) + "\n"


def _bench(page: _Page, plan: Plan) -> None:
    page.lines.append("═" * page.width)
    page.wrapped(plan.name, style=_BOLD)
    page.wrapped(plan.raceway)
    page.wrapped(bender_words(plan))
    page.wrapped(digest_words(plan))
    page.lines.append("═" * page.width)
    for finding in plan.findings:
        if finding.severity != "info":
            word, style = SEVERITY_WORDS[finding.severity].upper(), _SEVERITY_STYLE[finding.severity]
            page.wrapped(finding.message, first=f"{word}: ", style=style)
    if len(plan.pieces) > 1:
        _piece_list(page, plan)
    for index, piece in enumerate(plan.pieces):
        if piece.bends or len(plan.pieces) == 1:
            _piece(page, plan, index, piece)
    if plan.obstacles or plan.dimensions:
        page.heading("The finished piece" if len(plan.pieces) == 1 else "The finished run")
        for dimension in plan.dimensions:
            page.wrapped(dimension.text, first="- ")
        faces = faces_words(plan)
        if faces:
            page.wrapped(faces, first="- ")
        for thing in plan.obstacles:
            page.wrapped(f"{thing.name}: {clearance_words(thing.clearance_mm, plan.tape)}", first="- ")
    if plan.along:
        _block(page, NoteBlock(title="Straps and couplings", lines=plan.along))
    cautions = [text for text in plan.cautions if text != DECIDES]
    if cautions:
        page.heading("Take care")
        for caution in cautions:
            page.wrapped(caution, first="- ")


def _piece_list(page: _Page, plan: Plan) -> None:
    page.heading("The pieces")
    for number, piece in enumerate(plan.pieces, start=1):
        word, length, below = cut_of(piece, plan)
        straps = places_words(piece, plan)
        told = (
            f"{word} {length}" + (f", {below}." if below else "."),
            ends_words(piece, plan),
            *((f"Straps at {straps} from its end A.",) if straps else ()),
        )
        page.wrapped(" ".join(told), first=f"{number:>2}. ")
    for line in measured_first(plan):
        page.wrapped(line, first="- ")


def _piece(page: _Page, plan: Plan, index: int, piece: PlannedPiece) -> None:
    words = piece_words(plan, index)
    if words:
        page.heading(words)
    page.lines.append("")
    word, length, below = cut_of(piece, plan)
    page.lines.append(page.styled(f"{word}  {length}", _BOLD))
    if below:
        page.wrapped(below)
    page.wrapped(ends_words(piece, plan))
    if piece.pencil_lines:
        page.heading("Mark it")
        page.wrapped(tape_words(piece, plan.tape))
        page.lines.append("")
        page.lines += straight_lines(plan, piece, page.width)
    if not piece.bends:
        return
    page.heading(order_heading(piece))
    page.wrapped(tool_words(plan))
    for bend in in_bending_order(piece):
        _bend(page, plan, piece, bend)


def straight_lines(plan: Plan, piece: PlannedPiece, width: int) -> list[str]:
    """The straight conduit in characters: rows of labels above it, as few as hold them side by side."""
    length = max(piece.least_stock_mm, piece.cut_length_mm)
    marks = straight_marks(piece, plan.tape, stock_zero_mm(piece))
    inner = width - 8
    columns = [4 + min(inner - 1, max(0, round(m.at_mm / length * (inner - 1)))) for m in marks]
    for k in range(1, len(columns)):
        columns[k] = min(width - 5, max(columns[k], columns[k - 1] + 1))
    lines: list[str] = []
    labels = [f"({m.name}) {m.reading}" for m in marks]
    details = [m.below for m in marks]
    rows = 1
    while rows < len(marks) and any(
        sum(max(len(labels[k]), len(details[k])) + 3 for k in range(row, len(marks), rows)) > width
        for row in range(rows)
    ):
        rows += 1
    for row in range(rows):
        chosen = range(row, len(marks), rows)
        wide = [float(max(len(labels[k]), len(details[k]))) for k in chosen]
        centres = spread([float(columns[k]) for k in chosen], wide, 0.0, float(width), 2.0)
        lines.append(_text_row([labels[k] for k in chosen], centres, width))
        lines.append(_text_row([details[k] for k in chosen], centres, width))
    lines.append("".join("│" if c in columns else " " for c in range(width)))
    end_a, end_b = ("A" if "A" not in piece.cut_ends else " "), ("B" if "B" not in piece.cut_ends else " ")
    lines.append(f" {end_a} ┌" + "".join("┼" if c in columns else "─" for c in range(4, width - 4)) + f"┐ {end_b}")
    hooks = {c: _HOOKS[m.hook] for c, m in zip(columns, marks, strict=True)}
    lines.append("   └" + "".join(hooks.get(c, "─") for c in range(4, width - 4)) + "┘")
    return [line.rstrip() for line in lines]


def _text_row(texts: Sequence[str], centres: Sequence[float], width: int) -> str:
    line = ""
    for text, centre in zip(texts, centres, strict=True):
        start = max(len(line) + (1 if line else 0), min(round(centre - len(text) / 2.0), width - len(text)))
        line += " " * (start - len(line)) + text
    return line


def _bend(page: _Page, plan: Plan, piece: PlannedPiece, bend: MarkedBend) -> None:
    head = f"{order_words(piece, bend):<5}({bend.number}) {reading(bend.mark_tape, plan.tape.unit):<12}"
    shoe, hook = shoe_words(bend)
    middle = f"{shoe:<8}hook {hook:<5}" if hook else f"{shoe:<13}"
    line = f"{head}{middle}bend to {hand_angle(bend.pointer_deg)}, {pull_words(bend)}"
    page.lines.append("")
    page.wrapped(line, rest=" " * 5, style=_BOLD)
    indent = " " * 5
    for text in (bend_names(bend, piece), bend.spin_words, bend.stance_words, bend.look_at):
        if text:
            page.wrapped(f"{text[0].upper()}{text[1:]}", first=indent)
    plane = "" if plan.planar else _points(bend, piece)
    if plane:
        page.wrapped(plane, first=indent)


def _points(bend: MarkedBend, piece: PlannedPiece) -> str:
    """Its plane, counted from that of the bend made first; '' for the only bend."""
    first = in_bending_order(piece)[0]
    if bend is first:
        return "The other planes count from this one." if len(piece.bends) > 1 else ""
    turn = (bend.roll_deg - first.roll_deg + 180.0) % 360.0 - 180.0
    name = mark_names([first.number])
    if abs(turn) < 0.25:
        return f"Plane as at {name}."
    if abs(turn) > 179.75:
        return f"Plane opposite to {name}."
    return f"Plane {hand_angle(abs(turn))} {clock_words(turn)} from {name}, seen from A."


def check_text(answer: CheckAnswer, *, width: int = 80) -> str:
    """The findings alone, with the straps' places and the word on who decides."""
    page = _Page(width, colour=False)
    page.heading(f"{answer.name}, {answer.raceway}")
    _findings(page, answer.findings)
    if not answer.findings:
        page.wrapped("Nothing found of what these checks look for.")
    if answer.along:
        _block(page, NoteBlock(title="Along the run", lines=answer.along))
    page.lines.append("")
    page.wrapped(FOOTER)
    return "\n".join(page.lines)


def _findings(page: _Page, findings: Sequence[Finding]) -> None:
    for finding in findings:
        where = f" ({finding.where})" if finding.where else ""
        first = f"{SEVERITY_WORDS[finding.severity].upper()}: "
        page.wrapped(f"{finding.message}{where}", first=first, style=_SEVERITY_STYLE[finding.severity])
        page.wrapped(" · ".join(p for p in (finding.rule, finding.citation) if p), first=" " * 4)


def _block(page: _Page, block: NoteBlock) -> None:
    page.heading(block.title)
    for line in block.lines:
        page.wrapped(line, first="- ")


def _table(page: _Page, table: PrintedTable) -> None:
    page.heading(table.title)
    fixed = len(table.header) - 1
    widths = [max(len(r[i]) for r in (table.header, *table.rows)) for i in range(fixed)]
    widths = [min(w, 9) for w in widths]
    heads = [textwrap.wrap(h, max(w, 4)) or [""] for h, w in zip(table.header, widths, strict=False)]
    for k in range(max(len(h) for h in heads)):
        cells = [(h[k] if k < len(h) else "").rjust(w) for h, w in zip(heads, widths, strict=True)]
        page.lines.append(" ".join(cells).rstrip())
    for row in table.rows:
        lead = " ".join(c.rjust(w) for c, w in zip(row, widths, strict=False))
        short = len(lead) + len(row[-1]) + 2 > page.width
        if not any(row[2:-1]):
            page.wrapped(row[-1], first=" ".join(c.rjust(w) for c, w in zip(row[:2], widths, strict=False)) + "  ")
        elif short:
            page.lines.append(lead.rstrip())
            page.wrapped(row[-1], first=" " * (widths[0] + widths[1] + 3))
        else:
            page.lines.append(f"{lead}  {row[-1]}".rstrip())


def _more(page: _Page, plan: Plan) -> None:
    if plan.steps:
        page.heading("Steps")
        for number, step in enumerate(plan.steps, start=1):
            text = f"{step.title.rstrip('.')}. {step.detail}" if step.detail else step.title
            page.wrapped(text, first=f"{number:>2}. ")
    for block in plan.notes:
        _block(page, block)
    for table in printed_tables(plan):
        _table(page, table)
    if plan.findings:
        page.heading("What the checks found")
        _findings(page, plan.findings)
    for comparison in plan.rules_of_thumb:
        _thumb(page, comparison, plan.tape.unit)
    if plan.measured:
        page.heading("What you measured")
        for line in plan.measured:
            page.wrapped(line, first="- ")


def _thumb(page: _Page, comparison: ThumbComparison, unit: str) -> None:
    page.heading("Rule of thumb beside the exact marks")
    page.wrapped(f"{comparison.shape}: {comparison.rule}" if comparison.shape else comparison.rule)
    wide = min(36, max((len(mark.label) for mark in comparison.marks), default=4))
    page.lines.append(page.styled(f"{'mark':<{wide}}  {f'rule, {unit}':>12}  {f'exact, {unit}':>12}", _BOLD))
    for mark in comparison.marks:
        label = printable(mark.label)
        label = label if len(label) <= wide else label[: wide - 1] + "…"
        page.lines.append(f"{label:<{wide}}  {mark.rule_tape:>12}  {mark.exact_tape:>12}")
    page.wrapped(comparison.landing_rule, first="by the rule: ")
    page.wrapped(comparison.landing_exact, first="by the exact marks: ")
