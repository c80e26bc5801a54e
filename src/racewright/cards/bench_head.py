"""The head of the bench page: the run, what is cut, what stands against it; of several pieces a list of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from racewright.cards.layout import Sizes, Writer, cap_mm, line_mm, lines_at, rectangle
from racewright.cards.tables import Column, Row, write_table
from racewright.cards.words import (
    bender_words,
    cut_of,
    end_words,
    ends_words,
    long_length,
    measured_first,
    piece_words,
    places_words,
)
from racewright.drawing.metrics import fit_size_pt, text_width_mm, wrap
from racewright.drawing.scene import WHITE, Box, Text, Weight
from racewright.errors import Finding
from racewright.plan.model import Plan, PlannedPiece
from racewright.records.anew import NEW_MARKS
from racewright.records.other_marks import OTHER_MARKS
from racewright.records.superseded import SUPERSEDED


def run_head(writer: Writer, plan: Plan, sizes: Sizes) -> None:
    """Name, raceway, bender and ends beside the length to cut; of several pieces how many, and the list of them."""
    several = len(plan.pieces) > 1
    top = writer.y
    writer.add(rectangle(Box(writer.left, top, writer.right, top + 1.4), fill=0.0, width_mm=0.0))
    top += 4.0
    if several:
        total = long_length(sum(piece.cut_length_mm for piece in plan.pieces), plan.tape)
        box = _black_box(writer, top, sizes, f"{len(plan.pieces)} PIECES, in all", total, "")
    else:
        box = _black_box(writer, top, sizes, *cut_of(plan.pieces[0], plan))
    room = writer.width - box[0] - 5.0
    size = fit_size_pt(plan.name, room, sizes.title_pt, 0.75 * sizes.title_pt, "bold")
    lines = wrap(plan.name, room, size, "bold")
    if len(lines) > 2:
        size = min(size, 14.0)
        lines = wrap(plan.name, room, size, "bold")
    writer.add(*lines_at(lines, writer.left, top, size, "bold"))
    y = top + len(lines) * line_mm(size) + 1.0
    facts = [plan.raceway, bender_words(plan)]
    if not several:
        facts.append(ends_words(plan.pieces[0], plan))
    for k, fact in enumerate(facts):
        weight: Weight = "bold" if k == 0 else "regular"
        wrapped = wrap(fact, room, sizes.body_pt, weight)
        writer.add(*lines_at(wrapped, writer.left, y, sizes.body_pt, weight))
        y += len(wrapped) * line_mm(sizes.body_pt) + 0.3
    writer.y = max(y, top + box[1]) + 0.14 * sizes.title_pt
    if several:
        _piece_list(writer, plan, sizes)


def _piece_list(writer: Writer, plan: Plan, sizes: Sizes) -> None:
    writer.heading("The pieces", keep=24.0, size_pt=sizes.heading_pt)
    columns = [
        Column("piece", 0.65, weight="bold"),
        Column("length", 1.35, weight="bold"),
        Column("end A", 2.1),
        Column("end B", 2.1),
        Column("bends", 0.8),
        Column("straps, from its end A", 2.3),
    ]
    rows = []
    for number, piece in enumerate(plan.pieces, start=1):
        _, cut, below = cut_of(piece, plan)
        cut = f"stock, at least {cut}" if piece.trim_after and piece.order_known else cut
        length = ", ".join(part for part in (cut, below) if part)
        bends = str(len(piece.bends) or "")
        rows.append((str(number), length, *end_words(piece, plan.tape), bends, places_words(piece, plan)))
    told = [k for k in range(len(columns)) if any(row[k] for row in rows)]  # no column that says nothing
    columns = [columns[k] for k in told]
    cells = [Row(tuple(row[k] for k in told)) for row in rows]
    write_table(writer, columns, cells, size_pt=sizes.text_pt)
    for line in measured_first(plan):
        writer.body(line, size_pt=sizes.text_pt)


def piece_head(writer: Writer, plan: Plan, index: int, sizes: Sizes, *, own_sheet: bool) -> None:
    """A piece of several: which, how long, what its ends go into; on a sheet of its own what stands against it."""
    piece = plan.pieces[index]
    writer.need(60.0)
    word, cut, below = cut_of(piece, plan)
    line = f"{piece_words(plan, index)}: {word} {cut}"
    writer.add(rectangle(Box(writer.left, writer.y, writer.right, writer.y + 0.7), fill=0.0, width_mm=0.0))
    writer.space(2.5)
    size = sizes.heading_pt + 2.0
    writer.add(*lines_at((line[0].upper() + line[1:],), writer.left, writer.y, size, "bold"))
    writer.y += line_mm(size)
    facts = " ".join((*((f"{below[0].upper()}{below[1:]}.",) if below else ()), ends_words(piece, plan)))
    writer.body(facts, size_pt=sizes.body_pt)
    writer.space(1.5)
    if own_sheet:
        problem_box(writer, [finding for finding in plan.findings if _is_of(piece, finding)], sizes)


def _is_of(piece: PlannedPiece, finding: Finding) -> bool:
    """Whether it is about this piece: 'piece 1', 'piece 1, mark 2'."""
    return finding.where.partition(",")[0] == piece.label


def _black_box(writer: Writer, top: float, sizes: Sizes, head: str, text: str, below: str) -> tuple[float, float]:
    """The black box at the top right: its width and height."""
    large = fit_size_pt(text, 66.0, sizes.cut_pt, 18.0, "bold")
    told = wrap(text, 66.0, large, "bold")
    small = wrap(below, 58.0, sizes.text_pt)
    wide = max([text_width_mm(head, sizes.text_pt, "bold"), 34.0, *(text_width_mm(t, large, "bold") for t in told)])
    wide = max([wide, *(text_width_mm(line, sizes.text_pt) for line in small)]) + 8.0
    foot = 0.09 * large  # what a letter of this size reaches below its line
    high = cap_mm(large) + (len(told) - 1) * line_mm(large)
    height = 3.4 + cap_mm(sizes.text_pt) + 2.6 + high + foot + 1.2 + len(small) * line_mm(sizes.text_pt)
    left = writer.right - wide
    writer.add(rectangle(Box(left, top, writer.right, top + height), fill=0.0, width_mm=0.0))
    base = top + 3.4 + cap_mm(sizes.text_pt)
    writer.add(Text(at=(left + 4.0, base), text=head, size_pt=sizes.text_pt, weight="bold", ink=WHITE))
    base += 2.6 + cap_mm(large) - line_mm(large)
    for line in told:
        base += line_mm(large)
        writer.add(Text(at=(left + 4.0, base), text=line, size_pt=large, weight="bold", ink=WHITE))
    writer.add(*lines_at(small, left + 4.0, base + foot, sizes.text_pt, ink=WHITE))
    return wide, height


def problem_box(writer: Writer, findings: Sequence[Finding], sizes: Sizes) -> None:
    """What is there by another plan than the page's, the pieces whose marks do not hold, the new marks that hold in
    place of the page's and the problems, framed, before anything is cut; below them the cautions of the checks: every
    one of all. `findings`: those that are told."""
    old = [finding.message for finding in findings if finding.rule == SUPERSEDED]
    stop = [finding.message for finding in findings if finding.rule == OTHER_MARKS]
    anew = [finding for finding in findings if finding.rule == NEW_MARKS]
    problems = [finding.message for finding in findings if finding.severity == "problem"]
    framed = (SUPERSEDED, OTHER_MARKS, NEW_MARKS)
    cautions = [f.message for f in findings if f.severity == "caution" and f.rule not in framed]
    if old:
        _framed(writer, "OTHER PLAN", old, sizes.body_pt)
    if stop:
        _framed(writer, "STOP", stop, sizes.body_pt)
    if anew:
        _framed(writer, "NEW MARKS", [_as_steps(finding) for finding in anew], sizes.body_pt)
    if problems:
        _framed(writer, "PROBLEM" if len(problems) == 1 else "PROBLEMS", problems, sizes.body_pt)
    if not cautions:
        return
    indent = text_width_mm("CAUTION", sizes.text_pt, "bold") + 3.0
    for text in cautions:
        writer.need(line_mm(sizes.text_pt))
        writer.add(*lines_at(("CAUTION",), writer.left, writer.y, sizes.text_pt, "bold"))
        writer.body(text, indent=indent, size_pt=sizes.text_pt)
    writer.space(0.25 * sizes.body_pt)


def _as_steps(finding: Finding) -> str:
    """New marks with a line for each of their steps."""
    head, steps = (finding.values.get(name, "") for name in ("head", "steps"))
    return f"{head}:\n{steps}" if "\n" in steps else finding.message


def _framed(writer: Writer, word: str, texts: list[str], size_pt: float) -> None:
    """A frame with the word before the texts; what follows the first line of a text is numbered."""
    indent = text_width_mm(max(word, "OTHER PLAN", key=len), size_pt, "bold") + 7.0
    lines = [line for text in texts for line in _in_lines(text, writer.width - indent - 4.0, size_pt)]
    height = len(lines) * line_mm(size_pt) + 3.0
    if len(texts) > 1 and height > writer.sheet_mm:
        for text in texts:
            _framed(writer, word.removesuffix("S") if word == "PROBLEMS" else word, [text], size_pt)
        return
    writer.need(height)
    top = writer.y
    writer.add(rectangle(Box(writer.left + 0.5, top, writer.right - 0.5, top + height), width_mm=1.0))
    writer.add(*lines_at((word,), writer.left + 3.0, top + 1.5, size_pt, "bold"))
    for row, line in enumerate(lines):
        at = top + 1.5 + row * line_mm(size_pt)
        for inside, text in line:
            writer.add(*lines_at((text,), writer.left + indent + inside, at, size_pt))
    writer.y = top + height + 0.3 * size_pt


def _in_lines(text: str, room: float, size_pt: float) -> Iterator[list[tuple[float, str]]]:
    """The lines of a text, each with what stands in it and how far inside."""
    head, *steps = text.split("\n")
    yield from ([(0.0, line)] for line in wrap(head, room, size_pt))
    inside = text_width_mm(f"{len(steps)}. ", size_pt) + 0.5
    for number, step in enumerate(steps, 1):
        first, *more = wrap(f"{step[0].upper()}{step[1:]}.", room - inside, size_pt)
        yield [(0.0, f"{number}."), (inside, first)]
        yield from ([(inside, line)] for line in more)
