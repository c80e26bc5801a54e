"""What `racewright shape` prints: one report, as text for a person or as JSON for a program."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import degrees, pi
from textwrap import wrap
from typing import Any, Literal

import msgspec

from racewright.bends.choices import Choice
from racewright.bends.model import Bend
from racewright.cards.words import TAUGHT_SHOE
from racewright.cautions import cautions_for, cautions_text
from racewright.errors import Finding
from racewright.marks.mark import HOOKS, REFERENCES, all_marks_mm
from racewright.tools.benders import is_taught
from racewright.tools.model import BenderProfile
from racewright.units.angle import format_angle
from racewright.units.tape import TapeStyle, format_length, read_tape

Kind = Literal["length", "angle", "text"]


class Fact(msgspec.Struct, frozen=True):
    """One line of a report: a label and a length (mm), an angle (rad) or words."""

    label: str
    kind: Kind
    value: float | str


class RuleView(msgspec.Struct, frozen=True, kw_only=True):
    """A rule of thumb beside the exact marks: (label, reference, hook, rule's mark, exact mark), mm."""

    name: str
    how: str
    source: str
    marks: tuple[tuple[str, str, str, float, float], ...]
    landing_rule: str
    landing_exact: str


class Table(msgspec.Struct, frozen=True, kw_only=True):
    """A table of plain cells with a title."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class Report(msgspec.Struct, kw_only=True):
    """Everything that is said about one shape. `counted_from` says what 0 is on the marks, `measured`
    what the figures are measured to; `shoes` are those of a rack
    of several sizes, from conduit 1 on."""

    shape: str
    title: str
    bender: BenderProfile
    tape: TapeStyle
    shoes: tuple[BenderProfile, ...] = ()
    facts: list[Fact] = []
    bends: tuple[Bend, ...] = ()
    counted_from: str = "end A"
    measured: str = ""
    cut_length_mm: float | None = None
    rise_mm: float | None = None
    rules: list[RuleView] = []
    tables: list[Table] = []
    choices: list[tuple[str, tuple[Choice, ...]]] = []
    notes: list[str] = []
    findings: list[Finding] = []
    problem: bool = False

    def length(self, label: str, value_mm: float) -> None:
        """Add a length."""
        self.facts.append(Fact(label, "length", value_mm))

    def cut(self, value_mm: float) -> None:
        """The piece's cut length, where it is known."""
        self.length("cut length", value_mm)
        self.cut_length_mm = value_mm

    def angle(self, label: str, value_rad: float) -> None:
        """Add an angle."""
        self.facts.append(Fact(label, "angle", value_rad))

    def words(self, label: str, text: str) -> None:
        """Add a line of words."""
        self.facts.append(Fact(label, "text", text))

    def shown(self, value_mm: float) -> str:
        """A length as the tape shows it."""
        return format_length(value_mm, self.tape)


def as_text(report: Report) -> str:
    """The report for a terminal, 100 columns or fewer."""
    out = [report.title]
    shoes = shoes_of(report)
    for shoe in shoes:
        out.append(f"bender {shoe.name}, radius {report.shown(shoe.radius_mm)} ({shoe.standing})")
    if any(is_taught(shoe) for shoe in shoes):
        out.append(TAUGHT_SHOE)
    for finding in report.findings:
        tail = f" ({finding.citation})" if finding.citation else ""
        out += wrap(f"{finding.severity}: {finding.message}{tail} [{finding.rule}]", 100, subsequent_indent="  ")
    if report.facts:
        out.append("")
        wide = max(len(f.label) for f in report.facts)
        out += [f"  {f.label:<{wide}}  {_fact_text(report, f)}" for f in report.facts]
    if report.measured:
        out += ["", *wrap(f"Measured: {report.measured}", 100)]
    if report.bends:
        out += ["", "Marks: any one of them makes the same bend; roll is clockwise, looking from A to B."]
        out += [f"Counted from {report.counted_from}."]
        out += _indented(_marks_rows(report))
    for rule in report.rules:
        out += ["", f"Rule of thumb: {rule.name} ({rule.source})", f"  {rule.how}"]
        rows: list[tuple[str, ...]] = [("mark", "how", "rule", "exact", "rule is out by")]
        for label, reference, hook, by_rule, exact in rule.marks:
            read = (read_tape(by_rule, report.tape).shown_mm, read_tape(exact, report.tape).shown_mm)
            out_by = format_length(read[0] - read[1], report.tape)
            rows.append((label, f"{reference}, hook to {hook}", report.shown(by_rule), report.shown(exact), out_by))
        out += _indented(rows)
        out += [f"  rule lands:   {rule.landing_rule}", f"  exact lands:  {rule.landing_exact}"]
    for table in report.tables:
        out += ["", table.title, *_indented([table.head, *table.rows])]
    for title, choices in report.choices:
        out += ["", title, *_indented(_choice_rows(report, choices))]
    if report.notes:
        out += ["", *(line for note in report.notes for line in wrap(f"note: {note}", 100, subsequent_indent="  "))]
    out.append(cautions_text("bend"))
    return "\n".join(line.rstrip() for line in out)


def as_builtins(report: Report) -> dict[str, Any]:
    """The report as plain data: lengths in mm, angles in degrees, units in the names."""
    return {
        "shape": report.shape,
        "title": report.title,
        "bender": ", ".join(shoe.name for shoe in shoes_of(report)),
        "facts": {_key(f): degrees(f.value) if f.kind == "angle" else f.value for f in report.facts},  # type: ignore[arg-type]
        "counted_from": report.counted_from,
        "measured": report.measured,
        "bends": [_bend_data(bend, report) for bend in report.bends],
        "rules": [
            {
                "name": rule.name,
                "how": rule.how,
                "source": rule.source,
                "marks": [
                    {"label": label, "reference": reference, "hook": hook, "rule_mm": by_rule, "exact_mm": exact}
                    for label, reference, hook, by_rule, exact in rule.marks
                ],
                "landing_rule": rule.landing_rule,
                "landing_exact": rule.landing_exact,
            }
            for rule in report.rules
        ],
        "tables": [msgspec.to_builtins(table) for table in report.tables],
        "choices": {
            title: [
                {
                    "angle_deg": degrees(row.angle_rad),
                    "total_deg": degrees(row.total_rad),
                    **{
                        name: value
                        for name, value in msgspec.to_builtins(row).items()
                        if name not in ("angle_rad", "total_rad")
                    },
                }
                for row in rows
            ]
            for title, rows in report.choices
        },
        "notes": report.notes,
        "findings": [msgspec.to_builtins(finding) for finding in report.findings],
        "cautions": cautions_for("bend"),
        "problem": report.problem,
    }


def shoes_of(report: Report) -> tuple[BenderProfile, ...]:
    """The shoes that are used, each once."""
    return tuple(dict.fromkeys(report.shoes or (report.bender,)))


def _fact_text(report: Report, fact: Fact) -> str:
    if isinstance(fact.value, str):
        return fact.value
    return report.shown(fact.value) if fact.kind == "length" else format_angle(fact.value)


def _key(fact: Fact) -> str:
    unit = {"length": "_mm", "angle": "_deg", "text": ""}[fact.kind]
    return "".join(c if c.isalnum() else "_" for c in fact.label.lower()) + unit


def _bend_data(bend: Bend, report: Report) -> dict[str, Any]:
    marks = all_marks_mm(bend.arc_start_mm, bend.arc_end_mm, report.bender)
    return {
        "role": bend.role,
        "arc_start_mm": bend.arc_start_mm,
        "arc_end_mm": bend.arc_end_mm,
        "angle_deg": degrees(bend.angle_rad),
        "roll_deg": degrees(bend.roll_rad) % 360.0,
        "marks_mm": marks,
        "marks_tape": {name: read_tape(value, report.tape).text for name, value in marks.items()},
    }


def _marks_rows(report: Report) -> list[tuple[str, ...]]:
    first = ("", "", "", "hook toward A", "", "", "hook toward B", "", "")
    rows = [first, ("bend", "angle", "roll", *REFERENCES, *REFERENCES)]
    for number, bend in enumerate(report.bends, start=1):
        marks = all_marks_mm(bend.arc_start_mm, bend.arc_end_mm, report.bender)
        shown = [read_tape(marks[f"{hook} {ref}"], report.tape).text for hook in HOOKS for ref in REFERENCES]
        roll = format_angle(bend.roll_rad % (2.0 * pi))
        rows.append((f"{number} {bend.role}", format_angle(bend.angle_rad), roll, *shown))
    return rows


def _choice_rows(report: Report, choices: tuple[Choice, ...]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [
        ("angle", "room along", "spacing", "straight", "shrink", "conduit", "total", "can it be made")
    ]
    for row in choices:
        lengths = (row.plan_mm, row.spacing_mm, row.straight_mm, row.shrink_mm, row.developed_mm)
        cells = [
            "-" if value is None or (value is row.straight_mm and value < 0) else report.shown(value)
            for value in lengths
        ]
        verdict = "yes" if row.possible else f"no: {_limit_words(report, row)}"
        rows.append((format_angle(row.angle_rad), *cells, format_angle(row.total_rad), verdict))
    return rows


def _limit_words(report: Report, row: Choice) -> str:
    words = {"rise": "least rise {}", "straight": "{} of straight wanted", "room": "{} of room"}
    return words[row.limit].format(report.shown(row.limit_mm)) if row.limit else row.reason


def _indented(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Columns set wide enough for their cells; a heading whose right neighbours are empty may run over them."""
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
