"""One shape's answer as lines of text, 100 columns or fewer."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from textwrap import wrap
from typing import TYPE_CHECKING

from racewright.tools.benders import HOOKS, REFERENCES
from racewright.units.angle import format_degrees
from racewright.units.tape import format_length

if TYPE_CHECKING:
    from racewright.operations.choices import ChoiceRow
    from racewright.operations.common import Length
    from racewright.operations.shapes.report import RuleBeside, ShapeAnswer

_FIELD = re.compile(r"give '(\w+)'")  # a command's user types the option
_LIMITS = {"rise": "least rise {}", "straight": "{} of straight wanted", "room": "{} of room"}


def as_text(answer: ShapeAnswer) -> str:
    """The answer for a terminal, without what stands under every answer."""
    out = [answer.title]
    for shoe in answer.benders:
        out.append(f"bender {shoe.name}, radius {_shown(answer, shoe.radius)} ({shoe.standing})")
    if answer.taught:
        out.append(answer.taught)
    if answer.facts:
        wide = max(len(fact.label) for fact in answer.facts)
        out += ["", *(f"  {fact.label:<{wide}}  {fact.text}" for fact in answer.facts)]
    out += ["", *wrap(f"Measured: {answer.measured}", 100)]
    if answer.bends:
        out += ["", "Marks: any one of them makes the same bend; roll is the plane's angle, clockwise seen from A."]
        counted = _FIELD.sub(r"give --\1", answer.counted_from)
        out += [f"Counted from {counted}."]
        out += wrap(answer.pull, 100) if answer.pull else []
        out += _columns(_marks_rows(answer))
    for rule in answer.rules:
        out += ["", f"Rule of thumb: {rule.name} ({rule.source})", f"  {rule.how}"]
        out += _columns(_rule_rows(answer, rule))
        out += [f"  rule lands:   {rule.rule_lands}", f"  exact lands:  {rule.exact_lands}"]
    for table in answer.tables:
        out += ["", table.title, *_columns([table.head, *table.rows])]
    if answer.choices is not None:
        out += ["", answer.choices.title, *_columns(_choice_rows(answer, answer.choices.rows))]
    if answer.notes:
        out += ["", *(line for note in answer.notes for line in wrap(f"note: {note}", 100, subsequent_indent="  "))]
    return "\n".join(line.rstrip() for line in out)


def _shown(answer: ShapeAnswer, length: Length | None) -> str:
    return "-" if length is None else format_length(length.mm, answer.tape)


def _marks_rows(answer: ShapeAnswer) -> list[tuple[str, ...]]:
    pulls = ("bend to",) if answer.pull else ()
    first = ("", "", "", *("" for _ in pulls), "hook toward A", "", "", "hook toward B", "", "")
    rows = [first, ("mark", "angle", *pulls, "roll", *REFERENCES, *REFERENCES)]
    for number, bend in enumerate(answer.bends, start=1):
        at = {(mark.hook, mark.reference): mark.at.tape for mark in bend.marks}
        shown = (at[hook, reference] for hook in HOOKS for reference in REFERENCES)
        rows.append(
            (
                f"{number} {bend.called}",
                bend.angle,
                *((bend.bend_to,) if answer.pull else ()),
                bend.roll,
                *shown,
            )
        )
    return rows


def _rule_rows(answer: ShapeAnswer, rule: RuleBeside) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [("mark", "how", "rule", "exact", "rule is out by")]
    for mark in rule.marks:
        lengths = (_shown(answer, length) for length in (mark.rule, mark.exact, mark.out_by))
        rows.append((mark.label, f"{mark.reference}, hook to {mark.hook}", *lengths))
    return rows


def _choice_rows(answer: ShapeAnswer, choices: Sequence[ChoiceRow]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [
        ("angle", "room along", "spacing", "straight", "shrink", "conduit", "total", "can it be made")
    ]
    for row in choices:
        cells = (_shown(answer, cell) for cell in (row.room, row.spacing, row.straight, row.shrink, row.developed))
        why = _LIMITS[row.limit].format(_shown(answer, row.limit_at)) if row.limit else row.reason
        verdict = "yes" if row.possible else f"no: {why}"
        rows.append((format_degrees(row.angle_deg), *cells, format_degrees(row.total_deg), verdict))
    return rows


def _columns(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Columns set wide enough for their cells; a heading whose right neighbors are empty may run over them."""
    count = max(len(row) for row in rows)
    plain = [row for row in rows if not any(a and not b for a, b in pairwise(row[3:]))] or list(rows)
    widths = [max(len(row[i]) for row in plain if i < len(row)) for i in range(count)]
    out = []
    for row in rows:
        line = ""
        for i, cell in enumerate(row):
            column = 2 + sum(width + 2 for width in widths[:i])
            line = line.ljust(column) + cell if cell else line
        out.append(line)
    return out
